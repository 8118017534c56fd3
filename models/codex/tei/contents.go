package tei

import (
	"strings"

	"thumbed/models/codex/catalogue"
)

// item reads a text and the texts that it consists of.
func (r *reader) item(n *node) *catalogue.Item {
	item := &catalogue.Item{Line: n.line, Class: strings.ReplaceAll(n.attr("class")+" "+n.attr("type"), "#", "")}
	text := n.without("msItem", "msItemStruct", "decoNote")
	item.Title = titleOf(text)
	if incipit := text.find("incipit"); incipit != nil {
		item.Incipit = incipit.words("locus", "note")
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

// titleOf is what a text is called: its title, or whichever of its heading, its
// rubric, its first words and what is said of it comes first. Titles inside what
// is said of it are those of other books.
func titleOf(text *node) string {
	own := text.children("title")
	if len(own) > 1 {
		// The library's own words rather than a translation, where it says so.
		for _, title := range own {
			if kind := title.attr("type"); kind == "desc" || kind == "uniform" || kind == "supplied" {
				own = []*node{title}
				break
			}
		}
	}
	for _, found := range append(own, text.children("head", "rubric", "note", "p", "ab", "incipit", "textLang")...) {
		if title := found.find("title"); title != nil && found.is("rubric", "p", "ab", "head") && before(found, title) == "" {
			found = title
		}
		_, words, _ := catalogue.LeadingLocus(found.words("locus", "locusGrp", "note", "bibl", "listBibl"))
		if words = strings.Trim(words, " .,:;—–"); words != "" {
			return catalogue.Short(words, 120)
		}
	}
	_, words, _ := catalogue.LeadingLocus(text.words("locus", "locusGrp"))
	return catalogue.Short(strings.Trim(words, " .,:;"), 120)
}

// place finds where a text stands: in loci of its own, in a locus at the front
// of what is said of it, from that of its incipit to that of its explicit, or
// in words at its front.
func (r *reader) place(text *node, item *catalogue.Item) {
	what := item.What()
	var own []*node
	for _, child := range text.children("locus", "locusGrp") {
		own = append(own, lociIn(child)...)
	}
	if len(own) == 0 {
		own = leading(text)
	}
	if len(own) > 0 {
		item.Told = r.await(what, own, &item.Loci)
		return
	}
	if l, _, ok := catalogue.LeadingLocus(text.words("rubric", "incipit", "explicit", "finalRubric", "colophon", "quote", "textLang")); ok {
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
		whole := first.Until(*last)
		r.account.Note(item.Line, what, "its place is taken to run from its incipit to its explicit, %s", whole)
		r.hold(pending{line: item.Line, what: what, locus: whole, into: &item.Loci})
	case first != nil:
		r.account.Leave(item.Line, what, "the record tells where it begins, %s, and not where it ends; enter it in sections.csv", first.Ranges[0].From)
		item.Told = true
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
