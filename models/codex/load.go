package codex

import (
	"cmp"
	"errors"
	"fmt"
	"strings"

	"thumbed/models/table"
)

// Paths are the tables of a study's books. Pages and Sections may be empty.
type Paths struct {
	Books, Leaves, Pages, Sections string
}

// Load reads the books of a study from their tables, in the order of
// books.csv, and derives their structure. Every problem of every table goes to
// ps; where ps gained any, the books are incomplete and must not be used for
// more than finding further problems.
func Load(paths Paths, ps *table.Problems) []*Book {
	read := func(path string) *table.Table {
		if path == "" {
			return nil
		}
		return table.ReadFile(path, ps)
	}
	return FromTables(Tables{Books: read(paths.Books), Leaves: read(paths.Leaves), Pages: read(paths.Pages), Sections: read(paths.Sections)}, ps)
}

// Tables are the tables of a study's books, read or made by program. Pages and
// Sections may be nil; so may a table that could not be read, which is passed
// over since its problems are told.
type Tables struct {
	Books, Leaves, Pages, Sections *table.Table
}

// FromTables makes the books of their tables; see [Load].
func FromTables(tables Tables, ps *table.Problems) []*Book {
	l := &loader{ps: ps, byID: map[string]*Book{}}
	books, leaves := check(tables.Books, BooksSchema(), ps), check(tables.Leaves, LeavesSchema(), ps)
	pages, sections := check(tables.Pages, PagesSchema(), ps), check(tables.Sections, SectionsSchema(), ps)
	if books == nil {
		return nil
	}
	l.loadBooks(books)
	if len(l.books) == 0 || leaves == nil {
		return l.books
	}
	l.loadLeaves(leaves)
	if pages != nil {
		l.loadPages(pages)
	}
	if sections != nil {
		l.loadSections(sections)
	}
	return l.books
}

// check checks a table against its schema; nil where there is none or a column
// that the rows cannot be understood without is missing.
func check(t *table.Table, schema table.Schema, ps *table.Problems) *rows {
	if t == nil || !schema.Check(t, ps) {
		return nil
	}
	return &rows{Table: t, ps: ps}
}

// rows are a table's rows and the place where their problems go.
type rows struct {
	*table.Table
	ps *table.Problems
}

// column gives the cells of a column by row, all empty where the table has no
// such column.
func (r *rows) column(name string) func(row int) string {
	if c := r.Column(name); c != nil {
		return c.Label
	}
	return func(int) string { return "" }
}

// place names a row in messages: by its line in the file, or by its number
// where the table was made by program.
func (r *rows) place(row int) string {
	if line := r.Line(row); line > 0 {
		return fmt.Sprintf("line %d", line)
	}
	return fmt.Sprintf("row %d", row+1)
}

// fault adds a problem of one cell.
func (r *rows) fault(row int, column, value, expected, remedy string) {
	r.ps.Add(table.Problem{File: r.File, Line: r.Line(row), Column: column, Value: value, Expected: expected, Remedy: remedy})
}

// label adds the problem that a [*LabelError] tells.
func (r *rows) label(row int, column string, err error) {
	var label *LabelError
	if errors.As(err, &label) {
		r.fault(row, column, label.Value, label.Expected, label.Remedy)
	}
}

type loader struct {
	ps    *table.Problems
	books []*Book
	byID  map[string]*Book
	ids   []string
}

// book finds the book that a row names, and reports a name that none has. An
// empty name the schema has reported.
func (l *loader) book(r *rows, row int, id string) *Book {
	b := l.byID[id]
	if b == nil && id != "" {
		remedy := "enter the book in books.csv or correct its name"
		if near := table.Nearest(id, l.ids); near != "" {
			remedy = fmt.Sprintf("write %s, if that is meant, or enter the book in books.csv", near)
		}
		r.fault(row, ColumnBook, id, "a book of books.csv", remedy)
	}
	return b
}

func (l *loader) loadBooks(r *rows) {
	id, title, short, owner := r.column(ColumnBook), r.column(ColumnTitle), r.column(ColumnShort), r.column(ColumnOwner)
	place, date := r.column(ColumnPlace), r.column(ColumnDate)
	material, outer := r.column(ColumnMaterial), r.column(ColumnOuter)
	shelfmark, library, register := r.column(ColumnShelfmark), r.column(ColumnLibrary), r.column(ColumnLibraryID)
	for i := range r.Rows() {
		b := &Book{ID: id(i), Title: title(i), Short: cmp.Or(short(i), id(i)), Owner: owner(i), Place: place(i), Date: date(i),
			Shelfmark: shelfmark(i), Library: library(i), LibraryID: register(i), Material: material(i), Outer: outer(i), Row: i}
		if b.ID == "" || l.byID[b.ID] != nil {
			continue // the schema has reported it
		}
		if b.LibraryID != "" && !strings.HasPrefix(b.LibraryID, "https://") && !strings.HasPrefix(b.LibraryID, "http://") {
			r.fault(i, ColumnLibraryID, b.LibraryID, "a web address", "write the library's address in a register, such as https://ror.org/…, or empty the cell")
		}
		if b.Material == "paper" && b.Outer != "" {
			r.fault(i, ColumnOuter, b.Outer, "nothing for a book of paper, which has no hair and flesh side",
				"empty the cell, or write parchment as the material")
			b.Outer = ""
		}
		l.byID[b.ID] = b
		l.ids = append(l.ids, b.ID)
		l.books = append(l.books, b)
	}
	if len(l.books) == 0 {
		l.ps.Add(table.Problem{File: r.File, Line: 1, Value: "no book", Expected: "at least one row", Remedy: "enter the book: " + ColumnBook + " is its short name"})
	}
}
