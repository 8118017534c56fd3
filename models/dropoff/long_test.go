package dropoff

import (
	"math"
	"math/rand/v2"
	"slices"
	"strings"
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

// TestLongGuard: heavy tails (Student's t with 3 degrees of freedom), in which the
// criterion alone would place a change in every series of 6,000 rows, make none in
// at least 17 of 20, which a rate of 5 in 100 misses in 1 of 60 cases; and the
// changes of a series that has some are still found in them.
func TestLongGuard(t *testing.T) {
	heavy := kindsOfNoise()[1]
	alarms := 0
	for seed := range uint64(20) {
		found, err := Segment(Series{Values: autoregressive(heavy, 6000, 0, 300+seed)}, Options{})
		if err != nil {
			t.Fatal(err)
		}
		if len(found.Changes) > 0 {
			alarms++
		}
	}
	if alarms > 3 {
		t.Errorf("%d false alarms in 20 series", alarms)
	}
	values := autoregressive(heavy, 8000, 0, 4)
	for i := range values {
		values[i] += 2 * float64(i/2000%2)
	}
	found, err := Segment(Series{Values: values}, Options{})
	if err != nil {
		t.Fatal(err)
	}
	var after []int
	for _, c := range found.Changes {
		after = append(after, c.After)
	}
	for _, place := range []int{2000, 4000, 6000} {
		if !slices.ContainsFunc(after, func(a int) bool { return a > place-20 && a < place+20 }) {
			t.Errorf("no change near row %d: %v", place, after)
		}
	}
	if len(after) > 5 || !slices.ContainsFunc(found.Notes, func(note string) bool { return strings.Contains(note, "windows without change were drawn") }) {
		t.Errorf("changes after %v; notes %q", after, found.Notes)
	}
}

// TestHill: exact Pareto quantiles of index ½ have a tail of index ½, to the
// bias of a finite sample.
func TestHill(t *testing.T) {
	var values []float64
	for i := range 10000 {
		values = append(values, math.Pow((float64(i)+0.5)/10000, -0.5))
	}
	if got := hill(values); math.Abs(got-0.5) > 0.01 {
		t.Errorf("%v", got)
	}
	if got := hill([]float64{3, 2}); got != 0 {
		t.Errorf("two values: %v", got)
	}
}

// TestLongCompared: in series of more than 5,000 rows, whose neighbours are alike
// and some of which have heavy tails, a steady decline, a bend and steps are told
// apart, with and without a known break at which the level jumps; and no change is
// claimed where there is none.
func TestLongCompared(t *testing.T) {
	const n = 8000
	for name, c := range map[string]struct {
		course func(at float64) float64
		best   string
	}{
		"nothing": {func(float64) float64 { return 0 }, NoChange},
		"decline": {func(at float64) float64 { return -at }, Steady},
		"bend":    {func(at float64) float64 { return -4 * max(at-0.4, 0) }, BrokenLine},
		"steps":   {func(at float64) float64 { return math.Floor(3 * at) }, Steps},
	} {
		for k, kind := range kindsOfNoise()[:2] {
			for _, breaks := range [][]int{nil, {5000}} {
				values := autoregressive(kind, n, 0.3, 40+uint64(k))
				for i := range values {
					values[i] += c.course(float64(i) / n)
					if breaks != nil && i >= breaks[0] {
						values[i] += 4
					}
				}
				s, o := Series{Values: values}, Options{Breaks: breaks}
				if k == 0 && breaks == nil {
					compared, err := Compare(s, o)
					if err != nil {
						t.Fatal(err)
					}
					if compared.Best != c.best {
						t.Errorf("%s: %q", name, compared.Sentence)
					}
				}
				found, err := Segment(s, o)
				if err != nil {
					t.Fatal(err)
				}
				if found.Compared.Best != c.best || (len(found.Changes) > 0 && !found.Tentative) != (c.best == Steps) {
					t.Errorf("%s, %s, breaks %v: %d changes, %q", name, kind.name, breaks, len(found.Changes), found.Compared.Sentence)
				}
			}
		}
	}
}
