package desk

import (
	"fmt"

	"thumbed/models/codex"
	"thumbed/models/readings"
	"thumbed/models/table"
)

// A Step is one placing of the instrument to make.
type Step struct {
	Book   string // empty on the tile
	Page   string
	Target readings.Target
	Spot   readings.Spot // empty except on a page
	Note   string        // as the sheet has it
}

func (s Step) place() [2]string { return [2]string{s.Book, s.Page} }

// same tells whether two steps are placings of one kind on one place.
func (s Step) same(o Step) bool { return s.place() == o.place() && s.Target == o.Target }

// where names the place of a step in words.
func (s Step) where() string {
	if s.Target == readings.OnTile {
		return "the reference tile"
	}
	return inWords(s.place())
}

// on says what the instrument is placed on.
func (s Step) on() string {
	switch s.Target {
	case readings.OnTile:
		return "tile"
	case readings.OnZero:
		return "untouched spot"
	}
	return "thumbed corner"
}

// A Sheet is the placings of one day in their order.
type Sheet struct {
	Day        string // that they are planned for
	Instrument string
	Observer   string
	Steps      []Step
}

// ReadSheet reads a sheet as the verb sheet writes it, a table of readings with
// their densities empty, and gives the day that is wanted: the one planned for
// today, or else the first of those that are planned. The error names every
// problem of the table.
func ReadSheet(path, today string, books []*codex.Book) (*Sheet, error) {
	var ps table.Problems
	t := openSheet(path, readings.ReadingsSchema(), books, &ps)
	if t == nil {
		return nil, ps.Err()
	}
	if t.Rows() == 0 {
		return nil, fmt.Errorf("%s holds no placing to make", path)
	}
	day, rows := t.onDay(today, t.rowsWhere(func(int) bool { return true }))
	s := &Sheet{Day: day}
	for _, i := range rows {
		s.Instrument, s.Observer = t.label("instrument", i), t.label("observer", i)
		step := Step{Book: t.label("book", i), Page: t.label("page", i), Target: readings.Target(t.label("target", i)), Spot: readings.Spot(t.label("spot", i)), Note: t.label("note", i)}
		if step.Target != readings.OnTile {
			t.checkPage(i)
		}
		s.Steps = append(s.Steps, step)
	}
	return s, ps.Err()
}
