package dropoff

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"thumbed/models/codex"
)

// TestFallingAgainstReference holds the falling curve against R's isoreg (stats,
// version in versions.txt), signs turned. Tolerance 1e-12.
func TestFallingAgainstReference(t *testing.T) {
	values, want := map[string][]float64{}, map[string][]float64{}
	for _, r := range records(t, "isotonic.csv") {
		values[r[0]] = append(values[r[0]], number(t, r[2]))
		want[r[0]] = append(want[r[0]], number(t, r[3]))
	}
	for name, v := range values {
		for i, got := range falling(v, filled(len(v), 1)) {
			if math.Abs(got-want[name][i]) > 1e-12 {
				t.Errorf("series %s, row %d: %v, not %v", name, i+1, got, want[name][i])
			}
		}
	}
}

// TestFallingIsNearest: the curve falls, and is the nearest falling curve: by
// the conditions of Barlow et al. (1972, theorem 1.3) the weighted residuals sum
// to nothing over each pool and to nothing or less from each row to its end.
func TestFallingIsNearest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 30).Draw(t, "rows")
		values, weights := make([]float64, n), make([]float64, n)
		for i := range values {
			values[i] = rapid.Float64Range(-5, 5).Draw(t, "value")
			weights[i] = rapid.Float64Range(0.1, 10).Draw(t, "weight")
		}
		curve := falling(values, weights)
		sum := 0.0
		for i, v := range curve {
			if i > 0 && v > curve[i-1] {
				t.Fatalf("it rises at row %d", i+1)
			}
			sum += weights[i] * (values[i] - v)
			// Up to any row of a pool the values lie on average no higher than it.
			if sum > 1e-9 {
				t.Fatalf("up to row %d the residuals sum to %v", i+1, sum)
			}
			if (i+1 == n || curve[i+1] != v) && math.Abs(sum) > 1e-9 {
				t.Fatalf("over the pool that ends with row %d the residuals sum to %v", i+1, sum)
			}
		}
	})
}

func TestMedianOffice(t *testing.T) {
	curve := func(shares ...float64) *Curve {
		c := &Curve{}
		for i, share := range shares {
			c.Points = append(c.Points, CurvePoint{Office: codex.Office(1 + i), Share: share, Low: share - 0.2, High: min(share+0.2, 1)})
		}
		c.narrow()
		c.median()
		return c
	}
	for _, c := range []struct {
		curve *Curve
		words string
	}{
		{curve(1, 0.9, 0.6, 0.4, 0.1), "Offices up to Prime bear half of the first’s wear or more, and none after it: it may be any from Lauds to Terce."},
		{curve(1, 0.9, 0.2), "Offices up to Lauds bear half of the first’s wear or more, and none after it: the bands leave no other."},
		{curve(1, 0.9, 0.8), "Even Prime, the last office measured, bears at least half of the wear of the first."},
		{curve(1, 0.9, 0.6), "It seems that even Prime, the last office measured, bears half of the first’s wear or more; but it may fall below half after Lauds."},
	} {
		if got := c.curve.Sentence(); got != c.words {
			t.Errorf("%q, not %q", got, c.words)
		}
	}
}
