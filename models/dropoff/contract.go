package dropoff

import (
	"thumbed/models/codex"
	"thumbed/models/mixed"
	"thumbed/models/readings"
)

// A Series is what is segmented: values in order, with what is known of each.
type Series struct {
	Values []float64
	SE     []float64 // standard errors, one a value; nil where not known
	Labels []string  // names of the rows: pages, years; nil for row numbers
}

// A Change is one changepoint. After counts rows from 1: the last row of the
// old level.
type Change struct {
	After       int     `json:"after"`
	At          string  `json:"at"`
	Low         int     `json:"low"`  // 95 % interval of After
	High        int     `json:"high"` // 95 % interval of After
	Probability float64 `json:"probability"`
}

// A Level is the mean between two changes, rows From to To from 1, both in.
type Level struct {
	From int     `json:"from"`
	To   int     `json:"to"`
	Mean float64 `json:"mean"`
	SE   float64 `json:"se"`
}

// Changes is a segmented series. Its JSON keys are a promise.
type Changes struct {
	N         int      `json:"n"`
	Criterion string   `json:"criterion"`
	Changes   []Change `json:"changes"`
	Levels    []Level  `json:"levels"`
	Notes     []string `json:"notes"`
}

// An OfficeShare is the deposit of one office relative to the first.
type OfficeShare struct {
	Office codex.Office
	Pages  int     // pages measured
	Wear   float64 // adjusted mean, density
	SE     float64
	Share  float64 // of the first office
	Low    float64 // 95 % interval of Share
	High   float64
}

// A Carried tells how far readings were carried on through one set of hours of
// one book.
type Carried struct {
	Book     int    // index into the study's books
	Set      string // codex.Section.Set
	Offices  []OfficeShare
	Share    float64 // last office against first
	Low      float64 // 95 %
	High     float64
	Adjusted []string       // features whose effect was removed first
	Series   Series         // the pages of the hours in the order of the offices, adjusted
	Offs     []codex.Office // office of each row of Series
	Pages    []int          // index into the book's Pages of each row of Series
	Changes  *Changes       // along Series
	Notes    []string
	Refused  string // where no share can be given: a sentence why; else empty
}

// The functions this room must give:
//
//	Segment(Series, Options) (*Changes, error)
//	CarriedOn(books []*codex.Book, book int, set string, wear []readings.Wear) (*Carried, error)
var (
	_ = codex.Recto
	_ = readings.Below
	_ = mixed.Model{}
)
