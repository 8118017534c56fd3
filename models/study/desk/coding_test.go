package desk_test

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"thumbed/models/mixed"
	"thumbed/models/study/desk"
	"thumbed/models/table"
	"thumbed/models/traces"
)

var coding = []traces.Trace{
	{Name: "rubbing", About: "paint rubbed away", Kind: mixed.Grades, Parts: []string{"face", "frame"}, Grades: []traces.Grade{{Name: "intact", About: "no loss"}, {Name: "dulled", About: "matt"}, {Name: "bare", About: "parchment seen"}}},
	{Name: "sewing", About: "holes of a curtain", Kind: mixed.YesNo},
	{Name: "wax", About: "drops of wax", Kind: mixed.Counts, One: "a drop", Per: "cm²"},
}

// looking are the options of a session of looks whose clock goes on by 20 seconds.
func looking(t testing.TB, path string) desk.CodingOptions {
	now := time.Date(2026, 6, 1, 9, 30, 0, 0, time.UTC)
	return desk.CodingOptions{Table: path, Books: books(t), Coding: coding, Observer: "HB", Now: func() time.Time { now = now.Add(20 * time.Second); return now }}
}

// looked runs a session of looks over the lines and gives what it said.
func looked(t testing.TB, o desk.CodingOptions, lines ...string) string {
	t.Helper()
	s, err := desk.BeginCoding(o)
	if err != nil {
		t.Fatal(err)
	}
	return said(t, s, lines)
}

const looksHeader = "book,page,part,trace,grade,count,present,exposure,unclear,observer,date,excluded,note\n"

// TestADayOfLooks: what is typed is in the table in its column, a reason stands in place
// of a value, and the table is one that a study reads.
func TestADayOfLooks(t *testing.T) {
	path := filepath.Join(t.TempDir(), "traces.csv")
	said := looked(t, looking(t, path), "1", "p 3v", "7", "dul", "n by lamp", "x", "x faded", "u", "bare", "y", "3", "2 12,5", "p 3v", "p 4r", "s", "w", "h", "q")
	want := looksHeader +
		"Ardel,3v,face,rubbing,dulled,,,,,HB,2026-06-01,,\n" +
		"Ardel,3v,frame,rubbing,,,,,faded,HB,2026-06-01,taken back at the desk,by lamp\n" +
		"Ardel,3v,frame,rubbing,bare,,,,,HB,2026-06-01,,\n" +
		"Ardel,3v,,sewing,,,yes,,,HB,2026-06-01,,\n" +
		"Ardel,3v,,wax,,2,,12.5,,HB,2026-06-01,,\n"
	if got := contents(t, path); got != want {
		t.Errorf("the table holds\n%s, not\n%s", got, want)
	}
	for _, words := range []string{"Name a page first", "is none of: 0 intact, 1 dulled, 2 bare", "Write the reason", "Taken back", "above 0 (cm²)", "All of Ardel, f. 3v was looked at today", "Left (4 looks left): Ardel, f. 4r", "rubbing, 2 looks: intact 0, dulled 1, bare 1; 0 cannot be told", "Look at these again on another day", "2 bare: parchment seen"} {
		if !strings.Contains(said, words) {
			t.Errorf("%q is not said:\n%s", words, said)
		}
	}
	var ps table.Problems
	if looks := traces.Load([]string{path}, coding, books(t), &ps); ps.Len() > 0 || len(looks.All) != 5 {
		t.Errorf("a study reads %d looks: %v", len(looks.All), ps.Err())
	}
	if again := looked(t, looking(t, path), "p 4r", "0", "q"); !strings.Contains(again, "5 looks at 2 pages") {
		t.Errorf("the day does not go on: %s", again)
	}
}

// TestNoLookIsLost: stopped behind any byte of the last write, the next session has every
// look that was confirmed, once, and asks for the others.
func TestNoLookIsLost(t *testing.T) {
	dir := t.TempDir()
	sheet := filepath.Join(dir, "traces-to-fill.csv")
	rows := looksHeader
	for _, page := range []string{"2r", "5v"} {
		rows += fmt.Sprintf("Ardel,%s,face,rubbing,,,,,,HB,2026-06-01,,\nArdel,%s,frame,rubbing,,,,,,HB,2026-06-01,,\nArdel,%s,,sewing,,,,,,HB,2026-06-02,,\nArdel,%s,,sewing,,,,,,KL,2026-06-01,,\n", page, page, page, page)
	}
	if err := os.WriteFile(sheet, []byte(rows), 0o644); err != nil {
		t.Fatal(err)
	}
	rapid.Check(t, func(r *rapid.T) {
		path := filepath.Join(dir, "traces.csv")
		defer os.Remove(path)
		planned, err := desk.ReadCodingSheet(sheet, "2026-06-01", "HB", books(t), coding)
		if err != nil || len(planned.Steps) != 4 {
			r.Fatalf("%v of %v", planned, err)
		}
		o := looking(t, path)
		o.Sheet = planned
		typed := rapid.IntRange(0, 4).Draw(r, "typed")
		looked(t, o, []string{"0", "1", "2", "x faded"}[:typed]...)
		text := contents(t, path)
		confirmed := typed
		if typed > 0 && rapid.Bool().Draw(r, "cut") {
			last := strings.LastIndexByte(strings.TrimSuffix(text, "\n"), '\n') + 1
			text = text[:rapid.IntRange(last, len(text)-1).Draw(r, "behind")]
			confirmed--
			if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
				r.Fatal(err)
			}
		}
		if said := looked(t, o, "w"); !strings.Contains(said, fmt.Sprintf("(%d look", 4-confirmed)) && confirmed < 4 {
			r.Fatalf("after %d looks: %s", confirmed, said)
		}
		if got := strings.Count(contents(t, path), "\n") - 1; got != confirmed {
			r.Fatalf("%d looks in the table, %d confirmed", got, confirmed)
		}
	})
	if _, err := desk.ReadCodingSheet(sheet, "2026-06-01", "", books(t), coding); err == nil || !strings.Contains(err.Error(), "--observer HB") {
		t.Errorf("a sheet of two observers without a name: %v", err)
	}
}
