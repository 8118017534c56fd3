package mixed_test

import (
	"context"
	"math"
	"math/rand/v2"
	"os"
	"strings"
	"testing"

	"thumbed/models/mixed"
	"thumbed/models/wording"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

// deviationsOf are the intervals of standard deviations that a fit has unasked.
func deviationsOf(t *testing.T, fit *mixed.Fit) []mixed.Interval {
	t.Helper()
	if err := fit.Infer(context.Background(), mixed.Inferring{}); err != nil {
		t.Fatal(err)
	}
	return fit.Deviations
}

// TestDeviationsOfABalancedLayout: in a balanced one-way layout the intervals are those
// of Satterthwaite (1946, Biometrics Bulletin 2, 110–114): of the difference of two
// mean squares, with degrees of freedom by his equation, and of the residual χ²'s. The
// data are those of Davies and Goldsmith (1972, table 6.1); the mean squares are
// computed here. The tolerance is that of differences of the criterion's gradient.
func TestDeviationsOfABalancedLayout(t *testing.T) {
	data := loadTable(t, "Dyestuff.csv")
	const batches, each = 6, 5
	var means []float64
	within := 0.0
	for b := range batches {
		var y []float64
		for k := range each {
			y = append(y, data.Column("Yield").Number(b*each+k))
		}
		means = append(means, stat.Mean(y, nil))
		within += stat.Variance(y, nil) / batches
	}
	between := each * stat.Variance(means, nil)
	v := (between - within) / each
	df := 2 * v * v / (2 / float64(each*each) * (between*between/(batches-1) + within*within/(batches*(each-1))))
	ends := func(v, df float64) [2]float64 {
		chi := distuv.ChiSquared{K: df}
		return [2]float64{math.Sqrt(v * df / chi.Quantile(0.975)), math.Sqrt(v * df / chi.Quantile(0.025))}
	}
	got := deviationsOf(t, fitted(t, parse(t, dyestuffText), data))
	for k, want := range [][2]float64{ends(v, df), ends(within, batches*(each-1))} {
		if i := got[k]; math.Abs(i.Low/want[0]-1) > 1e-4 || math.Abs(i.High/want[1]-1) > 1e-4 {
			t.Errorf("%s: %g to %g, Satterthwaite's are %g to %g", i.Name, i.Low, i.High, want[0], want[1])
		}
	}
	if words := got[0].Words(wording.Labels{"Batch": "batches"}, nil); words != "standard deviation of the level between batches" {
		t.Errorf("said as %q", words)
	}
}

// TestNoDeviationNearZero: where batches are not shown to differ there is no interval,
// and the reason stands in its place.
func TestNoDeviationNearZero(t *testing.T) {
	i := deviationsOf(t, fitted(t, parse(t, dyestuffText), loadTable(t, "Dyestuff2.csv")))[0]
	if !math.IsNaN(i.Low) || !math.IsNaN(i.High) || !strings.Contains(i.Note, "intervals by profile") {
		t.Errorf("got %+v", i)
	}
	if text, err := i.MarshalJSON(); err != nil || !strings.Contains(string(text), `"high":null`) {
		t.Errorf("written as %s, %v", text, err)
	}
}

// TestDeviationsHoldTheTruth: of invented studies of twelve books the intervals of
// standard deviations hold the truth in 95 of 100, within three standard errors of 200
// studies and 2 % for what is approximate. With THUMBED_SLOW=1 all designs of
// TestCoverage are told; what was found stands at [DeviationInterval].
func TestDeviationsHoldTheTruth(t *testing.T) {
	const studies = 200
	for _, d := range coverageDesigns() {
		own := d.name == "12 books, picture's effect differing by 0.2"
		if !own && os.Getenv("THUMBED_SLOW") == "" || d.few && d.slope == 0 {
			continue
		}
		model, truth := parse(t, d.model), d.truth[3:]
		held, given := make([]int, len(truth)), make([]int, len(truth))
		for k := range studies {
			fit := fitted(t, model, d.draw(d, rand.New(rand.NewPCG(uint64(k), 12))))
			fit.GiveDeviations()
			for j, i := range fit.Deviations {
				if math.IsNaN(i.Low) {
					continue
				}
				given[j]++
				if i.Low <= truth[j] && truth[j] <= i.High {
					held[j]++
				}
			}
		}
		for j, n := range given {
			share := float64(held[j]) / float64(n)
			t.Logf("%s, %s: %d of %d intervals given, %.1f %% hold the truth", d.name, d.spreads[j], n, studies, 100*share)
			if own && (n < studies/2 || share < 0.93-3*math.Sqrt(0.95*0.05/float64(n))) {
				t.Errorf("%s, %s: %d given, %.3f hold the truth", d.name, d.spreads[j], n, share)
			}
		}
	}
}
