package readings

import (
	"thumbed/models/codex"
	"thumbed/models/table"
)

// A Limit tells whether a page's wear is a number or only a bound.
type Limit string

// The limits. Below: the wear is at most Wear.Density. Above: at least.
const (
	Measured Limit = ""
	Below    Limit = "below"
	Above    Limit = "above"
)

// A Drift says how tile readings correct the others of their measuring day.
type Drift string

// The drift corrections: none; an offset added to every density; a scale that
// multiplies it.
const (
	DriftNone   Drift = "none"
	DriftOffset Drift = "offset"
	DriftScale  Drift = "scale"
)

// An Instrument is one densitometer and its reference tile.
type Instrument struct {
	ID         string
	Floor      float64 // density; values at or below are limits
	Ceiling    float64 // density; values at or above are limits
	Resolution float64 // the last digit shown, a density
	Tile       float64 // certified density of its reference tile; NaN where none
}

// Options are the choices of the measuring plan.
type Options struct {
	Drift Drift
	// SpotSpread is the standard deviation of density between spots of one
	// page, for darkest-spot placings where the log cannot tell it; 0: take it
	// from the log.
	SpotSpread float64
	// Solid is the density of solid deposit in the Murray–Davies equation.
	Solid float64
}

// Paths are the tables of the log.
type Paths struct {
	Instruments string
	Readings    []string
}

// A Wear is one page's deposit estimate.
type Wear struct {
	Book, Page int // indices into the books given and into its Pages
	Density    float64
	SE         float64 // density; of Density; where Limit is set, that of the bound
	DF         float64 // degrees of freedom of SE
	Limit      Limit
	Coverage   float64 // area coverage, 0 to 1, Murray–Davies
	CoverageSE float64
	Placings   int
	Zeros      int
	Spot       string // "fixed" or "darkest"
}

// A DayDrift is the drift of one instrument on one measuring day.
type DayDrift struct {
	Day, Instrument string
	Readings        int     // tile readings
	Start, End      float64 // tile's departure from its certified density
	SE              float64 // of the correction at mid-day
	Correction      Drift
}

// A Precision is what the log says of the measuring itself, in the sense of
// ISO 5725-2: standard deviations of density.
type Precision struct {
	Repeatability   float64 // s_r, pooled over cells
	DF              float64
	Cells           int
	Reproducibility float64 // s_R; NaN with one observer and one instrument
	Between         float64 // s_L, between observers or instruments; NaN likewise
	Groups          []string
	SpotSpread      float64 // between spots of one page; NaN where not told
	SpotSpreadDF    float64
}

// A Counted is a tally of the log.
type Counted struct {
	Readings, Page, Zero, Tile, Excluded, AtFloor, AtCeiling int
}

// A Result is the wear of every measured page, in the order of books and
// pages, with the report on the measuring.
type Result struct {
	Wear      []Wear
	Precision Precision
	Drift     []DayDrift
	Counted   Counted
	// Excluded are the readings left out, with the scholar's reason.
	Excluded []Excluded
	Notes    []string // plain sentences: what was assumed or corrected
}

// An Excluded is a reading that the scholar left out.
type Excluded struct {
	File       string
	Line       int
	Book, Page string
	Density    float64
	Reason     string
}

// The functions this room must give:
//
//	Load(Paths, []*codex.Book, *table.Problems) *Log
//	(*Log) Wear(Options) (*Result, error)
//	(*Result) Columns(books []*codex.Book) …   wear columns joined to codex.Features (see Join)
//	Join(features *table.Table, books []*codex.Book, r *Result) (*table.Table, error)
//	Density(reflectance) ; Reflectance(density) ; Coverage(density, solid)
var (
	_ = codex.Recto
	_ = table.Problem{}
)
