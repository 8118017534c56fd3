package grid

import (
	"fmt"
	"math"

	"thumbed/models/table"
)

// A Maker makes a table of rows of one kind. Each column is described once: its
// name, its meaning and its values on disk and, where people see it too, its head.
type Maker[T any] struct {
	Grid
	rows    []T
	fields  []table.Field
	columns []*table.Column
	shown   []func(T) Cell
}

// Of begins a table of rows. The name is that of its files.
func Of[T any](name, title string, rows []T) *Maker[T] {
	return &Maker[T]{Grid: Grid{Name: name, Title: title}, rows: rows}
}

// Show adds a column for people: its head, with # behind it where it holds
// numbers, and its cells.
func (m *Maker[T]) Show(head string, cell func(T) Cell) *Maker[T] {
	m.Heads = append(m.Heads, Heads(head)...)
	m.shown = append(m.shown, cell)
	return m
}

// A NumberColumn is a column of numbers, which people may see too.
type NumberColumn[T any] struct {
	m     *Maker[T]
	value func(T) float64
}

// As shows the numbers to people, with so many decimals.
func (c NumberColumn[T]) As(head string, decimals int) {
	c.m.Show(head+"#", func(row T) Cell { return Number(c.value(row), decimals) })
}

// A LabelColumn is a column of text, which people may see too.
type LabelColumn[T any] struct {
	m     *Maker[T]
	value func(T) string
}

// As shows the text to people.
func (c LabelColumn[T]) As(head string) {
	c.m.Show(head, func(row T) Cell { return Words(c.value(row)) })
}

// Number adds a column of numbers; a value that is not finite is left empty, as
// the schema's missing value.
func (m *Maker[T]) Number(name, about string, value func(T) float64) NumberColumn[T] {
	return m.numbers(name, about, table.Number, value)
}

// Count adds a column of whole numbers.
func (m *Maker[T]) Count(name, about string, value func(T) int) NumberColumn[T] {
	return m.numbers(name, about, table.Integer, func(row T) float64 { return float64(value(row)) })
}

func (m *Maker[T]) numbers(name, about string, kind table.Kind, value func(T) float64) NumberColumn[T] {
	values := make([]float64, len(m.rows))
	for i, row := range m.rows {
		values[i] = value(row)
		if math.IsInf(values[i], 0) {
			values[i] = math.NaN()
		}
	}
	m.columns = append(m.columns, table.Numbers(name, values))
	m.fields = append(m.fields, table.Field{Name: name, Kind: kind, Description: about})
	return NumberColumn[T]{m, value}
}

// Ends adds the lower and the upper end of an interval, in columns whose names begin with
// a prefix; whose says in the schema what it is of: "its", "total's".
func (m *Maker[T]) Ends(prefix, whose string, ends func(T) (low, high float64)) {
	m.Number(prefix+"low", "lower end of "+whose+" 95 % interval", func(row T) float64 { low, _ := ends(row); return low })
	m.Number(prefix+"high", "upper end of "+whose+" 95 % interval", func(row T) float64 { _, high := ends(row); return high })
}

// Label adds a column of text.
func (m *Maker[T]) Label(name, about string, value func(T) string) LabelColumn[T] {
	return m.labels(name, about, table.String, value)
}

// Date adds a column of dates.
func (m *Maker[T]) Date(name, about string, value func(T) string) LabelColumn[T] {
	return m.labels(name, about, table.Date, value)
}

// yesNo adds a column of yes and no.
func (m *Maker[T]) YesNo(name, about string, value func(T) bool) LabelColumn[T] {
	return m.labels(name, about, table.Boolean, func(row T) string { return yesNo(value(row)).Text() })
}

func (m *Maker[T]) labels(name, about string, kind table.Kind, value func(T) string) LabelColumn[T] {
	values := make([]string, len(m.rows))
	for i, row := range m.rows {
		values[i] = value(row)
	}
	m.columns = append(m.columns, table.Labels(name, values))
	m.fields = append(m.fields, table.Field{Name: name, Kind: kind, Description: about})
	return LabelColumn[T]{m, value}
}

// Made ends the making; the key is the columns that name a row on disk. Columns are
// made from one list of rows, so that only a name used twice could fail, which is a
// mistake of who makes it.
func (m *Maker[T]) Made(key ...string) Grid {
	g := m.Grid
	if len(m.columns) > 0 {
		disk, err := table.New(m.columns...)
		if err != nil {
			panic(fmt.Sprintf("table %s: %v", g.Name, err))
		}
		g.disk, g.schema = disk, table.Schema{Fields: m.fields, PrimaryKey: key}
	}
	for _, row := range m.shownRows() {
		cells := make([]Cell, len(m.shown))
		for k, cell := range m.shown {
			cells[k] = cell(row)
		}
		g.Add(cells...)
	}
	return g
}

// OnDisk is a table that is there already, with its schema.
func OnDisk(name, title string, t *table.Table, schema table.Schema) Grid {
	return Grid{Name: name, Title: title, disk: t, schema: schema}
}

// Disk is the table as it is written, with the schema that describes it; nil for a
// table that people alone read.
func (g Grid) Disk() (*table.Table, table.Schema) { return g.disk, g.schema }

// shownRows are the rows that people see; none where they see no column.
func (m *Maker[T]) shownRows() []T {
	if len(m.shown) == 0 {
		return nil
	}
	return m.rows
}
