package report

import (
	"thumbed/models/codex"
	"thumbed/models/dropoff"
	"thumbed/models/dropoff/readers"
	"thumbed/models/hypotheses"
	"thumbed/models/table"
)

// A Corpus is all that a study over many books in folders computes, once; every
// face renders this value. Of each book only what fits into a line or two is
// kept.
type Corpus struct {
	Meta     Meta
	Folders  int // that were to be read
	Books    []CorpusBook
	Failures []CorpusFailure
	Readers  []CorpusReader
	Compared Compared
	Pages    *table.Table  // of all books, with the columns that models need; not among the numbers of results.json
	Models   []ModelResult // those fitted book by book too
	Traces   *TraceResults // states of each book and the models of traces; nil without a coding book
	Answers  []hypotheses.Answer
	Notes    []string
	Seal     *Seal // nil where the corpus was not sealed
}

// A CorpusBook is one book of a corpus.
type CorpusBook struct {
	Folder       string
	ID           string
	Title, Short string // Short is the title's short form; the id where there is none
	Owner        string
	Leaves, Lost int // leaves in all; of these, lost
	Readings     int // rows of the log on its pages and their zeros, excluded ones too
	Elsewhere    int // of these, those that come from elsewhere, with an error that their source states
	Measured     int // pages with wear, those at an instrument's limit among them
	AtLimit      int
	Wear         float64 // mean over the pages measured that are not at a limit, density; NaN where there are none
	// Repeatability is that of all placings of the book's folder (s_r, ISO 5725-2), density;
	// NaN with RepeatabilityDF 0 where nothing was read twice.
	Repeatability, RepeatabilityDF float64
	Profiled                       bool    // whether the numbers below are there
	Scatter                        float64 // of pages about the book's wear curve, density
	Picture                        float64 // what a picture adds, density; with PictureSE zero where the book does not tell
	PictureSE                      float64
	Standouts                      int     // pages that stand out
	Most                           string  // the section with the most wear a page
	MostWear                       float64 // a page, density
	MostSE                         float64
	MostDivided                    []string // sources of errors of unknown spread that divide it from other sections: see [profile.Profile.Divided]
}

// A CorpusFailure is one thing that could not be computed of a folder or a book,
// while the rest went on.
type CorpusFailure struct {
	Folder  string `json:"folder"`  // the folder
	Book    string `json:"book"`    // the book's id; empty where the folder as a whole failed
	Stage   string `json:"stage"`   // what was being done
	Place   string `json:"place"`   // file, line and column
	Problem string `json:"problem"` // what is wrong
	Remedy  string `json:"remedy"`  // how to mend it

	Column   string `json:"column,omitempty"`   // the column of a table that the problem is in
	Expected string `json:"expected,omitempty"` // what was expected in place of what was found
}

// A CorpusReader is the reading of one set of hours in one book.
type CorpusReader struct {
	Book       int    // index into Books
	Set        string // of hours
	Offices    []dropoff.OfficeShare
	Covariance []float64 // of the offices' wear, row after row
	Refused    string    // a sentence why there are no shares; else empty
	// Shape is the wear of the offices compared relative to their mean; nil where
	// this reader is not compared, and Why says so in a sentence.
	Shape, ShapeSE []float64
	Why            string
	// Letter is the group; empty where there is none. Kept is the share of the
	// draws in which the reader stayed in it.
	Letter string
	Kept   float64
	// Place is where the reader stands on the axis along which readers differ most, from
	// the mean of all; PlaceLow and PlaceHigh are its 95 % interval. NaN where not compared.
	Place, PlaceLow, PlaceHigh float64
}

// Compared is the comparison of readers by the shape of their curves.
type Compared struct {
	Set      string         // of hours
	Offices  []codex.Office // on which all readers compared were measured
	Readers  int            // compared
	Grouping *readers.Grouping
	Refused  string // a sentence why there is no grouping; else empty
}

// called is the short title of a book, for charts: with its id where another of the
// corpus is called the same.
func (c *Corpus) called(book int) string {
	of := func(b *CorpusBook) string { return (&codex.Book{ID: b.ID, Title: b.Title, Short: b.Short}).Called() }
	name := of(&c.Books[book])
	for i := range c.Books {
		if i != book && name != c.Books[book].ID && of(&c.Books[i]) == name {
			return name + " (" + c.Books[book].ID + ")"
		}
	}
	return name
}

// name is how the text calls a book.
func (b *CorpusBook) name() string {
	if title := shortTitle(&codex.Book{Title: b.Title}); title != "" {
		return title + " (" + b.ID + ")"
	}
	return b.ID
}
