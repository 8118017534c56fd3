package demo

import (
	"fmt"
	"math"
	"slices"
	"strconv"

	"thumbed/models/codex"
)

// A leaf of the layout, in physical order.
type leaf struct {
	label     string // empty for a lost leaf that was never numbered
	quire     string
	lost      bool
	singleton bool
	white     bool
}

// A Page is one page of a present leaf with its true wear.
type Page struct {
	Label     string
	Section   string // name as in sections.csv; empty outside all
	Kind      string
	Set       string
	Office    string
	Picture   bool
	Facing    bool // of a page with a picture
	Incipit   bool
	Blank     bool
	Half      string // first or second, in the shared book
	Subject   string
	Measured  bool
	Addressed bool // its picture shows whom a prayer beside it addresses
	Remark    string

	Base     float64 // true wear of the text that the page belongs to, density
	Expected float64 // true wear as the habits have it, with pictures and all, density
	Wear     float64 // true wear with the scatter of quires and pages, density

	quire string
	white bool
	leaf  int
	verso bool
}

// A section of the layout: a row of sections.csv.
type section struct {
	name, kind, set, office, incipit, language string

	extent codex.Extent
}

// A layout is a book before it is worn.
type layout struct {
	book     *Book
	leaves   []leaf
	pages    []*Page // two a leaf, lost ones too
	sections []section
}

// lay lays out the leaves and the texts of a book.
func lay(b *Book) (*layout, error) {
	l := &layout{book: b}
	l.bind()
	for i, leaf := range l.leaves {
		for _, side := range []string{"r", "v"} {
			l.pages = append(l.pages, &Page{Label: leaf.label + side, quire: leaf.quire, white: leaf.white,
				leaf: i, verso: side == "v", Blank: true, Measured: !leaf.lost})
		}
	}
	if err := l.write(); err != nil {
		return nil, err
	}
	l.face()
	l.stain()
	l.spare()
	return l, nil
}

// bind makes the leaves with their labels.
func (l *layout) bind() {
	b := l.book
	for i := range b.FlyFront {
		l.leaves = append(l.leaves, leaf{label: roman(i + 1)})
	}
	number, ordinal := 0, 0
	for q, count := range b.Quires {
		for range count {
			ordinal++
			l.leaves = append(l.leaves, leaf{
				label:     l.number(ordinal, &number),
				quire:     strconv.Itoa(q + 1),
				lost:      slices.Contains(b.Lost, ordinal),
				singleton: slices.Contains(b.Singletons, ordinal),
				white:     slices.Contains(b.White, ordinal),
			})
		}
	}
	if len(b.Swapped) == 2 {
		one, other := l.at(b.Swapped[0]), l.at(b.Swapped[1])
		one.label, other.label = other.label, one.label
	}
	for i := range b.FlyBack {
		l.leaves = append(l.leaves, leaf{label: roman(b.FlyFront + i + 1)})
	}
}

// number gives the label of a leaf as the foliator wrote it.
func (l *layout) number(ordinal int, number *int) string {
	switch b := l.book; {
	case slices.Contains(b.Unnumbered, ordinal):
		return ""
	case slices.Contains(b.Bis, ordinal):
		return strconv.Itoa(*number) + "bis"
	case slices.Contains(b.Supplied, ordinal):
		*number++
		return "[" + strconv.Itoa(*number) + "]"
	}
	*number++
	return strconv.Itoa(*number)
}

func (l *layout) at(ordinal int) *leaf { return &l.leaves[l.book.FlyFront+ordinal-1] }

func roman(n int) string {
	return codex.Folio{Number: n, Roman: true}.String()
}

// write puts the texts on the pages, one after another.
func (l *layout) write() error {
	next := 2 * l.book.FlyFront
	end := len(l.pages) - 2*l.book.FlyBack
	half := ""
	if l.book.Half != "" {
		half = "first"
	}
	for t := range l.book.Texts {
		text := &l.book.Texts[t]
		if text.Name == l.book.Half {
			half = "second"
		}
		subject := 0
		for part, count := range text.Pages {
			for text.Start != "" && l.pages[next].verso != (text.Start == "verso") {
				next++
			}
			if next+count > end {
				return fmt.Errorf("the texts of %s do not fit its quires: %s ends %d pages too late", l.book.ID, text.Name, next+count-end)
			}
			if err := l.writePart(text, part, l.pages[next:next+count], &subject); err != nil {
				return err
			}
			next += count
		}
		for _, p := range l.pages[:next] {
			if p.Half == "" {
				p.Half = half
			}
		}
	}
	for _, p := range l.pages {
		if p.Half == "" {
			p.Half = half
		}
		if p.Blank && p.Expected == 0 {
			p.Base = l.book.Blank
			if p.quire == "" {
				p.Base = l.book.Ground
			}
			p.Expected = p.Base
		}
	}
	return nil
}

func (l *layout) writePart(text *Text, part int, pages []*Page, subject *int) error {
	s := section{name: text.Name, kind: text.Kind, set: text.Set, incipit: text.Incipit, language: text.Language}
	if s.language == "" {
		s.language = l.book.Language
	}
	if len(text.Parts) > 0 {
		s.name += ", " + text.Parts[part]
	}
	if text.Kind == "hours" {
		s.office = text.Parts[part]
		s.incipit = openingWords(s.office)
	}
	level := text.Level[min(part, len(text.Level)-1)]
	pictured := len(text.Pictured) == 0 || slices.Contains(text.Pictured, part+1)
	for i, p := range pages {
		p.Section, p.Kind, p.Set, p.Office, p.Blank = s.name, s.kind, s.set, s.office, false
		p.Base, p.Expected = level, level
		if pictured && slices.Contains(text.Pictures, i+1) {
			p.Picture = true
			p.Expected += l.book.Picture
			p.Subject = text.Subjects[*subject%len(text.Subjects)]
			*subject++
		}
	}
	present := slices.DeleteFunc(slices.Clone(pages), func(p *Page) bool { return l.leaves[p.leaf].lost })
	if len(present) == 0 {
		return fmt.Errorf("%s of %s stands on lost leaves only", s.name, l.book.ID)
	}
	present[0].Incipit = true
	from, err := codex.ParsePage(present[0].Label)
	if err != nil {
		return err
	}
	to, err := codex.ParsePage(present[len(present)-1].Label)
	if err != nil {
		return err
	}
	s.extent = codex.Extent{Ranges: []codex.Range{{From: from, To: to}}}
	l.sections = append(l.sections, s)
	return nil
}

// openingWords are the first words of an office, as most books have them.
func openingWords(office string) string {
	switch office {
	case "Matins":
		return "Domine labia mea aperies"
	case "Compline":
		return "Converte nos Deus salutaris noster"
	}
	return "Deus in adiutorium meum intende"
}

// face marks the pages that face a picture: the two pages of an opening, with
// no leaf lost between them.
func (l *layout) face() {
	for i := 1; i+1 < len(l.pages); i += 2 {
		verso, recto := l.pages[i], l.pages[i+1]
		if l.leaves[verso.leaf].lost || l.leaves[recto.leaf].lost {
			continue
		}
		verso.Facing, recto.Facing = recto.Picture, verso.Picture
	}
}

// stain puts the wear on pages that stand out.
func (l *layout) stain() {
	for _, stand := range l.book.Standouts {
		for _, p := range l.pages {
			if p.Label == stand.Page {
				p.Expected += stand.Extra
				p.Remark = stand.Why
			}
		}
	}
}

// spare leaves out the pages that must not be touched.
func (l *layout) spare() {
	for _, n := range l.book.Unmeasured {
		p := l.pages[2*l.book.FlyFront+n-1]
		p.Measured = false
		p.Remark = "flaking blue at the corner: not touched"
	}
}

// edge is the share of the edge effect on a leaf.
func (l *layout) edge(leaf int, reach float64) float64 {
	nearest := min(leaf, len(l.leaves)-1-leaf)
	return math.Exp(-float64(nearest) / reach)
}
