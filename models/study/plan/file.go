package plan

import (
	"errors"
	"reflect"

	"thumbed/models/hypotheses/power"
	"thumbed/models/mixed"
	"thumbed/models/table"
	"thumbed/models/table/document"
)

// A File is what a plan file says.
type File struct {
	Title    string `toml:"title"`
	Author   string `toml:"author"`
	Note     string `toml:"note"`
	Invented bool   `toml:"invented"`

	Question  Question        `toml:"question"`
	Pilot     Pilot           `toml:"pilot"`
	Model     Model           `toml:"model"`
	Assumed   Assumed         `toml:"assumed"`
	Layout    *Layout         `toml:"layout"`
	Sections  []Section       `toml:"section"` // of the layout
	Columns   []Column        `toml:"column"`  // of the scholar's own, in the layout
	Measuring Measuring       `toml:"measuring"`
	Designs   Designs         `toml:"designs"`
	Aim       Aim             `toml:"aim"`
	Sheet     *MeasuringSheet `toml:"sheet"`
}

// A Question is what the campaign is to answer. Where there is a pilot, one of
// the questions that its study asks of the model may stand here by its words.
type Question struct {
	Words     string             `toml:"words"`
	Contrast  map[string]float64 `toml:"contrast"`
	Direction string             `toml:"direction"`
	Smallest  float64            `toml:"smallest"`
	Effect    float64            `toml:"effect"` // that the power is for; 0: the smallest that would matter
	Level     float64            `toml:"level"`  // error rate of the claim, two-sided; 0.05 where not given
}

// A Pilot is a study that has been measured and tells how books, pages and
// readings vary.
type Pilot struct {
	Study   string `toml:"study"` // study.toml or its folder, from the folder of the plan file
	Model   string `toml:"model"`
	Book    string `toml:"book"`    // where the model is fitted book by book
	Spreads string `toml:"spreads"` // "averaged" (also when empty), "as estimated" or "cautious"
}

// The ways to take a pilot's spreads.
const (
	averaged    = "averaged"
	asEstimated = "as estimated"
	cautious    = "cautious"
)

// A Model is the model that the campaign's wear will be fitted by, with the keys
// that a model has anywhere.
type Model struct {
	mixed.Model `toml:"-"`
}

// Assumed are parameters that no pilot tells.
type Assumed struct {
	Fixed      map[string]float64 `toml:"fixed"`      // fixed effects by their terms; those not named are 0
	Page       float64            `toml:"page"`       // standard deviation between single pages, without the measuring
	Neighbours float64            `toml:"neighbours"` // correlation of pages at distance 1, where the model has one
	Bends      []float64          `toml:"bends"`      // standard deviation of the bends of each curve of the model
	Pages      map[string]float64 `toml:"pages"`      // page by level, where the model lets it differ
	Random     []Spread           `toml:"random"`     // of each random term, in the order of the model
}

// A Spread is the standard deviation, between groups, of each term of a random
// term.
type Spread struct {
	SD          map[string]float64 `toml:"sd"`
	Correlation float64            `toml:"correlation"` // of each two of them
}

// A Layout is a book to plan for where no pilot's books serve.
type Layout struct {
	Leaves   int     `toml:"leaves"`
	Quire    int     `toml:"quire"`    // leaves of each quire
	Pictures float64 `toml:"pictures"` // share of the pages outside the sections' own pictures
	Outer    string  `toml:"outer"`    // hair or flesh: the outermost side of each quire
}

// A Section is a text of the layout; they follow each other from the first leaf.
type Section struct {
	Name     string `toml:"name"`
	Kind     string `toml:"kind"`
	Set      string `toml:"set"`
	Office   string `toml:"office"`
	Pages    int    `toml:"pages"`
	Pictures []int  `toml:"pictures"` // pages of it with a picture, from 1
}

// A Column is one of the scholar's own: of books (whose it was) or of pages.
type Column struct {
	Name   string    `toml:"name"`
	Of     string    `toml:"of"` // "book" or "page"
	Labels []string  `toml:"labels"`
	Shares []float64 `toml:"shares"` // of the books or pages; equal where not given
}

// Measuring is how a campaign measures. What a pilot's log tells need not be
// given; what is given counts.
type Measuring struct {
	Instrument   string   `toml:"instrument"` // of the pilot's
	Floor        *float64 `toml:"floor"`
	Ceiling      *float64 `toml:"ceiling"`
	Resolution   *float64 `toml:"resolution"`
	OnPage       *float64 `toml:"on_page"` // standard deviation of one placing on the thumbed place
	OnZero       *float64 `toml:"on_zero"` // … and on the zero
	Zeros        *int     `toml:"zeros"`   // placings on the zero of each page
	Ground       *float64 `toml:"ground"`  // density of untouched parchment
	GroundSpread *float64 `toml:"ground_spread"`
	Between      *float64 `toml:"between_observers"`
	Observers    *int     `toml:"observers"`
	BetweenDays  *float64 `toml:"between_days"`
	Scale        *float64 `toml:"scale"` // of the days' scales, as a share of the wear

	Placing *float64 `toml:"seconds_a_placing"`
	Turn    *float64 `toml:"seconds_a_turn"`
	Tiles   *int     `toml:"tiles_a_day"`
	Day     *float64 `toml:"hours_a_day"`
}

// Designs are the numbers to try, every one with every other.
type Designs struct {
	Books      []int               `toml:"books"`
	Pages      []int               `toml:"pages"`    // of each book
	Placings   []int               `toml:"placings"` // on each page
	Keep       map[string][]string `toml:"keep"`     // pages measured before any other, by column and labels
	Replicates int                 `toml:"replicates"`
	Seed       uint64              `toml:"seed"`
}

// An Aim is what a design is chosen by.
type Aim struct {
	Power float64 `toml:"power"`
	Width float64 `toml:"width"`
}

// Defaults of a plan. Those of measuring are common practice, no source: two
// placings on the zero, half a minute a placing with the entry in the log, the
// tile three times in the morning, around noon and at the end.
const (
	usualReplicates = 400
	usualLevel      = 0.05
	usualZeros      = 2
	usualPlacing    = 30.0 // seconds
	usualTurn       = 60.0 // seconds
	usualTiles      = 9
	usualDay        = 6.0 // hours
	usualQuire      = 8   // leaves
)

// shape is what a plan file may hold.
var shape = document.Shape{
	What:     "a plan file",
	Root:     reflect.TypeFor[File](),
	Repeated: map[string]bool{"section": true, "column": true},
}

// parse reads a plan file. Every problem goes to ps with path as its file; where
// tells on which line each key stands. nil where the text is no TOML.
func parse(path string, data []byte, ps *table.Problems) (*File, document.Where) {
	f := &File{Pilot: Pilot{Spreads: averaged}, Question: Question{Level: usualLevel}, Designs: Designs{Replicates: usualReplicates, Seed: 1}}
	doc := shape.Split(path, data, ps)
	if doc == nil {
		return nil, nil
	}
	doc.Decode(path, f, ps)
	f.Sheet.complete(f)
	if len(doc.Models) > 0 {
		var fault *table.Fault
		var err error
		f.Model.Model, err = mixed.ParseModel(path, doc.Models[0])
		if errors.As(err, &fault) {
			ps.Add(fault.Problems...)
		}
	}
	check(path, f, doc.Where, ps)
	return f, doc.Where
}

// designs are all that the numbers make.
func (d Designs) designs() []power.Design {
	var out []power.Design
	for _, pages := range d.Pages {
		for _, placings := range d.Placings {
			for _, books := range d.Books {
				out = append(out, power.Design{Books: books, Pages: pages, Placings: placings})
			}
		}
	}
	return out
}
