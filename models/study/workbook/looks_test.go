package workbook_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"thumbed/models/study/workbook"
)

// TestLooksThereAndBack: looks untouched in a workbook change no byte; what a person
// changes, adds and takes away is changed in the table of looks, and nothing else is.
func TestLooksThereAndBack(t *testing.T) {
	dir := invented(t)
	log := filepath.Join(dir, "traces.csv")
	before, err := os.ReadFile(log)
	if err != nil {
		t.Fatal(err)
	}
	path := written(t, dir, "Corvaes")
	e, err := workbook.Of(dir, "Corvaes")
	if err != nil {
		t.Fatal(err)
	}
	changes, err := e.Take(path)
	former, failed := e.Save(time.Now())
	if err != nil || failed != nil || len(changes) > 0 || former != "" {
		t.Fatalf("an untouched workbook: %v, %v, %v", changes, err, failed)
	}
	editSheet(t, path, "looks", func(g grid) grid {
		row := g.at("7r")
		if row["observer"] != "HB" || row["rubbing: face"] != "abraded" {
			t.Fatalf("page 7r is %v", row)
		}
		row["rubbing: face"], row["rubbing: hands"], row["rubbing: feet"] = "bare", "? under a stain", ""
		return append(g, map[string]string{"page": "7r", "observer": "KL", "date": "2026-06-01", "rubbing: frame": "dulled", "wax": "2"})
	})
	if e, err = workbook.Of(dir, "Corvaes"); err != nil {
		t.Fatal(err)
	}
	if changes, err = e.Take(path); err != nil || len(changes) != 5 {
		t.Fatalf("%v, %v", changes, err)
	}
	if _, err := e.Save(time.Now()); err != nil {
		t.Fatal(err)
	}
	want := string(before)
	for _, change := range []struct{ from, to string }{
		{"Corvaes,7r,face,rubbing,abraded,,,,,HB,2026-05-11,,\n", "Corvaes,7r,face,rubbing,bare,,,,,HB,2026-05-11,,\n"},
		{"Corvaes,7r,hands,rubbing,abraded,,,,,HB,2026-05-11,,\n", "Corvaes,7r,hands,rubbing,,,,,under a stain,HB,2026-05-11,,\n"},
		{"Corvaes,7r,feet,rubbing,dulled,,,,,HB,2026-05-11,,\n", ""},
	} {
		if !strings.Contains(want, change.from) {
			t.Fatalf("the table has no %q", change.from)
		}
		want = strings.Replace(want, change.from, change.to, 1)
	}
	want += "Corvaes,7r,frame,rubbing,dulled,,,,,KL,2026-06-01,,\nCorvaes,7r,,wax,,2,,,,KL,2026-06-01,,\n"
	if after, err := os.ReadFile(log); err != nil || string(after) != want {
		t.Errorf("the table of looks is not what was changed: %v", err)
	}
}

// TestLooksThatCannotBe: a grade that the coding book lacks, a look without an observer
// and one that was changed in the study meanwhile are told, and nothing is written.
func TestLooksThatCannotBe(t *testing.T) {
	for _, c := range []struct {
		said   string
		change func(grid) grid
		study  func(string) string
	}{
		{"a grade of rubbing", func(g grid) grid { g.at("7r")["rubbing: face"] = "scratched"; return g }, nil},
		{"a page, an observer and a date", func(g grid) grid { g.at("7r")["observer"] = ""; return g }, nil},
		{"the study now has", func(g grid) grid { g.at("7r")["rubbing: face"] = "bare"; return g }, func(text string) string {
			return strings.Replace(text, "Corvaes,7r,face,rubbing,abraded,,,,,HB,2026-05-11", "Corvaes,7r,face,rubbing,dulled,,,,,HB,2026-05-11", 1)
		}},
	} {
		dir := invented(t)
		path := written(t, dir, "Corvaes")
		editSheet(t, path, "looks", c.change)
		log := filepath.Join(dir, "traces.csv")
		text, err := os.ReadFile(log)
		if err != nil {
			t.Fatal(err)
		}
		if c.study != nil {
			if err := os.WriteFile(log, []byte(c.study(string(text))), 0o644); err != nil {
				t.Fatal(err)
			}
		}
		e, err := workbook.Of(dir, "Corvaes")
		if err != nil {
			t.Fatal(err)
		}
		if _, err := e.Take(path); err == nil || !strings.Contains(err.Error(), c.said) {
			t.Errorf("%s: %v", c.said, err)
		}
	}
}
