package intake

import (
	"regexp"
	"slices"

	"thumbed/models/codex"
	"thumbed/models/readings"
	"thumbed/models/table"
	"thumbed/models/table/sheet"
)

// settle makes what only a log of readings asks for of a sheet: a reading of the
// tile is of no book and no page, also where the mapping gives all rows one; and
// days whose order cannot be told from them need it told in the mapping.
func settle(log *table.Table, words *sheet.Mapping, ps *table.Problems) {
	if target := log.Column("target"); target != nil {
		for _, name := range []string{codex.ColumnBook, codex.ColumnPage} {
			column, constant := log.Column(name), words.Constant[name]
			if column == nil || constant == "" {
				continue
			}
			cells := column.Text()
			for i := range cells {
				if target.Label(i) == string(readings.OnTile) && cells[i] == constant {
					cells[i] = ""
				}
			}
			*column = *table.Cells(name, cells)
		}
	}
	if date := log.Column("date"); date != nil && words.Dates == "" {
		days := date.Text()
		if i := slices.IndexFunc(days, reDay.MatchString); i >= 0 {
			ps.Add(table.Problem{File: log.File, Column: "date", Value: days[i], Expected: "days whose order is told in the mapping",
				Remedy: `write dates = "day-month-year" at its top, or "month-day-year", and give it with --words`})
		}
	}
}

var reDay = regexp.MustCompile(`^\d{1,2}[./-]\d{1,2}[./-]\d{4}`)
