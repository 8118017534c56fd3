package profile

import (
	"thumbed/models/codex"
	"thumbed/models/readings"
)

// A Curve is the smooth of wear along the physical book, one value a page of a
// present leaf, in order.
type Curve struct {
	Position []int     // codex.Page.Position
	Estimate []float64 // density
	SE       []float64 // density
	Low      []float64 // 95 % pointwise interval, density
	High     []float64
	Smooth   float64 // effective degrees of freedom
	Scatter  float64 // standard deviation of pages about the curve, measuring error taken off
}

// An Area is the wear of one section: the area under the pages' wear.
type Area struct {
	Section                 int // index into the book's Sections
	Pages                   int // pages present
	Measured                int
	Total                   float64 // density × pages
	TotalSE                 float64
	TotalLow, TotalHigh     float64 // 95 %
	PerPage                 float64 // density
	PerPageSE               float64
	PerPageLow, PerPageHigh float64 // 95 %
	DF                      float64
}

// A Standout is a page whose wear stands above its own section's level.
type Standout struct {
	Page   int     // index into the book's Pages
	Excess float64 // density above the section's level
	SE     float64
	Low    float64 // 95 % interval of Excess
	High   float64
	P      float64 // one-sided
	Q      float64 // Benjamini–Hochberg adjusted over the book
}

// A Profile is all of this for one book.
type Profile struct {
	Book      int // index into the study's books
	Measured  int // pages with wear
	Curve     Curve
	Areas     []Area     // in the order of the book's Sections; sections with no measured page left out
	Standouts []Standout // with Q at or below Rate, by Page
	Tested    int
	Rate      float64 // the false-discovery rate kept
	Notes     []string
}

// The functions this room must give:
//
//	Of(books []*codex.Book, book int, wear []readings.Wear) (*Profile, error)
var (
	_ = codex.Recto
	_ = readings.Below
)
