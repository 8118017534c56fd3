package desk

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"

	"thumbed/models/table"
	"thumbed/models/wording"
)

// A deskTable is the table on disk that readings or looks go to.
type deskTable struct {
	path   string
	schema table.Schema
	names  []string // of its columns
	rows   [][]string
	notes  []string // what was done to the file when it was opened
}

// openTable reads the table at path, or begins it where there is none. Columns that it
// lacks, of an import perhaps that had nothing for them, are added.
func openTable(path string, schema table.Schema) (*deskTable, error) {
	t := &deskTable{path: path, schema: schema}
	text, err := os.ReadFile(path)
	if errors.Is(err, fs.ErrNotExist) || err == nil && len(bytes.TrimSpace(text)) == 0 {
		for _, f := range t.schema.Fields {
			t.names = append(t.names, f.Name)
		}
		return t, t.begin()
	}
	if err != nil {
		return nil, err
	}
	if whole := bytes.LastIndexByte(text, '\n') + 1; whole < len(text) {
		t.notes = append(t.notes, fmt.Sprintf("The last row of %s was cut short when its program was stopped, before it was confirmed. It was taken out: %q.", filepath.Base(path), text[whole:]))
		text = text[:whole]
		if err := replaceFile(path, text); err != nil {
			return nil, err
		}
	}
	var ps table.Problems
	read := table.Read(path, text, &ps)
	if err := ps.Err(); err != nil {
		return nil, err
	}
	t.names = read.Names()
	var added []string
	for _, f := range t.schema.Fields {
		if !slices.Contains(t.names, f.Name) {
			added = append(added, f.Name)
		}
	}
	t.names = append(t.names, added...)
	for i := range read.Rows() {
		row := make([]string, len(t.names))
		for k, c := range read.Columns() {
			row[k] = c.Label(i)
		}
		t.rows = append(t.rows, row)
	}
	if added == nil {
		return t, nil
	}
	t.notes = append(t.notes, fmt.Sprintf("%s had no %s %s: added, empty in the rows that were there.", filepath.Base(path), map[bool]string{true: "column", false: "columns"}[len(added) == 1], wording.List(added)))
	return t, replaceFile(path, t.text(append([][]string{t.names}, t.rows...)...))
}

// begin writes the names of the columns, and the schema beside the table.
func (t *deskTable) begin() error {
	schema, err := t.schema.JSON()
	if err != nil {
		return err
	}
	if err := replaceFile(t.path, t.text(t.names)); err != nil {
		return err
	}
	return os.WriteFile(table.SchemaPath(t.path), schema, 0o644)
}

// cell is what a row holds under a column.
func (t *deskTable) cell(row []string, column string) string {
	return row[slices.Index(t.names, column)]
}

// add appends a row, and returns once it is on disk.
func (t *deskTable) add(cells map[string]string) error {
	row := make([]string, len(t.names))
	for column, cell := range cells {
		row[slices.Index(t.names, column)] = cell
	}
	file, err := os.OpenFile(t.path, os.O_APPEND|os.O_WRONLY, 0)
	if err != nil {
		return err
	}
	_, err = file.Write(t.text(row))
	if err := errors.Join(err, file.Sync(), file.Close()); err != nil {
		return fmt.Errorf("the row is not safe on disk: %w", err)
	}
	t.rows = append(t.rows, row)
	return nil
}

// exclude writes into a row why it is left out.
func (t *deskTable) exclude(row int, reason string) error {
	changed := slices.Clone(t.rows)
	changed[row] = slices.Clone(changed[row])
	changed[row][slices.Index(t.names, "excluded")] = reason
	if err := replaceFile(t.path, t.text(append([][]string{t.names}, changed...)...)); err != nil {
		return err
	}
	t.rows = changed
	return nil
}

// text writes rows as CSV.
func (t *deskTable) text(rows ...[]string) []byte {
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	if err := w.WriteAll(rows); err != nil {
		panic("desk: " + err.Error()) // a buffer takes all
	}
	return b.Bytes()
}

// replaceFile puts a file in the place of the one that may be there, whole and on
// disk before it bears the name.
func replaceFile(path string, text []byte) error {
	fresh, err := os.CreateTemp(filepath.Dir(path), ".desk-*")
	if err != nil {
		return err
	}
	defer os.Remove(fresh.Name()) // gone, once it has its name
	_, err = fresh.Write(text)
	if err := errors.Join(err, fresh.Chmod(0o644), fresh.Sync(), fresh.Close()); err != nil {
		return err
	}
	return os.Rename(fresh.Name(), path)
}
