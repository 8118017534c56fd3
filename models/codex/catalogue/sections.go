package catalogue

import (
	"fmt"
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
}

// pages is how many pages a section has.
func (s *section) pages() int {
	n := 0
	for _, r := range s.runs {
		n += r[1] - r[0] + 1
	}
	return n
}

// first is its first page along the book.
func (s *section) first() int {
	first := s.runs[0][0]
	for _, r := range s.runs {
		first = min(first, r[0])
	}
	return first
}

func (s *section) what() string { return "the text “" + Short(s.name, 60) + "”" }

// A sectioner makes sections of a tree of texts.
type sectioner struct {
	account  *Account
	leaf     map[codex.Folio]int // place of each leaf from 0
	labels   []codex.Folio
	language string
	accepted []*section
	claims   map[int][]claim // by page
	blank    []run
	untold   []*section // of which no word tells the kind
}

// A claim is a section's run that covers a page.
type claim struct {
	*section
	run
}

func newSectioner(account *Account, leaves []codex.StatedLeaf, language string) *sectioner {
	s := &sectioner{account: account, leaf: map[codex.Folio]int{}, claims: map[int][]claim{}, language: language}
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

// A context is what a text takes from the text that it is part of.
type context struct {
	kind, set, language string
}

// add makes sections of a text and its parts, and gives the pages that they
// cover. A text with parts keeps the pages that none of them covers.
func (s *sectioner) add(item *Item, around context) []run {
	made := s.describe(item, around)
	own := s.resolve(item.Line, item.What(), item.Loci)
	if reBlank.MatchString(item.Title) && len(item.Children) == 0 {
		s.blank = union(s.blank, own)
		s.account.Use(item.Line, item.What(), "the pages %s are blank, and no text", s.extent(own))
		return own
	}
	within := context{made.kind, made.set, made.language}
	var covered []run
	for _, part := range item.Children {
		covered = union(covered, s.add(part, within))
	}
	switch rest := s.trim(minus(own, covered)); {
	case len(own) == 0 && len(item.Children) == 0:
		if len(item.Loci) == 0 && !item.Told {
			s.account.Leave(item.Line, item.What(), "the record does not tell where it stands; enter it in sections.csv")
		}
	case len(own) == 0:
		if covered != nil {
			s.account.Use(item.Line, item.What(), "what its parts belong to; it has no place of its own")
		}
	case covered == nil:
		made.runs = own
		s.accept(made)
	case len(rest) > 0:
		made.name += " (the rest)"
		made.office = codex.NoOffice
		made.runs = rest
		s.accept(made)
	default:
		s.account.Use(item.Line, item.What(), "what its parts belong to; they cover all of it")
	}
	return union(own, covered)
}

// describe works out what kind of text it is from its words, and from the text
// that it is part of where they do not tell.
func (s *sectioner) describe(item *Item, around context) *section {
	made := &section{line: item.Line, name: Short(item.Title, 200), incipit: Short(item.Incipit, 300), language: item.Language}
	words := item.Title + " " + item.Class
	office := officeOf(item.Title)
	made.kind = kindOf(words)
	if made.kind == "" || office != codex.NoOffice && around.kind == kindHours {
		made.kind = around.kind
	}
	if made.kind == "" && office != codex.NoOffice && setOf(words) != "" {
		made.kind = kindHours
	}
	if made.kind == "" {
		made.kind = kindUntold
	}
	if made.kind == kindHours {
		made.set = setOf(words)
		if made.set == "" || office != codex.NoOffice && around.set != "" {
			made.set = around.set
		}
		if made.set == "" && office == codex.NoOffice {
			made.set = Short(item.Title, 60)
		}
		if made.set != "" {
			made.office = office
		}
		if made.office != codex.NoOffice && setOf(made.name) == "" && made.name != "" {
			made.name += " " + made.set // Matins alone may be of any hours
		}
	}
	if made.name == "" {
		made.name = Short(item.Incipit, 60)
	}
	if made.name == "" {
		made.name = "untitled " + made.kind
	}
	for _, inherited := range []string{around.language, s.language} {
		if made.language == "" {
			made.language = inherited
		}
	}
	return made
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

// accept takes a section whose pages no other text has, but for pages on which
// one ends and the other begins. Texts of one page that stand on the same page
// are joined.
func (s *sectioner) accept(made *section) {
	for _, r := range made.runs {
		for page := r[0]; page <= r[1]; page++ {
			for _, other := range s.claims[page] {
				switch {
				case r[0] < page && page < r[1], other.run[0] < page && page < other.run[1],
					r[0] < page && other.run[0] < page, page < r[1] && page < other.run[1]:
					where := ""
					if other.line > 0 {
						where = fmt.Sprintf(" (line %d)", other.line)
					}
					s.account.Leave(made.line, made.what(), "its place, %s, and that of “%s”%s, %s, lie over each other; enter it in sections.csv once that is settled",
						s.extent(made.runs), Short(other.name, 60), where, Short(s.extent(other.section.runs).String(), 80))
					return
				case made.pages() == 1 && other.pages() == 1:
					s.join(other.section, made)
					return
				}
			}
		}
	}
	for _, r := range made.runs {
		for page := r[0]; page <= r[1]; page++ {
			s.claims[page] = append(s.claims[page], claim{made, r})
		}
	}
	s.accepted = append(s.accepted, made)
	words := fmt.Sprintf("the section on %s, %s", s.extent(made.runs), made.kind)
	if made.set != "" {
		words += " " + made.set
	}
	if made.office != codex.NoOffice {
		words += ", " + made.office.String()
	}
	s.account.Use(made.line, made.what(), "%s", words)
	if made.kind == kindUntold {
		s.untold = append(s.untold, made)
	}
}

// reBlank finds what a record says of blank pages where a text would stand, in
// English, Latin, French, German, Italian, Spanish and Dutch (common practice, no
// source).
var reBlank = regexp.MustCompile(`^(?i:\W*(?:blank|vacat|vacua?e?|leer|unbeschrieben|blanche?s?|vierges?|bianc[ahoe]+|en blanco|blanc[ao]s?|blanco|onbeschreven)\W*)$`)

// noteUntold tells of which texts no word tells the kind.
func (s *sectioner) noteUntold(line int) {
	var names []string
	for _, made := range s.untold {
		names = append(names, "“"+Short(made.name, 40)+"”")
	}
	if more := len(names) - 6; more > 0 {
		names = append(names[:6], Count(more, "other", "others"))
	}
	if names != nil {
		s.account.Note(line, "the kinds of texts", "no word of the record tells that of %s; “%s” stands in its place, for you to change in sections.csv", strings.Join(names, ", "), kindUntold)
	}
}

// join makes one section of two texts on one page.
func (s *sectioner) join(first, second *section) {
	s.account.Use(second.line, second.what(), "joined with “%s”, which stands on the same page, %s", Short(first.name, 60), s.extent(first.runs))
	first.name = Short(first.name+"; "+second.name, 200)
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

// owned are the sections that have a page of their own, told as
// [codex.SharedPage] has it; the others are left.
func (s *sectioner) owned() []*section {
	owns := map[*section]bool{}
	for page, claims := range s.claims {
		// As they stand along the book, which codex.Load goes by.
		slices.SortStableFunc(claims, func(a, c claim) int { return a.first() - c.first() })
		owner := slices.MaxFunc(claims, func(a, c claim) int { return a.right(page) - c.right(page) })
		owns[owner.section] = true
	}
	return slices.DeleteFunc(s.accepted, func(made *section) bool {
		if owns[made] {
			return false
		}
		s.account.Leave(made.line, made.what(), "other texts stand on each of its pages, %s; join it with one of them in sections.csv", s.extent(made.runs))
		return true
	})
}

func (c claim) right(page int) int {
	switch {
	case c.pages() == 1:
		return 3
	case c.run[1] > page:
		return 2
	case c.run[0] == page:
		return 1
	}
	return 0
}
