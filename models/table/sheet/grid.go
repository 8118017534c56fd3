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

// A cell is what stands in one cell. A large sheet has millions, of which most are a
// text alone.
type cell struct {
	text string // as our tables write it; of a day, 2026-03-09
	more *aside // nil where there is no more to it
}

// An aside is what few cells have besides their text. It is never changed.
type aside struct {
	clock   string // of a time of day: 14:05 or 14:05:30
	fault   string // why it has no value: the error that the spreadsheet shows
	percent bool   // the number is shown as a percentage
}

// percentage is what all numbers shown as one have besides.
var percentage = &aside{percent: true}

// timed is a cell that holds a time of day besides its text, faulty one without a value.
func timed(text, clock string) cell { return cell{text, &aside{clock: clock}} }
func faulty(fault string) cell      { return cell{more: &aside{fault: fault}} }

func (c cell) clock() string {
	if c.more == nil {
		return ""
	}
	return c.more.clock
}

func (c cell) fault() string {
	if c.more == nil {
		return ""
	}
	return c.more.fault
}

func (c cell) percent() bool { return c.more != nil && c.more.percent }

// filled tells whether there is a value, or a fault in place of one.
func (c cell) filled() bool { return c.value() != "" || c.fault() != "" }

// value is the cell as one text.
func (c cell) value() string {
	switch {
	case c.clock() == "":
		return c.text
	case c.text == "":
		return c.clock()
	}
	return c.text + " " + c.clock()
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
	text := ""
	if day {
		text = t.Format(time.DateOnly)
	}
	if midnight := t.Hour() == 0 && t.Minute() == 0 && t.Second() == 0; clock && !(day && midnight) {
		if t.Second() == 0 {
			return timed(text, t.Format("15:04"))
		}
		return timed(text, t.Format("15:04:05"))
	}
	return cell{text: text}
}

// number writes a number in the shortest form that reads back as the same.
func number(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }
