package intake

import (
	"bytes"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"thumbed/models/codex"
	"thumbed/models/codex/catalogue"
	"thumbed/models/codex/iiif"
	"thumbed/models/codex/tei"
	"thumbed/models/readings"
	"thumbed/models/study/draft"
	"thumbed/models/study/folder"
	"thumbed/models/table"
)

// AccountFile is the name of the file that tells what was used and left.
const AccountFile = "import.txt"

// A Table is a table of a study, ready to be written.
type Table struct {
	Name   string // of its file: leaves.csv
	Table  *table.Table
	Schema table.Schema
}

// An Import is what was made of a file.
type Import struct {
	Tables  []Table
	Account *catalogue.Account
	Study   []byte // a study file that names the tables; nil where they make no study
	Mapping []byte // that was proposed and used; nil where it was given, or none was needed
}

// table is one of the tables, by its name; nil where it is not among them.
func (i *Import) table(name string) *table.Table {
	for _, t := range i.Tables {
		if t.Name == name {
			return t.Table
		}
	}
	return nil
}

// description are the four tables of a description; nil those that are not there.
func (i *Import) description() codex.Tables {
	return codex.Tables{Books: i.table("books.csv"), Leaves: i.table("leaves.csv"), Pages: i.table("pages.csv"), Sections: i.table("sections.csv")}
}

// mostBytes is the size of the largest file that is read.
const mostBytes = 256 << 20

// readFile reads a file that is no pipe and not too large.
func readFile(file string, ps *table.Problems) []byte {
	fault := func(expected, remedy string) []byte {
		ps.Add(table.Problem{File: file, Value: filepath.Base(file), Expected: expected, Remedy: remedy})
		return nil
	}
	info, err := os.Stat(file)
	switch {
	case err != nil:
		return fault("a file that can be read", fmt.Sprintf("check its name and permissions (the system says: %v)", err))
	case !info.Mode().IsRegular():
		return fault("a file", "name the file itself, not a folder or a device")
	case info.Size() > mostBytes:
		return fault(fmt.Sprintf("a file of at most %d megabytes", mostBytes>>20), "take the part about the book out of it")
	}
	data, err := os.ReadFile(file)
	if err != nil {
		return fault("a file that can be read", fmt.Sprintf("check its name and permissions (the system says: %v)", err))
	}
	return data
}

// TEI reads catalogue records in TEI, or all those of a folder. The error is a
// [*table.Fault].
func TEI(files ...string) (*Import, error) {
	return catalogued(files, ".xml", tei.Read)
}

// IIIF reads manifests of page images of the IIIF Presentation API, version 2
// or 3, or all those of a folder. The error is a [*table.Fault].
func IIIF(files ...string) (*Import, error) {
	return catalogued(files, ".json", iiif.Read)
}

// A reader reads the descriptions of books in a file.
type reader func(file string, data []byte, account *catalogue.Account, ps *table.Problems) []catalogue.Record

// catalogued imports descriptions of books by their reader. A file that was not
// named, but stands in a folder that was, may be none: it is left and told.
func catalogued(files []string, ext string, read reader) (*Import, error) {
	var ps table.Problems
	var sources []catalogue.Source
	var accounts []*catalogue.Account
	for _, given := range files {
		found, err := below(given, ext)
		if err != nil {
			ps.Add(table.Problem{File: given, Value: filepath.Base(given), Expected: "a folder that can be read", Remedy: err.Error()})
			continue
		}
		for _, file := range found {
			var own table.Problems
			account := &catalogue.Account{File: file}
			accounts = append(accounts, account)
			records := readOne(file, read, account, &own)
			switch err := own.Err(); {
			case err != nil && file == given:
				ps.Add(own.List()...)
			case err != nil:
				p := own.List()[0]
				account.Leave(p.Line, "the file", "found %q; expected %s; %s", catalogue.Short(p.Value, 60), p.Expected, p.Remedy)
			default:
				sources = append(sources, catalogue.Source{Records: records, Account: account})
			}
		}
		if len(found) == 0 {
			ps.Add(table.Problem{File: given, Value: "no " + ext + " file", Expected: "a folder of records", Remedy: "name the folder that holds the library's files"})
		}
	}
	if err := ps.Err(); err != nil {
		return nil, err
	}
	made := catalogue.BuildAll(sources)
	if made.Books.Rows() == 0 {
		ps.Add(table.Problem{File: files[0], Value: "no leaf of any book", Expected: "a count of leaves, a collation, or the place of a text or picture",
			Remedy: "enter the book in tables of its own; the file tells nothing of its leaves"})
		return nil, ps.Err()
	}
	books := codex.FromTables(made, &ps)
	if err := ps.Err(); err != nil {
		return nil, fmt.Errorf("the tables made of %s are not sound, which is a fault of the program: %w", files[0], err)
	}
	title := books[0].Title
	switch {
	case len(books) == 2:
		title = catalogue.Short(title, 80) + " and " + catalogue.Short(books[1].Title, 80)
	case len(books) > 2:
		title = catalogue.Short(title, 120) + " and " + catalogue.Count(len(books)-1, "other book", "other books")
	}
	study := draft.Draft{Title: title, From: filepath.Base(files[0]), Books: books, Readings: []string{"readings.csv"}}.Text()
	return &Import{Account: catalogue.Merged(accounts), Study: []byte(study), Tables: append(described(made),
		Empty("instruments.csv", readings.InstrumentsSchema()), Empty("readings.csv", readings.ReadingsSchema()))}, nil
}

// described are the four tables of a description.
func described(made codex.Tables) []Table {
	return []Table{
		{"books.csv", made.Books, codex.BooksSchema()},
		{"leaves.csv", made.Leaves, codex.LeavesSchema()},
		{"pages.csv", made.Pages, codex.PagesSchema()},
		{"sections.csv", made.Sections, codex.SectionsSchema()},
	}
}

// below is a file, or the files with an ending below a folder, in order.
func below(path, ext string) ([]string, error) {
	if info, err := os.Stat(path); err != nil || !info.IsDir() {
		return []string{path}, nil // what is wrong shows when it is read
	}
	var files []string
	err := filepath.WalkDir(path, func(file string, d fs.DirEntry, err error) error {
		if err == nil && d.Type().IsRegular() && strings.EqualFold(filepath.Ext(file), ext) {
			files = append(files, file)
		}
		return err
	})
	return files, err
}

// readOne reads one file.
func readOne(file string, read reader, account *catalogue.Account, ps *table.Problems) []catalogue.Record {
	data := readFile(file, ps)
	if ps.Err() != nil {
		return nil
	}
	return read(file, data, account, ps)
}

// Empty is a table with the names of its columns and no row yet.
func Empty(name string, schema table.Schema) Table {
	var columns []*table.Column
	for _, field := range schema.Fields {
		columns = append(columns, table.Labels(field.Name, nil))
	}
	return Table{name, newTable("", columns), schema}
}

// newTable is a table of columns of one length whose names are told apart.
func newTable(file string, columns []*table.Column) *table.Table {
	t, err := table.New(columns...)
	if err != nil {
		panic("intake: " + err.Error()) // both are this package's doing
	}
	t.File = file
	return t
}

// placed is a table each of whose rows was made of a line of its file.
func placed(t *table.Table, lines []int) *table.Table {
	if err := t.Place(t.File, lines); err != nil {
		panic("intake: " + err.Error()) // one line a row
	}
	return t
}

// labelAt is what stands in a row under a column; empty where there is no such column.
func labelAt(t *table.Table, column string, row int) string {
	if c := t.Column(column); c != nil {
		return c.Label(row)
	}
	return ""
}

// rewritten is a table with other cells in those columns for which cells gives some.
func rewritten(t *table.Table, cells func(c *table.Column) []string) *table.Table {
	var columns []*table.Column
	for _, c := range t.Columns() {
		if others := cells(c); others != nil {
			columns = append(columns, table.Cells(c.Name, others))
		}
	}
	return t.With(columns...)
}

// Write makes the new folder dir with the tables, their schemas, the study file
// where there is one and the account, whole or not at all. Nothing may stand at dir yet.
func (i *Import) Write(dir string) error {
	return folder.Create(dir, func(fresh string) error {
		for _, t := range i.Tables {
			if err := t.Write(fresh); err != nil {
				return err
			}
		}
		if i.Study != nil {
			if err := i.keep(fresh); err != nil {
				return err
			}
			if err := os.WriteFile(filepath.Join(fresh, draft.FileName), i.Study, 0o644); err != nil {
				return err
			}
		}
		if i.Mapping != nil {
			if err := os.WriteFile(filepath.Join(fresh, "words.toml"), i.Mapping, 0o644); err != nil {
				return err
			}
		}
		return os.WriteFile(filepath.Join(fresh, AccountFile), []byte(i.Account.String()), 0o644)
	})
}

// Write writes the table and its schema into a folder.
func (t Table) Write(dir string) error {
	path := filepath.Join(dir, t.Name)
	if err := writeCells(path, t.Table); err != nil {
		return err
	}
	schema, err := t.Schema.Of(t.Table).JSON()
	if err != nil {
		return err
	}
	return os.WriteFile(table.SchemaPath(path), schema, 0o644)
}

// writeCells writes a table as CSV.
func writeCells(path string, t *table.Table) error {
	var cells bytes.Buffer
	if err := t.Write(&cells); err != nil {
		return err
	}
	return os.WriteFile(path, cells.Bytes(), 0o644)
}
