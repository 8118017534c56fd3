package kernel_test

import (
	"bytes"
	"context"
	"errors"
	"image/png"
	"regexp"
	"strings"
	"testing"

	"github.com/go-gota/gota/series"
	"github.com/kniren/gota/dataframe"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"

	"thumbed/kernel"
	"thumbed/models/dropoff"
	"thumbed/models/mixed"
	"thumbed/models/readings"
	"thumbed/models/report"
	"thumbed/models/study"
	"thumbed/models/table"
)

// demo is the invented study, run.
func demo(t *testing.T) (*study.Study, *report.Results) {
	t.Helper()
	s, err := study.Open("../testdata/demo")
	if err != nil {
		t.Fatal(err)
	}
	r, err := s.Run(nil)
	if err != nil {
		t.Fatal(err)
	}
	return s, r
}

// Each kind of value has its face; every output has words, and no output needs
// a script or the network.
func TestEveryValueHasAFace(t *testing.T) {
	s, r := demo(t)
	data, err := s.Data()
	if err != nil {
		t.Fatal(err)
	}
	charts, err := r.Figures()
	if err != nil {
		t.Fatal(err)
	}
	fit := r.Models[0].Fit
	pieces, err := dropoff.SegmentBy(dropoff.LevelAndSlope, r.Books[0].Declines[0].Series, dropoff.Options{})
	if err != nil {
		t.Fatal(err)
	}
	tests, errT := fit.TermTests()
	intervals, errI := fit.Profile(0.95)
	diagnosis, errD := fit.Diagnose(context.Background(), mixed.Diagnosing{Simulations: 19, Seed: 1})
	if err := errors.Join(errT, errI, errD); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		value   any
		tables  int      // outputs with HTML
		figures int      // outputs with SVG
		words   []string // that the plain text must have
	}{
		{s, 1, 0, []string{"Four books of hours from Veldermond", "Corvaes", "readings on 9 days"}},
		{s.Books, 1, 0, []string{"Hendemaar", "ii 1⁶ 2⁸ 3⁸⁻¹ (wants 8)"}},
		{s.Books[0], 1, 1, []string{"Collation: ii 1⁶", "Gospel lessons", "ff. 7r–10v", "quire 3, 8 leaves (8 lost)", "quire 6, 9 leaves (4 a single leaf)"}},
		{r.Books[0].Profile, 1, 2, []string{"Texts of", "Hours of the Virgin, Matins"}},
		{r.Books[0].Declines[0], 1, 1, []string{"Matins", "Compline", "of the wear of a page of Matins"}},
		{r.Books[0].Declines[0].Changes, 1, 0, []string{"Number of changes by"}},
		{r.Books[0].Declines[0].Changes.Compared, 1, 0, []string{"Accounts of the series", "broken line"}},
		{r.Books[0].Habits, 1, 1, []string{"Nearest beginning of a section", "adjusted Rand index"}},
		{r.Shared[0].Shared, 1, 0, []string{"no drop", "number 4", "After"}},
		{r.Pairs[0].Difference, 1, 0, []string{"F = ", "Compline"}},
		{pieces, 1, 0, []string{"level and slope in 53 rows"}},
		{fit, 1, 1, []string{"A picture on the page", "What varies between groups", "rows were left out"}},
		{fit.Fixed, 1, 0, []string{"A picture on the page"}},
		{tests, 1, 0, []string{"Whether all coefficients of a term are zero"}},
		{intervals, 1, 0, []string{"Intervals of 95 % by profile likelihood"}},
		{fit.RSquared(), 1, 0, []string{"variance"}},
		{diagnosis, 1, 0, []string{"look at those pages again"}},
		{fit.RandomEffects(), 1, 0, []string{"Corvaes"}},
		{r.Answers, 1, 0, []string{"Do pictures attract handling?"}},
		{r.Answers[0], 1, 0, []string{"Do pictures attract handling?"}},
		{r.Readings, 5, 1, []string{"drift", "11r", "Corvaes"}},
		{data, 1, 0, []string{"office_order", "wear_se"}},
		{data.Frame(), 1, 0, []string{"office_order"}},
		{r, 1, len(charts), []string{"invented data", "The questions asked", "Do pictures attract handling?"}},
		{"a word", 1, 0, []string{"a word"}},
		{1.5, 1, 0, []string{"1.5"}},
		{[]float64{1, 2}, 1, 0, []string{"[1 2]"}},
		{s.Models[0].Model, 1, 0, []string{"outcome = 'wear'", "[[random]]"}},
		{plotted(t), 0, 1, []string{"Wear of a page. Across: page, 0 to 3. Up: values, 0.1 to 0.4."}},
		{mat.NewDense(2, 2, []float64{1, 2, 3, 4}), 1, 0, []string{"2 × 2", "3  4"}},
		{series.New([]int{1, 2}, series.Int, "x"), 1, 0, []string{"2 rows"}},
		{s.Log, 1, 0, []string{"A *readings.Log has no picture", "It has ", "Readings", "table.New"}},
		{nil, 1, 0, []string{"there is no value"}},
	} {
		outputs, err := kernel.Faces(s, c.value)
		if err != nil {
			t.Errorf("%T: %v", c.value, err)
			continue
		}
		tables, figures, plain := 0, 0, ""
		for _, o := range outputs {
			plain += spaced(o.Plain) + "\n"
			checkOutput(t, o)
			if o.HTML != "" {
				tables++
			}
			if o.SVG != nil {
				figures++
			}
		}
		if tables != c.tables || figures != c.figures {
			t.Errorf("%T: %d tables and %d figures; want %d and %d", c.value, tables, figures, c.tables, c.figures)
		}
		for _, want := range c.words {
			if !strings.Contains(plain, want) {
				t.Errorf("%T: the plain text has no %q:\n%s", c.value, want, plain)
			}
		}
	}
}

// plotted is a plot of gonum's.
func plotted(t *testing.T) *plot.Plot {
	t.Helper()
	p := plot.New()
	p.Title.Text, p.X.Label.Text = "Wear of a page", "page"
	line, err := plotter.NewLine(plotter.XYs{{X: 0, Y: 0.1}, {X: 3, Y: 0.4}})
	if err != nil {
		t.Fatal(err)
	}
	p.Add(line)
	return p
}

// spaced is a text with common spaces where it has those that do not break.
func spaced(text string) string {
	return strings.NewReplacer("\u00a0", " ", "\u202f", " ").Replace(text)
}

// carried are typefaces that a drawing holds within itself: nothing is fetched for them.
var carried = regexp.MustCompile(`url\(data:font/woff;base64,[A-Za-z0-9+/=]*\)`)

var reaching = regexp.MustCompile(`<script|<iframe|<link|(?:src|href)="|url\(`)

func checkOutput(t *testing.T, o kernel.Output) {
	t.Helper()
	if strings.TrimSpace(o.Plain) == "" {
		t.Error("an output has no plain text")
	}
	for _, markup := range []string{o.HTML, string(o.SVG)} {
		markup = carried.ReplaceAllString(markup, "")
		if found := reaching.FindString(markup); found != "" {
			t.Errorf("an output has %q", found)
		}
		if strings.Contains(markup, "NaN") {
			t.Errorf("an output shows NaN")
		}
	}
	if (o.SVG == nil) != (o.PNG == nil) {
		t.Error("a figure comes in one form only")
	}
	if o.SVG != nil {
		if !bytes.HasPrefix(o.SVG, []byte("<svg ")) {
			t.Errorf("a figure begins with %.40s; exporters want the drawing alone", o.SVG)
		}
		if !bytes.Contains(o.SVG, []byte("<title")) || !bytes.Contains(o.SVG, []byte("<desc")) {
			t.Error("a figure says nothing to those who cannot see it")
		}
		if _, err := png.Decode(bytes.NewReader(o.PNG)); err != nil {
			t.Errorf("a figure's bitmap: %v", err)
		}
	}
}

func TestWhatNeedsTheStudySaysSo(t *testing.T) {
	_, r := demo(t)
	for _, value := range []any{r.Books[0].Profile, &dropoff.Decline{}, &dropoff.Habits{}, &readings.Result{}, []readings.Wear{}} {
		if _, err := kernel.Faces(nil, value); err == nil || !strings.Contains(err.Error(), "kernel.ShowIn(study, value)") {
			t.Errorf("%T: %v", value, err)
		}
	}
	if _, err := kernel.Faces(nil, errors.New("its own words")); err == nil || err.Error() != "its own words" {
		t.Errorf("an error: %v", err)
	}
}

// page counts the pages of a table and its rows in all.
func pages(html string) (pages, rows int) {
	return strings.Count(html, "<details"), strings.Count(html, "<tr>") - strings.Count(html, "<thead>")
}

func TestLongTablesPage(t *testing.T) {
	for _, c := range []struct{ rows, pages, shown int }{{0, 0, 0}, {1, 0, 1}, {37, 0, 37}, {38, 2, 38}, {100, 4, 100}, {2500, 80, 2000}} {
		numbers := make([]float64, c.rows)
		for i := range numbers {
			numbers[i] = float64(i)
		}
		value, err := table.New(table.Numbers("n", numbers))
		if err != nil {
			t.Fatal(err)
		}
		outputs, err := kernel.Faces(nil, value)
		if err != nil {
			t.Fatal(err)
		}
		gotPages, gotRows := pages(outputs[0].HTML)
		if gotPages != c.pages || gotRows != c.shown {
			t.Errorf("%d rows: %d pages with %d rows; want %d with %d", c.rows, gotPages, gotRows, c.pages, c.shown)
		}
		if strings.Count(outputs[0].HTML, " open>") != min(c.pages, 1) {
			t.Errorf("%d rows: not one page is open", c.rows)
		}
		if told := strings.Contains(outputs[0].Plain, "are not shown here"); told != (c.shown < c.rows) {
			t.Errorf("%d rows: told of the rest: %v", c.rows, told)
		}
	}
}

// Numbers of a column line up on their decimals, and what is missing is empty.
func TestFrames(t *testing.T) {
	frame := dataframe.New(
		series.New([]string{"12r", "<13>r"}, series.String, "page"),
		series.New([]string{"0.5", "NaN"}, series.Float, "wear"),
		series.New([]string{"0.125", "2"}, series.Float, "se"))
	outputs, err := kernel.Faces(nil, frame)
	if err != nil {
		t.Fatal(err)
	}
	want := "A table of 2 rows\n  page   wear     se\n  12r     0.5  0.125\n  <13>r        2.000\n"
	if spaced(outputs[0].Plain) != want {
		t.Errorf("got\n%s\nwant\n%s", outputs[0].Plain, want)
	}
	if !strings.Contains(outputs[0].HTML, "&lt;13&gt;r") {
		t.Errorf("the page is not escaped: %s", outputs[0].HTML)
	}
	broken := frame.Select("none")
	if _, err := kernel.Faces(nil, broken); err == nil || !strings.Contains(err.Error(), "mend the step that made it") {
		t.Errorf("a broken frame: %v", err)
	}
}
