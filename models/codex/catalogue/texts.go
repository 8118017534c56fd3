package catalogue

import (
	"fmt"
	"slices"

	"thumbed/models/codex"
)

// A Text is a text of the description and the pages that it runs over, those of
// its parts among them.
type Text struct {
	Line   int
	Name   string
	Kind   string
	Set    string
	Office codex.Office
	Extent codex.Extent
	By     string // what its end was inferred by, one of codex.ExtentGrounds; empty where it is stated
	Leaves int    // leaves still there that it has a page of
}

// A text is an [Item] in the book: what it is, what it is part of, and where it
// stands.
type text struct {
	*Item
	section
	parent   *text
	children []*text
	stated   []run  // pages that the description names
	whole    []run  // pages that it runs over, with those of its parts; nil where not known
	by       string // what the end was inferred by
}

// start is its first page; false where none is known.
func (t *text) start() (int, bool) {
	first, ok := 0, false
	for _, r := range t.stated {
		if !ok || r[0] < first {
			first, ok = r[0], true
		}
	}
	for _, child := range t.children {
		if at, known := child.start(); known && (!ok || at < first) {
			first, ok = at, true
		}
	}
	return first, ok
}

// hull is the run from the first to the last page of runs.
func hull(runs []run) run {
	h := runs[0]
	for _, r := range runs {
		h[0], h[1] = min(h[0], r[0]), max(h[1], r[1])
	}
	return h
}

// plant makes the tree of texts of the items.
func (s *sectioner) plant(items []*Item, parent *text, around context) []*text {
	var texts []*text
	for _, item := range items {
		t := &text{Item: item, parent: parent, by: item.By}
		t.stated = s.resolve(item.Line, item.What(), item.Loci)
		if item.Remark && len(t.stated) == 0 && len(item.Children) == 1 {
			texts = append(texts, s.plant(item.Children, parent, around)...) // a heading over one text
			continue
		}
		if !item.Part && len(item.Children) == 0 && blank(item) {
			s.blank = union(s.blank, t.stated)
			s.account.Use(item.Line, item.What(), "the pages %s are blank, and no text", s.extent(t.stated))
			continue
		}
		within := around
		if !item.Part {
			t.section = *s.describe(item, around)
			within = context{t.kind, t.set, t.language}
		}
		t.children = s.plant(item.Children, t, within)
		texts = append(texts, t)
	}
	s.slipped(texts)
	texts = s.nest(texts)
	for _, t := range texts {
		t.parent = parent
	}
	s.inPart(parent, texts)
	return texts
}

// slipped takes from a text the page where it is said to begin, where that lies before
// the texts in front of it and its parts lie behind them: it is a slip, often the place
// of the first text, and the text begins with its parts.
func (s *sectioner) slipped(texts []*text) {
	before := -1
	for _, t := range texts {
		at, placed := t.start()
		if placed && t.Begins && at < before && len(t.stated) > 0 {
			parts := &text{children: t.children}
			if first, ok := parts.start(); ok && first >= before {
				s.account.Infer(t.line, t.what(), "it is said to begin on %s, before the texts in front of it; it is taken to begin with its first part, on %s", s.label(at), s.label(first))
				t.stated, at = nil, first
			}
		}
		if placed {
			before = max(before, at)
		}
	}
}

// blank tells whether a record says that pages are blank where a text would stand.
func blank(item *Item) bool {
	if item.Title == "" && len(item.Notes) == 1 {
		return reBlank.MatchString(item.Notes[0].Text)
	}
	return reBlank.MatchString(item.Title)
}

// inPart gives the only text of a physical part the place of the part.
func (s *sectioner) inPart(parent *text, texts []*text) {
	if parent == nil || !parent.Part || len(texts) != 1 || len(parent.stated) == 0 {
		return
	}
	if _, placed := texts[0].start(); !placed {
		texts[0].stated, texts[0].by = parent.stated, codex.ByWhole
	}
}

// nest makes a text that stands inside an elder one of the same level, as the
// description has it, a part of that one.
func (s *sectioner) nest(texts []*text) []*text {
	var out []*text
	for _, t := range texts {
		if elder := s.around(out, t); elder != nil {
			t.parent = elder
			s.account.Note(t.line, t.what(), "it stands inside “%s”, %s, and is taken as a part of it", Short(elder.name, 60), s.extent(elder.stated))
			elder.children = s.nest(append(elder.children, t))
			continue
		}
		out = append(out, t)
	}
	return out
}

// around finds the elder text that a text stands inside; nil where none is.
func (s *sectioner) around(elders []*text, t *text) *text {
	if len(t.stated) == 0 || t.Part {
		return nil
	}
	own := hull(t.stated)
	for _, elder := range slices.Backward(elders) {
		if len(elder.stated) == 0 || elder.Begins || elder.Part {
			continue
		}
		outer := hull(elder.stated)
		inside := outer[0] <= own[0] && own[1] <= outer[1] && own[0] < outer[1] && own[1]-own[0] < outer[1]-outer[0]
		// A text that ends where the elder one does and is one leaf may follow on it.
		if inside && len(minus(t.stated, elder.stated)) == 0 {
			return elder
		}
	}
	return nil
}

// runsOn tells whether a place of one page or leaf, among these texts, says only
// where a text begins: where no text of theirs has a last page, or fewer than
// seem to begin without one.
func (s *sectioner) runsOn(texts []*text) bool {
	ranges, open, lone := 0, 0, 0
	for i, t := range texts {
		switch {
		case len(t.stated) == 0 || t.Part:
		case !t.Begins && t.by == "":
			ranges++
		case t.Begins:
			lone++
			if next, ok := s.next(texts, i); !ok || next > hull(t.stated)[1]+1 {
				open++
			}
		}
	}
	switch {
	case ranges == 0 && lone > 1:
		return true
	case ranges+open == 0 || ranges == 0:
		return s.openRecord
	}
	return open > ranges
}

// count counts the texts of a tree that have a first and a last page, and those
// that have one page or leaf.
func count(texts []*text) (ranges, lone int) {
	for _, t := range texts {
		switch {
		case len(t.stated) == 0 || t.by != "" || t.Part:
		case t.Begins:
			lone++
		default:
			ranges++
		}
		r, l := count(t.children)
		ranges, lone = ranges+r, lone+l
	}
	return ranges, lone
}

// next is the page where the next text of the same level begins; false where none
// does, or where the one that follows has no place.
func (s *sectioner) next(texts []*text, i int) (int, bool) {
	own, _ := texts[i].start()
	if i+1 < len(texts) {
		if _, placed := texts[i+1].start(); !placed {
			return 0, false
		}
	}
	best, found := 0, false
	for k, other := range texts {
		if at, ok := other.start(); ok && k != i && (at > own || at == own && k > i) && (!found || at < best) {
			best, found = at, true
		}
	}
	return best, found
}

// untold marks a limit that nothing tells.
const untold = -1

// close settles where each text ends, where limit is the last page that the last
// of them may have, untold where that is not known, and by what it would be inferred.
func (s *sectioner) close(texts []*text, limit int, by string) {
	open := s.runsOn(texts)
	for last := len(texts) - 1; last > 0 && texts[last].Remark && len(texts[last].Loci)+len(texts[last].children) == 0; last-- {
		texts = texts[:last] // what is only remarked at the end is no text that follows
	}
	for i, t := range texts {
		last, ground := limit, by
		start, placed := t.start()
		if next, ok := s.next(texts, i); ok && placed {
			last, ground = max(next-1, start), codex.ByNextText
		} else if i+1 < len(texts) && placed {
			last = untold // the text that follows has no place
		}
		s.end(t, open, last, ground)
	}
}

// end settles where one text and its parts end.
func (s *sectioner) end(t *text, open bool, last int, ground string) {
	if at, ok := t.start(); ok && t.parent != nil && t.parent.Part {
		for _, r := range t.parent.stated { // a part may have leaves here and there
			if r[0] <= at && at <= r[1] && last > r[1] {
				last, ground = r[1], codex.ByWhole
			}
		}
	}
	switch {
	case len(t.stated) == 0:
		for _, words := range t.Ends {
			if at, ok := s.page(words.To); ok && (last == untold || at < last) {
				last, ground = at, codex.ByExplicit
			}
		}
	case !t.Begins:
		t.whole = t.stated
	case !open && !t.RunsOn && !t.outgrown():
		t.whole = t.stated
		if own := hull(t.stated); last > own[1] {
			s.account.Note(t.line, t.what(), "it is taken to stand on %s alone, since other texts are given a last page; if it runs on, it ends at the latest on %s", s.extent(t.stated), s.label(s.present(last)))
		}
	case last == untold && len(t.Ends) == 0:
		t.whole = nil
	default:
		from := hull(t.stated)[0]
		switch {
		case last == untold:
			last = 2*len(s.labels) - 1
		case last < from:
			last = hull(t.stated)[1] // it stands beyond the whole that it is part of
		}
		t.whole, t.by = s.trim([]run{{from, max(last, from)}}), ground
		for _, words := range t.Ends {
			if at, ok := s.page(words.To); ok && at >= from {
				t.whole, t.by = []run{{from, at}}, codex.ByExplicit
			}
		}
	}
	limit, by := last, ground
	if t.whole != nil {
		limit, by = hull(t.whole)[1], codex.ByWhole
		if t.by != "" {
			by = t.by
		}
	}
	s.close(t.children, limit, by)
	s.cover(t)
}

// outgrown tells whether parts of a text begin behind the place that it is given.
func (t *text) outgrown() bool {
	end := hull(t.stated)[1]
	return slices.ContainsFunc(t.children, func(child *text) bool {
		at, ok := child.start()
		return ok && at > end
	})
}

// cover makes a text run over its parts.
func (s *sectioner) cover(t *text) {
	parts := t.whole
	beyond := false
	for _, child := range t.children {
		if child.whole != nil {
			beyond = beyond || len(minus(child.whole, t.whole)) > 0
			parts = union(parts, child.whole)
		}
	}
	switch {
	case len(parts) == 0 || !beyond:
	case t.whole == nil:
		t.whole = []run{hull(parts)}
		t.by = lastGround(t)
	default:
		if t.by == "" {
			s.account.Infer(t.line, t.what(), "its place is %s, and its parts run on to %s; it is taken to run over both", s.extent(t.whole), s.label(hull(parts)[1]))
		}
		if len(t.whole) == 1 {
			parts = []run{hull(parts)}
		}
		t.whole = parts
	}
}

// lastGround is what the end of the last part was inferred by.
func lastGround(t *text) string {
	last, by := -1, ""
	for _, child := range t.children {
		if child.whole != nil && hull(child.whole)[1] > last {
			last, by = hull(child.whole)[1], child.by
		}
	}
	return by
}

// present is a page or, where its leaf is gone, the last before it that is there.
func (s *sectioner) present(page int) int {
	for page > 0 && s.labels[page/2].IsZero() {
		page--
	}
	return page
}

// tell enters all texts in the account: those that have a place, and what became
// of those that have none.
func (s *sectioner) tell(texts []*text) {
	for _, t := range texts {
		if !t.Part {
			s.tellOne(t)
		}
		s.tell(t.children)
	}
}

func (s *sectioner) tellOne(t *text) {
	switch {
	case t.whole != nil:
		extent := s.extent(t.whole)
		s.account.Texts = append(s.account.Texts, Text{Line: t.line, Name: t.name, Kind: t.kind, Set: t.set, Office: t.office, Extent: extent, By: t.by, Leaves: s.leavesOf(t.whole)})
		if t.by != "" {
			s.account.Infer(t.line, t.what(), "it runs over %s: %s", extent, grounds[t.by])
		}
	case len(t.stated) > 0:
		s.account.Leave(t.line, t.what(), "the record tells where it begins, %s, and not where it ends, and the text after it has no place; enter it in sections.csv", s.label(hull(t.stated)[0]))
	case len(t.Loci) == 0 && !t.Told && !t.Remark:
		s.account.Leave(t.line, t.what(), "the record does not tell where it stands; enter it in sections.csv")
	}
}

// grounds are the sentences for what an end was inferred by.
var grounds = map[string]string{
	codex.ByNextText: "its end is inferred from where the next text begins",
	codex.ByWhole:    "its place is that of the whole which it is part of, or its end is",
	codex.ByExplicit: "its end is taken from the place of its last words",
	codex.ByLastLeaf: "it is the last text, and is taken to run to the last leaf",
}

func (s *sectioner) leavesOf(runs []run) int {
	n := 0
	for i := range s.labels {
		if !s.labels[i].IsZero() && slices.ContainsFunc(runs, func(r run) bool { return r[0] <= 2*i+1 && 2*i <= r[1] }) {
			n++
		}
	}
	return n
}

// resolve finds the pages that places name, in the order in which they are
// written.
func (s *sectioner) resolve(line int, what string, ranges []codex.Range) []run {
	var runs []run
	for _, r := range ranges {
		from, fromOK := s.page(r.From)
		to, toOK := s.page(r.To)
		switch {
		case !fromOK || !toOK:
			s.account.Leave(line, what, "%s names a leaf that the book does not have", r)
		case to < from:
			s.account.Leave(line, what, "%s runs backward; correct it", r)
		case len(minus([]run{{from, to}}, runs)) == 0:
			// said already
		default:
			for _, r := range s.trim(minus([]run{{from, to}}, runs)) {
				if last := len(runs) - 1; last >= 0 && runs[last][1]+1 == r[0] {
					runs[last][1] = r[1] // the page that follows on
					continue
				}
				runs = append(runs, r)
			}
		}
	}
	return runs
}

// noteOverlaps tells of texts of one level that lie over each other on more than
// the page where one ends and the other begins, with both readings.
func (s *sectioner) noteOverlaps(texts []*text) {
	for i, t := range texts {
		for _, other := range texts[i+1:] {
			if t.whole == nil || other.whole == nil || t.Part || other.Part {
				continue
			}
			a, b := hull(t.whole), hull(other.whole)
			if b[0] < a[0] {
				continue
			}
			if over := min(a[1], b[1]); over > b[0] && len(minus([]run{{b[0], over}}, t.whole)) == 0 {
				both := s.extent([]run{{b[0], over}})
				s.account.Infer(other.line, other.what(), "%s stand in it and in “%s”%s too: they are counted in “%s”, which begins there; if they belong to “%s”, begin it on %s",
					both, Short(t.name, 60), lineOf(t.line), Short(other.name, 60), Short(t.name, 60), s.label(min(over+1, 2*len(s.labels)-1)))
			}
		}
		s.noteOverlaps(t.children)
	}
}

func lineOf(line int) string {
	if line > 0 {
		return fmt.Sprintf(" (line %d)", line)
	}
	return ""
}
