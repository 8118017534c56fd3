package catalogue

import (
	"strings"
	"unicode/utf8"

	"thumbed/models/codex"
)

// A Statement is a piece of a description's text, and the line it begins in.
type Statement struct {
	Text string
	Line int
}

// A Record is what a description says of one book.
type Record struct {
	Line     int
	ID       string // short name; made of the title where empty
	Title    string
	Shelf    string // its shelfmark: MS Alder 7; empty where not told
	Library  string // that keeps it, with its town
	Register string // web address of the library in a register of them
	Owner    string
	Place    string
	Date     string
	Material Statement // in any words; empty where not told
	Outer    string    // hair or flesh, on the outside of each quire; empty where not told
	Language string    // of the whole book; empty where not told or where there are several

	// Labels are the leaves in physical order, where the description lists
	// them one by one; nil where it only counts them. Counts then tell the
	// flyleaves among them.
	Labels []codex.Folio
	Counts Counts
	// Collations are pieces of text that may be the collation formula, the
	// likeliest first.
	Collations []Statement
	Quires     []Quire // where the description lists them one by one
	Gone       []Gap   // leaves that it says are lost
	Blank      []codex.Range

	Items    []*Item
	Pictures []*Picture
}

// Counts is how many leaves the description counts; zero where it does not.
type Counts struct {
	Front, Leaves, End int  // flyleaves in front, leaves, flyleaves at the end
	Paged              bool // pages were counted, two a leaf
	Statement
}

// All is how many leaves and flyleaves it counts.
func (c Counts) All() int { return c.Front + c.Leaves + c.End }

// Numbered are the leaves from one number to another, with roman numbers perhaps.
func Numbered(first, last int, roman bool) []codex.Folio {
	var labels []codex.Folio
	for n := first; n <= last; n++ {
		labels = append(labels, codex.Folio{Number: n, Roman: roman})
	}
	return labels
}

// A Quire is a quire of a list of them: its first and its last leaf.
type Quire struct {
	Line     int
	Label    string
	From, To codex.Folio
	Regular  bool // its leaves pair first with last
}

// A Gap is a place where leaves are lost: after a leaf, in front of all where
// that is zero and AtEnd is false, or at the end.
type Gap struct {
	Statement
	After  codex.Folio
	Before bool // in front of the leaf and not after it
	AtEnd  bool
	Leaves int  // how many, at least 1
	Least  bool // that there may be more

	Collated bool   // told by the words of the collation
	Quire    string // that they are lost from, where that is told
}

// An Item is a text, with the texts that it consists of, or a physical part of the
// book with the texts in it.
type Item struct {
	Line     int
	Title    string
	Class    string // further words on what it is
	Incipit  string
	Language string
	Loci     []codex.Range
	// Begins says that the place is one page or leaf, which may only be where
	// the text begins; RunsOn that it is said to go on from there.
	Begins, RunsOn bool
	By             string        // what its end was inferred by, one of codex.ExtentGrounds; empty where it is stated
	Ends           []codex.Range // where its last words stand
	ByFirstWords   bool          // the title is the first words of the text
	Part           bool          // a physical part of the book, no text
	Remark         bool          // it seems to be a remark and no text
	Told           bool          // that a place was left, and why
	Notes          []Statement   // what is said of it
	Children       []*Item
}

// What is how the account calls the text.
func (i *Item) What() string {
	if i.Title == "" {
		return "a text without a title"
	}
	return "the text “" + Short(i.Title, 60) + "”"
}

// A Picture is a picture or other decoration and the pages it stands on.
type Picture struct {
	Line       int
	Loci       []codex.Range
	Subject    string // of a picture
	Decoration string // its kind, where it is other than a picture, or a picture in an initial
	Told       bool   // that a place was left, and why
	Each       string // recto or verso, where each of them bears it
	Opens      string // the text that it opens: Hours of the Virgin, Matins
	Full       bool   // it fills its page, so that a text which it opens begins behind it
	InPassing  bool   // told outside what is said of the decoration, where the page may have it already
}

// What is how the account calls the decoration.
func (p *Picture) What() string {
	return "the decoration “" + Short(Joined([]string{p.Subject, p.Decoration}), 60) + "”"
}

// Short cuts a text at so many characters.
func Short(text string, most int) string {
	if utf8.RuneCountInString(text) <= most {
		return text
	}
	runes := []rune(text)
	return strings.TrimSpace(string(runes[:most])) + " …"
}
