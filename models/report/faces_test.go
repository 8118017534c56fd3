package report

import (
	"bytes"
	"encoding/json"
	"maps"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"

	"github.com/google/go-cmp/cmp"

	"thumbed/models/dropoff"
	"thumbed/models/table"
	"thumbed/models/wording"
)

// numbersIn gathers every number of a JSON value.
func numbersIn(t *testing.T, data []byte) map[float64]bool {
	t.Helper()
	var value any
	if err := json.Unmarshal(data, &value); err != nil {
		t.Fatal(err)
	}
	out := map[float64]bool{}
	var walk func(any)
	walk = func(v any) {
		switch v := v.(type) {
		case float64:
			out[v] = true
		case []any:
			for _, e := range v {
				walk(e)
			}
		case map[string]any:
			for _, e := range v {
				walk(e)
			}
		}
	}
	walk(value)
	return out
}

func jsonOf(t *testing.T, r *Results) []byte {
	t.Helper()
	data, err := r.JSON()
	if err != nil {
		t.Fatal(err)
	}
	return data
}

func pageOf(t *testing.T, r *Results) string {
	t.Helper()
	var page bytes.Buffer
	if err := r.page(&page, fixtureFigures(t)); err != nil {
		t.Fatal(err)
	}
	return page.String()
}

// fixtureFigures are the fixture's figures, drawn once for all tests of pages.
func fixtureFigures(t *testing.T) []Figure {
	t.Helper()
	drawOnce.Do(func() { drawnOnce = figuresOf(t, fixture(t)) })
	return drawnOnce
}

var (
	drawOnce  sync.Once
	drawnOnce []Figure
)

var dataElement = regexp.MustCompile(`<data value="([^"]*)">([^<]*)</data>`)

// TestPageShowsTheJSON: every number of the page's tables is a number of the
// JSON to the last digit, and what is shown of it is that number rounded to the
// digits shown.
func TestPageShowsTheJSON(t *testing.T) {
	r := fixture(t)
	known := numbersIn(t, jsonOf(t, r))
	cells := dataElement.FindAllStringSubmatch(pageOf(t, r), -1)
	if len(cells) < 1000 {
		t.Fatalf("only %d numbers on the page", len(cells))
	}
	for _, c := range cells {
		v, err := strconv.ParseFloat(c[1], 64)
		if err != nil {
			t.Fatal(err)
		}
		if !known[v] {
			t.Errorf("%v is on the page but not in the JSON", v)
		}
		if !showsValue(c[2], v) {
			t.Errorf("%v is shown as %q", v, c[2])
		}
	}
}

// read reads a typeset number back.
func read(text string) (float64, error) {
	return strconv.ParseFloat(strings.NewReplacer(wording.Minus, "-", wording.Narrow, "").Replace(text), 64)
}

// showsValue tells whether the text is v rounded, as a number or per cent, or a
// bound that v keeps.
func showsValue(text string, v float64) bool {
	text = strings.NewReplacer("&lt;", "<", "&gt;", ">", wording.Narrow+"%", "%", wording.NoBreak, " ").Replace(text)
	text, _, _ = strings.Cut(text, " of ")
	for prefix, holds := range map[string]func(bound float64) bool{
		"< ": func(b float64) bool { return v < b }, "> ": func(b float64) bool { return v > b },
		"below ": func(b float64) bool { return v < b }, "above ": func(b float64) bool { return v > b },
	} {
		if rest, ok := strings.CutPrefix(text, prefix); ok {
			bound, err := read(rest)
			return err == nil && holds(bound)
		}
	}
	digits, percent := strings.CutSuffix(text, "%")
	got, err := read(digits)
	if err != nil {
		return false
	}
	_, decimals, _ := strings.Cut(digits, ".")
	half := 0.5 * math.Pow(10, -float64(len(decimals))) * (1 + 1e-9)
	// Shares in an interval stand without their own sign: "31 to 46 %".
	return math.Abs(got-v) <= half || math.Abs(got-100*v) <= half && (percent || len(decimals) == 0)
}

// TestTablesShowTheJSON: every number of the CSV tables, those that only count
// rows left aside, is in the JSON to the last digit.
func TestTablesShowTheJSON(t *testing.T) {
	r := fixture(t)
	known := numbersIn(t, jsonOf(t, r))
	derived := map[string]bool{"levels": true, "answers contrast": true}
	checked := 0
	for name, tab := range r.Tables() {
		for _, c := range tab.Columns() {
			if !c.IsNumber() || derived[name] || derived[name+" "+c.Name] {
				continue
			}
			for i, v := range c.Numbers {
				if checked++; !math.IsNaN(v) && !known[v] {
					t.Errorf("table %s, column %s, row %d: %v is not in the JSON", name, c.Name, i+1, v)
				}
			}
		}
	}
	if checked < 3000 {
		t.Errorf("only %d numbers were looked at", checked)
	}
}

// TestTablesKeepTheirSchemas: each CSV file, read back as any table of the
// scholar's is, has no problem by the schema beside it.
func TestTablesKeepTheirSchemas(t *testing.T) {
	r := fixture(t)
	dir := t.TempDir()
	if err := r.Write(dir); err != nil {
		t.Fatal(err)
	}
	schemas := r.Schemas()
	for name := range r.Tables() {
		path := filepath.Join(dir, "tables", name+".csv")
		var problems table.Problems
		read := table.ReadFile(path, &problems)
		if read != nil {
			schemas[name].Check(read, &problems)
			for _, f := range schemas[name].Fields {
				if f.Description == "" {
					t.Errorf("%s: column %s is not described", name, f.Name)
				}
			}
			if got, want := len(read.Names()), len(schemas[name].Fields); got != want {
				t.Errorf("%s has %d columns, its schema %d", name, got, want)
			}
		}
		if err := problems.Err(); err != nil {
			t.Error(err)
		}
		onDisk, err := os.ReadFile(table.SchemaPath(path))
		if err != nil {
			t.Fatal(err)
		}
		var schema table.Schema
		if err := json.Unmarshal(onDisk, &schema); err != nil {
			t.Errorf("schema of %s: %v", name, err)
		}
	}
}

// TestJSONOfMissingNumbers: a NaN and an infinity are null, and each is named
// with the reason.
func TestJSONOfMissingNumbers(t *testing.T) {
	data := jsonOf(t, fixture(t))
	var value struct {
		Answers []struct {
			Effect struct{ Low, High *float64 }
		}
		Readings struct {
			Precision map[string]any
		}
		Models []struct {
			Fit *struct{ Seconds float64 }
		}
		Missing []missingNumber
	}
	if err := json.Unmarshal(data, &value); err != nil {
		t.Fatal(err)
	}
	if value.Answers[1].Effect.Low != nil || value.Answers[1].Effect.High == nil {
		t.Error("an open lower end is not null, or its upper end is")
	}
	if spread, ok := value.Readings.Precision["spot_spread"]; !ok || spread != nil {
		t.Errorf("an unknown spread is %v", spread)
	}
	for _, m := range value.Models {
		if m.Fit != nil && m.Fit.Seconds != 0 {
			t.Errorf("the JSON tells how long a fit took: %v", m.Fit.Seconds)
		}
	}
	for _, want := range []missingNumber{{"answers[1].effect.low", "without bound"}, {"readings.precision.spot_spread", "not known or not stated"}} {
		if !slices.Contains(value.Missing, want) {
			t.Errorf("the missing numbers do not name %v", want)
		}
	}
	if bytes.Contains(data, []byte("NaN")) || bytes.Contains(data, []byte("Inf")) {
		t.Error("the JSON holds NaN or Inf")
	}
}

// TestFacesRepeat: all faces are the same bytes when made again, and whatever
// the clock said of the fits.
func TestFacesRepeat(t *testing.T) {
	first, second := t.TempDir(), t.TempDir()
	r := fixture(t)
	if err := r.Write(first); err != nil {
		t.Fatal(err)
	}
	for _, m := range r.Models {
		if m.Fit != nil {
			m.Fit.Seconds = 99
		}
	}
	if err := r.Write(second); err != nil {
		t.Fatal(err)
	}
	a, b := filesIn(t, first), filesIn(t, second)
	if diff := cmp.Diff(slices.Sorted(maps.Keys(a)), slices.Sorted(maps.Keys(b))); diff != "" {
		t.Fatal(diff)
	}
	for name := range a {
		if !bytes.Equal(a[name], b[name]) {
			t.Errorf("%s is not the same the second time", name)
		}
	}
	for _, want := range []string{"index.html", "results.json", "figures/wear-mw1.svg", "figures/wear-mw1.pdf", "figures/wear-mw1.png", "tables/wear.csv", "tables/wear.schema.json"} {
		if a[want] == nil {
			t.Errorf("%s was not written", want)
		}
	}
}

func filesIn(t *testing.T, dir string) map[string][]byte {
	t.Helper()
	out := map[string][]byte{}
	err := filepath.WalkDir(dir, func(path string, entry os.DirEntry, err error) error {
		if err != nil || entry.IsDir() {
			return err
		}
		name, err := filepath.Rel(dir, path)
		if err != nil {
			return err
		}
		out[filepath.ToSlash(name)], err = os.ReadFile(path)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// TestFacesOfLittle: results with nothing in them, or with parts missing, have
// every face, and say what is missing.
func TestFacesOfLittle(t *testing.T) {
	full := fixture(t)
	for name, r := range map[string]*Results{
		"nothing":     {},
		"no readings": {Meta: full.Meta, Books: []BookResult{{Book: full.Books[2].Book, Failed: []string{"no page was measured"}}}},
		"no book":     {Meta: full.Meta, Readings: full.Readings, Models: full.Models, Answers: full.Answers},
		"empty set":   {Books: []BookResult{{Book: full.Books[0].Book, Declines: []*dropoff.Decline{{Set: "", Refused: "no page of these hours was measured"}}}}},
	} {
		if name == "no book" {
			readings := *full.Readings
			readings.Wear = nil
			r.Readings = &readings
		}
		if err := r.Write(t.TempDir()); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		var made strings.Builder
		if err := r.Page(&made); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		page := made.String()
		for _, want := range map[string][]string{
			"nothing": {"There were no readings to use"}, "no readings": {"No page was measured"}, "empty set": {"no page of these hours was measured"},
		}[name] {
			if !strings.Contains(strings.ToLower(page), strings.ToLower(want)) {
				t.Errorf("%s: the page does not say %q", name, want)
			}
		}
		if strings.Contains(fontData.ReplaceAllString(page, ""), "NaN") {
			t.Errorf("%s: the page shows NaN", name)
		}
	}
}

func TestWriteNeedsAFolder(t *testing.T) {
	if err := fixture(t).Write(filepath.Join(t.TempDir(), "none")); err == nil {
		t.Error("writing into a folder that is not there passes")
	}
}
