package document

import (
	"bytes"
	"errors"
	"fmt"
	"strings"

	"github.com/pelletier/go-toml/v2"
	"github.com/pelletier/go-toml/v2/unstable"

	"thumbed/models/table"
)

// Bounds of a file. A study of a thousand books stays far below them; they stop
// one that is none before it fills the memory.
const (
	Largest      = 1 << 20 // bytes
	mostKeys     = 20_000
	mostSections = 2_000 // opened by one name
	deepest      = 16    // parts of a key; lists inside lists
)

// Tree is what a text in TOML holds, decoded; path names it in messages. It is
// nil with a problem where the text is not TOML, goes beyond the bounds of a file
// or holds characters that are not printable.
func Tree(path string, data []byte, ps *table.Problems) map[string]any {
	data = bytes.TrimPrefix(data, []byte("\xef\xbb\xbf"))
	known := ps.Len()
	checkBounds(path, data, ps)
	if ps.Len() > known {
		return nil
	}
	tree := map[string]any{}
	if err := Peek(data, &tree); err != nil {
		ps.Add(syntaxProblem(path, err))
		return nil
	}
	return tree
}

// Peek fills into, a pointer to a struct, from what a text says of its keys; other
// keys are let pass. It serves files whose kind is not known yet; its error is told by
// who reads them whole.
func Peek(data []byte, into any) error {
	return toml.Unmarshal(bytes.TrimPrefix(data, []byte("\xef\xbb\xbf")), into)
}

// Text is a value, a struct or a map, written in TOML.
func Text(value any) ([]byte, error) { return toml.Marshal(value) }

func syntaxProblem(path string, err error) table.Problem {
	p := table.Problem{File: path, Value: strings.TrimPrefix(err.Error(), "toml: "), Expected: "a file in TOML (https://toml.io)",
		Remedy: "mend this line: text stands in quotation marks, lists in [ ], and each key once"}
	var at *toml.DecodeError
	if errors.As(err, &at) {
		p.Line, _ = at.Position()
		p.Column = strings.Join(at.Key(), ".")
	}
	return p
}

// A bounder walks over the expressions of a text, without decoding it, up to
// where it goes beyond a bound.
type bounder struct {
	parser   unstable.Parser
	path     string
	ps       *table.Problems
	keys     int
	sections map[string]int
}

func checkBounds(path string, data []byte, ps *table.Problems) {
	if len(data) > Largest {
		ps.Add(table.Problem{File: path, Value: fmt.Sprintf("%d bytes", len(data)), Expected: fmt.Sprintf("at most %d", Largest),
			Remedy: "check that this is the file that is meant: a study's, a plan's or a model's is a short text in TOML"})
		return
	}
	b := bounder{path: path, ps: ps, sections: map[string]int{}}
	clean := true
	for i, line := range bytes.Split(data, []byte("\n")) {
		clean = b.text(line, i+1) && clean
	}
	if !clean {
		return
	}
	lines := lineCount{data: data}
	b.parser.Reset(data)
	for b.parser.NextExpression() {
		e := b.parser.Expression()
		if key := e.Key(); !key.Next() || !b.within(e, lines.of(int(key.Node().Raw.Offset))) {
			return
		}
	}
}

// A lineCount tells the lines of places in a text, asked for in rising order.
type lineCount struct {
	data     []byte
	at, ends int
}

// of is the line of the byte at a place, from 1.
func (l *lineCount) of(at int) int {
	l.ends += bytes.Count(l.data[l.at:at], []byte("\n"))
	l.at = at
	return 1 + l.ends
}

// within looks at one expression; false where the rest need not be looked at.
func (b *bounder) within(e *unstable.Node, line int) bool {
	b.keys++
	var parts []string
	for key := e.Key(); key.Next() && len(parts) <= deepest; {
		b.text(key.Node().Data, line)
		parts = append(parts, string(key.Node().Data))
	}
	name := strings.Join(parts, ".")
	if e.Kind == unstable.ArrayTable {
		b.sections[name]++
	}
	values := true
	if e.Kind == unstable.KeyValue {
		values = b.value(e.Value(), line, 0)
	}
	beyond := table.Problem{File: b.path, Line: line, Remedy: "check that this is the file that is meant, or divide it"}
	switch {
	case len(parts) > deepest:
		beyond.Value, beyond.Expected = "a key of many parts", fmt.Sprintf("at most %d parts", deepest)
	case !values:
		beyond.Value, beyond.Expected = "lists inside lists", fmt.Sprintf("at most %d inside one another", deepest)
	case b.sections[name] > mostSections:
		beyond.Value, beyond.Expected = "[["+name+"]] once more", fmt.Sprintf("at most %d sections of this name", mostSections)
	case b.keys > mostKeys:
		beyond.Value, beyond.Expected = "more keys", fmt.Sprintf("at most %d keys and sections", mostKeys)
	default:
		return true
	}
	b.ps.Add(beyond)
	return false
}

// value looks at the texts of a value; false where it goes too deep.
func (b *bounder) value(v *unstable.Node, line, depth int) bool {
	switch v.Kind {
	case unstable.String:
		b.text(v.Data, line)
	case unstable.Array, unstable.InlineTable, unstable.KeyValue:
		for inside := v.Children(); inside.Next(); {
			if depth == deepest || !b.value(inside.Node(), line, depth+1) {
				return false
			}
		}
	}
	return true
}

// text tells whether a text is printable; it is asked of the lines as they stand
// and of texts as decoded, since an escape may stand for what may not stand there.
func (b *bounder) text(text []byte, line int) bool {
	at, size := table.Unprintable(text)
	if size > 0 {
		b.ps.Add(table.Problem{File: b.path, Line: line, Value: table.CodePoint(text[at:]), Expected: table.PrintableWanted, Remedy: table.PrintableRemedy})
	}
	return size == 0
}
