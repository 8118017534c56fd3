// Package document answers: what does a file in TOML say to the room that asked
// for it, and what is wrong with it, all at once and each at its line?
//
// A file is taken apart by its [Shape]: the keys of models go to the room that
// knows them, all else is decoded into one Go value. Unknown keys, values of the
// wrong kind and sections opened in the wrong way are problems, told together.
package document

import (
	"bytes"
	"fmt"
	"reflect"
	"strings"

	"github.com/pelletier/go-toml/v2/unstable"

	"thumbed/models/table"
)

// A Shape is what a kind of file may hold.
type Shape struct {
	What     string          // in words: "a study file"
	Root     reflect.Type    // of the struct that its keys are decoded into
	Repeated map[string]bool // sections that may stand several times, in double brackets
	Ours     map[string]bool // keys of a model section that are the file's own, not the model's
}

// A Document is a file taken apart: the models' own keys go to the room that
// knows them, all else stays. Every part keeps its lines, so that a message of any room names the line of
// the scholar's file.
type Document struct {
	Models [][]byte       // the own keys of each model section, in order
	Tree   map[string]any // all of the file, decoded
	Where  Where

	shape       *Shape
	data        []byte
	rest        []byte // all but the models' own keys
	expressions []expression
}

// An expression is one key with its value, or one table's header.
type expression struct {
	from, to int // bytes
	line     int
	last     int // line on which it ends
	path     []string
	value    string // as written; empty for a header
	away     bool   // whether the rest is without it
}

// Where tells the line of a key; keys inside sections that may stand several
// times carry the number of their section from 0, all parts with a blank between:
// "model 0 random 1 by".
type Where map[string]int

// Line finds the line of a key by its parts; where the key is missing, that of
// the section it should stand in; 0 for the file as a whole.
func (w Where) Line(parts ...any) int {
	for n := len(parts); n > 0; n-- {
		if line, ok := w[place(parts[:n]...)]; ok {
			return line
		}
	}
	return 0
}

// Problem is what is wrong with the value of a key, at its line; at are the parts
// of the key, as for Line.
func (w Where) Problem(path, value, expected, remedy string, at ...any) table.Problem {
	var names []string
	for _, part := range at {
		if name, ok := part.(string); ok {
			names = append(names, name)
		}
	}
	return table.Problem{File: path, Line: w.Line(at...), Column: strings.Join(names, "."), Value: value, Expected: expected, Remedy: remedy}
}

func place(parts ...any) string {
	return strings.TrimSuffix(fmt.Sprintln(parts...), "\n")
}

// Split takes the text of a file apart; path names it in messages. It is nil
// where the text is no [Tree], after which nothing else can be told.
func (shape *Shape) Split(path string, data []byte, ps *table.Problems) *Document {
	data = bytes.TrimPrefix(data, []byte("\xef\xbb\xbf"))
	tree := Tree(path, data, ps)
	if tree == nil {
		return nil
	}
	d := &Document{Tree: tree, shape: shape, data: data, rest: bytes.Clone(data), Where: Where{}}
	s := splitter{Document: d, counts: map[string]int{}, lines: lineCount{data: data}, path: path, ps: ps}
	s.parser.Reset(data)
	for s.parser.NextExpression() {
		s.take(s.parser.Expression())
	}
	if err := s.parser.Error(); err != nil {
		ps.Add(syntaxProblem(path, err))
		return nil
	}
	return d
}

// A splitter walks over the expressions and hands each to whom it belongs.
type splitter struct {
	*Document
	parser unstable.Parser
	table  []string       // path of the table we are in
	astray bool           // whether that table cannot be read for the way it is opened
	counts map[string]int // sections of each [[name]] so far, by their place
	lines  lineCount
	path   string // of the file
	ps     *table.Problems
}

func (s *splitter) take(node *unstable.Node) {
	switch node.Kind {
	case unstable.Table, unstable.ArrayTable:
		s.header(node)
	case unstable.KeyValue:
		s.keyValue(node)
	}
}

func (s *splitter) header(node *unstable.Node) {
	var offsets []int
	s.table, offsets = nil, nil
	for key := node.Key(); key.Next(); {
		s.table = append(s.table, string(key.Node().Data))
		offsets = append(offsets, int(key.Node().Raw.Offset))
	}
	from := bytes.LastIndexByte(s.data[:offsets[0]], '\n') + 1
	to := len(s.data)
	if end := bytes.IndexByte(s.data[offsets[0]:], '\n'); end >= 0 {
		to = offsets[0] + end
	}
	e := s.add(from, to, s.table, "")
	name, alone := s.table[0], len(s.table) == 1
	if s.shape.Repeated[name] && (alone && node.Kind != unstable.ArrayTable || !alone && s.counts[name] == 0) {
		s.goAstray(e, name)
		return
	}
	s.astray = false
	if node.Kind == unstable.ArrayTable {
		s.counts[s.unnumbered(s.table)]++
	}
	if name == "model" && (alone || len(s.Models) == 0) {
		s.Models = append(s.Models, nil)
	}
	s.Where[s.place(s.table)] = e.line
	if s.inModel() && !alone && !s.shape.Ours[s.table[1]] {
		header := bytes.Clone(s.data[from:to])
		blank(header, offsets[0]-from, offsets[1]-from) // [model.levels] becomes [levels]
		s.giveModel(e.line, header)
		s.takeAway(e)
	}
}

func (s *splitter) keyValue(node *unstable.Node) {
	path := append([]string(nil), s.table...)
	for key := node.Key(); key.Next(); {
		path = append(path, string(key.Node().Data))
	}
	from, to := int(node.Raw.Offset), int(node.Raw.Offset+node.Raw.Length)
	_, value, _ := bytes.Cut(s.data[from:to], []byte("="))
	e := s.add(from, to, path, strings.TrimSpace(string(value)))
	if s.astray {
		s.takeAway(e)
		return
	}
	if len(s.table) == 0 && s.shape.Repeated[path[0]] {
		s.goAstray(e, path[0])
		s.astray = false
		return
	}
	s.Where[s.place(path)] = e.line
	if s.inModel() && !s.shape.Ours[path[1]] {
		s.giveModel(e.line, s.data[from:to])
		s.takeAway(e)
	}
}

// giveModel adds a line or more to the text of the model now read, at their own
// line.
func (s *splitter) giveModel(line int, text []byte) {
	model := &s.Models[len(s.Models)-1]
	for range line - 1 - bytes.Count(*model, []byte("\n")) {
		*model = append(*model, '\n')
	}
	*model = append(*model, text...)
}

// goAstray reports a section that is not opened in double brackets, and leaves
// it out.
func (s *splitter) goAstray(e *expression, name string) {
	s.ps.Add(table.Problem{File: s.path, Line: e.line, Column: name, Value: strings.TrimSpace(string(s.data[e.from:e.to])),
		Expected: fmt.Sprintf("a line [[%s]] above the keys of each %s", name, name), Remedy: "write its keys below it, one a line"})
	s.takeAway(e)
	s.astray = true
}

func (s *splitter) inModel() bool {
	return len(s.table) > 0 && s.table[0] == "model" && len(s.Models) > 0
}

// place names a key for [Where]: the number of a section that may stand several
// times follows its name.
func (s *splitter) place(path []string) string {
	key := s.unnumbered(path)
	if n := s.counts[key]; n > 0 {
		return place(key, n-1)
	}
	return key
}

// unnumbered is the place of a key without the number of its own.
func (s *splitter) unnumbered(path []string) string {
	last := len(path) - 1
	if last == 0 {
		return path[0]
	}
	return place(s.place(path[:last]), path[last])
}

func (s *splitter) add(from, to int, path []string, value string) *expression {
	line := s.lines.of(from)
	e := expression{from: from, to: to, line: line, last: line + bytes.Count(s.data[from:to], []byte("\n")), path: path, value: value}
	s.expressions = append(s.expressions, e)
	return &s.expressions[len(s.expressions)-1]
}

// takeAway blanks an expression in the rest.
func (d *Document) takeAway(e *expression) {
	e.away = true
	blank(d.rest, e.from, e.to)
}

// at finds the expression on a line; nil where there is none.
func (d *Document) at(line int) *expression {
	for i, e := range d.expressions {
		if e.line <= line && line <= e.last {
			return &d.expressions[i]
		}
	}
	return nil
}

// blank writes spaces over the bytes from..to, and leaves the line ends.
func blank(data []byte, from, to int) {
	for i := from; i < to; i++ {
		if data[i] != '\n' && data[i] != '\r' {
			data[i] = ' '
		}
	}
}
