package codex

import "thumbed/models/table"

// A Side is one side of a leaf.
type Side uint8

// The sides of a leaf: recto is the front, verso the back.
const (
	Recto Side = iota
	Verso
)

// A Folio is the label of a leaf as catalogues write it: 12, [13] supplied,
// 13bis, 200a, i to iv for flyleaves.
type Folio struct {
	Number   int
	Roman    bool   // a flyleaf, counted in small roman numerals
	Suffix   string // "bis", "ter", "quater" or one small letter; empty for most
	Supplied bool   // written in square brackets: the number is not on the leaf
}

// A PageLabel names one side of a leaf: 12r, [13]v, iir.
type PageLabel struct {
	Folio Folio
	Side  Side
}

// An Office is one of the hours of the day, in order from Matins (1) to
// Compline (8); NoOffice (0) where a section is none.
type Office uint8

// The offices of the day in their order.
const (
	NoOffice Office = iota
	Matins
	Lauds
	Prime
	Terce
	Sext
	None
	Vespers
	Compline
)

// A State tells whether a leaf is still in the book.
type State uint8

// The states of a leaf.
const (
	Present State = iota
	Lost
)

// A Leaf is one leaf in its physical place.
type Leaf struct {
	Label     Folio // the zero Folio where a lost leaf has no number
	State     State
	Quire     int    // index into Book.Quires; −1 where the quires are not known
	Place     int    // place in the quire from 1, lost leaves counted; 0 where not known
	Conjugate int    // index into Book.Leaves of the other half of the sheet; −1 for a singleton or where not known
	Row       int    // row of leaves.csv from 0
	RectoSide string // "hair" or "flesh": what the recto is; empty where not known
}

// A Quire is a gathering of leaves.
type Quire struct {
	Label  string // as the scholar names it
	Leaves []int  // indices into Book.Leaves, in order
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
	Incipit  bool   // the first page of its section
	// Own holds the scholar's own columns of pages.csv by name.
	Own map[string]string
}

// A Section is a text: where it stands, of what kind it is and, in the hours,
// which office of which set of hours.
type Section struct {
	Name   string
	Kind   string // calendar, lessons, hours, psalms, litany, office of the dead, suffrage, prayer …
	Set    string // which set of hours: "of the Virgin", "of the Cross"; empty outside the hours
	Office Office
	Extent Extent
	Pages  []int // indices into Book.Pages, in physical order, lost ones left out
	Row    int   // row of sections.csv from 0
}

// An Extent is a list of page ranges as catalogues write them, such as
// "ff. 13r–25v, 30r", that prints back as it was written.
type Extent struct {
	Written string
	Ranges  []Range
}

// A Range runs from a page to a page, both included.
type Range struct {
	From, To PageLabel
}

// A Book is one book: its leaves in physical order and all that is derived.
type Book struct {
	ID       string
	Title    string
	Owner    string
	Place    string
	Date     string
	Material string // parchment or paper; empty where not known
	Outer    string // "hair" or "flesh": the outermost side of each quire; empty where not known
	Leaves   []Leaf
	Pages    []Page
	Quires   []Quire
	Sections []Section
}

// Paths are the tables of a study's books. Pages and Sections may be empty.
type Paths struct {
	Books, Leaves, Pages, Sections string
}

// The functions this room must give (see CONTRACT below):
//
//	ParseFolio(string) (Folio, error); (Folio) String() string
//	ParsePage(string) (PageLabel, error); (PageLabel) String() string
//	ParseExtent(string) (Extent, error); (Extent) String() string
//	ParseOffice(string) (Office, error); (Office) String() string; (Office) Order() int
//	Load(Paths, *table.Problems) []*Book
//	(*Book) Find(PageLabel) (int, bool)      index into Pages
//	(*Book) Opening(page int) (other int, ok bool)  the facing page
//	(*Book) Collation() string
//	Features([]*Book) *table.Table           one row a page of a present leaf
var _ = table.Problem{}
