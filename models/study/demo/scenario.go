package demo

import (
	_ "embed"
	"fmt"

	"thumbed/models/table/document"
)

//go:embed truth.toml
var truthFile []byte

// A Scenario is the written truth: the books, how their owners wore them, and
// how they were measured. Densities are over the page's own untouched zero
// unless said otherwise.
type Scenario struct {
	Seed  uint64
	Study []byte `toml:"-"` // study.toml; nil: that of the demonstration

	Scatter     Scatter
	Common      Common
	Offsets     Offsets
	Instruments []Instrument `toml:"instrument"`
	Days        []Day        `toml:"day"`
	Darkest     Darkest
	Books       []Book      `toml:"book"`
	Traces      *TraceTruth // nil: no trace is looked for
}

// Scatter is what varies beyond the habits, densities.
type Scatter struct {
	Quire      float64 // standard deviation between quires
	Page       float64 // standard deviation between pages
	Along      float64 // correlation of neighbouring pages' scatter
	Tails      float64 // degrees of freedom of Student's t that pages scatter by; 0: normally
	Least      float64 // no page has less wear
	Edge       float64 // added on the outermost leaf
	EdgeLeaves float64 `toml:"edge_leaves"` // leaves over which it falls to 1/e
}

// Common are effects that all owners share, densities.
type Common struct {
	Facing  float64 // of a picture on the facing page
	Incipit float64 // of the first page of a text
}

// Offsets are the standard deviations of what the readings of pages, and not
// those of zeros, have in common, densities.
type Offsets struct {
	Placing    float64 // of one page on one day
	Day        float64 // of one day
	Observer   float64 // of one observer
	Instrument float64 // of one instrument
}

// An Instrument is a densitometer: its limits as densities read, its tile and
// the standard deviation of one placing.
type Instrument struct {
	ID                                      string
	Floor, Ceiling, Resolution, Tile, Noise float64
}

// A Day is one measuring day: which pages, by whom, with what, and the offset
// of the instrument's drift in the morning and in the evening.
type Day struct {
	Date, Instrument, Observer string
	Books                      []string
	Part, Parts                int     // the n-th of so many parts of their openings, dealt out by chance among neighbours; Parts 0:
	Again                      int     // … and each n-th opening of the other parts, measured on their days too
	Every                      int     // each n-th page of theirs; 0: the pages …
	First                      int     // … of those, counted from 1; 0: half of Every
	From, To                   float64 // … between these shares of them
	Drift                      [2]float64
	Darkest                    bool // placings on the darkest of several spots
}

// Darkest says how spots of one page differ and how many were tried.
type Darkest struct {
	Spread float64
	Tried  []int
	Singly int // on one page in so many, the spots are logged one by one …
	Spots  int // … and so many of them
}

// A Book is one book with its owner's habits. Leaves are counted from 1 at the
// first leaf of the first quire, lost ones too; pages likewise.
type Book struct {
	ID, Title, Short, Shelfmark, Library, Owner, Place, Date, Material, Outer, Language string

	Quires     []int // leaves of each
	Singletons []int // leaves
	Lost       []int // leaves
	Unnumbered []int // lost leaves, lost before the folios were numbered
	Bis        []int // leaves numbered as the one before with "bis"
	Supplied   []int // leaves whose number stands in brackets
	Swapped    []int // two neighbouring leaves bound the wrong way round
	FlyFront   int   `toml:"fly_front"`
	FlyBack    int   `toml:"fly_back"`

	Zero       float64 // density of untouched parchment
	White      []int   // leaves of much whiter parchment
	Unmeasured []int   // pages with flaking paint at the corner
	Ground     float64 // wear of pages outside all texts
	Blank      float64 // wear of blank pages
	Picture    float64 // effect of a picture
	Touch      float64 // by which figures whom a prayer addresses are rubbed more than others, log odds
	Decline    float64 // by which wear falls, evenly, from the first page to the last
	Half       string  // the text with which the second owner's half begins
	Standouts  []Standout
	Texts      []Text `toml:"text"`
}

// A Standout is one page worn beyond all rules.
type Standout struct {
	Page  string // its label
	Extra float64
	Why   string
}

// A Text is one section of a book, or several of a kind: the offices of a set
// of hours, the suffrages of several saints.
type Text struct {
	Name, Kind, Set, Language, Incipit string

	Start    string    // "recto" or "verso": where each part must begin; empty: anywhere
	Parts    []string  // offices or saints; empty: the text is one
	Pages    []int     // of each part
	Level    []float64 // wear of each part, or one for all
	Pictures []int     // pages of a part with a picture
	Pictured []int     // parts with pictures, from 1; empty: all
	Subjects []string  // of the pictures, in order
}

// Written reads the scenario that is part of the program.
func Written() (*Scenario, error) {
	s := &Scenario{}
	if err := document.Peek(truthFile, s); err != nil {
		return nil, fmt.Errorf("the written truth of the demonstration cannot be read: %w", err)
	}
	return s, nil
}
