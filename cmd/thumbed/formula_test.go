package main

import (
	"archive/zip"
	"path/filepath"
	"strings"
	"testing"
)

// TestCellsThatASpreadsheetWouldCompute: check names a cell that a spreadsheet takes for a
// formula, and the run writes a workbook of all tables, which is one by its parts (Office
// Open XML, ISO/IEC 29500-2: an archive with [Content_Types].xml).
func TestCellsThatASpreadsheetWouldCompute(t *testing.T) {
	f := small()
	if said := done(t, "check", f.write(t)); strings.Contains(said, "a formula to a spreadsheet") {
		t.Errorf("without such a cell: %s", said)
	}
	f.swap(t, "books.csv", "Bee's hours", "=Bee+hours")
	dir := f.write(t)
	if said := done(t, "check", dir); !strings.Contains(said, "books.csv, line 3, column title: “=Bee+hours”") {
		t.Errorf("check says %s", said)
	}
	done(t, "run", dir)
	book, err := zip.OpenReader(filepath.Join(dir, "results", "tables", "tables.xlsx"))
	if err != nil {
		t.Fatal(err)
	}
	defer book.Close()
	sheets, types := 0, false
	for _, part := range book.File {
		types = types || part.Name == "[Content_Types].xml"
		if strings.HasPrefix(part.Name, "xl/worksheets/sheet") {
			sheets++
		}
	}
	tables, err := filepath.Glob(filepath.Join(dir, "results", "tables", "*.csv"))
	if err != nil || !types || sheets != len(tables)+1 {
		t.Errorf("%d sheets of %d tables and their list, %v", sheets, len(tables), err)
	}
}
