package mixed

import (
	"context"
	"fmt"
	"math"
	"slices"
)

// Pivots draws outcomes numbered from up to but not including to, as
// [Fit.Bootstrap] does, refits the model to each, and gives for each how far the
// contrast came out from the fitted one, in standard errors of its own:
// (c* − c)/se*, times the share of the fit's own standard error that holds the
// variances for known. Weights are as in [Fit.Contrast]. Outcome k depends on the seed
// and on k alone, so that outcomes can be shared out among machines. Where a refit
// did not converge, its pivot is NaN. progress, where given, is told how many are
// done of how many, from one goroutine at a time.
//
// It fails where the model cannot be refitted to other outcomes (bounds told row
// by row), where the weights fit no effects, and where ctx ends.
func (f *Fit) Pivots(ctx context.Context, weights map[string]float64, seed uint64, from, to int, progress func(done, of int)) ([]float64, error) {
	w, err := f.contrastWeights("the contrast", weights)
	if err != nil {
		return nil, err
	}
	if err := f.model.CanRefit(); err != nil {
		return nil, err
	}
	// pivots are for the standard error that the fit reports, which those of the
	// refits, with their variances held for known, fall short of
	plain, _, _ := f.plainContrast("", w)
	short := plain.SE / f.contrast("", w).SE
	pivots := make([]float64, to-from)
	o := Bootstrapping{Replicates: to - from, Seed: seed, Progress: progress, first: from}
	err = f.replicate(ctx, o, func() replicator {
		r := f.Refitter()
		return func(k int, outcome []float64) error {
			refit, err := r.Refit(outcome)
			if pivots[k] = math.NaN(); err == nil && refit.Converged {
				se := refit.Sigma * r.length(func(row []float64) { copy(row, w) })
				pivots[k] = (inner(w, refit.Fixed) - plain.Estimate) / se * short
			}
			return nil
		}
	})
	return pivots, err
}

// Studentised is the bootstrap-t of a contrast: its interval and tests by the
// pivots' own distribution in place of Student's t.
type Studentised struct {
	Outcomes int     // drawn
	Failed   int     // of them without a refit that converged: they count as far out on either side
	Low      float64 // ends of the interval
	High     float64
	Above    float64 // p against no effect, where more is asked: small where the contrast lies far above zero
	Below    float64 // the same where less is asked
}

// Studentise gives the interval of a contrast that holds the truth with
// probability level, and its one-sided tests against zero, from the pivots of
// outcomes drawn from the fit that c is of ([Fit.Pivots]):
// c − se·t*(1−α/2) to c − se·t*(α/2), the quantiles being the (R+1)·α-th of R
// pivots in order (Davison and Hinkley 1997, section 5.2); and
// p = (1 + how many pivots are at least as far out as c/se) / (1 + R) (section
// 4.4). Where (R+1)·α/2 is a whole number, as with 999 pivots and 95 %, twice the
// smaller p is at most α where, and only where, the interval leaves out zero.
//
// A weighted sum of fixed effects moves with the mean that outcomes are drawn
// about, and its standard error does not, so that the pivots are those that
// outcomes drawn with no effect would give with the same variances: the tests need
// no second set of outcomes. (With a limit that holds but nearly.)
//
// It fails where there are too few pivots for the interval to have ends.
func Studentise(c Coefficient, pivots []float64, level float64) (Studentised, error) {
	out := Studentised{Outcomes: len(pivots)}
	up, down := make([]float64, len(pivots)), make([]float64, len(pivots))
	copy(up, pivots)
	copy(down, pivots)
	for k, v := range pivots {
		if math.IsNaN(v) {
			out.Failed++
			up[k], down[k] = math.Inf(1), math.Inf(-1)
		}
	}
	slices.Sort(up)
	slices.Sort(down)
	out.Low = c.Estimate - c.SE*orderStatistic(up, (1+level)/2)
	out.High = c.Estimate - c.SE*orderStatistic(down, (1-level)/2)
	if len(pivots) < FewestPivots(level) || !finite(out.Low) || !finite(out.High) {
		return out, fmt.Errorf("of %d outcomes drawn %d could be refitted, too few for an interval: draw more, or simplify the model's random terms", len(pivots), len(pivots)-out.Failed)
	}
	t := c.Estimate / c.SE
	above, below := 1, 1
	for k := range pivots {
		if up[k] >= t {
			above++
		}
		if down[k] <= t {
			below++
		}
	}
	out.Above, out.Below = float64(above)/float64(1+len(pivots)), float64(below)/float64(1+len(pivots))
	return out, nil
}

// FewestPivots is the least number of outcomes from which an interval has ends.
func FewestPivots(level float64) int {
	return int(math.Ceil(2/(1-level)-1e-9)) - 1
}
