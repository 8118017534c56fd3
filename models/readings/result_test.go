package readings

import (
	"math"
	"strings"
	"testing"

	"thumbed/models/codex"
	"thumbed/models/table"
)

// Replicates that tell a repeatability of 0.01 (two cells of two, 0.0141 apart
// each way) on pages of their own.
const replicates = `ardel,30r,2026-03-09,10:00,D1,ann,page,fixed,1,0.50,,
ardel,30r,2026-03-09,10:00,D1,ann,page,fixed,1,0.52,,
ardel,30r,2026-03-09,10:01,D1,ann,zero,,,0.20,,
ardel,30r,2026-03-09,10:01,D1,ann,zero,,,0.22,,
`

func wearOf(t *testing.T, r *Result, page int) Wear {
	t.Helper()
	for _, w := range r.Wear {
		if w.Page == page {
			return w
		}
	}
	t.Fatalf("page %d has no wear", page)
	return Wear{}
}

func says(t *testing.T, notes []string, words string) {
	t.Helper()
	if !strings.Contains(strings.Join(notes, "\n"), words) {
		t.Errorf("%q is not said in\n%s", words, strings.Join(notes, "\n"))
	}
}

// The plainest page, worked by hand: s_r² = (2·0.01² + 2·0.01²)/2 = 0.0002,
// wear 0.51 − 0.21, variance s_r² (1/2 + 1/2), two degrees of freedom. Rounding
// to 0.01 adds 2 · roundingShare, which is below 1e-7 at this scatter.
func TestWearByHand(t *testing.T) {
	r := mustWear(t, mustLoad(t, replicates), Options{})
	w := wearOf(t, r, 58)
	near(t, "wear", w.Density, 0.30, 1e-12)
	near(t, "standard error", w.SE, math.Sqrt(0.0002), 1e-5)
	near(t, "degrees of freedom", w.DF, 2, 1e-3)
	near(t, "repeatability", r.Precision.Repeatability, math.Sqrt(0.0002), 1e-12)
	near(t, "coverage", w.Coverage, (1-math.Pow(10, -0.3))/(1-math.Pow(10, -1.5)), 1e-12)
	near(t, "its standard error", w.CoverageSE, w.SE*math.Ln10*math.Pow(10, -0.3)/(1-math.Pow(10, -1.5)), 1e-12)
	if w.Placings != 2 || w.Zeros != 2 || w.Sittings != 1 || w.Spot != "fixed" || r.Precision.Cells != 2 || r.Precision.DF != 2 {
		t.Errorf("counted as %+v, %+v", w, r.Precision)
	}
}

// Identical replicates leave the rounding of placing and zero: √(2 r²/12).
func TestIdenticalReplicatesKeepRounding(t *testing.T) {
	r := mustWear(t, mustLoad(t, strings.NewReplacer("0.52", "0.50", "0.22", "0.20").Replace(replicates)), Options{})
	near(t, "standard error", r.Wear[0].SE, 0.01/math.Sqrt(6), 1e-12)
	says(t, r.Notes, "the rounding, which repeating does not average out")
}

func TestLimitsBound(t *testing.T) {
	log := mustLoad(t, replicates+`ardel,1r,2026-03-09,11:00,D1,ann,page,fixed,1,2.00,,
ardel,1r,2026-03-09,11:01,D1,ann,zero,,,0.20,,
ardel,1v,2026-03-09,11:02,D2,ann,page,fixed,1,0.05,,
ardel,1v,2026-03-09,11:03,D2,ann,zero,,,0.06,,
ardel,2r,2026-03-09,11:04,D2,ann,page,fixed,1,0.40,,
ardel,2r,2026-03-09,11:05,D2,ann,zero,,,0.05,,
ardel,2v,2026-03-09,11:06,D2,ann,page,fixed,1,0.05,,
ardel,2v,2026-03-09,11:07,D2,ann,zero,,,0.05,,
ardel,3r,2026-03-09,11:08,D1,ann,page,fixed,1,2.00,,
ardel,3r,2026-03-09,11:09,D1,ann,page,fixed,1,1.99,,
ardel,3r,2026-03-09,11:10,D1,ann,zero,,,0.20,,
`)
	r := mustWear(t, log, Options{})
	rounded := 0.01 / math.Sqrt(12)
	single := math.Sqrt(0.0002)
	for _, c := range []struct {
		page    int
		density float64
		limit   Limit
		se      float64
	}{
		{0, 1.80, Above, math.Hypot(single, rounded)},
		{1, -0.01, Below, math.Hypot(single, rounded)},
		{2, 0.35, Above, math.Hypot(single, rounded)},
	} {
		w := wearOf(t, r, c.page)
		if w.Limit != c.limit {
			t.Errorf("page %d has limit %q", c.page, w.Limit)
		}
		near(t, "bound", w.Density, c.density, 1e-12)
		near(t, "its standard error", w.SE, c.se, 1e-5)
	}
	if w := wearOf(t, r, 4); w.Limit != Measured || !(w.Density > 1.795) || w.AtLimit != 1 {
		t.Errorf("a placing at the ceiling beside one just below gives %+v", w)
	}
	if len(r.Wear) != 5 || r.Counted.Unclear != 1 || r.Counted.AtFloor != 4 || r.Counted.AtCeiling != 2 {
		t.Errorf("%d pages with wear, %+v", len(r.Wear), r.Counted)
	}
	says(t, r.Notes, "On 2 pages the readings stand at the end of the instrument's scale, and the wear is censored: at least")
	says(t, r.Notes, "On 1 page the readings stand at the instrument's floor, and the wear is censored: at most")
	says(t, r.Notes, "nothing can be said of the wear of f. 2v of Invented hours")
	says(t, r.Notes, "1 page is no darker in the thumbed place than on the zero")
	says(t, r.Notes, "maximum likelihood with the former as limits")
}

// One row of tried 1 after another are spots logged one by one: the darkest of
// them is used and their spread found, here √(0.02²·2/2)=0.02 with 2 degrees of
// freedom; a page with two spots tried is brought to the commoner three.
func TestSpotsLoggedOneByOne(t *testing.T) {
	log := mustLoad(t, replicates+`brin,1r,2026-03-09,11:00,D1,ann,page,darkest,1,0.40,,
brin,1r,2026-03-09,11:01,D1,ann,page,darkest,1,0.44,,
brin,1r,2026-03-09,11:02,D1,ann,page,darkest,1,0.42,,
brin,1r,2026-03-09,11:03,D1,ann,zero,,,0.20,,
brin,1v,2026-03-09,11:04,D1,ann,page,darkest,3,0.50,,
brin,1v,2026-03-09,11:05,D1,ann,zero,,,0.20,,
brin,2r,2026-03-09,11:06,D1,ann,page,darkest,2,0.50,,
brin,2r,2026-03-09,11:07,D1,ann,zero,,,0.20,,
`)
	r := mustWear(t, log, Options{SpotSpread: 0.5})
	near(t, "spread", r.Precision.SpotSpread, 0.02, 1e-12)
	near(t, "its degrees of freedom", r.Precision.SpotSpreadDF, 2, 0)
	e2, _ := Largest(2)
	e3, v3 := Largest(3)
	near(t, "darkest of three", r.Wear[1].Density, 0.24, 1e-12)
	near(t, "darkest of three at once", r.Wear[2].Density, 0.30, 1e-12)
	near(t, "darkest of two", r.Wear[3].Density, 0.30+0.02*(e3-e2), 1e-12)
	near(t, "standard error", r.Wear[2].SE, math.Sqrt(0.0004*v3+0.0002), 2e-5)
	says(t, r.Notes, "from 3 spots logged one by one (2 degrees of freedom); the 0.5000 that the study gives was not needed")
	says(t, r.Notes, "brought to the commonest number, 3")
	says(t, r.Notes, "Some pages were read on a fixed spot and others on their darkest spot")
}

func TestEqualSpotsNeedNoSpread(t *testing.T) {
	log := mustLoad(t, replicates+`brin,1v,2026-03-09,11:04,D1,ann,page,darkest,3,0.50,,
brin,1v,2026-03-09,11:05,D1,ann,zero,,,0.20,,
`)
	r := mustWear(t, log, Options{})
	near(t, "wear", r.Wear[1].Density, 0.30, 1e-12)
	says(t, r.Notes, "The darkest of 3 spots was read on every page, so that pages compare without correction")
	if !math.IsNaN(r.Precision.SpotSpread) {
		t.Errorf("a spread of %g came from nowhere", r.Precision.SpotSpread)
	}
}

// A page with both kinds of spot takes that of its book.
func TestBothKindsOfSpot(t *testing.T) {
	log := mustLoad(t, replicates+`brin,1v,2026-03-09,11:04,D1,ann,page,darkest,3,0.50,,
brin,1v,2026-03-09,11:04,D1,ann,page,fixed,,0.40,,
brin,1v,2026-03-09,11:05,D1,ann,zero,,,0.20,,
brin,2v,2026-03-09,11:04,D1,ann,page,darkest,3,0.50,,
brin,2v,2026-03-09,11:05,D1,ann,zero,,,0.20,,
`)
	r := mustWear(t, log, Options{})
	if w := r.Wear[1]; w.Spot != "darkest" || math.Abs(w.Density-0.3) > 1e-12 || w.Placings != 1 {
		t.Errorf("the page is taken as %+v", w)
	}
	says(t, r.Notes, "1 page was read on both a fixed and the darkest spot; their wear is that of the kind commoner in their book, without the other's 1 reading")
}

// An observer without a zero borrows that of another on the day.
func TestSharedZero(t *testing.T) {
	log := mustLoad(t, replicates+`ardel,1r,2026-03-09,11:00,D1,ann,page,fixed,1,0.50,,
ardel,1r,2026-03-09,11:00,D1,bob,page,fixed,1,0.54,,
ardel,1r,2026-03-09,11:01,D1,ann,zero,,,0.20,,
`)
	r := mustWear(t, log, Options{})
	near(t, "wear", r.Wear[0].Density, 0.32, 1e-12)
	near(t, "standard error", r.Wear[0].SE, math.Sqrt(0.0002*1.5), 2e-5)
	says(t, r.Notes, "On 1 page an observer took no zero")
	says(t, r.Notes, "No page was measured by two of the observers ann and bob, so nothing tells what observers differ by. Measure 14 pages or more of each with another too")
}

// Two observers on the same pages, 0.1 apart: s_L² is the variance of their
// wear less that of repeatability, by hand on one page:
// (0.1²/2) − 0.0002 (1/2 + 1/2) = 0.0048.
func TestReproducibility(t *testing.T) {
	more := strings.NewReplacer("ann", "bob", "0.50", "0.60", "0.52", "0.62").Replace(replicates)
	r := mustWear(t, mustLoad(t, replicates+more), Options{})
	near(t, "between", r.Precision.Between, math.Sqrt(0.0048), 1e-5)
	near(t, "reproducibility", r.Precision.Reproducibility, math.Sqrt(0.005), 1e-5)
	if r.Precision.Levels != 1 || strings.Join(r.Precision.Groups, "; ") != "ann with D1; bob with D1" {
		t.Errorf("precision is %+v", r.Precision)
	}
	same := strings.ReplaceAll(replicates, "ann", "bob")
	r = mustWear(t, mustLoad(t, replicates+same), Options{})
	near(t, "between the same", r.Precision.Between, 0, 0)
	says(t, r.Notes, "Placing the instrument anew at another sitting adds nothing to what repeatability explains (1 page measured again)")
}

func TestDriftReport(t *testing.T) {
	log := mustLoad(t, replicates+`,,2026-03-09,09:00,D1,ann,tile,,,0.80,,
,,2026-03-09,17:00,D1,ann,tile,,,0.88,,
,,2026-03-10,09:00,D1,ann,tile,,,0.83,,
ardel,1r,2026-03-10,11:00,D1,ann,page,fixed,1,0.50,,
ardel,1r,2026-03-10,11:01,D1,ann,zero,,,0.20,,
ardel,1v,2026-03-09,17:30,D1,ann,page,fixed,1,0.50,,
ardel,1v,2026-03-09,17:31,D1,ann,zero,,,0.20,,
`)
	r := mustWear(t, log, Options{Drift: DriftOffset})
	if len(r.Drift) != 2 {
		t.Fatalf("drift is %+v", r.Drift)
	}
	near(t, "start", r.Drift[0].Start, 0, 1e-12)
	near(t, "end", r.Drift[0].End, 0.08, 1e-12)
	near(t, "slope", r.Drift[0].Slope, 0.01, 1e-12)
	near(t, "level of a single reading", r.Drift[1].Start, 0.03, 1e-12)
	if !math.IsNaN(r.Drift[1].Slope) || !math.IsNaN(r.Drift[1].P) {
		t.Errorf("a single tile reading shows a slope: %+v", r.Drift[1])
	}
	says(t, r.Notes, "on 1 day: 2026-03-09 (D1) by +0.080")
	says(t, r.Notes, "each day's readings are corrected by its line, as an offset")
	says(t, r.Notes, "drift inside the day cannot be seen, and where a correction is asked for it is level along the day: 2026-03-10 (D1)")
	says(t, r.Notes, "No day has tile readings to spare")
	says(t, r.Notes, "2 readings were taken before the first or after the last tile reading of the day")
}

// A cell with a slip of the pen is pointed out, and no other.
func TestOutlyingCell(t *testing.T) {
	var rows strings.Builder
	for _, page := range []string{"1r", "1v", "2r", "2v", "3r", "3v", "4r", "4v"} {
		rows.WriteString(strings.ReplaceAll(replicates, "30r", page))
	}
	rows.WriteString(strings.NewReplacer("30r", "5r", "0.52", "0.92").Replace(replicates))
	r := mustWear(t, mustLoad(t, rows.String()), Options{})
	says(t, r.Notes, "on f. 5r of Invented hours (page, 2026-03-09). Look there")
	says(t, r.Notes, "Readings repeat less well on the thumbed places")
}

func TestWearRefuses(t *testing.T) {
	cases := []struct {
		name, rows string
		options    Options
		says       string
	}{
		{"nothing kept", "ardel,1r,2026-03-09,11:00,D1,ann,page,fixed,1,0.50,slipped,\n", Options{}, "no kept reading on any page"},
		{"nothing repeated", "ardel,1r,2026-03-09,11:00,D1,ann,page,fixed,1,0.50,,\nardel,1r,2026-03-09,11:00,D1,ann,zero,,,0.20,,\n", Options{}, "place the instrument at least twice"},
		{"repeated only at the floor", "ardel,1r,2026-03-09,11:00,D1,ann,page,fixed,1,0.00,,\nardel,1r,2026-03-09,11:01,D1,ann,page,fixed,1,0.00,,\nardel,1r,2026-03-09,11:02,D1,ann,zero,,,0.00,,\n", Options{}, "stands at the floor or the ceiling"},
		{"unknown drift", replicates, Options{Drift: "linear"}, "choose none, offset, scale or either"},
		{"drift without tile", replicates, Options{Drift: DriftOffset}, `line 2, column target: found "2026-03-09, D1"; expected a tile reading of this instrument on this day`},
		{"negative spread", replicates, Options{SpotSpread: -1}, "a spread of -1 between spots cannot be"},
		{"spread that is no number", replicates, Options{SpotSpread: math.NaN()}, "a spread of NaN"},
		{"negative solid", replicates, Options{Solid: -1}, "a solid density of -1 cannot scale area coverage"},
		{"unequal spots", replicates + `brin,1v,2026-03-09,11:04,D1,ann,page,darkest,3,0.50,,
brin,1v,2026-03-09,11:05,D1,ann,zero,,,0.20,,
brin,2v,2026-03-09,11:04,D1,ann,page,darkest,2,0.50,,
brin,2v,2026-03-09,11:05,D1,ann,zero,,,0.20,,
`, Options{}, "different numbers of spots were tried in search of the darkest (2 and 3)"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			_, err := mustLoad(t, c.rows).Wear(c.options)
			if err == nil || !strings.Contains(err.Error(), c.says) {
				t.Errorf("%q is not said: %v", c.says, err)
			}
		})
	}
}

func TestJoin(t *testing.T) {
	log := mustLoad(t, replicates+"ardel,1r,2026-03-09,11:00,D1,ann,page,fixed,1,2.00,,\nardel,1r,2026-03-09,11:01,D1,ann,zero,,,0.20,,\n")
	r := mustWear(t, log, Options{})
	features := codex.Features(log.books)
	before := len(features.Names())
	joined, err := Join(features, log.books, r)
	if err != nil {
		t.Fatal(err)
	}
	if len(features.Names()) != before || joined.Rows() != features.Rows() {
		t.Error("the features were changed, or rows lost")
	}
	var ps table.Problems
	if !WearSchema().Check(joined, &ps) || ps.Err() != nil {
		t.Errorf("the wear columns are not as their schema says: %v", ps.Err())
	}
	measured := 0
	for i := range joined.Rows() {
		if joined.Column("wear").Missing(i) {
			continue
		}
		measured++
		switch joined.Column("page").Label(i) {
		case "1r":
			if joined.Column("limit").Label(i) != "above" || joined.Column("placings").Numbers[i] != 1 {
				t.Error("page 1r lost its limit")
			}
		case "30r":
			near(t, "wear", joined.Column("wear").Numbers[i], 0.30, 1e-12)
		}
	}
	if measured != 2 {
		t.Errorf("%d rows have wear", measured)
	}
	if _, err := Join(joined, log.books, r); err == nil || !strings.Contains(err.Error(), "rename") {
		t.Errorf("wear is joined twice: %v", err)
	}
	nothing, _ := table.New()
	if _, err := Join(nothing, log.books, r); err == nil {
		t.Error("wear is joined to nothing")
	}
	if _, err := Join(features.Select([]int{3, 4}), log.books, r); err == nil || !strings.Contains(err.Error(), "has wear but no row") {
		t.Errorf("wear without a row is dropped: %v", err)
	}
}

// The text says what the result holds, in lines that fit a page.
func TestText(t *testing.T) {
	log := mustLoad(t, replicates+`,,2026-03-09,09:00,D1,ann,tile,,,0.80,,
,,2026-03-09,17:00,D1,ann,tile,,,0.88,,
ardel,1r,2026-03-09,11:00,D1,ann,page,fixed,1,0.50,corner folded,
`)
	text := mustWear(t, log, Options{}).Text()
	for _, words := range []string{"7 readings in 1 day: 2 kept on the pages, 2 on their zeros and 2 on the tile;\n1 left out.", "repeatability    0.0141    0.0074 to 0.0889   2", "0.000 at 09:00", "+0.080 at 17:00", "+0.0100 ± 0.0025, p = 0.057", "corner folded", "– Area coverage"} {
		if !strings.Contains(text, words) {
			t.Errorf("%q is not in\n%s", words, text)
		}
	}
	for _, line := range strings.Split(text, "\n") {
		if len([]rune(line)) > 115 {
			t.Errorf("a line of %d characters: %s", len([]rune(line)), line)
		}
	}
}

// One observer on one page on two days, 0.1 apart, as in TestReproducibility.
func TestBetweenDays(t *testing.T) {
	more := strings.NewReplacer("03-09", "03-10", "0.50", "0.60", "0.52", "0.62").Replace(replicates)
	r := mustWear(t, mustLoad(t, replicates+more), Options{})
	near(t, "between days", r.Precision.BetweenDays, math.Sqrt(0.0048), 1e-5)
	if r.Precision.Again != 1 || !math.IsNaN(r.Precision.Between) || r.Wear[0].Sittings != 2 {
		t.Errorf("%+v of %+v", r.Precision, r.Wear[0])
	}
	says(t, r.Notes, "What days read too high or too low on a page against its zero differs by a standard deviation of about 0.0500")
}

func TestReversedPageIsPointedOut(t *testing.T) {
	var rows strings.Builder
	for _, page := range []string{"1r", "1v", "2r", "2v", "3r"} {
		rows.WriteString(strings.ReplaceAll(replicates, "30r", page))
	}
	swapped := strings.NewReplacer("30r", "4r", "page,fixed,1", "zero,,", "zero,,", "page,fixed,1").Replace(replicates)
	r := mustWear(t, mustLoad(t, rows.String()+swapped), Options{})
	says(t, r.Notes, "lighter than the zero, beyond measuring error, on f. 4r of Invented hours")
}

func TestScaleThatIsNone(t *testing.T) {
	log := mustLoad(t, replicates+`,,2026-03-09,09:00,D1,ann,tile,,,1.80,,
,,2026-03-09,09:10,D1,ann,tile,,,0.10,,
`)
	if _, err := log.Wear(Options{Drift: DriftScale}); err == nil || !strings.Contains(err.Error(), "make no scale") {
		t.Errorf("a tile that falls to nothing scales readings: %v", err)
	}
}

// Student's t at two degrees of freedom: 4.302653 two-sided and 2.919986
// one-sided (Pearson and Hartley, Biometrika Tables I, table 12; from memory).
func TestInterval(t *testing.T) {
	w := Wear{Density: 0.3, SE: 0.01, DF: 2}
	low, high := w.Interval(0.95)
	near(t, "low", low, 0.3-0.04302653, 1e-7)
	near(t, "high", high, 0.3+0.04302653, 1e-7)
	w.Limit = Above
	low, high = w.Interval(0.95)
	near(t, "low of a bound", low, 0.3-0.02919986, 1e-7)
	if !math.IsInf(high, 1) {
		t.Errorf("a lower bound ends at %g", high)
	}
	w.Limit = Below
	low, high = w.Interval(0.95)
	near(t, "high of a bound", high, 0.3+0.02919986, 1e-7)
	if !math.IsInf(low, -1) {
		t.Errorf("an upper bound begins at %g", low)
	}
}
