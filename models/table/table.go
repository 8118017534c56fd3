package table

import (
	"fmt"
	"iter"
	"maps"
	"math"
	"slices"
)

// A Column is one named column of a table. A column always has labels or
// numbers, and has both where it was read from text whose every present cell
// is a number.
type Column struct {
	Name string
	// Numbers holds the cells as numbers, one a row, NaN where missing; nil
	// where any present cell is not a number.
	Numbers []float64
	// cells are the labels as written; nil where the column was computed and
	// has only numbers. An empty cell is a missing value.
	cells cells
}

// Len is the number of rows.
func (c *Column) Len() int {
	if c.cells != nil {
		return c.cells.len()
	}
	return len(c.Numbers)
}

// IsText tells whether the column has its cells as written: whether it was
// made of labels or read from text, and not computed as numbers.
func (c *Column) IsText() bool { return c.cells != nil }

// Text gives the cells as text, one a row, empty where missing, in a slice of
// their own. It makes 16 bytes a row: ask [Column.Label] for single cells, and
// [Column.Levels] for cells that recur.
func (c *Column) Text() []string {
	text := make([]string, c.Len())
	for i := range text {
		text[i] = c.Label(i)
	}
	return text
}

// IsNumber tells whether every present cell is a number and at least one is
// present.
func (c *Column) IsNumber() bool { return c.Numbers != nil }

// Label is the cell of row i (from 0) as text, empty where missing.
func (c *Column) Label(i int) string {
	if c.cells != nil {
		return c.cells.at(i)
	}
	if math.IsNaN(c.Numbers[i]) {
		return ""
	}
	return formatNumber(c.Numbers[i])
}

// Number is the cell of row i (from 0) as a number; NaN where it is missing or
// not a number.
func (c *Column) Number(i int) float64 {
	if c.Numbers != nil {
		return c.Numbers[i]
	}
	if v, ok := parseNumber(c.cells.at(i)); ok {
		return v
	}
	return math.NaN()
}

// Missing tells whether row i (from 0) has no value.
func (c *Column) Missing(i int) bool {
	if c.cells != nil {
		return c.cells.at(i) == ""
	}
	return math.IsNaN(c.Numbers[i])
}

// Levels gives the distinct labels in order of first appearance and, for each
// row, the index of its label, −1 where missing.
func (c *Column) Levels() (levels []string, codes []int32) {
	if c, ok := c.cells.(*coded); ok && len(c.levels) <= c.len() {
		return c.inOrder()
	}
	index := map[string]int32{}
	codes = make([]int32, c.Len())
	for i := range codes {
		label := c.Label(i)
		if label == "" {
			codes[i] = -1
			continue
		}
		code, ok := index[label]
		if !ok {
			code = int32(len(levels))
			index[label] = code
			levels = append(levels, label)
		}
		codes[i] = code
	}
	return levels, codes
}

// A Table is columns of equal length. The zero value is an empty table.
type Table struct {
	// File is where the table was read from, for messages; empty if computed.
	File    string
	columns []*Column
	index   map[string]int
	lines   []int32 // line in File of each row; nil where computed
	rows    int
}

// New makes a table of columns, in their order. It fails where lengths differ
// or a name is used twice.
func New(columns ...*Column) (*Table, error) {
	t := &Table{index: map[string]int{}}
	for _, c := range columns {
		if err := t.Add(c); err != nil {
			return nil, err
		}
	}
	return t, nil
}

// Add appends a column; it fails where its length differs from the table's or
// its name is taken.
func (t *Table) Add(c *Column) error {
	if len(t.columns) > 0 && c.Len() != t.rows {
		return fmt.Errorf("column %s has %d rows; the table has %d", c.Name, c.Len(), t.rows)
	}
	if _, taken := t.index[c.Name]; taken {
		return fmt.Errorf("column %s stands twice in the table", c.Name)
	}
	if t.index == nil {
		t.index = map[string]int{}
	}
	t.rows = c.Len()
	t.index[c.Name] = len(t.columns)
	t.columns = append(t.columns, c)
	return nil
}

// Numbers makes a column of numbers; NaN is missing. The slice is kept.
func Numbers(name string, values []float64) *Column {
	return &Column{Name: name, Numbers: values}
}

// Labels makes a column of labels; "" is missing. The slice is kept. Labels
// that look like numbers stay labels.
func Labels(name string, values []string) *Column {
	return &Column{Name: name, cells: plain(values)}
}

// Recurring makes a column of labels that come one after the other, "" where missing, each
// distinct one kept once: long columns take little room.
func Recurring(name string, labels iter.Seq[string]) *Column {
	var w cellWriter
	for label := range labels {
		w.add(label)
	}
	return &Column{Name: name, cells: w.finish()}
}

// RecurringCells is [Recurring] of cells as they stand in a file; see [Cells].
func RecurringCells(name string, labels iter.Seq[string]) *Column {
	c := Recurring(name, labels)
	c.Numbers = numbers(c.cells)
	return c
}

// Cells makes a column of cells as they stand in a file: labels, and numbers as
// well where every present cell is one. "" is missing. The slice is kept.
func Cells(name string, cells []string) *Column {
	return &Column{Name: name, cells: plain(cells), Numbers: numbers(plain(cells))}
}

// Rows is the number of rows.
func (t *Table) Rows() int { return t.rows }

// Columns are the columns in their order.
func (t *Table) Columns() []*Column { return t.columns }

// Names are the columns' names in their order.
func (t *Table) Names() []string {
	names := make([]string, len(t.columns))
	for i, c := range t.columns {
		names[i] = c.Name
	}
	return names
}

// Column finds a column by name; nil where there is none.
func (t *Table) Column(name string) *Column {
	if i, ok := t.index[name]; ok {
		return t.columns[i]
	}
	return nil
}

// Line is the line in the file at which row i (from 0) begins; 0 where the
// table was computed.
func (t *Table) Line(i int) int {
	if t.lines == nil {
		return 0
	}
	return int(t.lines[i])
}

// Place says where a table that was made by program comes from: the file, and
// for each row the line of it, or the row of the sheet, that it was made of.
// Problems then name them. It fails where the lines are not one a row.
func (t *Table) Place(file string, lines []int) error {
	if len(lines) != t.rows {
		return fmt.Errorf("%d lines are given; the table has %d rows", len(lines), t.rows)
	}
	t.File = file
	t.lines = make([]int32, len(lines))
	for i, line := range lines {
		t.lines[i] = int32(line)
	}
	return nil
}

// Select gives a new table of the rows (from 0) named, in that order.
func (t *Table) Select(rows []int) *Table {
	out := &Table{File: t.File, index: map[string]int{}, rows: len(rows)}
	for k, c := range t.columns {
		picked := &Column{Name: c.Name}
		if c.cells != nil {
			picked.cells = c.cells.pick(rows)
		}
		if c.Numbers != nil {
			picked.Numbers = pick(c.Numbers, rows)
		}
		out.index[c.Name] = k
		out.columns = append(out.columns, picked)
	}
	if t.lines != nil {
		out.lines = pick(t.lines, rows)
	}
	return out
}

// With gives the table with these columns in the places of those of the same names. A
// column of no such name, or of another length, is a fault of the program.
func (t *Table) With(columns ...*Column) *Table {
	out := *t
	out.columns = slices.Clone(t.columns)
	for _, c := range columns {
		at, known := t.index[c.Name]
		if !known || c.Len() != t.rows {
			panic(fmt.Sprintf("table: column %s, of %d rows, takes the place of none in a table of %d", c.Name, c.Len(), t.rows))
		}
		out.columns[at] = c
	}
	out.index = maps.Clone(t.index)
	return &out
}

func pick[T any](values []T, rows []int) []T {
	out := make([]T, len(rows))
	for k, i := range rows {
		out[k] = values[i]
	}
	return out
}
