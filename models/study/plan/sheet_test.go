package plan_test

import (
	"bytes"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"gonum.org/v1/gonum/stat"

	"thumbed/models/study"
	"thumbed/models/study/plan"
	"thumbed/models/table"
)

func ordered(t testing.TB, text string) *plan.Order {
	t.Helper()
	o, err := opened(t, written(t, text)).Order()
	if err != nil {
		t.Fatal(err)
	}
	return o
}

// TestEveryPageIsReadAsAskedFor: each page has its placings, shared out among
// visits in different sweeps, its zeros at each visit, and some are read again on
// another day; the tile opens, halves and closes every session.
func TestEveryPageIsReadAsAskedFor(t *testing.T) {
	o := ordered(t, assumed)
	placings, visits, days, again := map[string]int{}, map[string]map[string]bool{}, map[string]map[string]bool{}, 0
	for d, day := range o.Days {
		if first, last := day.Steps[0], day.Steps[len(day.Steps)-1]; first.Kind != plan.OnTile || last.Kind != plan.OnTile {
			t.Errorf("%s begins with %s and ends with %s", day.Date, first.Kind, last.Kind)
		}
		tiles := 0
		for k, step := range day.Steps {
			switch step.Kind {
			case plan.OnTile:
				tiles++
			case plan.Rest:
				if day.Steps[k-1].Kind != plan.OnTile || day.Steps[k+1].Kind != plan.OnTile {
					t.Errorf("%s: the rest is not between readings of the tile", day.Date)
				}
			}
			if k > 0 && step.Clock <= day.Steps[k-1].Clock {
				t.Errorf("%s: step %d is planned no later than the one before", day.Date, k)
			}
			for _, page := range step.Pages {
				key := o.Books[step.Book].ID + " " + page.Page
				if visits[key] == nil {
					visits[key], days[key] = map[string]bool{}, map[string]bool{}
				}
				if page.Again {
					again++
					if days[key][day.Date] {
						t.Errorf("%s is measured again on the same day", key)
					}
					continue
				}
				placings[key] += page.Placings
				visits[key][fmt.Sprint(d, step.Sweep)] = true
				days[key][day.Date] = true
				if page.Zeros != 2 || page.Placings < 1 {
					t.Errorf("%s has %d zeros and %d placings at a visit", key, page.Zeros, page.Placings)
				}
			}
		}
		if tiles < 3 {
			t.Errorf("%s has the tile %d times", day.Date, tiles)
		}
	}
	if len(placings) != 60 || again == 0 {
		t.Errorf("%d pages are measured, %d again; 60 were asked for", len(placings), again)
	}
	for key, n := range placings {
		if n != 3 || len(visits[key]) != 2 {
			t.Errorf("%s has %d placings at %d visits; 3 at 2 were asked for", key, n, len(visits[key]))
		}
	}
}

// TestSweepsGoThereAndBack: within a sweep leaves come in the book's order,
// forwards and backwards in turn, so that turns are few.
func TestSweepsGoThereAndBack(t *testing.T) {
	o := ordered(t, strings.NewReplacer("visits     = 2\n", "", "again      = 0.2\n", "again = 0.0\nsweeps = 2\ndays_a_book = 1\n").Replace(assumed))
	for _, day := range o.Days {
		last, book, sweep := 0, -1, 0
		for _, step := range day.Steps {
			if step.Kind != plan.Visit {
				continue
			}
			var leaf int
			if _, err := fmt.Sscanf(step.Pages[0].Page, "%d", &leaf); err != nil {
				t.Fatal(err)
			}
			if step.Book == book && step.Sweep == sweep && (leaf < last) != step.Back {
				t.Errorf("%s: from leaf %d to %d in sweep %d", day.Date, last, leaf, sweep)
			}
			last, book, sweep = leaf, step.Book, step.Sweep
		}
	}
	for _, b := range o.Books {
		if b.Turns != b.Openings || b.Leaves > 2*30 {
			t.Errorf("%s: %d turns to %d openings, %d leaves turned over", b.ID, b.Turns, b.Openings, b.Leaves)
		}
	}
}

// TestTheOrderOfPlacingsIsNotTheBooks: worked out anew from the rows to fill in,
// the order of placings in each book is hardly correlated with the order of its
// leaves; read straight through it would be wholly so.
func TestTheOrderOfPlacingsIsNotTheBooks(t *testing.T) {
	rows := ordered(t, strings.Replace(assumed, "again      = 0.2\n", "again = 0.0\n", 1)).Rows()
	for _, id := range []string{"A", "B"} {
		var order, leaf []float64
		for i := range rows.Rows() {
			if rows.Column("book").Label(i) != id || rows.Column("target").Label(i) != "page" {
				continue
			}
			var n int
			if _, err := fmt.Sscanf(rows.Column("page").Label(i), "%d", &n); err != nil {
				t.Fatal(err)
			}
			order, leaf = append(order, float64(len(order))), append(leaf, float64(n))
		}
		if r := stat.Correlation(order, leaf, nil); math.Abs(r) > 0.15 {
			t.Errorf("%s: correlation %.2f of the order of placings with that of the leaves", id, r)
		}
	}
}

// TestDrawsHelp: the best of many orders is no worse than the first, and the
// same seed gives the same order.
func TestDrawsHelp(t *testing.T) {
	worst := func(o *plan.Order) (worst float64) {
		for _, b := range o.Books {
			for _, c := range b.Correlations {
				worst = math.Max(worst, math.Abs(c.Value))
			}
		}
		return worst
	}
	straight := func(o *plan.Order) (worst float64) { // of single features with the course of the day
		for _, b := range o.Books {
			for _, c := range b.Correlations {
				if c.Along == plan.AlongDay && c.With != "quires" && c.With != "texts" {
					worst = math.Max(worst, math.Abs(c.Value))
				}
			}
		}
		return worst
	}
	one := ordered(t, assumed+"draws = 1\n")
	many := ordered(t, assumed+"draws = 1000\n")
	if !(worst(many) < worst(one)) || worst(many) > 0.15 || straight(many) > 0.1 {
		t.Errorf("the worst correlation is %.3f after one draw and %.3f after many", worst(one), worst(many))
	}
	var a, b bytes.Buffer
	for to, o := range map[*bytes.Buffer]*plan.Order{&a: many, &b: ordered(t, assumed+"draws = 1000\n")} {
		if err := o.Rows().Write(to); err != nil {
			t.Fatal(err)
		}
	}
	if a.String() != b.String() {
		t.Error("the same seed gives another order")
	}
}

// TestAFilledSheetIsAReadingsTable: with densities typed in, the table goes
// through a study as any other: nothing is wrong with it, and every page has its
// wear.
func TestAFilledSheetIsAReadingsTable(t *testing.T) {
	o, err := opened(t, demoPlan).Order()
	if err != nil {
		t.Fatal(err)
	}
	sheet := filepath.Join(t.TempDir(), "sheet")
	if err := o.Write(sheet); err != nil {
		t.Fatal(err)
	}
	if err := o.Write(sheet); err == nil {
		t.Error("a sheet was written over")
	}
	dir := t.TempDir()
	if err := os.CopyFS(dir, os.DirFS("../../../testdata/demo")); err != nil {
		t.Fatal(err)
	}
	var ps table.Problems
	rows := table.ReadFile(filepath.Join(sheet, "readings-to-fill.csv"), &ps)
	if err := ps.Err(); err != nil {
		t.Fatal(err)
	}
	density := rows.Column("density")
	for i := range rows.Rows() {
		if density.Label(i) != "" {
			t.Fatalf("row %d has a density already", i+1)
		}
	}
	text, err := os.ReadFile(filepath.Join(sheet, "readings-to-fill.csv"))
	if err != nil {
		t.Fatal(err)
	}
	lines := strings.Split(string(text), "\n")
	for i, line := range lines[1:] {
		switch { // two hundredths up and down, so that placings repeat as placings do
		case strings.Contains(line, ",tile,"):
			lines[i+1] = strings.Replace(line, ",tile,,,", fmt.Sprintf(",tile,,,0.1%d", 6+i%2), 1)
		case strings.Contains(line, ",zero,"):
			lines[i+1] = strings.Replace(line, ",zero,,,", fmt.Sprintf(",zero,,,0.1%d", 1+i%3), 1)
		case strings.Contains(line, ",page,fixed,"):
			lines[i+1] = strings.Replace(line, ",page,fixed,,", fmt.Sprintf(",page,fixed,,0.2%d", i%3), 1)
		}
	}
	if err := os.WriteFile(filepath.Join(dir, "filled.csv"), []byte(strings.Join(lines, "\n")), 0o644); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(dir, "study.toml")
	file, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	file = regexp.MustCompile(`(?m)^readings .*$`).ReplaceAll(file, []byte(`readings = ["filled.csv"]`))
	if err := os.WriteFile(path, file, 0o644); err != nil {
		t.Fatal(err)
	}
	s, err := study.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	wear, err := s.Wear()
	if err != nil {
		t.Fatal(err)
	}
	if len(wear.Wear) != 80 || wear.Precision.Again+wear.Precision.Levels == 0 {
		t.Errorf("%d pages have wear, %d were measured on two days; the sheet has 80, a tenth of them on two", len(wear.Wear), wear.Precision.Again+wear.Precision.Levels)
	}
}

// TestPagesThatAreNotThereAreTold: the book has 44 pages in its texts.
func TestPagesThatAreNotThereAreTold(t *testing.T) {
	told := func(text string) bool {
		return strings.Contains(strings.Join(ordered(t, text).Notes, " "), "not all can be used")
	}
	if told(assumed) {
		t.Error("a sheet with all the pages asked for says that some lack")
	}
	if more := strings.Replace(assumed, "pages      = 30", "pages      = 50", 1); more == assumed || !told(more) {
		t.Error("a sheet with fewer pages than asked for does not say so")
	}
}

// TestThePrintedSheetHoldsEveryRow: as many boxes as the table has rows, pages
// numbered to the last, the cautions first.
func TestThePrintedSheetHoldsEveryRow(t *testing.T) {
	o := ordered(t, assumed)
	var out bytes.Buffer
	if err := o.Page(&out); err != nil {
		t.Fatal(err)
	}
	page := out.String()
	if boxes := strings.Count(page, `<span class="box`); boxes != o.Rows().Rows() {
		t.Errorf("%d boxes for %d readings", boxes, o.Rows().Rows())
	}
	sheets := strings.Count(page, `<section class="sheet`)
	if !strings.Contains(page, fmt.Sprintf("Page %d of %d", sheets, sheets)) {
		t.Errorf("the last of %d pages does not say so", sheets)
	}
	for _, words := range []string{"conservators", "No contact with loose paint", "A tight or fragile binding", "2026-06-01", "observer: ann", "backwards"} {
		if !strings.Contains(page, words) {
			t.Errorf("the sheet does not say %q", words)
		}
	}
}

// TestWhatASheetCannotBeMadeOf is told.
func TestWhatASheetCannotBeMadeOf(t *testing.T) {
	pilot := piloted(t)
	for _, c := range []struct{ text, told string }{
		{strings.Replace(pilot, `"Tremele"`, `"Tremel"`, 1), `perhaps "Tremele" was meant`},
		{strings.Replace(pilot, `pages       = 40`, `pages       = 400`, 1), "dates"},
		{assumed[:strings.Index(assumed, "[sheet]")], "[sheet]"},
		{assumed + "most_turns = 20\n", "conservators"},
	} {
		if _, err := opened(t, written(t, c.text)).Order(); err == nil || !strings.Contains(err.Error(), c.told) {
			t.Errorf("error %v; expected one that says %q", err, c.told)
		}
	}
}

// TestWhatSweepsKeepApart: four sweeps keep the order of the leaves apart from a drift
// that is straight or goes out and back (each below 0.1); with two the latter lies along
// the book (the triangle's correlation with a parabola is 0.97), and the sheet says so.
// The printed correlations are worked out anew from the rows to fill in.
func TestWhatSweepsKeepApart(t *testing.T) {
	of := func(text string) (*plan.Order, float64, float64) {
		o := ordered(t, text)
		bend, straight := 0.0, 0.0
		for _, b := range o.Books {
			for _, c := range b.Correlations {
				if c.With == "the order of the leaves" && c.Along == plan.AlongBend {
					bend = math.Max(bend, math.Abs(c.Value))
				}
				if c.With == "the order of the leaves" && c.Along == plan.AlongDay {
					straight = math.Max(straight, math.Abs(c.Value))
				}
			}
		}
		return o, straight, bend
	}
	once := strings.NewReplacer("visits     = 2\n", "", "again      = 0.2\n", "again = 0.0\n").Replace(assumed)
	four, straight, bend := of(once)
	if straight > 0.1 || bend > 0.1 {
		t.Errorf("four sweeps: %.3f straight, %.3f bent", straight, bend)
	}
	two, straight, bend := of(once + "sweeps = 2\n")
	if straight > 0.1 || bend < 0.9 {
		t.Errorf("two sweeps: %.3f straight, %.3f bent", straight, bend)
	}
	if text := strings.Join(two.Notes, " "); !strings.Contains(text, "lies along the book") {
		t.Errorf("two sweeps are not said to be what they are: %s", text)
	}
	if four.Books[0].Turns != two.Books[0].Turns || four.Books[0].Leaves <= two.Books[0].Leaves {
		t.Errorf("four sweeps turn %d times over %d leaves, two %d over %d", four.Books[0].Turns, four.Books[0].Leaves, two.Books[0].Turns, two.Books[0].Leaves)
	}
}

// TestOneObserverABookIsSaid: two observers who take days in turn, one day a book.
func TestOneObserverABookIsSaid(t *testing.T) {
	with := func(days string) string {
		text := strings.NewReplacer(`observers  = ["ann"]`, `observers  = ["ann", "bob"]`, "again      = 0.2\n", "again = 0.0\n").Replace(assumed)
		if !strings.Contains(text, "bob") {
			t.Fatal("the plan of the test has changed")
		}
		return strings.Join(ordered(t, text+days).Notes, " ")
	}
	if text := with("days_a_book = 1\n"); !strings.Contains(text, "Measured by one observer alone") {
		t.Errorf("observers confounded with books are not told: %s", text)
	}
	if text := with(""); strings.Contains(text, "Measured by one observer alone") {
		t.Errorf("each book has both observers, and yet: %s", text)
	}
}

// TestEveryPrintedPageNamesItsBook and parts no opening: a page of rows begins with a
// new opening, and says of which book.
func TestEveryPrintedPageNamesItsBook(t *testing.T) {
	for _, text := range []string{assumed, assumed + "sweeps = 2\n"} {
		var out bytes.Buffer
		if err := ordered(t, text).Page(&out); err != nil {
			t.Fatal(err)
		}
		sheets := strings.Split(out.String(), `<section class="sheet`)[2:]
		for k, sheet := range sheets {
			_, rows, _ := strings.Cut(sheet, "<tbody>")
			visits := regexp.MustCompile(`(?s)<tr class="visit">.*?</tr>`).FindAllString(rows, -1)
			if len(visits) == 0 {
				if strings.Contains(sheet, `class="head"`) {
					t.Errorf("page %d is of no book", k+2)
				}
				continue
			}
			if !regexp.MustCompile(`<b>[AB]</b>`).MatchString(visits[0]) || !strings.Contains(visits[0], `class="write"`) {
				t.Errorf("page %d of %d begins with %s", k+2, len(sheets)+1, visits[0])
			}
			if head, _, _ := strings.Cut(sheet, "<table>"); !regexp.MustCompile(`<b>(A|B|A and B)</b>`).MatchString(head) {
				t.Errorf("the head of page %d names no book: %s", k+2, head)
			}
		}
	}
}
