package mixed

import (
	"fmt"
	"math"
	"testing"

	"thumbed/models/table"
)

// oneWay is a balanced one-way layout with the sum of squares within groups 1 and a given
// one between them.
func oneWay(t *testing.T, groups, each int, between float64) *Fit {
	t.Helper()
	var y []float64
	var by []string
	squares := func(n int) float64 { return float64(n*(n*n-1)) / 12 } // of 1 … n about their mean
	for g := range groups {
		mean := (float64(g) - float64(groups-1)/2) * math.Sqrt(between/(float64(each)*squares(groups)))
		for k := range each {
			y = append(y, mean+(float64(k)-float64(each-1)/2)/math.Sqrt(float64(groups)*squares(each)))
			by = append(by, fmt.Sprintf("g%d", g))
		}
	}
	data, err := table.New(table.Numbers("y", y), table.Labels("g", by))
	if err != nil {
		t.Fatal(err)
	}
	fit, err := Model{Outcome: "y", Random: []Random{{By: []string{"g"}, Terms: []string{"intercept"}}}}.Fit(data)
	if err != nil {
		t.Fatal(err)
	}
	return fit
}

// TestNearZeroOneWay holds what counts as near zero, and the standard error off it,
// against the likelihood of the balanced one-way layout in closed form (Searle, Casella
// and McCulloch 1992, Variance components, section 4.2): with F the ratio of mean squares
// the estimate is zero up to F = 1.
func TestNearZeroOneWay(t *testing.T) {
	const groups, each = 6, 5
	const n, m = groups * each, float64(each)
	// Twice the negative restricted log likelihood but for a constant, v = 1 + m·τ²/σ².
	criterion := func(between, v float64) float64 {
		return (n-1)*math.Log(1+between/v) + (groups-1)*math.Log(v)
	}
	for _, f := range []float64{0.4, 1, 1.3, 1.6, 1.8, 2, 2.5, 6} {
		between := f * (groups - 1) / (n - groups)
		fit := oneWay(t, groups, each, between)
		best := math.Max(1, f)
		if near := criterion(between, 1)-criterion(between, best) <= leftOpen; fit.NearZero([2]int{0, 0}) != near {
			t.Errorf("F = %g: near zero is %v, not %v", f, !near, near)
		}
		off := best
		for criterion(between, off) < criterion(between, best)+leftOpen {
			off += 1e-4
		}
		_, se, err := fit.ContrastOff(map[string]float64{"intercept": 1}, [][2]int{{0, 0}})
		if err != nil {
			t.Fatal(err)
		}
		want := math.Sqrt((1 + between/off) / (n - 1) * off / n)
		// the standard deviation is found by halving to one part in thirty
		if math.Abs(se/want-1) > 0.03 || se <= fit.Fixed[0].SE {
			t.Errorf("F = %g: the standard error off zero is %g, not %g", f, se, want)
		}
	}
}
