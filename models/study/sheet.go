package study

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"strings"
	"time"

	"thumbed/models/table"
	"thumbed/models/table/document"
)

// A Sheet says what a measuring sheet is made for that needs no plan: the pages
// that tell most, then a spread over the rest until the hours are used.
type Sheet struct {
	Hours float64 `toml:"hours" unit:"h"` // hours of measuring, over all dates; --hours of thumbed sheet counts before it
	Must  Places  `toml:"must"`           // places that are measured in any case
	// places that are measured only where the even spread over the rest falls on them,
	// though they have a picture or begin a text
	May     Places  `toml:"may"`
	Never   Places  `toml:"never"`                      // places that are not measured
	Placing float64 `toml:"seconds_a_placing" unit:"s"` // time for a placing, with its entry in the log; 30 where not given
	Turn    float64 `toml:"seconds_a_turn" unit:"s"`    // time to turn to an opening; 60 where not given
	SheetOrder
}

// Places are pages of the books: by their labels, by the text or by its kind.
type Places struct {
	// pages, such as 12r–13v; where the study has several books with the book before
	// them, as in Ardel: 12r–13v; what is said of a page counts before what is said of
	// its text
	Pages []string `toml:"pages"`
	Texts []string `toml:"texts"` // names of texts, as in sections.csv; what is said of a text counts before what is said of its kind
	Kinds []string `toml:"kinds"` // kinds of text, as in sections.csv
}

// A SheetOrder says by whom, when and how often the pages of a measuring sheet are
// read.
type SheetOrder struct {
	Books    []string `toml:"books"`    // the books of it; all where none is named
	Placings int      `toml:"placings"` // placings on each page; a study's sheet has 3 where not given
	Zeros    int      `toml:"zeros"`    // placings on the zero of each page at each visit; 2 where not given
	Again    *float64 `toml:"again"`    // share of the openings that are measured on another day too; a tenth where not given
	// sweeps through a book on a day; 4 where not given: there, back, back, there; 2
	// turns fewer leaves over, and lets a drift that goes out and back lie along the
	// book
	Sweeps int `toml:"sweeps"`
	// days over which a book is spread; 2 where not given, and there are two dates; a
	// study's sheet takes more where it must
	DaysABook  int      `toml:"days_a_book"`
	MostTurns  int      `toml:"most_turns"` // most turns to an opening that one book is asked for; 0: no limit
	Instrument string   `toml:"instrument"` // name of the instrument; may be left out of a study that has one
	Observers  []string `toml:"observers"`  // names of the observers, who take the days in turn; --observers of thumbed sheet counts before it
	Dates      []string `toml:"dates"`      // the days; --dates of thumbed sheet counts before it
	Start      string   `toml:"start"`      // time of day at which the work begins
	Tiles      int      `toml:"tiles"`      // placings each time that the tile is read
	Draws      int      `toml:"draws"`      // orders drawn, of which the best is taken
	Seed       uint64   `toml:"seed"`       // begins their random numbers
}

// Complete fills in what an order does not say, but for whom and what only a scholar
// can name. Numbers are common practice, no source.
func (o *SheetOrder) Complete() {
	for _, n := range []struct {
		to    *int
		usual int
	}{{&o.Zeros, 2}, {&o.Sweeps, 4}, {&o.DaysABook, min(2, max(1, len(o.Dates)))}, {&o.Tiles, 3}, {&o.Draws, 500}} {
		if *n.to == 0 {
			*n.to = n.usual
		}
	}
	if o.Again == nil {
		tenth := 0.0
		if len(o.Dates) > 1 {
			tenth = 0.1
		}
		o.Again = &tenth
	}
	if o.Start == "" {
		o.Start = "09:30"
	}
	o.Seed = max(o.Seed, 1)
}

// Check reports what is wrong with an order that is complete; key names its key.
func (o *SheetOrder) Check(problem func(value any, expected, remedy, key string)) {
	for _, n := range []struct {
		key   string
		value int
		how   string
	}{{"placings", o.Placings, "write placings = 3, on each page"}, {"zeros", o.Zeros, "write zeros = 2, or leave it out"},
		{"days_a_book", o.DaysABook, "write days_a_book = 2"}, {"tiles", o.Tiles, "write tiles = 3"}, {"draws", o.Draws, "write draws = 200"}} {
		if n.value < 1 || n.value > 100_000 {
			problem(n.value, "a whole number, 1 or more", n.how, n.key)
		}
	}
	if o.Sweeps < 2 || o.Sweeps%2 != 0 || o.Sweeps > 100 {
		problem(o.Sweeps, "an even number of sweeps through the book on a day, 2 or more", "write sweeps = 4: there, back, back and there, so that drifts over the day cancel", "sweeps")
	}
	if o.MostTurns < 0 {
		problem(o.MostTurns, "a number of turns, 1 or more", "leave it out where there is no limit", "most_turns")
	}
	if !(*o.Again >= 0 && *o.Again <= 1) {
		problem(*o.Again, "a share of the openings from 0 to 1", "write again = 0.1", "again")
	}
	if o.Instrument == "" {
		problem(nil, "the instrument's name, as instruments.csv has it", `write instrument = "bench"`, "instrument")
	}
	if len(o.Observers) == 0 {
		problem(nil, "who places the instrument", `write observers = ["HB"]; several take the days in turn`, "observers")
	}
	o.checkDates(problem)
}

// checkDates checks the days and the hour of the measuring.
func (o *SheetOrder) checkDates(problem func(value any, expected, remedy, key string)) {
	if len(o.Dates) == 0 {
		problem(nil, "the days of measuring", `write dates = ["2026-06-01", "2026-06-02"]`, "dates")
	}
	before := ""
	for _, date := range o.Dates {
		if _, err := time.Parse(time.DateOnly, date); err != nil || date <= before {
			problem(date, "dates such as 2026-06-01, in their order and each once", "correct the list", "dates")
		}
		before = date
	}
	if len(o.Dates) == 1 && *o.Again > 0 {
		problem(*o.Again, "two dates or more, to measure some openings on another day", "add a date, or delete again", "again")
	}
	if _, err := time.Parse("15:04", o.Start); err != nil {
		problem(o.Start, "a time of day, such as 09:30", `write start = "09:30"`, "start")
	}
}

// mostHours is how long a day's measuring may be asked to be.
const mostHours = 12

// Lines tell on which line of the study file each key stands.
func (s *Study) Lines() document.Where { return s.where }

// OpenSheet reads a study for its measuring sheet: books, instruments and the section
// [sheet], which is complete and checked but for its places. What given holds counts
// before what the file says. The error is a [*table.Fault].
func OpenSheet(path string, given Sheet) (*Study, error) {
	s, instruments, err := OpenBooks(path)
	var ps table.Problems
	var fault *table.Fault
	if errors.As(err, &fault) && s != nil { // which instrument it will be need not be described yet
		for _, p := range fault.Problems {
			if p.File != s.near(s.Tables.Instruments) {
				ps.Add(p)
			}
		}
		err = ps.Err()
	}
	if err != nil {
		return nil, err
	}
	if s.Sheet == nil {
		s.Sheet = &Sheet{}
	}
	for _, p := range s.misread {
		if p.Column == "sheet" || strings.HasPrefix(p.Column, "sheet.") {
			ps.Add(p)
		}
	}
	sheet := s.Sheet
	if given.Hours != 0 {
		sheet.Hours = given.Hours
	}
	if given.Dates != nil {
		sheet.Dates = given.Dates
	}
	if given.Observers != nil {
		sheet.Observers = given.Observers
	}
	sheet.Instrument = cmp.Or(given.Instrument, sheet.Instrument)
	if sheet.Instrument == "" && len(instruments) == 1 {
		sheet.Instrument = instruments[0].ID
	}
	if sheet.Placings == 0 {
		sheet.Placings = 3
	}
	sheet.Complete()
	if ps.Len() == 0 {
		c := fileCheck{path: s.Path, file: &s.File, where: s.where, ps: &ps}
		c.sheet()
	}
	return s, ps.Err()
}

// sheet checks the section [sheet].
func (c *fileCheck) sheet() {
	problem := func(value any, expected, remedy, key string) {
		shown := ""
		if value != nil {
			shown = fmt.Sprint(value)
		}
		switch key {
		case "dates", "observers", "instrument":
			remedy += fmt.Sprintf(" under [sheet], or name them by --%s", key)
		case "hours":
			remedy += " under [sheet], or name them by --hours"
		}
		c.problem(shown, expected, remedy, "sheet", key)
	}
	s := c.file.Sheet
	s.Check(problem)
	days := float64(max(1, len(s.Dates)))
	switch {
	case s.Hours == 0:
		problem(nil, "how many hours there are for measuring, over all dates", "write hours = 12", "hours")
	case !(s.Hours > 0) || math.IsInf(s.Hours, 0):
		problem(s.Hours, "a number of hours above 0", "write hours = 12", "hours")
	case s.Hours/days > mostHours:
		problem(s.Hours, fmt.Sprintf("at most %d hours of measuring on each of %d dates", mostHours, len(s.Dates)), "add dates, or write fewer hours", "hours")
	}
}
