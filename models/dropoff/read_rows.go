package dropoff

import (
	"fmt"
	"slices"
	"strings"

	"thumbed/models/codex"
	"thumbed/models/readings"
	"thumbed/models/table"
)

// Columns of the table of wear that a series is read with regard to.
const (
	columnBook = codex.ColumnBook
	columnPage = codex.ColumnPage
)

// has tells whether a column serves as values, standard errors or positions.
func (c Columns) has(name string) bool {
	return slices.Contains([]string{c.Values, c.SE, c.Position}, name)
}

// rows are the table's rows that are chosen.
func (c Columns) rows(t *table.Table, ps *table.Problems) *table.Table {
	for _, choice := range c.Only {
		column := wanted(t, choice.Column, ps)
		if column == nil {
			continue
		}
		var kept []int
		for i := range t.Rows() {
			if column.Label(i) == choice.Label {
				kept = append(kept, i)
			}
		}
		if len(kept) == 0 {
			ps.Add(table.Problem{File: t.File, Column: choice.Column, Value: choice.Label, Expected: "a label of this column, in rows that the other choices keep",
				Remedy: labelRemedy(choice.Label, labelsOf(column))})
			continue
		}
		t = t.Select(kept)
	}
	return t
}

// without are the rows that are not left out.
func (c Columns) without(t *table.Table, ps *table.Problems) *table.Table {
	if len(c.Without) == 0 || ps.Len() > 0 {
		return t
	}
	rows := Series{Values: make([]float64, t.Rows()), Labels: labelsOfRows(t, c, ps)}
	out := make([]bool, t.Rows())
	for _, name := range c.Without {
		row, err := rows.Row(name)
		if err == nil && (row < 1 || row > t.Rows()) {
			err = fmt.Errorf("no row has the number %d", row)
		}
		if err != nil {
			ps.Add(table.Problem{File: t.File, Value: name, Expected: fmt.Sprintf("a row to leave out, by its name or its number from 1 to %d", t.Rows()), Remedy: err.Error()})
			continue
		}
		out[row-1] = true
	}
	var kept []int
	for i, left := range out {
		if !left {
			kept = append(kept, i)
		}
	}
	return t.Select(kept)
}

// labelsOf are the different labels of a column, in order of first appearance.
func labelsOf(column *table.Column) []string {
	var out []string
	seen := map[string]bool{}
	for i := range column.Len() {
		if label := column.Label(i); label != "" && !seen[label] {
			seen[label] = true
			out = append(out, label)
		}
	}
	return out
}

// mostListed is how many labels a remedy lists.
const mostListed = 8

// listed are labels in words, the first of them where they are many.
func listed(labels []string) string {
	if len(labels) > mostListed {
		return fmt.Sprintf("%s and %d more", strings.Join(labels[:mostListed], ", "), len(labels)-mostListed)
	}
	return list(labels, "and")
}

func labelRemedy(label string, labels []string) string {
	if near := table.Nearest(label, labels); near != "" {
		return fmt.Sprintf("did you mean %s? It has %s", near, listed(labels))
	}
	return "it has " + listed(labels)
}

// checkOneBook reports a table with the pages of several books. One with a row
// for each book is not such.
func checkOneBook(t *table.Table, c Columns, ps *table.Problems) {
	column := t.Column(columnBook)
	if column == nil || c.has(columnBook) || c.Label == columnBook {
		return
	}
	if books := labelsOf(column); len(books) > 1 && len(books) < t.Rows() {
		ps.Add(table.Problem{File: t.File, Column: columnBook, Value: fmt.Sprintf("%d books", len(books)),
			Expected: "the pages of one book, in order: a series does not run on from one into the next",
			Remedy:   fmt.Sprintf("choose one of %s, as with --only %s=%s", listed(books), columnBook, books[0])})
	}
}

// limitNotes tell of rows whose value is only a bound; that all are is a problem.
func limitNotes(t *table.Table, c Columns, ps *table.Problems) []string {
	column := t.Column(columnLimit)
	if column == nil || c.has(columnLimit) {
		return nil
	}
	below, above := 0, 0
	for i := range t.Rows() {
		switch column.Label(i) {
		case string(readings.Below):
			below++
		case string(readings.Above):
			above++
		case string(readings.Measured):
		default:
			return nil // a column of another meaning
		}
	}
	switch {
	case below+above == 0:
		return nil
	case below+above == t.Rows():
		ps.Add(table.Problem{File: t.File, Column: columnLimit, Value: fmt.Sprintf("%d below, %d above", below, above),
			Expected: "rows whose value is a number, and not only a bound", Remedy: "measure these pages with an instrument that reaches farther: at the limits of this one they cannot be told apart"})
		return nil
	}
	return []string{fmt.Sprintf("In %d of %d rows the value is only a bound (column %s: %d below, %d above), and the bound is taken for the value: "+
		"a step towards these rows is at least as large as shown, and their scatter larger than it looks.", below+above, t.Rows(), columnLimit, below, above)}
}
