package study

import (
	"bytes"
	"errors"
	"fmt"
	"strings"

	"github.com/pelletier/go-toml/v2"
	"github.com/pelletier/go-toml/v2/unstable"

	"thumbed/models/table"
)

// A document is study.toml taken apart: the models' own keys go to the room
// that knows them, all else stays. Every part keeps its lines, since what
// belongs elsewhere is blanked and not cut, so that a message of any room names
// the line of the scholar's file.
type document struct {
	data        []byte
	rest        []byte   // all but the models' own keys
	models      [][]byte // one a [[model]] section, in order
	expressions []expression
	where       where
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

// where tells the line of a key; keys inside [[model]] and [[question]] carry
// the number of their section from 0.
type where map[string]int

// line finds the line of a key by its parts; where the key is missing, that of
// the section it should stand in; 0 for the file as a whole.
func (w where) line(parts ...any) int {
	for n := len(parts); n > 0; n-- {
		if line, ok := w[place(parts[:n]...)]; ok {
			return line
		}
	}
	return 0
}

func place(parts ...any) string {
	return strings.TrimSuffix(fmt.Sprintln(parts...), "\n")
}

// ours are the keys of a [[model]] section that belong to the study, not to
// the model.
var ours = map[string]bool{"name": true, "about": true, "each": true, "only": true}

// splitDocument takes the document apart. Its problem, if any, is one of TOML
// itself, after which nothing else can be told.
func splitDocument(path string, data []byte, ps *table.Problems) (*document, *table.Problem) {
	var tree map[string]any
	if err := toml.Unmarshal(data, &tree); err != nil {
		return nil, syntaxProblem(path, err)
	}
	d := &document{data: data, rest: bytes.Clone(data), where: where{}}
	s := splitter{document: d, counts: map[string]int{}, path: path, ps: ps}
	s.parser.Reset(data)
	for s.parser.NextExpression() {
		s.take(s.parser.Expression())
	}
	if err := s.parser.Error(); err != nil {
		return nil, syntaxProblem(path, err)
	}
	return d, nil
}

func syntaxProblem(path string, err error) *table.Problem {
	p := &table.Problem{File: path, Value: strings.TrimPrefix(err.Error(), "toml: "), Expected: "a file in TOML (https://toml.io)",
		Remedy: "mend this line: text stands in quotation marks, lists in [ ], and each key once"}
	var at *toml.DecodeError
	if errors.As(err, &at) {
		p.Line, _ = at.Position()
		p.Column = strings.Join(at.Key(), ".")
	}
	return p
}

// A splitter walks over the expressions and hands each to whom it belongs.
type splitter struct {
	*document
	parser unstable.Parser
	table  []string       // path of the table we are in
	astray bool           // whether that table cannot be read for the way it is opened
	counts map[string]int // sections of each [[name]] so far, by their place
	path   string         // of the file
	ps     *table.Problems
}

// repeated are the sections that may stand several times.
var repeated = map[string]bool{"model": true, "question": true, "family": true}

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
	if repeated[name] && (alone && node.Kind != unstable.ArrayTable || !alone && s.counts[name] == 0) {
		s.goAstray(e, name)
		return
	}
	s.astray = false
	if node.Kind == unstable.ArrayTable {
		s.counts[s.unnumbered(s.table)]++
	}
	if alone && name == "model" {
		s.models = append(s.models, spaces(s.data))
	}
	s.where[s.place(s.table)] = e.line
	if s.inModel() && !alone && !ours[s.table[1]] {
		model := s.models[len(s.models)-1]
		copy(model[from:to], s.data[from:to])
		blank(model, offsets[0], offsets[1]) // [model.levels] becomes [levels]
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
	if len(s.table) == 0 && repeated[path[0]] {
		s.goAstray(e, path[0])
		s.astray = false
		return
	}
	s.where[s.place(path)] = e.line
	if s.inModel() && !ours[path[1]] {
		copy(s.models[len(s.models)-1][from:to], s.data[from:to])
		s.takeAway(e)
	}
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
	return len(s.table) > 0 && s.table[0] == "model" && len(s.models) > 0
}

// place names a key for [where]: the number of a section that may stand several
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
	line := 1 + bytes.Count(s.data[:from], []byte("\n"))
	e := expression{from: from, to: to, line: line, last: line + bytes.Count(s.data[from:to], []byte("\n")), path: path, value: value}
	s.expressions = append(s.expressions, e)
	return &s.expressions[len(s.expressions)-1]
}

// takeAway blanks an expression in the rest.
func (d *document) takeAway(e *expression) {
	e.away = true
	blank(d.rest, e.from, e.to)
}

// at finds the expression on a line; nil where there is none.
func (d *document) at(line int) *expression {
	for i, e := range d.expressions {
		if e.line <= line && line <= e.last {
			return &d.expressions[i]
		}
	}
	return nil
}

// spaces is a text as long as data with the same lines and nothing on them.
func spaces(data []byte) []byte {
	out := bytes.Clone(data)
	blank(out, 0, len(out))
	return out
}

// blank writes spaces over the bytes from..to, and leaves the line ends.
func blank(data []byte, from, to int) {
	for i := from; i < to; i++ {
		if data[i] != '\n' && data[i] != '\r' {
			data[i] = ' '
		}
	}
}
