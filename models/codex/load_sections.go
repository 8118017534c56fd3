package codex

import (
	"fmt"
	"sort"
)

// A placedSection is a section with the runs of pages that its extent covers.
type placedSection struct {
	Section
	runs [][2]int // first and last index into Pages, both included
}

func (l *loader) loadSections(r *rows) {
	id, name, kind := r.column(ColumnBook), r.column(ColumnSection), r.column(ColumnKind)
	set, office, extent := r.column(ColumnSet), r.column(ColumnOffice), r.column(ColumnExtent)
	extentBy, incipit, language := r.column(ColumnExtentBy), r.column(ColumnIncipit), r.column(ColumnLanguage)
	placed := map[*Book][]placedSection{}
	for i := range r.Rows() {
		b := l.book(r, i, id(i))
		s := Section{Name: name(i), Kind: kind(i), Set: set(i), ExtentBy: extentBy(i), Incipit: incipit(i), Language: language(i), Row: i}
		s.Office = readOffice(r, i, office(i), s.Set)
		if b == nil || len(b.Pages) == 0 || extent(i) == "" {
			continue
		}
		if runs := s.place(b, r, i, extent(i)); runs != nil {
			placed[b] = append(placed[b], placedSection{s, runs})
		}
	}
	for _, b := range l.books {
		b.setSections(r, placed[b])
	}
}

func readOffice(r *rows, row int, text, set string) Office {
	if text == "" {
		return NoOffice
	}
	office, err := ParseOffice(text)
	if err != nil {
		r.label(row, ColumnOffice, err)
	} else if set == "" {
		r.fault(row, ColumnSet, "", "the set of hours that the office belongs to", "write it, such as of the Virgin")
	}
	return office
}

// place reads a section's extent and finds its pages; nil with problems where
// it cannot.
func (s *Section) place(b *Book, r *rows, row int, text string) (runs [][2]int) {
	extent, err := ParseExtent(text)
	if err != nil {
		r.label(row, ColumnExtent, err)
		return nil
	}
	s.Extent = extent
	sound := true
	for _, pages := range extent.Ranges {
		from, fromOK := b.Find(pages.From)
		to, toOK := b.Find(pages.To)
		for _, end := range []struct {
			label PageLabel
			ok    bool
		}{{pages.From, fromOK}, {pages.To, toOK || pages.From == pages.To}} {
			if !end.ok {
				r.fault(row, ColumnExtent, text, fmt.Sprintf("pages of book %s, which has no %s", b.ID, end.label), b.NearestRemedy(end.label))
				sound = false
			}
		}
		if fromOK && toOK && to < from {
			r.fault(row, ColumnExtent, text, fmt.Sprintf("a range that runs forward along the book; %s comes before %s", pages.To, pages.From),
				b.forwardRemedy(pages))
			sound = false
		}
		runs = append(runs, [2]int{from, to})
		s.Length += to - from + 1
	}
	if !sound {
		return nil
	}
	return runs
}

// forwardRemedy mends a range whose end comes before its start: an end whose
// number was cut short is filled in, else the ends change places.
func (b *Book) forwardRemedy(pages Range) string {
	start, end := pages.From.Folio.String(), pages.To.Folio.String()
	if missing := len(start) - len(end); missing > 0 {
		full := PageLabel{Side: pages.To.Side}
		full.Folio, _ = ParseFolio(start[:missing] + end)
		from, _ := b.Find(pages.From)
		if to, ok := b.Find(full); ok && to > from {
			return "write " + Range{pages.From, full}.String() + ", if that is meant"
		}
	}
	return "write " + Range{pages.To, pages.From}.String() + ", if that is meant"
}

// setSections puts sections into physical order and gives each page its
// section.
func (b *Book) setSections(r *rows, placed []placedSection) {
	sort.SliceStable(placed, func(i, j int) bool { return placed[i].first() < placed[j].first() })
	claims := b.claim(placed)
	b.share(r, claims)
	for i := range b.Pages {
		p := &b.Pages[i]
		if p.Section < 0 {
			continue
		}
		s := &b.Sections[p.Section]
		if p.Language == "" {
			p.Language = s.Language
		}
		if !p.Lost {
			s.Pages = append(s.Pages, i)
		}
	}
}

func (s *placedSection) first() int {
	first := s.runs[0][0]
	for _, run := range s.runs {
		first = min(first, run[0])
	}
	return first
}
