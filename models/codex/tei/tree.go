package tei

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"html"
	"io"
	"maps"
	"regexp"
	"strings"

	"golang.org/x/text/encoding/htmlindex"
	"golang.org/x/text/encoding/unicode"
	"golang.org/x/text/transform"

	"thumbed/models/table"
)

// Bounds of what is read. The largest catalogue records known have a few
// megabytes and some twenty levels (from memory); a file beyond these is none.
const (
	mostBytes = 64 << 20
	mostDepth = 250
)

// A node is an element or, without a name, a piece of text.
type node struct {
	name  string
	text  string
	line  int
	attrs []xml.Attr
	nodes []*node
}

// attr is an attribute by its local name; empty where there is none.
func (n *node) attr(name string) string {
	for _, a := range n.attrs {
		if a.Name.Local == name {
			return strings.TrimSpace(a.Value)
		}
	}
	return ""
}

// each goes through the elements below n that have one of the names, in the
// order of the file. It does not look inside an element that it has given.
func (n *node) each(do func(*node), names ...string) {
	for _, child := range n.nodes {
		if child.is(names...) {
			do(child)
			continue
		}
		child.each(do, names...)
	}
}

func (n *node) is(names ...string) bool {
	for _, name := range names {
		if n.name == name && name != "" {
			return true
		}
	}
	return false
}

// find gives the first element below n of that name; nil where there is none.
func (n *node) find(names ...string) *node {
	for _, child := range n.nodes {
		if child.is(names...) {
			return child
		}
		if found := child.find(names...); found != nil {
			return found
		}
	}
	return nil
}

// children are the elements directly below n of that name.
func (n *node) children(names ...string) []*node {
	var out []*node
	for _, child := range n.nodes {
		if child.is(names...) {
			out = append(out, child)
		}
	}
	return out
}

// words are the text in n without that of the elements named, spaces as one.
func (n *node) words(without ...string) string {
	var b strings.Builder
	n.write(&b, without)
	return unspaced.Replace(strings.Join(strings.Fields(b.String()), " "))
}

// unspaced takes out the spaces that elements leave before marks.
var unspaced = strings.NewReplacer(" ,", ",", " ;", ";", " .", ".", " )", ")", "( ", "(")

// raised are figures set above the line, as in s. XV².
var raised = strings.NewReplacer("0", "⁰", "1", "¹", "2", "²", "3", "³", "4", "⁴", "5", "⁵", "6", "⁶", "7", "⁷", "8", "⁸", "9", "⁹")

// raises tells whether an element sets its text above the line.
func (n *node) raises() bool {
	return strings.Contains(n.attr("rend")+n.attr("rendition")+n.attr("style"), "sup")
}

// formula is the text in n with raised figures behind a caret, as
// [codex.ParseFormula] reads them.
func (n *node) formula() string {
	var b strings.Builder
	n.writeRaised(&b)
	return strings.Join(strings.Fields(b.String()), " ")
}

func (n *node) writeRaised(b *strings.Builder) {
	b.WriteString(n.text)
	if n.raises() {
		b.WriteByte('^')
	}
	for i, child := range n.nodes {
		if child.is("catchwords", "signatures") {
			continue
		}
		child.writeRaised(b)
		if child.is(blocks...) || child.raises() && i+1 < len(n.nodes) && startsWithDigit(n.nodes[i+1].text) {
			b.WriteByte(' ')
		}
	}
}

// startsWithDigit tells whether a text would make one number with a number before it.
func startsWithDigit(text string) bool { return text != "" && '0' <= text[0] && text[0] <= '9' }

func (n *node) write(b *strings.Builder, without []string) {
	b.WriteString(n.text)
	for _, child := range n.nodes {
		if child.is(without...) {
			b.WriteByte(' ')
			continue
		}
		if child.raises() {
			b.WriteString(raised.Replace(child.words(without...)))
			continue
		}
		child.write(b, without)
		if child.is(blocks...) {
			b.WriteByte(' ')
		}
	}
}

// blocks are elements that part the words before and after them.
var blocks = []string{"p", "item", "lb", "head", "title", "note", "rubric", "incipit", "explicit", "country", "settlement", "repository", "idno", "msName", "orgName", "institution", "collection", "dimensions", "measure", "ab", "locus"}

// parse reads the manuscript descriptions of a file as trees, without the
// unprintable characters, which it counts; nil with a problem where it cannot.
func parse(file string, data []byte, ps *table.Problems) (descriptions []*node, unprintable int) {
	fault := func(line int, value, expected, remedy string) ([]*node, int) {
		ps.Add(table.Problem{File: file, Line: line, Value: value, Expected: expected, Remedy: remedy})
		return nil, 0
	}
	if len(data) > mostBytes {
		return fault(0, fmt.Sprintf("%d bytes", len(data)), fmt.Sprintf("at most %d megabytes", mostBytes>>20), "take the description (msDesc) of the book out of the file, and give that alone")
	}
	if len(bytes.TrimSpace(data)) == 0 {
		return fault(1, "", "a TEI file", "the file is empty: fetch it again")
	}
	p := newParser(data)
	for {
		more, err := p.token()
		switch {
		case err != nil:
			line, _ := p.xml.InputPos()
			return fault(line, p.near(), "well-formed XML", remedyOf(err))
		case p.depth > mostDepth:
			line, _ := p.xml.InputPos()
			return fault(line, fmt.Sprintf("%d elements inside each other", p.depth), fmt.Sprintf("at most %d", mostDepth), "the file is no catalogue record: check where it comes from")
		case !more && len(p.found) == 0:
			return fault(1, "no msDesc"+p.root(), "a TEI file with the description of a manuscript, msDesc", "give the library's catalogue record in TEI, not its page or its transcription")
		case !more:
			return p.found, p.unprintable
		}
	}
}

// remedyOf tells what to do about XML that cannot be read.
func remedyOf(err error) string {
	var syntax *xml.SyntaxError
	if strings.Contains(err.Error(), "unsupported version") {
		return `write version="1.0" in its first line; records use nothing else`
	}
	if !errors.As(err, &syntax) {
		return fmt.Sprintf("%v; save the file again as UTF-8", err)
	}
	switch {
	case strings.Contains(syntax.Msg, "character entity"):
		return syntax.Msg + "; entities that stand for files or for other entities are not expanded here, for safety: write the characters themselves"
	case strings.Contains(syntax.Msg, "unexpected EOF"):
		return "the file ends too early: fetch it again"
	}
	return syntax.Msg + "; mend the file, or fetch it again"
}

// printable leaves out the characters that no table may hold, and counts them.
func (p *parser) printable(text string) string {
	text, n := table.Printable(text)
	p.unprintable += n
	return text
}

type parser struct {
	unprintable int // characters left out
	xml         *xml.Decoder
	data        []byte
	depth       int
	first       string  // name of the outermost element
	open        []*node // elements of the description that are not yet closed
	found       []*node
}

func newParser(data []byte) *parser {
	// A byte-order mark says more than the declaration does.
	marked, _, err := transform.Bytes(unicode.BOMOverride(transform.Nop), data)
	decoded := err == nil && !bytes.Equal(marked, data)
	if decoded {
		data = marked
	}
	p := &parser{xml: xml.NewDecoder(bytes.NewReader(data)), data: data}
	p.xml.Entity = maps.Clone(xml.HTMLEntity) // names of characters, as old records have them
	p.xml.CharsetReader = func(charset string, in io.Reader) (io.Reader, error) {
		if decoded {
			return in, nil
		}
		encoding, err := htmlindex.Get(charset)
		if err != nil {
			return nil, fmt.Errorf("the encoding %q is not known", charset)
		}
		return encoding.NewDecoder().Reader(in), nil
	}
	return p
}

// near is the text around the place reached.
func (p *parser) near() string {
	at := int(p.xml.InputOffset())
	if at > len(p.data) {
		return "" // the text was turned into UTF-8 on the way
	}
	return strings.ToValidUTF8(strings.TrimSpace(string(p.data[max(0, at-30):at])), "?")
}

func (p *parser) root() string {
	if p.first == "" {
		return ""
	}
	return " in a file of " + p.first
}

// token takes the next piece of the file; false at its end.
func (p *parser) token() (bool, error) {
	token, err := p.xml.Token()
	if err == io.EOF {
		return false, nil
	}
	if err != nil {
		return false, err
	}
	switch token := token.(type) {
	case xml.StartElement:
		p.start(token)
	case xml.EndElement:
		p.depth--
		if len(p.open) > 0 {
			p.open = p.open[:len(p.open)-1]
		}
	case xml.Directive:
		p.declare(token)
	case xml.CharData:
		if len(p.open) > 0 {
			parent := p.open[len(p.open)-1]
			parent.nodes = append(parent.nodes, &node{text: p.printable(string(token))})
		}
	}
	return true, nil
}

// reEntity finds an entity that stands for plain text, as old records declare them
// for characters; others, of files or of other entities, are not taken.
var reEntity = regexp.MustCompile(`<!ENTITY\s+([\w.-]+)\s+(?:"((?:[^"<&%]|&#x?[0-9A-Fa-f]+;)*)"|'((?:[^'<&%]|&#x?[0-9A-Fa-f]+;)*)')\s*>`)

// mostDeclared is to how many bytes the entities of a file may grow it.
const mostDeclared = 1 << 20

// declare takes the entities that the file itself declares as plain text.
func (p *parser) declare(doctype []byte) {
	grown := 0
	for _, match := range reEntity.FindAllSubmatch(doctype, -1) {
		name, text := string(match[1]), html.UnescapeString(string(match[2])+string(match[3]))
		grown += bytes.Count(p.data, []byte("&"+name+";")) * len(text)
		if _, known := p.xml.Entity[name]; known || grown > mostDeclared {
			continue
		}
		p.xml.Entity[name] = text
	}
}

func (p *parser) start(token xml.StartElement) {
	name := token.Name.Local
	p.depth++
	if p.first == "" {
		p.first = name
	}
	describes := name == "msDesc" || name == "msDescription"
	if len(p.open) == 0 && !describes {
		return
	}
	for i := range token.Attr {
		token.Attr[i].Value = p.printable(token.Attr[i].Value)
	}
	line, _ := p.xml.InputPos()
	n := &node{name: name, line: line, attrs: token.Attr}
	if len(p.open) == 0 {
		p.found = append(p.found, n)
	} else {
		parent := p.open[len(p.open)-1]
		parent.nodes = append(parent.nodes, n)
	}
	p.open = append(p.open, n)
}
