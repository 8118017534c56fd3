package student_test

import (
	"math"
	"testing"

	"thumbed/models/student"
)

// Two-sided 5 % points of Student's t and the normal distribution (Abramowitz and
// Stegun 1964, table 26.10, 1−A = 0.05), and upper 5 % points of F (table 26.9).
func TestPublishedPoints(t *testing.T) {
	for _, c := range []struct{ df, want float64 }{{1, 12.706}, {5, 2.571}, {10, 2.228}, {30, 2.042}, {120, 1.980}, {1e7, 1.960}, {4e13, 1.960}, {1e300, 1.960}, {math.Inf(1), 1.960}} {
		if got := student.Half(0.95, c.df); math.Abs(got-c.want) > 6e-4 {
			t.Errorf("%g degrees of freedom: %g, table %g", c.df, got, c.want)
		}
	}
	for _, c := range []struct{ n, df, want float64 }{{1, 10, 4.96}, {4, 20, 2.87}, {10, 120, 1.91}, {10, math.Inf(1), 1.83}, {10, 1e14, 1.83}} {
		if got := student.FSurvival(c.want, c.n, c.df); math.Abs(got-0.05) > 6e-4 {
			t.Errorf("F with %g and %g: %g above %g, table 0.05", c.n, c.df, got, c.want)
		}
	}
}

// t = 6.57 is no p = 1 with however many degrees of freedom, and nothing jumps
// where the normal distribution takes over.
func TestManyDegrees(t *testing.T) {
	for df := 1.0; df < 1e30; df *= 7 {
		p := student.TwoSided(6.57, df)
		if !(p >= 5.0e-11) || p > 0.1 {
			t.Errorf("%g degrees of freedom: p = %g", df, p)
		}
	}
	below, above := student.TwoSided(2, student.Many*(1-1e-9)), student.TwoSided(2, student.Many)
	if math.Abs(below/above-1) > 1e-6 {
		t.Errorf("p jumps from %g to %g", below, above)
	}
	if q, z := student.Quantile(0.975, student.Many*(1-1e-9)), student.Quantile(0.975, student.Many); math.Abs(q/z-1) > 1e-6 {
		t.Errorf("the quantile jumps from %g to %g", q, z)
	}
}
