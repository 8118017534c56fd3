package main

import (
	"encoding/csv"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"thumbed/models/report/reporttest"
)

// TestFromARecordToThePage goes from a catalogue record and a spreadsheet that was kept
// in German, a row a page, to the page of results in three commands, and nothing is
// written by hand. The record and the readings are invented (testdata/walk).
func TestFromARecordToThePage(t *testing.T) {
	mine := filepath.Join(t.TempDir(), "mine")
	walk := filepath.Join("..", "..", "testdata", "walk")
	sheet := filepath.Join(walk, "messungen.csv")
	done(t, "import", "tei", filepath.Join(walk, "record.xml"), "--out", mine)

	// What the sheet does not tell is asked for in one go, and nothing is written.
	code, _, asked := run("import", "sheet", sheet, "--into", mine)
	if code != 1 || !strings.Contains(asked, "--set spot=fixed") || !strings.Contains(asked, "--instrument bench") {
		t.Errorf("exit %d without what the sheet does not tell:\n%s", code, asked)
	}
	told := done(t, "import", "sheet", sheet, "--into", mine, "--set", "spot=fixed", "--instrument", "bench,0,2.5,0.01,0.16")
	if !strings.Contains(strings.ReplaceAll(told, "\u00a0", " "), "785 readings added") { // counted in the file: 192 zeros, and 593 cells of the corners and the tile that are no dash
		t.Error(told)
	}
	done(t, "run", mine)
	reporttest.Folder(t, filepath.Join(mine, "results"))
	page, err := os.ReadFile(filepath.Join(mine, "results", "index.html"))
	if err != nil || !strings.Contains(string(page), "Ostreham 12") {
		t.Errorf("%v: %d bytes", err, len(page))
	}
	file, err := os.Open(filepath.Join(mine, "results", "tables", "pages.csv"))
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	if rows, err := csv.NewReader(file).ReadAll(); err != nil || len(rows) < 176 {
		t.Errorf("%d rows of pages, %v", len(rows), err)
	}

	// A second time the same readings are refused.
	if code, _, said := run("import", "sheet", sheet, "--into", mine, "--set", "spot=fixed"); code != 1 || !strings.Contains(said, "each reading once") {
		t.Errorf("exit %d of readings that are there already:\n%s", code, said)
	}
	// A sheet for what is still to be measured.
	if told := done(t, "sheet", mine, "--hours", "4", "--dates", "2026-06-08,2026-06-09", "--observers", "HB,KL"); !strings.Contains(told, "turns to an opening") {
		t.Error(told)
	}
}
