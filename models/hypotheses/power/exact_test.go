package power_test

import (
	"context"
	"math"
	"os"
	"testing"

	"gonum.org/v1/gonum/integrate/quad"
	"gonum.org/v1/gonum/stat/distuv"

	"thumbed/models/hypotheses"
	"thumbed/models/hypotheses/power"
	"thumbed/models/mixed"
	"thumbed/models/readings"
	"thumbed/models/table"
)

// noncentral is the probability that a noncentral t with df degrees of freedom
// exceeds q: ∫ Φ(δ − q·s) over the distribution of s = √(χ²/df).
func noncentral(q, df, delta float64) float64 {
	chi := distuv.ChiSquared{K: df}
	f := func(v float64) float64 {
		return distuv.UnitNormal.CDF(delta-q*math.Sqrt(v/df)) * chi.Prob(v)
	}
	return quad.Fixed(f, chi.Quantile(1e-10), chi.Quantile(1-1e-12), 400, nil, 0)
}

// twoSided is the power of a two-sided t test at 5 %, both tails.
func twoSided(df, delta float64) float64 {
	q := distuv.StudentsT{Sigma: 1, Nu: df}.Quantile(0.975)
	return noncentral(q, df, delta) + noncentral(q, df, -delta)
}

// TestTheExactPowerIsThePublishedOne holds the formula that the simulation is
// held against to published values: the example of R's power.t.test (package
// stats, "n = 20, delta = 1, sd = 1": 0.8689528), and Cohen (1988, Statistical
// Power Analysis for the Behavioral Sciences, 2nd edition, table 2.3.5, two-tailed
// 5 %: d = 0.50 with n = 64 has 0.80, d = 0.80 with n = 26 has 0.80, from memory,
// to their two printed digits).
func TestTheExactPowerIsThePublishedOne(t *testing.T) {
	for _, c := range []struct{ n, d, want, within float64 }{{20, 1, 0.8689528, 1e-6}, {64, 0.5, 0.80, 0.006}, {26, 0.8, 0.80, 0.01}} {
		if got := twoSided(2*c.n-2, c.d*math.Sqrt(c.n/2)); math.Abs(got-c.want) > c.within {
			t.Errorf("n = %g, d = %g: %.7f; published %g", c.n, c.d, got, c.want)
		}
	}
}

// book is a book of so many pages, half of them with a picture.
func book(t testing.TB, pages int) *table.Table {
	t.Helper()
	picture := make([]string, pages)
	name := make([]string, pages)
	for i := range picture {
		name[i], picture[i] = "one", "no"
		if i%2 == 1 {
			picture[i] = "yes"
		}
	}
	b, err := table.New(table.Labels("book", name), table.Labels("picture", picture))
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// exactly measures without error, so that only the model's own variation counts.
var exactly = power.Measuring{Instrument: readings.Instrument{Floor: -10, Ceiling: 10}, OnPage: 1e-6, OnZero: 1e-6, Zeros: 1}

func picture() hypotheses.Question {
	return hypotheses.Question{Words: "Do pictures attract handling?", Contrast: map[string]float64{"picture=yes": 1}}
}

// simulated runs one design and gives what it comes to.
func simulated(t *testing.T, s power.Setting) power.Tried {
	t.Helper()
	campaigns, err := s.Run(context.Background(), 0, s.Pieces(), nil)
	if err != nil {
		t.Fatal(err)
	}
	r, err := s.Summarise(campaigns)
	if err != nil {
		t.Fatal(err)
	}
	return r.Designs[0]
}

// replicates is how many campaigns each comparison draws; THUMBED_SLOW=1 draws
// many more, so that smaller departures are seen.
var replicates = func() int {
	if os.Getenv("THUMBED_SLOW") != "" {
		return 40_000
	}
	return 1000
}()

// hold fails where a share of the replicates is further than four of its
// standard errors from what it should be.
func hold(t *testing.T, what string, got, want float64) {
	t.Helper()
	if se := math.Sqrt(want * (1 - want) / float64(replicates)); math.Abs(got-want) > 4*se {
		t.Errorf("%s: %.4f simulated, %.4f exact (%.1f standard errors)", what, got, want, (got-want)/se)
	} else {
		t.Logf("%s: %.4f simulated, %.4f exact", what, got, want)
	}
}

// TestSimulatedPowerIsExact holds the simulated power, false claims and mean
// width to the noncentral t where that is exact: two samples of pages without
// random terms; the slope of each book (one sample of books); and a column
// between books, balanced (one-way random effects, two samples of books: Searle,
// Casella and McCulloch 1992, section 3.3).
func TestSimulatedPowerIsExact(t *testing.T) {
	pictures := mixed.Model{Outcome: "wear", Fixed: []mixed.Term{{"picture"}}, Levels: map[string][]string{"picture": {"no", "yes"}}}
	base := power.Setting{Model: pictures, Question: picture(), Level: 0.05, Measuring: exactly, Replicates: replicates, Seed: 11}

	two := base
	two.Books, two.Effect = []*table.Table{book(t, 40)}, 0.1
	two.Truth = mixed.Parameters{Residual: mixed.ResidualFit{SD: 0.1}}
	two.Designs = []power.Design{{Books: 1, Pages: 40, Placings: 1}}
	got := simulated(t, two)
	hold(t, "two samples, power", got.Power.Value, 0.8689528)
	hold(t, "two samples, false claims", got.False.Value, 0.05)
	// E(s) = σ√(2/ν)Γ((ν+1)/2)/Γ(ν/2); the width is 2·t·s·√(2/n)
	lnG := func(x float64) float64 { v, _ := math.Lgamma(x); return v }
	mean := 0.1 * math.Sqrt(2.0/38) * math.Exp(lnG(39.0/2)-lnG(19))
	width := 2 * distuv.StudentsT{Sigma: 1, Nu: 38}.Quantile(0.975) * mean * math.Sqrt(2.0/20)
	if math.Abs(got.Width-width) > 4*width/math.Sqrt(2*38*float64(replicates)) {
		t.Errorf("the mean width is %.5f; exact %.5f", got.Width, width)
	}

	directed := two
	directed.Question.Direction = "more"
	got = simulated(t, directed)
	q := distuv.StudentsT{Sigma: 1, Nu: 38}.Quantile(0.975)
	hold(t, "directed, power", got.Power.Value, noncentral(q, 38, math.Sqrt(10)))
	hold(t, "directed, false claims", got.False.Value, 0.025)

	slopes := base
	slopes.Model.Random = []mixed.Random{{By: []string{"book"}, Terms: []string{"intercept", "picture"}, Correlated: true}}
	slopes.Books, slopes.Effect = []*table.Table{book(t, 40)}, 0.06
	slopes.Truth = mixed.Parameters{Residual: mixed.ResidualFit{SD: 0.03},
		Random: []mixed.RandomFit{{Terms: []string{"intercept", "picture=yes"}, SD: []float64{0.07, 0.05}, Correlation: [][]float64{{1, 0.3}, {0.3, 1}}}}}
	slopes.Designs = []power.Design{{Books: 8, Pages: 40, Placings: 1}}
	got = simulated(t, slopes)
	sd := math.Sqrt(0.05*0.05 + 0.03*0.03*2/20)
	hold(t, "a slope by book, power", got.Power.Value, twoSided(7, 0.06/sd*math.Sqrt(8)))
	hold(t, "a slope by book, false claims", got.False.Value, 0.05)

	between := base
	between.Model = mixed.Model{Outcome: "wear", Fixed: []mixed.Term{{"owner"}}, Random: []mixed.Random{{By: []string{"book"}, Terms: []string{"intercept"}}}}
	between.Question.Contrast = map[string]float64{"owner=lay": 1}
	between.Books, between.Effect = []*table.Table{book(t, 20)}, 0.1
	between.ByBook = []power.BookColumn{{Name: "owner", Labels: []string{"abbey", "lay"}, Shares: []float64{0.5, 0.5}}}
	between.Truth = mixed.Parameters{Residual: mixed.ResidualFit{SD: 0.05}, Random: []mixed.RandomFit{{Terms: []string{"intercept"}, SD: []float64{0.06}}}}
	between.Designs = []power.Design{{Books: 12, Pages: 20, Placings: 1}}
	got = simulated(t, between)
	variance := 0.06*0.06 + 0.05*0.05/20
	hold(t, "between books, power", got.Power.Value, twoSided(10, 0.1/math.Sqrt(2*variance/6)))
	hold(t, "between books, false claims", got.False.Value, 0.05)
}

// TestPlacingsCount: where placings repeat badly, the power is that of pages
// whose spread holds the error of page and zero, σ² + s²(1/placings + 1/zeros).
func TestPlacingsCount(t *testing.T) {
	s := power.Setting{Model: mixed.Model{Outcome: "wear", Fixed: []mixed.Term{{"picture"}}, Levels: map[string][]string{"picture": {"no", "yes"}}},
		Question: picture(), Level: 0.05, Effect: 0.1, Replicates: replicates, Seed: 5, Books: []*table.Table{book(t, 40)},
		Truth: mixed.Parameters{Residual: mixed.ResidualFit{SD: 0.06}}, Measuring: exactly, Designs: []power.Design{{Books: 1, Pages: 40, Placings: 4}}}
	s.OnPage, s.OnZero, s.Zeros = 0.12, 0.12, 2
	sd := math.Sqrt(0.06*0.06 + 0.12*0.12*(1.0/4+1.0/2))
	hold(t, "power", simulated(t, s).Power.Value, twoSided(38, 0.1/sd*math.Sqrt(10)))
}
