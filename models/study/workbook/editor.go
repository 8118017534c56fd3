package workbook

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"time"

	"thumbed/models/codex"
	"thumbed/models/study"
	"thumbed/models/table"
	"thumbed/models/traces"
)

// An Editor is a book of a study with the tables that describe it.
type Editor struct {
	dir                            string // of the study
	book                           *codex.Book
	books, leaves, pages, sections *cells
	own                            []string // the scholar's own columns of pages.csv
	coding                         []traces.Trace
	looks                          []*cells // tables of looks at traces; none where nothing is looked for
}

// Of opens a book of a study for editing. path is study.toml or its folder.
func Of(path, book string) (*Editor, error) {
	s, _, err := study.OpenBooks(path)
	if err != nil && (s == nil || len(s.Books) == 0) { // a book is described before there is an instrument
		return nil, err
	}
	e := &Editor{dir: filepath.Dir(s.Path)}
	if e.book, err = s.Book(book); err != nil {
		return nil, err
	}
	var ps table.Problems
	read := func(path, usual string, schema table.Schema) *cells {
		if path == "" {
			ps.Add(table.Problem{File: s.Path, Column: "tables", Expected: "a table of " + usual, Remedy: fmt.Sprintf("write %s = %q below [tables]; the table may be empty but for the names of its columns", usual, usual+".csv")})
			return nil
		}
		return readCells(s.Near(path), schema, &ps)
	}
	e.books, e.leaves = read(s.Tables.Books, "books", codex.BooksSchema()), read(s.Tables.Leaves, "leaves", codex.LeavesSchema())
	e.pages, e.sections = read(s.Tables.Pages, "pages", codex.PagesSchema()), read(s.Tables.Sections, "sections", codex.SectionsSchema())
	for _, path := range s.Tables.Traces {
		e.coding = s.File.Traces
		e.looks = append(e.looks, readCells(s.Near(path), traces.Schema(), &ps))
	}
	if err := ps.Err(); err != nil {
		return nil, err
	}
	for _, name := range e.pages.names {
		if !slices.ContainsFunc(codex.PagesSchema().Fields, func(f table.Field) bool { return f.Name == name }) {
			e.own = append(e.own, name)
		}
	}
	return e, nil
}

// all are the tables, in the order in which a study names them.
func (e *Editor) all() []*cells {
	return append([]*cells{e.books, e.leaves, e.pages, e.sections}, e.looks...)
}

// cells are a table as it stands in a file, to be changed cell by cell. Rows keep
// their numbers while it is: removed ones are nil, and new ones wait behind theirs.
type cells struct {
	path    string
	names   []string
	rows    [][]string
	waiting map[int][][]string // new rows, by the row that they stand behind; −1: before all
	gone    map[int][]string   // removed ones, as they were
	changed bool
}

func readCells(path string, schema table.Schema, ps *table.Problems) *cells {
	t := table.ReadFile(path, ps)
	if t == nil || !schema.Check(t, ps) {
		return nil
	}
	c := &cells{path: path, names: t.Names(), waiting: map[int][][]string{}, gone: map[int][]string{}}
	for i := range t.Rows() {
		row := make([]string, len(c.names))
		for k, column := range t.Columns() {
			row[k] = column.Label(i)
		}
		c.rows = append(c.rows, row)
	}
	return c
}

// cell is what stands in a row under a column; empty where there is no such column.
func (c *cells) cell(row int, column string) string {
	if k := slices.Index(c.names, column); k >= 0 {
		return c.rows[row][k]
	}
	return ""
}

// set writes a cell; a column that is not there yet is made.
func (c *cells) set(row int, column, value string) {
	if c.cell(row, column) != value {
		c.rows[row][c.column(column)] = value
		c.changed = true
	}
}

// column is the place of a column, made where it is not there yet.
func (c *cells) column(name string) int {
	if k := slices.Index(c.names, name); k >= 0 {
		return k
	}
	c.names = append(c.names, name)
	for i := range c.rows {
		if c.rows[i] != nil {
			c.rows[i] = append(c.rows[i], "")
		}
	}
	for _, rows := range c.waiting {
		for i := range rows {
			rows[i] = append(rows[i], "")
		}
	}
	return len(c.names) - 1
}

// insert puts a new row behind another; −1 for the beginning.
func (c *cells) insert(behind int, values map[string]string) {
	for column, value := range values {
		if value != "" {
			c.column(column)
		}
	}
	row := make([]string, len(c.names))
	for column, value := range values {
		if value != "" {
			row[c.column(column)] = value
		}
	}
	c.waiting[behind] = append(c.waiting[behind], row)
	c.changed = true
}

func (c *cells) remove(row int) {
	c.gone[row], c.rows[row] = c.rows[row], nil
	c.changed = true
}

// restore puts a removed row back.
func (c *cells) restore(row int) {
	c.rows[row] = c.gone[row]
	delete(c.gone, row)
}

// table is the table with all changes.
func (c *cells) table() *table.Table {
	rows := slices.Clone(c.waiting[-1])
	for i, row := range c.rows {
		if row != nil {
			rows = append(rows, row)
		}
		rows = append(rows, c.waiting[i]...)
	}
	t := &table.Table{File: c.path}
	for k, name := range c.names {
		column := make([]string, len(rows))
		for i, row := range rows {
			column[i] = row[k]
		}
		if err := t.Add(table.Cells(name, column)); err != nil {
			panic("workbook: " + err.Error()) // names are told apart where the file is read
		}
	}
	return t
}

// lastRow is the last row of the book in a table; the table's last where it has none.
func (c *cells) lastRow(book string) int {
	last := len(c.rows) - 1
	for i, row := range c.rows {
		if row != nil && c.cell(i, codex.ColumnBook) == book {
			last = i
		}
	}
	return last
}

// formerFolder keeps the tables as they were, by the moment of the change.
const formerFolder = "former"

// save writes the tables that were changed, each whole or not at all, once the
// former ones are kept. It gives the folder that these are in.
func (e *Editor) save(now time.Time) (former string, err error) {
	former = filepath.Join(e.dir, formerFolder, now.Format("2006-01-02-150405"))
	if err := os.MkdirAll(former, 0o755); err != nil {
		return "", err
	}
	for _, c := range e.all() {
		if !c.changed {
			continue
		}
		text, err := os.ReadFile(c.path)
		if err != nil {
			return "", err
		}
		if err := os.WriteFile(filepath.Join(former, filepath.Base(c.path)), text, 0o644); err != nil {
			return "", err
		}
	}
	for _, c := range e.all() {
		if !c.changed {
			continue
		}
		var text bytes.Buffer
		if err := c.table().Write(&text); err != nil {
			return "", err
		}
		fresh := c.path + ".fresh"
		if err := os.WriteFile(fresh, text.Bytes(), 0o644); err != nil {
			return "", err
		}
		if err := os.Rename(fresh, c.path); err != nil {
			return "", err
		}
	}
	return former, nil
}
