package dropoff

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// longSeries is a series of n rows with a change of two and a half standard
// deviations after every thousand rows, and some noise that is alike.
func longSeries(n int, rho float64) Series {
	rng := rand.New(rand.NewPCG(3, 9))
	s := Series{Values: make([]float64, n)}
	last := 0.0
	for i := range s.Values {
		last = rho*last + math.Sqrt(1-rho*rho)*rng.NormFloat64()
		s.Values[i] = 2.5*float64(i/1000%2) + last
	}
	return s
}

// TestLongSeries: in twenty thousand rows each of the nineteen changes is found
// inside its interval, and little else, whether neighbours are alike or not.
func TestLongSeries(t *testing.T) {
	for _, rho := range []float64{0, 0.4} {
		found, err := Segment(longSeries(20000, rho), Options{})
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(found.Correlation-rho) > 0.1 {
			t.Errorf("the correlation is estimated as %.2f, not %.1f", found.Correlation, rho)
		}
		held := 0
		for place := 1000; place < 20000; place += 1000 {
			if slices.ContainsFunc(found.Changes, func(c Change) bool { return c.Low <= place && place <= c.High && c.Probability > 0.9 }) {
				held++
			}
		}
		if held < 17 || len(found.Changes) > 20 {
			t.Errorf("correlation %.1f: %d of 19 places held, %d changes", rho, held, len(found.Changes))
		}
	}
}

// TestLongAgreesWithShort: for the penalty it ends with, the long way has the
// same segmentation as the path has for that number of changes. Tolerance 1e-9
// of the misfit.
func TestLongAgreesWithShort(t *testing.T) {
	s := longSeries(6000, 0)
	o, where, err := prepare(s, Options{Correlation: new(float64)})
	if err != nil {
		t.Fatal(err)
	}
	long := chooseLong(s, o, where)
	step := long.path[long.chosen]
	long.search.path(func(k int, places []int) bool {
		if misfit, _ := long.total(places); k == step.Changes && !near(misfit, step.RSS, 1e-9) {
			t.Errorf("%d changes: misfit %v, not %v", k, step.RSS, misfit)
		}
		return k < step.Changes
	})
}
