package dropoff

import (
	"math"
	"testing"
)

// TestAdjustedRand: worked values. The first is that of Hubert and Arabie's
// definition by hand: rows aabb against abab share no pair, all six pairs
// expected 2·2/6, most 2: (0 − 2/3) / (2 − 2/3) = −1/2.
func TestAdjustedRand(t *testing.T) {
	for _, c := range []struct {
		a, b []int
		want float64
	}{
		{[]int{1, 1, 2, 2}, []int{1, 2, 1, 2}, -0.5},
		{[]int{1, 1, 2, 2}, []int{5, 5, 3, 3}, 1},
		{[]int{1, 1, 1, 2, 2, 2}, []int{1, 1, 2, 2, 3, 3}, (2 - 6.0*3/15) / (4.5 - 6.0*3/15)},
	} {
		if got := adjustedRand(c.a, c.b); math.Abs(got-c.want) > 1e-12 {
			t.Errorf("%v against %v: %v, not %v", c.a, c.b, got, c.want)
		}
	}
}

// TestChance: one beginning in ten places is in an interval of three with
// probability 3/10, one of two with 1 − (7·6)/(10·9).
func TestChance(t *testing.T) {
	if got := chanceOf(3, 1, 10); math.Abs(got-0.3) > 1e-12 {
		t.Errorf("%v", got)
	}
	if got, want := chanceOf(3, 2, 10), 1-42.0/90; math.Abs(got-want) > 1e-12 {
		t.Errorf("%v, not %v", got, want)
	}
}
