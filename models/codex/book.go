package codex

import (
	"cmp"

	"thumbed/models/wording"
)

// A State tells whether a leaf is still in the book.
type State uint8

// The states of a leaf.
const (
	Present State = iota
	Lost

	// cancelled leaves are cut out when a book is made: they leave it, as
	// [Quire.Cancelled], once its sheets are settled.
	cancelled
)

// A Leaf is one leaf in its physical place.
type Leaf struct {
	Label     Folio // the zero Folio where a lost leaf has no number
	State     State
	Quire     int    // index into Book.Quires; −1 where the quires are not known
	Place     int    // place in the quire from 1, lost leaves counted; 0 where not known
	Conjugate int    // index into Book.Leaves of the other half of the sheet; −1 for a singleton or where not known
	Singleton bool   // a leaf that has no other half; false where not known
	Row       int    // row of leaves.csv from 0
	RectoSide string // "hair" or "flesh": what the recto is; empty where not known
}

// A Page is one side of a leaf, with what is on it.
type Page struct {
	Label    PageLabel
	Leaf     int // index into Book.Leaves
	Position int // place of the page along the physical book from 1, pages of lost leaves counted
	Lost     bool
	Blank    bool
	Picture  bool
	Subject  string // what the picture shows; empty without one
	Section  int    // index into Book.Sections; −1 outside all sections
	Incipit  bool   // the first page of a section's extent
	// Decoration and Language are as pages.csv has them. Where it gives no
	// language the page has its section's.
	Decoration, Language string
	// SectionPlace is the place of the page in its section from 1, along the
	// section's extent as written, lost and shared pages counted; 0 outside
	// sections.
	SectionPlace int
	Row          int // row of pages.csv from 0; −1 where it has none
	// Own holds the scholar's own columns of pages.csv by name; nil where the
	// page has none.
	Own map[string]string
}

// A Section is a text: where it stands, of what kind it is and, in the hours,
// which office of which set of hours.
type Section struct {
	Name     string
	Kind     string // calendar, lessons, hours, psalms, litany, office of the dead, suffrage, prayer …
	Set      string // which set of hours: "of the Virgin", "of the Cross"; empty outside the hours
	Office   Office
	Extent   Extent
	ExtentBy string // what its end is inferred by, one of ExtentGrounds; empty where it is stated
	Incipit  string // its opening words; empty where not given
	Language string
	Pages    []int // indices into Book.Pages of those that count in it, in physical order, lost ones left out
	Length   int   // pages of the extent, lost and shared ones counted
	Row      int   // row of sections.csv from 0
}

// A Book is one book: its leaves in physical order and all that is derived.
// Every leaf, lost or not, has its two pages in Pages, so that the pages of
// leaf i are 2i and 2i+1, and the page at Position p is Pages[p−1].
type Book struct {
	ID    string
	Title string
	Short string // short form of its shelfmark or title; its ID where not given
	// Where it is kept: its mark there, the library, and the library's web address in a
	// register; empty where not given.
	Shelfmark, Library, LibraryID string

	Owner    string
	Place    string
	Date     string
	Material string // parchment or paper; empty where not known
	Outer    string // "hair" or "flesh": the outermost side of each quire; empty where not known
	Row      int    // row of books.csv from 0
	Leaves   []Leaf
	Pages    []Page
	Quires   []Quire
	Sections []Section // in physical order of their first pages
	Known    Known     // what is known of it before its wear is looked at

	shared  []SharedPage
	byLabel map[Folio]int // leaf by its label without brackets
	own     []string      // names of the scholar's own columns of pages.csv
}

// findLeaf gives the index into Leaves of a label. Brackets make no
// difference: 13 finds [13].
func (b *Book) findLeaf(label Folio) (int, bool) {
	leaf, ok := b.byLabel[label.bare()]
	return leaf, ok
}

// Find gives the index into Pages of a page label. Brackets make no
// difference: 13r finds [13]r.
func (b *Book) Find(label PageLabel) (int, bool) {
	leaf, ok := b.findLeaf(label.Folio)
	return 2*leaf + int(label.Side), ok
}

// At gives the index into Pages of a position from 1.
func (b *Book) At(position int) (int, bool) {
	return position - 1, position >= 1 && position <= len(b.Pages)
}

// Section gives the section of a page (index into Pages); nil outside all
// sections.
func (b *Book) Section(page int) *Section {
	if s := b.Pages[page].Section; s >= 0 {
		return &b.Sections[s]
	}
	return nil
}

// Pictures counts the pages with a picture.
func (b *Book) Pictures() int {
	n := 0
	for i := range b.Pages {
		if b.Pages[i].Picture {
			n++
		}
	}
	return n
}

// Present lists the pages (indices into Pages) of the leaves still there, in
// physical order.
func (b *Book) Present() []int {
	pages := make([]int, 0, len(b.Pages))
	for i := range b.Pages {
		if !b.Pages[i].Lost {
			pages = append(pages, i)
		}
	}
	return pages
}

// Nearest gives the label of the present page whose label is nearest to the
// one given, to be offered in a message; false where the book has none. Nearest
// is the same number with another suffix, then the nearest number counted in
// the same numerals, then any.
func (b *Book) Nearest(label PageLabel) (PageLabel, bool) {
	best, cost := Folio{}, 0
	for i := range b.Leaves {
		folio := b.Leaves[i].Label
		if b.Leaves[i].State == Lost || folio.IsZero() {
			continue
		}
		if c := apart(folio, label.Folio); best.IsZero() || c < cost {
			best, cost = folio, c
		}
	}
	return PageLabel{best, label.Side}, !best.IsZero()
}

// apart ranks how unlike two labels are.
func apart(a, b Folio) int {
	const otherNumerals = 10 * lastArabic
	cost := 2 * max(a.Number-b.Number, b.Number-a.Number)
	if a.Suffix != b.Suffix {
		cost++
	}
	if a.Roman != b.Roman {
		cost += otherNumerals
	}
	return cost
}

// A Gap is a run of lost leaves. Curves and charts break there.
type Gap struct {
	From, To int // positions of the first and the last lost page
	Leaves   int
	Labels   []Folio // of the lost leaves that have one
}

// Gaps lists the runs of lost leaves in physical order.
func (b *Book) Gaps() []Gap {
	var gaps []Gap
	open := false
	for i := range b.Leaves {
		leaf := &b.Leaves[i]
		if leaf.State != Lost {
			open = false
			continue
		}
		if !open {
			gaps = append(gaps, Gap{From: 2*i + 1})
			open = true
		}
		gap := &gaps[len(gaps)-1]
		gap.To = 2*i + 2
		gap.Leaves++
		if !leaf.Label.IsZero() {
			gap.Labels = append(gap.Labels, leaf.Label)
		}
	}
	return gaps
}

// Called is what sentences call the book: its short title, else its title, else its id.
func (b *Book) Called() string {
	if b.Short != "" && b.Short != b.ID {
		return b.Short
	}
	return cmp.Or(b.Title, b.ID)
}

// PageCalled is what sentences call a page of it: "f. 64v of Hours of Aleit Corvaes".
func (b *Book) PageCalled(label string) string {
	return "f." + wording.NoBreak + label + " of " + b.Called()
}
