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

	Items    []*Item
	Pictures []*Picture
}

// Counts is how many leaves the description counts; zero where it does not.
type Counts struct {
	Front, Leaves, End int // flyleaves in front, leaves, flyleaves at the end
	Statement
}

// An Item is a text, with the texts that it consists of.
type Item struct {
	Line     int
	Title    string
	Class    string // further words on what it is
	Incipit  string
	Language string
	Loci     []codex.Range
	Told     bool // that a place was left, and why
	Children []*Item
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
	Subject    string
	Decoration string // its kind, where it is decoration other than a picture
}

// What is how the account calls the decoration.
func (p *Picture) What() string {
	return "the decoration “" + Short(p.Subject+p.Decoration, 60) + "”"
}

// Short cuts a text at so many characters.
func Short(text string, most int) string {
	if utf8.RuneCountInString(text) <= most {
		return text
	}
	runes := []rune(text)
	return strings.TrimSpace(string(runes[:most])) + " …"
}
