package desk

import (
	"slices"

	"thumbed/models/codex"
	"thumbed/models/table"
)

// A sheetTable is a table of rows to fill in, as the verb sheet writes it.
type sheetTable struct {
	*table.Table
	path  string
	books []*codex.Book
	ps    *table.Problems
}

// openSheet reads a sheet; nil where it is no table of its schema.
func openSheet(path string, schema table.Schema, books []*codex.Book, ps *table.Problems) *sheetTable {
	t := table.ReadFile(path, ps)
	if t == nil || !schema.Check(t, ps) || ps.Len() > 0 {
		return nil
	}
	return &sheetTable{t, path, books, ps}
}

// label is a cell; empty where the sheet lacks the column.
func (s *sheetTable) label(column string, row int) string {
	if c := s.Column(column); c != nil {
		return c.Label(row)
	}
	return ""
}

// rowsWhere are the rows that hold to a condition.
func (s *sheetTable) rowsWhere(holds func(row int) bool) (rows []int) {
	for i := range s.Rows() {
		if holds(i) {
			rows = append(rows, i)
		}
	}
	return rows
}

// onDay keeps the rows of the day that is wanted: those planned for today, or else for
// the first day of all.
func (s *sheetTable) onDay(today string, rows []int) (day string, kept []int) {
	date := func(row int) string { return s.label("date", row) }
	for k, i := range rows {
		if k == 0 || date(i) < day {
			day = date(i)
		}
	}
	if slices.ContainsFunc(rows, func(i int) bool { return date(i) == today }) {
		day = today
	}
	return day, slices.DeleteFunc(rows, func(i int) bool { return date(i) != day })
}

// wrong adds a problem of a row.
func (s *sheetTable) wrong(row int, column, expected, remedy string) {
	s.ps.Add(table.Problem{File: s.path, Line: s.Line(row), Column: column, Value: s.label(column, row), Expected: expected, Remedy: remedy})
}

// checkPage tells of a row whose page the study has not.
func (s *sheetTable) checkPage(row int) {
	if _, err := findPage(s.books, s.label("book", row), s.label("page", row)); err != nil {
		s.wrong(row, "page", "a page of the study", err.Error())
	}
}
