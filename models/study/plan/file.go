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
	Title    string `toml:"title"`    // what the page is headed by
	Author   string `toml:"author"`   // who asks
	Note     string `toml:"note"`     // a sentence or two that stand under the title
	Invented bool   `toml:"invented"` // whether the books are invented; the page then says so

	Question  Question        `toml:"question"`  // what the campaign is to answer
	Pilot     Pilot           `toml:"pilot"`     // a study that tells how books, pages and readings vary
	Model     Model           `toml:"model"`     // the model, where there is no pilot
	Assumed   Assumed         `toml:"assumed"`   // parameters that no pilot tells
	Layout    *Layout         `toml:"layout"`    // a book to plan for, where no pilot's books serve
	Sections  []Section       `toml:"section"`   // texts of the layout, one after the other
	Columns   []Column        `toml:"column"`    // columns of the scholar's own, in the layout
	Measuring Measuring       `toml:"measuring"` // how the campaign measures
	Designs   Designs         `toml:"designs"`   // the numbers to try
	Aim       Aim             `toml:"aim"`       // what a design is chosen by
	Sheet     *MeasuringSheet `toml:"sheet"`     // the sheet to measure by
}

// A Question is what the campaign is to answer. Where there is a pilot, one of
// the questions that its study asks of the model may stand here by its words.
type Question struct {
	Words     string             `toml:"words" required:"true"`                  // the question, in the scholar's words; one of the pilot's may stand by its words alone
	Contrast  map[string]float64 `toml:"contrast"`                               // weights by the names of fixed effects
	Direction string             `toml:"direction" words:"more / less / either"` // which way an effect is asked about; either where not given
	Smallest  float64            `toml:"smallest" unit:"of the outcome"`         // smallest effect that would matter, without a sign
	Effect    float64            `toml:"effect" unit:"of the outcome"`           // the effect that the power is for; 0: the smallest that would matter
	Level     float64            `toml:"level"`                                  // error rate of the claim, two-sided; 0.05 where not given
}

// A Pilot is a study that has been measured and tells how books, pages and
// readings vary.
type Pilot struct {
	Study   string `toml:"study"`                                              // path of its study.toml, or of its folder
	Model   string `toml:"model"`                                              // name of the model in it
	Book    string `toml:"book"`                                               // the book, where the model is fitted book by book
	Spreads string `toml:"spreads" words:"averaged / as estimated / cautious"` // how its variances are taken; averaged over what it allows where not given
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
	Fixed      map[string]float64 `toml:"fixed" unit:"of the outcome"` // fixed effects by their terms; those not named are 0
	Page       float64            `toml:"page" unit:"of the outcome"`  // standard deviation between single pages, without the measuring
	Neighbours float64            `toml:"neighbours"`                  // correlation of pages at distance 1, where the model has one
	Bends      []float64          `toml:"bends" unit:"of the outcome"` // standard deviation of the bends of each curve of the model
	Pages      map[string]float64 `toml:"pages" unit:"of the outcome"` // page by level, where the model lets it differ
	Random     []Spread           `toml:"random"`                      // of each random term, in the order of the model
}

// A Spread is the standard deviation, between groups, of each term of a random
// term.
type Spread struct {
	SD          map[string]float64 `toml:"sd" unit:"of the outcome"` // standard deviation between groups, by term
	Correlation float64            `toml:"correlation"`              // correlation of each two terms
}

// A Layout is a book to plan for where no pilot's books serve.
type Layout struct {
	Leaves   int     `toml:"leaves"`                     // leaves of the book
	Quire    int     `toml:"quire"`                      // leaves of each quire; 8 where not given
	Pictures float64 `toml:"pictures"`                   // share of the pages with a picture, outside the sections' own
	Outer    string  `toml:"outer" words:"hair / flesh"` // outermost side of each quire
}

// A Section is a text of the layout; they follow each other from the first leaf.
type Section struct {
	Name     string `toml:"name"`     // name of the text
	Kind     string `toml:"kind"`     // its kind, as in sections.csv
	Set      string `toml:"set"`      // which set of hours
	Office   string `toml:"office"`   // which office of the day
	Pages    int    `toml:"pages"`    // its pages
	Pictures []int  `toml:"pictures"` // pages of it with a picture, counted from 1
}

// A Column is one of the scholar's own: of books (whose it was) or of pages.
type Column struct {
	Name   string    `toml:"name"`                   // name of the column
	Of     string    `toml:"of" words:"book / page"` // what it tells of
	Labels []string  `toml:"labels"`                 // its labels
	Shares []float64 `toml:"shares"`                 // shares of the books or pages with each; equal where not given
}

// Measuring is how a campaign measures. What a pilot's log tells need not be
// given; what is given counts.
type Measuring struct {
	Instrument   string   `toml:"instrument"`                       // name of the pilot's instrument
	Floor        *float64 `toml:"floor" unit:"density"`             // lowest density that the instrument shows
	Ceiling      *float64 `toml:"ceiling" unit:"density"`           // highest density that it shows
	Resolution   *float64 `toml:"resolution" unit:"density"`        // step of its last digit
	OnPage       *float64 `toml:"on_page" unit:"density"`           // standard deviation of one placing on the thumbed place
	OnZero       *float64 `toml:"on_zero" unit:"density"`           // standard deviation of one placing on the zero
	Zeros        *int     `toml:"zeros"`                            // placings on the zero of each page
	Ground       *float64 `toml:"ground" unit:"density"`            // density of untouched parchment
	GroundSpread *float64 `toml:"ground_spread" unit:"density"`     // how that differs from page to page, a standard deviation
	Between      *float64 `toml:"between_observers" unit:"density"` // standard deviation between observers, beyond repeatability
	Observers    *int     `toml:"observers"`                        // number of observers
	BetweenDays  *float64 `toml:"between_days" unit:"density"`      // standard deviation between days, beyond repeatability
	Scale        *float64 `toml:"scale"`                            // standard deviation of the days' scales, as a share of the wear
	// standard deviation, over days, of what the instrument drifts by within a day, at the
	// density of its tile; counts where the plan has a sheet
	Drift *float64 `toml:"drift" unit:"density"`

	Placing *float64 `toml:"seconds_a_placing" unit:"s"` // time for a placing, with its entry in the log
	Turn    *float64 `toml:"seconds_a_turn" unit:"s"`    // time to turn to an opening
	Tiles   *int     `toml:"tiles_a_day"`                // readings of the tile in a day
	Day     *float64 `toml:"hours_a_day" unit:"h"`       // time of measuring in a day
}

// Designs are the numbers to try, every one with every other.
type Designs struct {
	Books      []int               `toml:"books"`      // numbers of books to try
	Pages      []int               `toml:"pages"`      // numbers of pages of each book to try
	Placings   []int               `toml:"placings"`   // numbers of placings on each page to try
	Keep       map[string][]string `toml:"keep"`       // pages measured before any other: those whose column has one of these labels
	Replicates int                 `toml:"replicates"` // campaigns drawn of each design; 400 where not given
	Seed       uint64              `toml:"seed"`       // begins their random numbers
}

// An Aim is what a design is chosen by.
type Aim struct {
	Power float64 `toml:"power"`                       // chance to claim the effect, 0 to 1
	Width float64 `toml:"width" unit:"of the outcome"` // width of the interval that nine campaigns of ten do not exceed, of looks of the share or rate asked about
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
	usualTile       = 0.5 // density
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
