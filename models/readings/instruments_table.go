package readings

import (
	"fmt"
	"math"

	"thumbed/models/table"
)

// LoadInstruments reads instruments.csv.
func LoadInstruments(path string, ps *table.Problems) []Instrument {
	t := table.ReadFile(path, ps)
	if t == nil {
		return nil
	}
	return InstrumentsOf(t, ps)
}

// InstrumentsOf is [LoadInstruments] for a table that is at hand.
func InstrumentsOf(t *table.Table, ps *table.Problems) []Instrument {
	if !InstrumentsSchema().Check(t, ps) {
		return nil
	}
	if t.Rows() == 0 {
		ps.Add(table.Problem{File: t.File, Line: 1, Expected: "a row for each densitometer",
			Remedy: "describe the densitometer: its name, floor, ceiling, resolution and tile"})
	}
	var instruments []Instrument
	for i := range t.Rows() {
		in := Instrument{
			ID:         t.Column("instrument").Label(i),
			Floor:      numberAt(t.Column("floor"), i),
			Ceiling:    numberAt(t.Column("ceiling"), i),
			Resolution: numberAt(t.Column("resolution"), i),
			Tile:       numberAt(t.Column("tile"), i),
			line:       t.Line(i),
		}
		if sd := numberAt(t.Column("stated_sd"), i); sd > 0 {
			in.StatedSD = sd
		}
		if c := t.Column("converted_to"); c != nil {
			in.ConvertedTo = c.Label(i)
		}
		checkInstrument(in, t, i, ps)
		if in.ID != "" {
			instruments = append(instruments, in)
		}
	}
	return instruments
}

// numberAt is the number in row i of a column, NaN where there is none: no
// such column, an empty cell, or a cell that the schema's check has reported.
func numberAt(c *table.Column, i int) float64 {
	if c == nil {
		return math.NaN()
	}
	return c.Number(i)
}

// checkInstrument reports what in the row cannot be true of a densitometer.
// Comparisons with numbers that are missing, and reported already, are false.
func checkInstrument(in Instrument, t *table.Table, row int, ps *table.Problems) {
	add := func(column, expected, remedy string) {
		ps.Add(table.Problem{File: t.File, Line: t.Line(row), Column: column, Value: t.Column(column).Label(row),
			Expected: expected, Remedy: remedy})
	}
	if in.Ceiling <= in.Floor {
		add("ceiling", fmt.Sprintf("a ceiling above the floor of %g", in.Floor), "perhaps the two are exchanged")
	}
	if in.Resolution <= 0 {
		add("resolution", "a step above 0", "give the step of the last digit shown, such as 0.01")
	}
	if in.Resolution > 0 && in.Resolution >= (in.Ceiling-in.Floor)/2 {
		add("resolution", "a step well inside the range from floor to ceiling", "give the step of the last digit shown, such as 0.01")
	}
	if !math.IsNaN(in.Tile) && (in.Tile <= in.Floor || in.Tile >= in.Ceiling) {
		add("tile", fmt.Sprintf("a density between the floor of %g and the ceiling of %g", in.Floor, in.Ceiling),
			"check the tile's certificate; a tile outside the range cannot show drift")
	}
}
