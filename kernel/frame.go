package kernel

import (
	"fmt"
	"math"
	"strconv"

	"github.com/kniren/gota/dataframe"

	"thumbed/models/report/grid"
	"thumbed/models/table"
	"thumbed/models/wording"
)

// Table shows a data frame: all its columns and, page by page, its rows.
func Table(frame dataframe.DataFrame) {
	Check(frame.Err)
	Show(Must(table.FromFrame(frame)))
}

// mostRows is how many rows of a table are shown: more belong in a file.
const mostRows = 2000

// tableFace shows a table of ours. Numbers of a column have all the same
// decimals, as many as they need and at most six.
func tableFace(t *table.Table) []Output {
	columns := t.Columns()
	g := grid.Grid{Title: "A table of " + wording.Count(t.Rows(), "row", "rows"), Empty: "There are no rows."}
	shown := min(t.Rows(), mostRows)
	cells := make([][]string, len(columns))
	for k, c := range columns {
		g.Heads = append(g.Heads, grid.Head{Text: c.Name, Number: c.IsNumber()})
		cells[k] = columnCells(c, shown)
	}
	for i := range shown {
		row := make([]string, len(columns))
		for k := range columns {
			row[k] = cells[k][i]
		}
		g.AddTexts(row...)
	}
	if rest := t.Rows() - shown; rest > 0 {
		g.Rest = fmt.Sprintf("%s more are not shown here; write the table to a file to see all.", wording.Count(rest, "row", "rows"))
	}
	return []Output{tableOutput(g)}
}

// mostDecimals is how many decimals of a column are shown at most.
const mostDecimals = 6

func columnCells(c *table.Column, rows int) []string {
	cells := make([]string, rows)
	if !c.IsNumber() {
		for i := range cells {
			cells[i] = c.Label(i)
		}
		return cells
	}
	decimals := 0
	for _, v := range c.Numbers[:rows] {
		decimals = max(decimals, decimalsOf(v))
	}
	for i, v := range c.Numbers[:rows] {
		if !c.Missing(i) {
			cells[i] = wording.Fixed(v, decimals)
		}
	}
	return cells
}

// decimalsOf is how many decimals a number needs, up to the most shown.
func decimalsOf(v float64) int {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return 0
	}
	for d := range mostDecimals {
		if rounded, err := strconv.ParseFloat(strconv.FormatFloat(v, 'f', d, 64), 64); err == nil && rounded == v {
			return d
		}
	}
	return mostDecimals
}
