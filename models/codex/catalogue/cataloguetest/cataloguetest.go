// Package cataloguetest imports descriptions of books in the tests of their
// readers.
package cataloguetest

import (
	"strings"

	"thumbed/models/codex"
	"thumbed/models/codex/catalogue"
	"thumbed/models/table"
)

// A T is a test, one of rapid's too.
type T interface {
	Helper()
	Fatalf(format string, args ...any)
}

// An Imported is what an import makes, or the problem that it has.
type Imported struct {
	Tables  codex.Tables
	Account *catalogue.Account
	Books   []*codex.Book
	Err     error
}

// Read imports a description by its reader. The tables that it makes must load.
func Read(t T, read func(string, []byte, *catalogue.Account, *table.Problems) []catalogue.Record, file string, data []byte) Imported {
	t.Helper()
	var ps table.Problems
	account := &catalogue.Account{File: file}
	records := read(file, data, account, &ps)
	if err := ps.Err(); err != nil {
		return Imported{Err: err, Account: account}
	}
	got := Imported{Tables: catalogue.Build(records, account), Account: account}
	if got.Tables.Books.Rows() == 0 {
		return got
	}
	got.Books = codex.FromTables(got.Tables, &ps)
	if err := ps.Err(); err != nil {
		t.Fatalf("the tables cannot be loaded: %v\n%s", err, account)
	}
	return got
}

// Cells are the rows of some columns, a line each, cells parted by strokes and
// empty ones at the end left out.
func Cells(tb *table.Table, columns ...string) string {
	var lines []string
	for i := range tb.Rows() {
		var row []string
		for _, name := range columns {
			cell := ""
			if c := tb.Column(name); c != nil {
				cell = c.Label(i)
			}
			row = append(row, cell)
		}
		lines = append(lines, strings.TrimRight(strings.Join(row, "|"), "|"))
	}
	return strings.Join(lines, "\n")
}

// Sections are the texts of an import with their kind, set, office and place.
func (i Imported) Sections() string {
	return Cells(i.Tables.Sections, codex.ColumnSection, codex.ColumnKind, codex.ColumnSet, codex.ColumnOffice, codex.ColumnExtent)
}
