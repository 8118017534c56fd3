package sheet

import (
	"fmt"
	"strconv"
	"time"
)

// Bounds of what is read. They stop a file that is no table, or a hostile one,
// before it fills the memory.
const (
	mostBytes   = 256 << 20 // of a workbook, unpacked
	mostGrowth  = 200       // times its packed size; a sheet of equal rows grows some fifty times
	anyBytes    = 32 << 20  // to which it may grow from any size
	mostFiles   = 10_000    // in a workbook
	mostCells   = 4_000_000 // of a sheet
	mostColumns = 1000
	mostRows    = 1_048_576 // as many as the formats can hold
	mostText    = 32_767    // characters in a cell, likewise
)

// A cell is what stands in one cell.
type cell struct {
	text  string // as our tables write it; of a day, 2026-03-09
	clock string // of a time of day: 14:05 or 14:05:30
	fault string // why it has no value: the error that the spreadsheet shows

	percent bool // the number is shown as a percentage
}

// value is the cell as one text.
func (c cell) value() string {
	switch {
	case c.clock == "":
		return c.text
	case c.text == "":
		return c.clock
	}
	return c.text + " " + c.clock
}

// A grid is a sheet as it stands.
type grid struct {
	name string
	rows [][]cell // from row 1 and column A; rows may be short
	told bool     // whether cells know numbers from text, as workbooks do

	merged   []area
	fills    map[string]cells // by colour
	formulas cells
	comments map[string]string // by cell
	hidden   []string          // rows and columns, in words
}

// An area is a rectangle of merged cells, by its first and last column and row from 1.
type area struct{ column, row, lastColumn, lastRow int }

// String names the area: B2:B7.
func (a area) String() string { return at(a.column, a.row) + ":" + at(a.lastColumn, a.lastRow) }

// cells are places in a sheet, counted, with the first few by name.
type cells struct {
	count int
	names []string
}

// shown is how many cells a message names.
const shown = 6

func (c *cells) add(column, row int) {
	c.count++
	if len(c.names) < shown {
		c.names = append(c.names, at(column, row))
	}
}

// String names the cells: B3, B7 and 12 more.
func (c cells) String() string {
	text := ""
	for i, name := range c.names {
		if i > 0 {
			text += ", "
		}
		text += name
	}
	if more := c.count - len(c.names); more > 0 {
		text += fmt.Sprintf(" and %d more", more)
	}
	return text
}

// at names a cell by its column and row, both from 1.
func at(column, row int) string { return letters(column) + strconv.Itoa(row) }

// letters name a column: A to Z, AA …
func letters(column int) string {
	name := ""
	for ; column > 0; column = (column - 1) / 26 {
		name = string(rune('A'+(column-1)%26)) + name
	}
	return name
}

// moment is a day and a time of day as cells hold them; a time at midnight is
// none where the cell shows a day.
func moment(t time.Time, day, clock bool) cell {
	t = t.Round(time.Second)
	var c cell
	if day {
		c.text = t.Format(time.DateOnly)
	}
	if midnight := t.Hour() == 0 && t.Minute() == 0 && t.Second() == 0; clock && !(day && midnight) {
		c.clock = t.Format("15:04:05")
		if t.Second() == 0 {
			c.clock = t.Format("15:04")
		}
	}
	return c
}

// number writes a number in the shortest form that reads back as the same.
func number(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }
