package dropoff

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"thumbed/models/table"
)

// Columns say which columns of a table make a series, and which of its rows. All
// but Values may be empty: no standard errors, rows named by their page or else
// by the first column of labels or times, rows evenly placed, all rows.
type Columns struct {
	Values, SE, Label, Position string
	// Only keeps the rows that have all these labels.
	Only []Choice
	// Without leaves rows out of these, by name or by number from 1.
	Without []string
}

// A Choice is of the rows whose column has one label: of one book, say.
type Choice struct{ Column, Label string }

// ReadSeries reads a series from the CSV file at path. All problems of the file
// come at once, as a *table.Fault.
func ReadSeries(path string, c Columns) (Series, error) {
	var ps table.Problems
	t := table.ReadFile(path, &ps)
	if ps.Len() > 0 {
		return Series{}, ps.Err()
	}
	return FromTable(t, c)
}

// FromTable takes a series from a table; see [ReadSeries]. A table with the pages
// of several books is refused, since a series is of one. Where a column limit, as
// in the table of wear, says that values are only bounds, a note of the series
// says how many and what that does.
func FromTable(t *table.Table, c Columns) (Series, error) {
	var ps table.Problems
	t = c.rows(t, &ps)
	if ps.Len() > 0 {
		return Series{}, ps.Err()
	}
	checkOneBook(t, c, &ps)
	t = c.without(t, &ps)
	s := Series{Notes: limitNotes(t, c, &ps)}
	if len(c.Without) > 0 {
		s.Notes = append(s.Notes, fmt.Sprintf("Left out as asked: %s.", list(c.Without, "and")))
	}
	s.Values = numbersOf(t, c.Values, &ps)
	if c.SE != "" {
		s.SE = numbersOf(t, c.SE, &ps)
		checkSE(t, c.SE, s.SE, &ps)
	}
	if c.Position != "" {
		s.Position = numbersOf(t, c.Position, &ps)
		checkOrder(t, c.Position, s.Position, &ps)
	}
	s.Labels = labelsOfRows(t, c, &ps)
	return s, ps.Err()
}

// labelsOfRows are the names of the rows; nil where they have none.
func labelsOfRows(t *table.Table, c Columns, ps *table.Problems) []string {
	if label := labelColumn(t, c, ps); label != nil {
		return label.Text()
	}
	return nil
}

// numbersOf is a column that must be numbers in all rows.
func numbersOf(t *table.Table, name string, ps *table.Problems) []float64 {
	column := wanted(t, name, ps)
	if column == nil {
		return nil
	}
	for i := range t.Rows() {
		switch {
		case column.Missing(i):
			ps.Add(table.Problem{File: t.File, Line: t.Line(i), Column: name, Expected: "a number in every row",
				Remedy: "give the value, or take the row out of the series"})
		case column.Numbers == nil && !isNumber(column.Label(i)):
			ps.Add(table.NumberProblem(t.File, t.Line(i), name, column.Label(i)))
		}
	}
	return slices.Clone(column.Numbers)
}

func isNumber(cell string) bool {
	v, err := strconv.ParseFloat(cell, 64)
	return err == nil && !math.IsInf(v, 0) && !math.IsNaN(v)
}

// wanted is the column of that name; a missing one is a problem that names
// those that there are.
func wanted(t *table.Table, name string, ps *table.Problems) *table.Column {
	column := t.Column(name)
	if column == nil {
		ps.Add(table.Problem{File: t.File, Line: 1, Value: name, Expected: "the name of a column of this table",
			Remedy: columnRemedy(name, t.Names())})
	}
	return column
}

func columnRemedy(name string, names []string) string {
	if near := table.Nearest(name, names); near != "" {
		return fmt.Sprintf("did you mean %s? It has %s", near, strings.Join(names, ", "))
	}
	return "it has " + strings.Join(names, ", ")
}

func checkSE(t *table.Table, name string, se []float64, ps *table.Problems) {
	for i, v := range se {
		if v <= 0 {
			ps.Add(table.Problem{File: t.File, Line: t.Line(i), Column: name, Value: t.Column(name).Label(i),
				Expected: "a standard error above zero", Remedy: "give the row's own standard error, or leave --se away"})
		}
	}
}

func checkOrder(t *table.Table, name string, position []float64, ps *table.Problems) {
	for i := 1; i < len(position); i++ {
		problem := table.Problem{File: t.File, Line: t.Line(i), Column: name, Value: t.Column(name).Label(i)}
		switch {
		case position[i] == position[i-1]:
			problem.Expected = "each position once"
			problem.Remedy = "average the rows that share a place into one, or give each its own"
		case position[i] < position[i-1]:
			problem.Expected = fmt.Sprintf("a position above %g, that of the row before", position[i-1])
			problem.Remedy = "sort the rows by position"
		default:
			continue
		}
		ps.Add(problem)
	}
}

// timeNames are the names of columns whose numbers name rows, where no column
// of labels is given.
var timeNames = []string{"year", "date", "day", "month", "time"}

// labelColumn is the column that names the rows: the one asked for, else page,
// else the first whose cells are not numbers or that is a time by its name; nil
// where there is none.
func labelColumn(t *table.Table, c Columns, ps *table.Problems) *table.Column {
	if c.Label != "" {
		return wanted(t, c.Label, ps)
	}
	if page := t.Column(columnPage); page != nil && !c.has(columnPage) {
		return page
	}
	for _, column := range t.Columns() {
		if c.has(column.Name) || column.Name == columnLimit {
			continue
		}
		if !column.IsNumber() || slices.Contains(timeNames, strings.ToLower(column.Name)) {
			return column
		}
	}
	return nil
}
