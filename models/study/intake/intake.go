package intake

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"

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

// TEI reads the catalogue record in a TEI file. The error is a [*table.Fault].
func TEI(file string) (*Import, error) {
	return catalogued(file, tei.Read)
}

// IIIF reads a manifest of page images of the IIIF Presentation API, version 2
// or 3. The error is a [*table.Fault].
func IIIF(file string) (*Import, error) {
	return catalogued(file, iiif.Read)
}

// catalogued imports a description of books by its reader.
func catalogued(file string, read func(string, []byte, *catalogue.Account, *table.Problems) []catalogue.Record) (*Import, error) {
	var ps table.Problems
	data := readFile(file, &ps)
	if err := ps.Err(); err != nil {
		return nil, err
	}
	account := &catalogue.Account{File: file}
	records := read(file, data, account, &ps)
	if err := ps.Err(); err != nil {
		return nil, err
	}
	made := catalogue.Build(records, account)
	if made.Books.Rows() == 0 {
		ps.Add(table.Problem{File: file, Value: "no leaf of any book", Expected: "a count of leaves, a collation, or the place of a text or picture",
			Remedy: "enter the book in tables of its own; the file tells nothing of its leaves"})
		return nil, ps.Err()
	}
	books := codex.FromTables(made, &ps)
	if err := ps.Err(); err != nil {
		return nil, fmt.Errorf("the tables made of %s are not sound, which is a fault of the program: %w", file, err)
	}
	study := draft.Draft{Title: records[0].Title, From: filepath.Base(file), Books: books, Readings: []string{"readings.csv"}}.Text()
	return &Import{Account: account, Study: []byte(study), Tables: []Table{
		{"books.csv", made.Books, codex.BooksSchema()},
		{"leaves.csv", made.Leaves, codex.LeavesSchema()},
		{"pages.csv", made.Pages, codex.PagesSchema()},
		{"sections.csv", made.Sections, codex.SectionsSchema()},
		Empty("instruments.csv", readings.InstrumentsSchema()),
		Empty("readings.csv", readings.ReadingsSchema()),
	}}, nil
}

// Empty is a table with the names of its columns and no row yet.
func Empty(name string, schema table.Schema) Table {
	t := &table.Table{}
	for _, field := range schema.Fields {
		if err := t.Add(table.Labels(field.Name, nil)); err != nil {
			panic("intake: " + err.Error()) // names are the schema's own
		}
	}
	return Table{name, t, schema}
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
			if err := os.WriteFile(filepath.Join(fresh, draft.FileName), i.Study, 0o644); err != nil {
				return err
			}
		}
		return os.WriteFile(filepath.Join(fresh, AccountFile), []byte(i.Account.String()), 0o644)
	})
}

// Write writes the table and its schema into a folder.
func (t Table) Write(dir string) error {
	path := filepath.Join(dir, t.Name)
	var cells bytes.Buffer
	if err := t.Table.Write(&cells); err != nil {
		return err
	}
	if err := os.WriteFile(path, cells.Bytes(), 0o644); err != nil {
		return err
	}
	schema, err := t.Schema.JSON()
	if err != nil {
		return err
	}
	return os.WriteFile(table.SchemaPath(path), schema, 0o644)
}
