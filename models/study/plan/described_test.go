package plan_test

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/gonum/stat"

	"thumbed/models/study"
	"thumbed/models/study/demo"
	"thumbed/models/study/plan"
	"thumbed/models/table"
)

// describedStudy is the demonstration study without its readings, with more lines in its
// study file.
func describedStudy(t *testing.T, more string) string {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "mine")
	if err := demo.Write(dir); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(dir, "study.toml")
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, append(text, "\n"+more...), 0o644); err != nil {
		t.Fatal(err)
	}
	logs, err := filepath.Glob(filepath.Join(dir, "readings*.csv"))
	if err != nil || len(logs) == 0 {
		t.Fatal("the demonstration has no readings", err)
	}
	for _, log := range logs {
		if err := os.Remove(log); err != nil {
			t.Fatal(err)
		}
	}
	return dir
}

func orderOf(t *testing.T, dir string, given study.Sheet) *plan.Order {
	t.Helper()
	p, err := plan.OfStudy(dir, given)
	if err != nil {
		t.Fatal(err)
	}
	o, err := p.Order()
	if err != nil {
		t.Fatal(err)
	}
	return o
}

func campaign(hours float64, dates ...string) study.Sheet {
	return study.Sheet{Hours: hours, SheetOrder: study.SheetOrder{Dates: dates, Observers: []string{"HB", "KL"}, Instrument: "bench", Draws: 60}}
}

var threeDays = []string{"2026-06-01", "2026-06-02", "2026-06-03"}

// measuredPages are the pages of the rows, by book.
func measuredPages(rows *table.Table) map[string]map[string]bool {
	out := map[string]map[string]bool{}
	for i := range rows.Rows() {
		if id := rows.Column("book").Label(i); id != "" {
			if out[id] == nil {
				out[id] = map[string]bool{}
			}
			out[id][rows.Column("page").Label(i)] = true
		}
	}
	return out
}

// TestSheetOfADescribedBook: worked out anew from the rows to fill in, every picture and
// what it faces and the first and last page of every text are measured, the stated hours
// are used and not exceeded, and neither day nor observer goes with the place in the book.
func TestSheetOfADescribedBook(t *testing.T) {
	dir := describedStudy(t, "")
	o := orderOf(t, dir, campaign(18, threeDays...))
	rows := o.Rows()
	measured := measuredPages(rows)
	s, _, err := study.OpenBooks(dir)
	if err != nil {
		t.Fatal(err)
	}
	for _, b := range s.Books {
		wanted := map[string]bool{}
		for _, i := range b.Present() {
			if !b.Pages[i].Picture {
				continue
			}
			wanted[b.Pages[i].Label.String()] = true
			if facing, ok := b.Opening(i); ok {
				wanted[b.Pages[facing].Label.String()] = true
			}
		}
		for _, text := range b.Sections {
			if len(text.Pages) > 0 {
				wanted[b.Pages[text.Pages[0]].Label.String()] = true
				wanted[b.Pages[text.Pages[len(text.Pages)-1]].Label.String()] = true
			}
		}
		for page := range wanted {
			if !measured[b.ID][page] {
				t.Errorf("%s %s has a picture, faces one, or begins or ends a text, and is not measured", b.ID, page)
			}
		}
		if len(measured[b.ID]) <= len(wanted) {
			t.Errorf("%s: nothing of the rest is measured", b.ID)
		}
	}
	turns := 0
	for _, b := range o.Books {
		turns += b.Turns
	}
	hours := (30*float64(rows.Rows()) + 60*float64(turns)) / 3600
	if hours > 18 || hours < 0.93*18 {
		t.Errorf("%.1f hours of 18 are used", hours)
	}
	for _, b := range s.Books {
		var leaf, day, observer []float64
		for i := range rows.Rows() {
			if rows.Column("book").Label(i) != b.ID || rows.Column("target").Label(i) != "page" || rows.Column("note").Label(i) != "" {
				continue
			}
			var n int
			if _, err := fmt.Sscanf(rows.Column("page").Label(i), "%d", &n); err != nil {
				continue // roman leaves
			}
			leaf = append(leaf, float64(n))
			day = append(day, float64(slices.Index(threeDays, rows.Column("date").Label(i))))
			observer = append(observer, map[string]float64{"HB": 0, "KL": 1}[rows.Column("observer").Label(i)])
		}
		for what, x := range map[string][]float64{"day": day, "observer": observer} {
			if stat.Variance(x, nil) == 0 {
				t.Errorf("%s: one %s alone", b.ID, what)
			} else if r := stat.Correlation(leaf, x, nil); math.Abs(r) > 0.25 {
				t.Errorf("%s: correlation %.2f of the leaves with the %s", b.ID, r, what)
			}
		}
	}
	if text := o.Text(); !strings.Contains(text, "turns to an opening") || !strings.Contains(text, "Greatest correlations") {
		t.Errorf("turnings and correlations are not told:\n%s", text)
	}
}

// TestMustMayNever: what is said of a page counts before what is said of its text, and
// that before its kind; must is measured though time is short, and what must be left
// out for want of time is told.
func TestMustMayNever(t *testing.T) {
	dir := describedStudy(t, `
[sheet]
dates = ["2026-06-01", "2026-06-02"]
observers = ["HB"]
instrument = "bench"
draws = 20
books = ["Corvaes"]
[sheet.must]
pages = ["Corvaes: 3r–4v"]
[sheet.may]
texts = ["Hours of the Virgin, Lauds"]
[sheet.never]
kinds = ["calendar"]
`)
	s, _, err := study.OpenBooks(dir)
	if err != nil {
		t.Fatal(err)
	}
	o := orderOf(t, dir, study.Sheet{Hours: 3})
	got := measuredPages(o.Rows())
	if len(got) != 1 {
		t.Errorf("measured: %v; one book was named", got)
	}
	for _, page := range []string{"3r", "3v", "4r", "4v"} {
		if !got["Corvaes"][page] {
			t.Errorf("%s must be measured and is not", page)
		}
	}
	for _, i := range s.Books[0].Present() {
		p := s.Books[0].Pages[i]
		if text := s.Books[0].Section(i); text != nil && text.Kind == "calendar" && got["Corvaes"][p.Label.String()] && !strings.Contains("3r 3v 4r 4v", p.Label.String()) {
			t.Errorf("%s of the calendar is measured", p.Label)
		}
	}
	if text := o.Text(); !strings.Contains(text, "There is not time for every page") {
		t.Errorf("what was left out is not told:\n%s", text)
	}
}

// TestSheetOfAStudyTellsAllThatIsWrong: with the line of each.
func TestSheetOfAStudyTellsAllThatIsWrong(t *testing.T) {
	for want, more := range map[string]string{
		"sheet.never.texts":             "[sheet]\nhours = 9\n[sheet.never]\ntexts = [\"Lands\"]\n",
		"it stands under must too":      "[sheet]\nhours = 9\n[sheet.must]\nkinds = [\"hours\"]\n[sheet.never]\nkinds = [\"hours\"]\n",
		"name the book before it":       "[sheet]\nhours = 9\n[sheet.must]\npages = [\"12r\"]\n",
		"sheet.hours":                   "[sheet]\nplacings = 3\n",
		"sheet.must.pages":              "[sheet]\nhours = 9\n[sheet.must]\npages = [\"Corvaes: 900r\"]\n",
		"sheet.placings":                "[sheet]\nhours = 9\nplacings = \"three\"\n",
		"these alone take":              "[sheet]\nhours = 1\n[sheet.must]\nkinds = [\"hours\"]\n",
		"at most 12 hours of measuring": "[sheet]\nhours = 90\n",
	} {
		dir := describedStudy(t, more)
		p, err := plan.OfStudy(dir, campaign(0, threeDays...))
		if err == nil {
			_, err = p.Order()
		}
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("of\n%serror %v; %q was expected", more, err, want)
		}
	}
}

// TestSheetOfFewHours: whatever the number of dates, the hours are shared out among them,
// no day is longer than its share by more than a tenth, and texts that are read at one
// opening each are not said to go with the time, nor an observer without a day passed over.
func TestSheetOfFewHours(t *testing.T) {
	dir := describedStudy(t, "")
	for _, c := range []struct {
		hours float64
		dates []string
	}{{4, threeDays[:1]}, {4, threeDays[:2]}, {4, threeDays}, {8, threeDays}, {5, append([]string{"2026-05-29"}, threeDays...)}} {
		o := orderOf(t, dir, campaign(c.hours, c.dates...))
		for _, day := range o.Days {
			seconds := 0.0
			for _, step := range day.Steps {
				switch step.Kind {
				case plan.OnTile:
					seconds += 30 * float64(step.Tiles)
				case plan.Visit:
					seconds += 60
					for _, page := range step.Pages {
						seconds += 30 * float64(page.Zeros+page.Placings)
					}
				}
			}
			if share := c.hours / float64(len(c.dates)); seconds/3600 > 1.1*share+0.25 { // the tile beside it
				t.Errorf("%g hours on %d dates: %.2f hours on %s", c.hours, len(c.dates), seconds/3600, day.Date)
			}
		}
		if len(o.Days) != len(c.dates) {
			t.Errorf("%g hours on %d dates: %d are used", c.hours, len(c.dates), len(o.Days))
		}
		for _, b := range o.Books {
			for _, of := range b.Correlations {
				if math.Abs(of.Value) > 0.6 {
					t.Errorf("%g hours on %d dates, %s: %s goes with %s by %.2f", c.hours, len(c.dates), b.ID, of.With, of.Along, of.Value)
				}
			}
		}
		text := strings.Join(o.Notes, " ")
		if idle := strings.Contains(text, "There is no day for KL"); idle != (len(c.dates) == 1) {
			t.Errorf("%d dates: KL is said to have no day: %v", len(c.dates), idle)
		}
		if untold := strings.Contains(text, "Read at too few openings for their correlations to tell anything"); c.hours == 4 && !untold {
			t.Errorf("%g hours: nothing is said of texts read at one opening each: %s", c.hours, text)
		}
	}
}
