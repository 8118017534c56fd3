package tei

import (
	"strings"

	"thumbed/models/codex"
	"thumbed/models/codex/catalogue"
)

// item reads a text and the texts that it consists of.
func (r *reader) item(n *node) *catalogue.Item {
	item := &catalogue.Item{Line: n.line, Class: strings.ReplaceAll(n.attr("class")+" "+n.attr("type"), "#", "")}
	text := n.without("msItem", "msItemStruct", "decoNote")
	item.Title = titleOf(text)
	if incipit := text.find("incipit"); incipit != nil {
		item.Incipit = incipit.words("locus")
	}
	if lang := text.find("textLang"); lang != nil {
		item.Language = languageOf(lang)
	}
	r.place(text, item)
	n.each(func(part *node) { item.Children = append(item.Children, r.item(part)) }, "msItem", "msItemStruct")
	return item
}

// without is n with the elements named left out, wherever they stand in it.
func (n *node) without(names ...string) *node {
	out := *n
	out.nodes = nil
	for _, child := range n.nodes {
		if !child.is(names...) {
			out.nodes = append(out.nodes, child.without(names...))
		}
	}
	return &out
}

// titleOf is what a text is called: its title, its rubric, or the first words
// of what is said of it.
func titleOf(text *node) string {
	for _, name := range []string{"title", "head", "rubric", "note", "p", "ab", "incipit"} {
		if found := text.find(name); found != nil {
			_, words, _ := catalogue.LeadingLocus(found.words("locus", "locusGrp", "msItem"))
			if words = strings.Trim(words, " .,:;"); words != "" {
				return catalogue.Short(words, 120)
			}
		}
	}
	_, words, _ := catalogue.LeadingLocus(text.words("locus", "locusGrp"))
	return catalogue.Short(strings.Trim(words, " .,:;"), 120)
}

// place finds where a text stands: in loci of its own, in a locus at the front
// of what is said of it, from that of its incipit to that of its explicit, or
// in words at its front.
func (r *reader) place(text *node, item *catalogue.Item) {
	what := "the text “" + catalogue.Short(item.Title, 60) + "”"
	var own []*node
	for _, child := range text.children("locus", "locusGrp") {
		own = append(own, lociIn(child)...)
	}
	if len(own) == 0 {
		own = leading(text)
	}
	if len(own) > 0 {
		r.await(item.Line, what, own, &item.Loci)
		return
	}
	if l, _, ok := catalogue.LeadingLocus(text.words()); ok {
		r.hold(pending{line: item.Line, what: what, locus: l, into: &item.Loci})
		return
	}
	for _, name := range []string{"title", "head", "p", "note", "ab"} {
		if found := text.find(name); found != nil {
			if l, _, ok := catalogue.LeadingLocus(found.words()); ok {
				r.hold(pending{line: found.line, what: what, locus: l, into: &item.Loci})
				return
			}
		}
	}
	r.fromEnds(text, what, item)
}

// lociIn are the loci of a group, or a locus by itself.
func lociIn(n *node) []*node {
	if n.name == "locus" {
		return []*node{n}
	}
	var loci []*node
	n.each(func(l *node) { loci = append(loci, l) }, "locus")
	return loci
}

// leading gives the loci at the front of the first piece of prose about a text.
// One that comes later may be the place of a detail, and is taken only where it
// is the only one.
func leading(text *node) []*node {
	for _, name := range []string{"title", "head", "p", "note", "ab"} {
		found := text.find(name)
		if found == nil {
			continue
		}
		var loci []*node
		found.each(func(n *node) { loci = append(loci, lociIn(n)...) }, "locus", "locusGrp")
		if len(loci) == 0 {
			continue
		}
		if len(loci) == 1 || before(found, loci[0]) == "" {
			return loci[:1]
		}
	}
	return nil
}

// before is the text in n before an element.
func before(n, stop *node) string {
	var b strings.Builder
	var walk func(*node) bool
	walk = func(n *node) bool {
		if n == stop {
			return false
		}
		b.WriteString(n.text)
		for _, child := range n.nodes {
			if !walk(child) {
				return false
			}
		}
		return true
	}
	walk(n)
	return strings.Trim(b.String(), " \t\r\n([")
}

// fromEnds takes a text to run from the page of its rubric or incipit to that
// of its explicit.
func (r *reader) fromEnds(text *node, what string, item *catalogue.Item) {
	var first, last *catalogue.Locus
	for _, name := range []string{"rubric", "incipit"} {
		if at := locusIn(text, name); at != nil && first == nil {
			first = at
		}
	}
	for _, name := range []string{"explicit", "finalRubric", "colophon"} {
		if at := locusIn(text, name); at != nil && last == nil {
			last = at
		}
	}
	switch {
	case first != nil && last != nil && first.Paged == last.Paged:
		whole := codex.Range{From: first.Ranges[0].From, To: last.Ranges[len(last.Ranges)-1].To}
		r.account.Note(item.Line, what, "its place is taken to run from its incipit to its explicit, %s", whole)
		r.hold(pending{line: item.Line, what: what, locus: catalogue.Locus{Ranges: []codex.Range{whole}, Paged: first.Paged}, into: &item.Loci})
	case first != nil:
		r.account.Note(item.Line, what, "the record tells where it begins, %s, and not where it ends", first.Ranges[0].From)
	}
}

// locusIn gives the place that the element of a name in the text has.
func locusIn(text *node, name string) *catalogue.Locus {
	found := text.find(name)
	if found == nil {
		return nil
	}
	locus := found.find("locus")
	if locus == nil {
		return nil
	}
	if l, ok := parseLocus(locus); ok {
		return &l
	}
	return nil
}
