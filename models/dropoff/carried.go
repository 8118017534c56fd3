package dropoff

import "thumbed/models/codex"

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
