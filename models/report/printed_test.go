package report_test

import (
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"thumbed/models/report"
	"thumbed/models/report/chapter"
	"thumbed/models/report/chapter/chaptertest"
)

// TestEveryFigureIsPrintedOnce: a chapter leaves out none and names none twice.
func TestEveryFigureIsPrintedOnce(t *testing.T) {
	r := report.Fixture(t)
	figures, err := r.Figures()
	if err != nil {
		t.Fatal(err)
	}
	want := map[string]bool{}
	for _, f := range figures {
		want[f.Name] = true
	}
	for _, section := range r.Printed() {
		for _, part := range section.Parts {
			for _, f := range part.Figures {
				if !want[f.Name] {
					t.Errorf("%s is printed twice, or not drawn", f.Name)
				}
				delete(want, f.Name)
				if !strings.ContainsAny(f.Caption, "0123456789") || f.Title == "" {
					t.Errorf("%s: no number in the caption %q, or no title %q", f.Name, f.Caption, f.Title)
				}
			}
		}
	}
	if len(want) > 0 {
		t.Errorf("not printed: %v", slices.Sorted(maps.Keys(want)))
	}
}

// TestPrintedTablesHaveTheirColumns: every row of every table has a cell for each
// head, names are used once, and a panel without rows says why.
func TestPrintedTablesHaveTheirColumns(t *testing.T) {
	names := map[string]bool{}
	for _, section := range report.Fixture(t).Printed() {
		for _, part := range section.Parts {
			for _, table := range part.Tables {
				if names[table.Name] || table.Title == "" || len(table.Panels) == 0 {
					t.Errorf("%s: its name is used twice, or it has no caption or no panel", table.Name)
				}
				names[table.Name] = true
				for _, p := range table.Panels {
					if len(p.Rows) == 0 && table.None(p) == "" {
						t.Errorf("%s, %s: a panel without rows says nothing", table.Name, p.Heading)
					}
					for _, row := range p.Rows {
						if len(row) != len(table.Heads) {
							t.Errorf("%s, %s: %d cells below %d heads", table.Name, p.Heading, len(row), len(table.Heads))
						}
					}
				}
			}
		}
	}
	for _, name := range []string{"answers", "sections-mw1", "standouts", "offices", "changes", "fixed-evening", "random-pictures", "precision", "drift", "excluded"} {
		if !names[name] {
			t.Errorf("no table %s is printed; there are %v", name, slices.Sorted(maps.Keys(names)))
		}
	}
}

// TestAnyChapterCompiles sets a study with everything that can be missing, failed,
// without bound or beyond Latin-1, and one with nothing in it.
func TestAnyChapterCompiles(t *testing.T) {
	chaptertest.Need(t)
	bare := &report.Results{Meta: report.Meta{Title: "Nothing yet"}}
	for name, r := range map[string]*report.Results{"full": report.Fixture(t), "bare": bare} {
		t.Run(name, func(t *testing.T) {
			dir := t.TempDir()
			if err := r.Write(dir); err != nil {
				t.Fatal(err)
			}
			dir = filepath.Join(dir, "chapter")
			if err := chapter.Write(r, dir); err != nil {
				t.Fatal(err)
			}
			chaptertest.LaTeX(t, dir, "chapter")
			if text := chaptertest.Text(t, dir, "chapter"); !strings.Contains(text, chaptertest.Plain(r.Meta.Title)) {
				t.Errorf("the title %q is not on the pages", r.Meta.Title)
			}
			if log := chaptertest.Log(t, dir, "chapter"); strings.Contains(log, "Missing character") {
				t.Error("a character is missing on the pages")
			}
		})
	}
}

// TestTheChapterIsTheSameBytes: what is written depends on the results alone.
func TestTheChapterIsTheSameBytes(t *testing.T) {
	first, second := chapter.Files(report.Fixture(t)), chapter.Files(report.Fixture(t))
	if len(first) < 20 || len(first) != len(second) {
		t.Fatalf("%d files, then %d", len(first), len(second))
	}
	for name := range first {
		if string(first[name]) != string(second[name]) {
			t.Errorf("%s differs", name)
		}
	}
}

// TestAChapterIsWrittenOnce: what is there is never written over.
func TestAChapterIsWrittenOnce(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "chapter")
	if err := os.Mkdir(dir, 0o755); err != nil {
		t.Fatal(err)
	}
	if err := chapter.Write(&report.Results{}, dir); err == nil {
		t.Error("a chapter is written into a folder that was there")
	}
}
