package intake

import (
	"regexp"
	"slices"

	"thumbed/models/codex"
	"thumbed/models/readings"
	"thumbed/models/table"
	"thumbed/models/table/sheet"
)

// placeless are the columns of a log in which some targets have no value: the tile is
// of no book and no page, and only the thumbed place has a spot that was chosen.
var placeless = map[string][]readings.Target{
	codex.ColumnBook: {readings.OnTile}, codex.ColumnPage: {readings.OnTile},
	"spot": {readings.OnTile, readings.OnZero}, "tried": {readings.OnTile, readings.OnZero},
}

// fill gives a table the columns that the mapping says are alike in all rows, where it
// may have such a column and has none, but for rows in which it can have no value.
func fill(t *table.Table, k *kind, words *sheet.Mapping) {
	for _, f := range k.schema.Fields {
		value := words.Constant[f.Name]
		if value == "" || t.Column(f.Name) != nil || t.Rows() == 0 {
			continue
		}
		target := t.Column("target")
		cells := slices.Repeat([]string{value}, t.Rows())
		for i := range cells {
			if k.name == "readings" && target != nil && slices.Contains(placeless[f.Name], readings.Target(target.Label(i))) {
				cells[i] = ""
			}
		}
		if err := t.Add(table.Cells(f.Name, cells)); err != nil {
			panic("intake: " + err.Error()) // one cell a row, of a column that is not there
		}
	}
}

// settle makes what a log of readings or looks asks for of a sheet: days whose order
// cannot be read from them need it told in the mapping.
func settle(log *table.Table, words *sheet.Mapping, ps *table.Problems) {
	if date := log.Column("date"); date != nil && words.Dates == "" {
		days := date.Text()
		if i := slices.IndexFunc(days, reDay.MatchString); i >= 0 {
			ps.Add(table.Problem{File: log.File, Column: "date", Value: days[i], Expected: "days whose order is told",
				Remedy: "--set dates=day-month-year, or month-day-year, where they are added to a study; or the same at the top of a mapping: dates = \"day-month-year\""})
		}
	}
}

var reDay = regexp.MustCompile(`^\d{1,2}[./-]\d{1,2}[./-]\d{4}`)
