package intake_test

import (
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"thumbed/models/report"
	"thumbed/models/study"
	"thumbed/models/study/intake"
)

// TestLooksBecomeAStudy: the diagnoses of 149 patients by two neurologists (Landis and
// Koch 1977, Biometrics 33, 363–374, table 1, Winnipeg; MSPatients of the R package vcd
// 1.4-11), put into a table as a scholar would have it, become a study by import alone,
// whose weighted kappa and its standard error are those of vcd's Kappa with weights
// Fleiss-Cohen.
func TestLooksBecomeAStudy(t *testing.T) {
	const file = "testdata/neurologists.csv"
	if _, err := (intake.Told{}).Sheet(file, ""); err == nil || !strings.Contains(err.Error(), "--grades") || !strings.Contains(err.Error(), "in rising order") {
		t.Errorf("grades whose order nothing tells: %v", err)
	}
	made, err := intake.Told{Grades: map[string][]string{"damage": {"Doubtful", "Possible", "Probable", "Certain"}}}.Sheet(file, "")
	if err != nil {
		t.Fatal(err)
	}
	dir := filepath.Join(t.TempDir(), "mine")
	if err := made.Write(dir); err != nil {
		t.Fatal(err)
	}
	if _, err := study.Check(dir); err != nil {
		t.Fatal(err)
	}
	seen := seenIn(t, dir)
	pair := seen.Agreement[0].Pairs[0]
	if pair.Things != 149 || math.Abs(*pair.Kappa-0.5245765) > 1e-7 || math.Abs((pair.High-*pair.Kappa)/1.959963985-0.0600551) > 1e-7 {
		t.Errorf("%d things, kappa %v to %v", pair.Things, *pair.Kappa, pair.High)
	}
}

// TestTheOrderOfGrades: as numbers, by words whose order is known, as a further sheet
// lists them with what must be seen; words that are yes or no are no grades.
func TestTheOrderOfGrades(t *testing.T) {
	head := "Handschrift;Blatt;Bildteil;Schaden;Betrachter;Tag\n"
	rows := func(values ...string) string {
		text := head
		for k, value := range values {
			text += "Codex A;" + string(rune('1'+k)) + "r;Gesicht;" + value + ";HB;12.05.2026\n"
		}
		return text
	}
	for _, c := range []struct{ name, text, want string }{
		{"numbers", rows("2", "0", "1"), `grades = [
  { name = "0", `},
		{"words", rows("stark", "keine", "leicht"), `grades = [
  { name = "keine", about = "keine, as the spreadsheet has it: write what must be seen for it" },
  { name = "leicht", `},
		{"yes or no", rows("ja", "nein", "ja"), `kind   = "yes or no"`},
	} {
		file := filepath.Join(t.TempDir(), "looks.csv")
		if err := os.WriteFile(file, []byte(c.text), 0o644); err != nil {
			t.Fatal(err)
		}
		made, err := intake.Told{}.Sheet(file, "")
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
		} else if !strings.Contains(string(made.Study), c.want) || !strings.Contains(string(made.Study), `parts  = ["Gesicht"]`) {
			t.Errorf("%s: the study is\n%s", c.name, made.Study)
		}
	}
}

// TestLooksKeepTheirLines: a look that stands twice is told with both its lines, also
// where its words for yes and no were put under another column.
func TestLooksKeepTheirLines(t *testing.T) {
	file := filepath.Join(t.TempDir(), "looks.csv")
	const look = "Ardel,2r,touched,no,HB,2026-05-11\n"
	if err := os.WriteFile(file, []byte("book,page,trace,grade,observer,date\nArdel,1r,touched,yes,HB,2026-05-11\n"+look+look), 0o644); err != nil {
		t.Fatal(err)
	}
	if _, err := (intake.Told{}).Sheet(file, ""); err == nil || !strings.Contains(err.Error(), "line 4, column observer") || !strings.Contains(err.Error(), "line 3 is the same") {
		t.Errorf("a look that stands twice: %v", err)
	}
}

// seenIn is what a study tells of traces without a model.
func seenIn(t *testing.T, dir string) *report.TraceResults {
	t.Helper()
	s, err := study.Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	seen, err := s.Traces()
	if err != nil {
		t.Fatal(err)
	}
	return seen
}
