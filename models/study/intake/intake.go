package intake

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"thumbed/models/codex"
	"thumbed/models/codex/catalogue"
	"thumbed/models/codex/iiif"
	"thumbed/models/codex/tei"
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
}

// mostBytes is the size of the largest file that is read.
const mostBytes = 256 << 20

// readFile reads a file; nil where it told a problem.
func readFile(file string, ps *table.Problems) []byte {
	data, err := table.Content(file, mostBytes)
	if err == nil {
		return data
	}
	p := table.Unreadable(file, err)
	switch {
	case errors.Is(err, table.ErrNoFile):
		p.Expected, p.Remedy = "a file", "name the file itself, not a folder or a device"
	case errors.Is(err, table.ErrTooLarge):
		p.Expected, p.Remedy = fmt.Sprintf("a file of at most %d megabytes", mostBytes>>20), "take the part about the book out of it"
	}
	ps.Add(p)
	return nil
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
	codex.FromTables(made, &ps)
	if err := ps.Err(); err != nil {
		return nil, fmt.Errorf("the tables made of %s are not sound, which is a fault of the program: %w", file, err)
	}
	return &Import{Account: account, Tables: []Table{
		{"books.csv", made.Books, codex.BooksSchema()},
		{"leaves.csv", made.Leaves, codex.LeavesSchema()},
		{"pages.csv", made.Pages, codex.PagesSchema()},
		{"sections.csv", made.Sections, codex.SectionsSchema()},
	}}, nil
}

// Write makes the new folder dir with the tables, their schemas and the
// account, whole or not at all. Nothing may stand at dir yet.
func (i *Import) Write(dir string) error {
	return folder.Create(dir, func(fresh string) error {
		for _, t := range i.Tables {
			if err := t.write(fresh); err != nil {
				return err
			}
		}
		return os.WriteFile(filepath.Join(fresh, AccountFile), []byte(i.Account.String()), 0o644)
	})
}

func (t Table) write(dir string) error {
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
