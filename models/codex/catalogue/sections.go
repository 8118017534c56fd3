package catalogue

import (
	"cmp"
	"regexp"
	"slices"
	"strings"

	"thumbed/models/codex"
)

// A run is a first and a last page, both included, counted along the book from
// 0.
type run [2]int

// A section is a row of sections.csv.
type section struct {
	line                               int
	name, kind, set, incipit, language string
	office                             codex.Office
	runs                               []run
	by                                 string // what its end was inferred by
}

func (s *section) what() string { return "the text “" + Short(s.name, 60) + "”" }

// A sectioner makes sections of a tree of texts.
type sectioner struct {
	account    *Account
	leaf       map[codex.Folio]int // place of each leaf from 0
	labels     []codex.Folio
	language   string
	openRecord bool     // most texts of the record give only where they begin
	blank      []run    // pages that are said to be blank
	untold     []string // names of texts of which no word tells the kind
	unset      []string // names of hours of which no word tells the set
}

func newSectioner(account *Account, leaves []codex.StatedLeaf, language string) *sectioner {
	s := &sectioner{account: account, leaf: map[codex.Folio]int{}, language: language}
	for i, leaf := range leaves {
		s.labels = append(s.labels, leaf.Label)
		if !leaf.Label.IsZero() {
			s.leaf[bare(leaf.Label)] = i
		}
	}
	return s
}

func bare(f codex.Folio) codex.Folio {
	f.Supplied = false
	return f
}

// page gives the place of a page along the book.
func (s *sectioner) page(label codex.PageLabel) (int, bool) {
	leaf, ok := s.leaf[bare(label.Folio)]
	return 2*leaf + int(label.Side), ok
}

// extent writes runs as an extent.
func (s *sectioner) extent(runs []run) codex.Extent {
	var e codex.Extent
	for _, r := range runs {
		e.Ranges = append(e.Ranges, codex.Range{From: s.label(r[0]), To: s.label(r[1])})
	}
	return e
}

func (s *sectioner) label(page int) codex.PageLabel {
	return codex.PageLabel{Folio: s.labels[page/2], Side: codex.Side(page % 2)}
}

// sections makes the rows of sections.csv of a tree of texts, where last is the
// last page that a text may run to. A page counts in the innermost text that has
// it, and where two of one level meet in the one that begins there.
func (s *sectioner) sections(r *Record, last int) []*section {
	texts := s.plant(r.Items, nil, context{})
	s.alone(texts, r, last)
	ranges, lone := count(texts)
	s.openRecord = lone > ranges
	s.close(texts, last, codex.ByLastLeaf)
	s.tell(texts)
	s.noteOverlaps(texts)
	all := flat(texts)
	for _, t := range all {
		if !hasPlace(t.children) {
			s.blank = minus(s.blank, t.whole)
		}
	}
	owners := s.owners(all)
	return s.rows(texts, owners)
}

// lastText is the last page that a text may run to: that of the last leaf before
// the flyleaves at the end.
func (s *sectioner) lastText(c Counts) int {
	last, skip := len(s.labels)-1, min(c.End, len(s.labels)-1)
	for ; last > 0 && (skip > 0 || s.labels[last].IsZero()); last-- {
		if !s.labels[last].IsZero() {
			skip--
		}
	}
	return 2*last + 1
}

// alone gives the only text of a book, which has no place, all of its leaves.
func (s *sectioner) alone(texts []*text, r *Record, last int) {
	texts = slices.DeleteFunc(slices.Clone(texts), func(t *text) bool { return t.Remark && len(t.children) == 0 && len(texts) > 1 })
	if len(texts) != 1 || texts[0].Told && !texts[0].Part {
		return
	}
	t := texts[0]
	if _, placed := t.start(); placed {
		return
	}
	if t.Part {
		s.alone(t.children, r, last)
		return
	}
	first := 0
	for skip := r.Counts.Front; first < len(s.labels)-1 && (skip > 0 || s.labels[first].IsZero()); first++ {
		if !s.labels[first].IsZero() {
			skip--
		}
	}
	if 2*first < last {
		t.stated, t.by = s.trim([]run{{2 * first, last}}), codex.ByWhole
		if t.Title == "" && t.Incipit == "" && r.Title != "" {
			t.name = Short(r.Title, 200)
		}
	}
}

// flat lists the texts of a tree, each before its parts.
func flat(texts []*text) []*text {
	var out []*text
	for _, t := range texts {
		if !t.Part && t.whole != nil {
			out = append(out, t)
		}
		out = append(out, flat(t.children)...)
	}
	return out
}

// owners gives each page the text that it counts in; nil for pages outside all.
func (s *sectioner) owners(texts []*text) []*text {
	owners, from := make([]*text, 2*len(s.labels)), make([]run, 2*len(s.labels))
	for _, t := range texts {
		for _, r := range t.whole {
			for page := r[0]; page <= r[1]; page++ {
				other := owners[page]
				// The text that begins last is the innermost, then the one that
				// ends first; a part goes before its whole, and of texts on the same
				// pages the first one has them.
				if other == nil || cmp.Or(cmp.Compare(from[page][0], r[0]), cmp.Compare(r[1], from[page][1])) < 0 || from[page] == r && other == t.parent {
					owners[page], from[page] = t, r
				}
			}
		}
	}
	return owners
}

// rows makes a section of each text that has pages, and joins those that have
// none of their own to the text that has theirs.
func (s *sectioner) rows(texts []*text, owners []*text) []*section {
	of := map[*text]*section{}
	all := flat(texts)
	for _, t := range all {
		if own := s.owned(t, owners); len(own) > 0 {
			made := t.section
			made.runs, made.by = own, t.by
			of[t] = &made
		}
	}
	var rows []*section
	for _, t := range all {
		made := of[t]
		switch {
		case made == nil && len(t.children) > 0 && hasPlace(t.children):
			s.account.Use(t.line, t.what(), "what its parts belong to; they cover all of it")
			continue
		case made == nil:
			host := of[owners[hull(t.whole)[0]]]
			s.account.Use(t.line, t.what(), "joined with “%s”, which stands on the same page, %s", Short(host.name, 60), s.extent(host.runs))
			host.name = Short(host.name+"; "+t.name, 200)
			continue
		case hasPlace(t.children):
			made.name += " (the rest)"
			made.office = codex.NoOffice
		}
		rows = append(rows, made)
	}
	slices.SortStableFunc(rows, func(a, b *section) int { return a.runs[0][0] - b.runs[0][0] })
	for _, made := range rows {
		s.use(made)
	}
	return rows
}

func hasPlace(texts []*text) bool {
	return slices.ContainsFunc(texts, func(t *text) bool { return t.whole != nil || hasPlace(t.children) })
}

func (s *sectioner) use(made *section) {
	words := "the section on " + s.extent(made.runs).String() + ", " + made.kind
	if made.set != "" {
		words += " " + made.set
	}
	if made.office != codex.NoOffice {
		words += ", " + made.office.String()
	}
	s.account.Use(made.line, made.what(), "%s", words)
	if made.kind == kindUntold {
		s.untold = append(s.untold, made.name)
	}
	if made.kind == kindHours && made.set == "" {
		s.unset = append(s.unset, made.name)
	}
}

// owned are the pages that count in a text, with the page on which it ends and
// another begins, or on which it begins and a text of one page stands.
func (s *sectioner) owned(t *text, owners []*text) []run {
	var runs []run
	for _, whole := range t.whole {
		for page := whole[0]; page <= whole[1]; page++ {
			if owners[page] != t {
				continue
			}
			if last := len(runs) - 1; last >= 0 && runs[last][1] == page-1 && page > whole[0] {
				runs[last][1] = page
			} else {
				runs = append(runs, run{page, page})
			}
		}
	}
	runs = s.trim(runs)
	for i := range runs {
		for _, whole := range t.whole {
			if next := runs[i][1] + 1; next == whole[1] && whole[0] < next && meets(owners[next], t, next) {
				runs[i][1] = next
			}
			if before := runs[i][0] - 1; before == whole[0] && before < whole[1] && single(owners[before], t, before) {
				runs[i][0] = before
			}
		}
	}
	return runs
}

// meets tells whether another text, no part of t, begins on a page.
func meets(other, t *text, page int) bool {
	return other != nil && !within(other, t) && !within(t, other) && slices.ContainsFunc(other.whole, func(r run) bool { return r[0] == page })
}

// single tells whether another text, no part of t, stands on a page and no other.
func single(other, t *text, page int) bool {
	return meets(other, t, page) && len(other.whole) == 1 && other.whole[0] == run{page, page}
}

// within tells whether a text is a part of another, at whatever depth.
func within(part, of *text) bool {
	for part = part.parent; part != nil; part = part.parent {
		if part == of {
			return true
		}
	}
	return false
}

// reBlank finds what a record says of blank pages where a text would stand, in
// English, Latin, French, German, Italian, Spanish and Dutch (common practice, no
// source).
var reBlank = regexp.MustCompile(`^(?i:\W*(?:blank|vacat|vacua?e?|leer|unbeschrieben|blanche?s?|vierges?|bianc[ahoe]+|en blanco|blanc[ao]s?|blanco|onbeschreven)\W*)$`)

// noteUntold tells of which texts no word tells the kind, and of which hours none
// tells the set.
func (s *sectioner) noteUntold(line int) {
	if names := quoted(s.untold); names != "" {
		s.account.Note(line, "the kinds of texts", "no word of the record tells that of %s; “%s” stands in its place, for you to change in sections.csv", names, kindUntold)
	}
	if names := quoted(s.unset); names != "" {
		s.account.Leave(line, "the set of hours", "no title tells which %s are; enter it in the column set of sections.csv, such as of the Virgin", names)
	}
}

// quoted lists names, at most six of them; empty where there are none.
func quoted(names []string) string {
	out := make([]string, 0, len(names))
	for _, name := range names {
		out = append(out, "“"+Short(name, 40)+"”")
	}
	if more := len(out) - 6; more > 0 {
		out = append(out[:6], Count(more, "other", "others"))
	}
	return strings.Join(out, ", ")
}

// trim takes pages of lost leaves off the ends of runs, since they have no
// label to write.
func (s *sectioner) trim(runs []run) []run {
	var out []run
	for _, r := range runs {
		for r[0] <= r[1] && s.labels[r[0]/2].IsZero() {
			r[0]++
		}
		for r[0] <= r[1] && s.labels[r[1]/2].IsZero() {
			r[1]--
		}
		if r[0] <= r[1] {
			out = append(out, r)
		}
	}
	return out
}

// union gives the pages of either, in order.
func union(a, b []run) []run {
	all := slices.SortedFunc(slices.Values(slices.Concat(a, b)), func(x, y run) int { return x[0] - y[0] })
	var out []run
	for _, r := range all {
		if last := len(out) - 1; last >= 0 && r[0] <= out[last][1]+1 {
			out[last][1] = max(out[last][1], r[1])
			continue
		}
		out = append(out, r)
	}
	return out
}

// minus gives the pages of a that are not in b, run by run of a.
func minus(a, b []run) []run {
	b = union(b, nil)
	var out []run
	for _, r := range a {
		from := r[0]
		for _, taken := range b {
			if taken[1] < from || taken[0] > r[1] {
				continue
			}
			if taken[0] > from {
				out = append(out, run{from, taken[0] - 1})
			}
			from = taken[1] + 1
		}
		if from <= r[1] {
			out = append(out, run{from, r[1]})
		}
	}
	return out
}

// Joined is words parted by semicolons, each once.
func Joined(words []string) string {
	var out []string
	for _, w := range words {
		if w != "" && !slices.Contains(out, w) {
			out = append(out, w)
		}
	}
	return strings.Join(out, "; ")
}
