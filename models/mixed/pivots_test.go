package mixed_test

import (
	"context"
	"encoding/json"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"
	"pgregory.net/rapid"

	"thumbed/models/mixed"
	"thumbed/models/table"
)

var slope = map[string]float64{"Days": 1}

func pivotsOf(t *testing.T, fit *mixed.Fit, weights map[string]float64, seed uint64, from, to int) []float64 {
	t.Helper()
	pivots, err := fit.Pivots(context.Background(), weights, seed, from, to, nil)
	if err != nil {
		t.Fatal(err)
	}
	return pivots
}

// TestPivotsOfABalancedDesign: where every subject is measured on the same days,
// the mean slope over its standard error has Student's t with one degree of freedom
// less than there are subjects, exactly unless a variance ends at zero (Searle,
// Casella and McCulloch 1992, chapter 4; Kenward and Roger 1997, section 5), which
// for these data hardly ever happens. Tolerance: four standard errors of a
// quantile over so many outcomes, sqrt(q(1−q)/R) over the density there.
func TestPivotsOfABalancedDesign(t *testing.T) {
	const outcomes = 2999
	fit := inferenceModels["sleepstudy-correlated"].fit(t, "restricted")
	student := distuv.StudentsT{Sigma: 1, Nu: 17}
	pivots := pivotsOf(t, fit, slope, 11, 0, outcomes)
	sorted := slices.Sorted(slices.Values(pivots))
	for _, q := range []float64{0.025, 0.1, 0.25, 0.5, 0.75, 0.9, 0.975} {
		want := student.Quantile(q)
		near(t, "quantile", sorted[int(q*(outcomes+1))-1], want, 0, 4*math.Sqrt(q*(1-q)/outcomes)/student.Prob(want))
	}
	c, err := fit.Contrast("Days", slope)
	if err != nil {
		t.Fatal(err)
	}
	got, err := mixed.Studentise(c, pivots, 0.95)
	if err != nil {
		t.Fatal(err)
	}
	off := 4 * math.Sqrt(0.025*0.975/outcomes) / student.Prob(student.Quantile(0.975)) * c.SE
	near(t, "low", got.Low, c.Low, 0, off)
	near(t, "high", got.High, c.High, 0, off)
	if got.Failed > 0 || got.Above != 1.0/(outcomes+1) || got.Below != 1 {
		t.Errorf("with t = %.2f: %+v", c.T, got)
	}
}

// TestPivotsOfLme4 holds the quantiles of pivots to those that lme4's bootMer
// drew for the same models (testdata/reference/mixed/make-pivots.R). Tolerance: four
// standard errors of the difference of two sample quantiles, the density there
// taken from the reference's own neighbouring quantiles.
func TestPivotsOfLme4(t *testing.T) {
	text, err := os.ReadFile(filepath.Join(references, "inference", "pivots.json"))
	if err != nil {
		t.Fatal(err)
	}
	var all []struct {
		Name, Model, Data, Term string
		Outcomes                int
		Shares, Quantiles       []float64
	}
	if err := json.Unmarshal(text, &all); err != nil {
		t.Fatal(err)
	}
	for _, ref := range all {
		t.Run(ref.Name, func(t *testing.T) {
			const outcomes = 1999
			fit := fitted(t, parse(t, ref.Model), loadTable(t, ref.Data))
			sorted := slices.Sorted(slices.Values(pivotsOf(t, fit, map[string]float64{ref.Term: 1}, 3, 0, outcomes)))
			for k := 1; k < len(ref.Shares)-1; k++ {
				q := ref.Shares[k]
				density := (ref.Shares[k+1] - ref.Shares[k-1]) / (ref.Quantiles[k+1] - ref.Quantiles[k-1])
				off := 4 * math.Sqrt(q*(1-q)*(1.0/outcomes+1/float64(ref.Outcomes))) / density
				near(t, "quantile", sorted[int(math.Round(q*(outcomes+1)))-1], ref.Quantiles[k], 0, off)
			}
		})
	}
}

// TestPivotsShared: outcomes have the same pivots however they are shared out, and
// on any number of cores.
func TestPivotsShared(t *testing.T) {
	fit := inferenceModels["sleepstudy-correlated"].fit(t, "restricted")
	whole := pivotsOf(t, fit, slope, 5, 0, 40)
	rapid.Check(t, func(r *rapid.T) {
		defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(rapid.IntRange(1, 4).Draw(r, "cores")))
		at := rapid.IntRange(0, 40).Draw(r, "at")
		if parts := append(pivotsOf(t, fit, slope, 5, 0, at), pivotsOf(t, fit, slope, 5, at, 40)...); !slices.Equal(parts, whole) {
			t.Errorf("shared out at %d the pivots are others", at)
		}
	})
}

// TestPivotsMove: the pivots of a fit are those of a fit to outcomes moved along
// the effect, so that they stand for outcomes drawn with no effect too. Tolerance:
// where two descents stop.
func TestPivotsMove(t *testing.T) {
	data := loadTable(t, "sleepstudy.csv")
	moved, err := table.New()
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range data.Columns() {
		if c.Name == "Reaction" {
			values := make([]float64, data.Rows())
			for i := range values {
				values[i] = c.Number(i) - 10.467*data.Column("Days").Number(i)
			}
			c = table.Numbers("Reaction", values)
		}
		if err := moved.Add(c); err != nil {
			t.Fatal(err)
		}
	}
	m := parse(t, sleepText)
	with, without := pivotsOf(t, fitted(t, m, data), slope, 2, 0, 30), pivotsOf(t, fitted(t, m, moved), slope, 2, 0, 30)
	for k := range with {
		near(t, "pivot", without[k], with[k], 0, 2e-3)
	}
}

// TestStudentise: the interval leaves out zero where, and only where, twice the
// smaller p is at most 0.05; the ends move with the estimate and stretch with its
// standard error; outcomes that could not be refitted never help a finding.
func TestStudentise(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 0))
		pivots := make([]float64, 39+20*rapid.IntRange(0, 50).Draw(t, "more"))
		for k := range pivots {
			pivots[k] = r.NormFloat64() + 0.3
		}
		c := mixed.Coefficient{Estimate: rapid.Float64Range(-4, 4).Draw(t, "estimate"), SE: rapid.Float64Range(0.1, 2).Draw(t, "se")}
		got, err := mixed.Studentise(c, pivots, 0.95)
		if err != nil {
			t.Fatal(err)
		}
		if len(pivots)%40 == 39 && (got.Low > 0 || got.High < 0) != (2*min(got.Above, got.Below) <= 0.05+1e-12) {
			t.Errorf("of %d pivots the interval is %g to %g, but p %g and %g", len(pivots), got.Low, got.High, got.Above, got.Below)
		}
		failed := slices.Clone(pivots)
		failed[r.IntN(len(failed))] = math.NaN()
		if other, err := mixed.Studentise(c, failed, 0.95); err == nil && (other.Low > got.Low || other.High < got.High || other.Above < got.Above || other.Below < got.Below || other.Failed != 1) {
			t.Errorf("with one outcome without a fit %+v, else %+v", other, got)
		}
	})
	few := make([]float64, 38)
	if _, err := mixed.Studentise(mixed.Coefficient{SE: 1}, few, 0.95); err == nil || mixed.FewestPivots(0.95) != 39 || mixed.FewestPivots(0.99) != 199 {
		t.Errorf("38 pivots give an interval (%v)", err)
	}
	lost := make([]float64, 999)
	for k := range 40 {
		lost[k] = math.NaN()
	}
	if _, err := mixed.Studentise(mixed.Coefficient{SE: 1}, lost, 0.95); err == nil {
		t.Error("an interval is given where more outcomes than its tails hold have no fit")
	}
}

// TestPivotsSay: what cannot be, and why.
func TestPivotsSay(t *testing.T) {
	fit := inferenceModels["sleepstudy-correlated"].fit(t, "restricted")
	if _, err := fit.Pivots(context.Background(), map[string]float64{"Nights": 1}, 0, 0, 10, nil); err == nil {
		t.Error("an unknown effect has pivots")
	}
	ctx, stop := context.WithCancel(context.Background())
	stop()
	if _, err := fit.Pivots(ctx, slope, 0, 0, 10, nil); err == nil {
		t.Error("an ended context is not told")
	}
}
