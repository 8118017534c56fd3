package report

import (
	"math"
	"slices"
	"testing"

	"gonum.org/v1/plot/vg"
	"pgregory.net/rapid"
)

// TestSpread holds what spread promises: order, distance, bounds, and that no
// nearby arrangement that keeps them lies closer to the places wanted.
func TestSpread(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		const low, high, gap = vg.Length(0), vg.Length(100), vg.Length(7)
		wanted := rapid.SliceOfN(rapid.Float64Range(-20, 120), 0, 14).Draw(t, "wanted")
		slices.Sort(wanted)
		places := make([]vg.Length, len(wanted))
		for i, w := range wanted {
			places[i] = vg.Length(w)
		}
		got := spread(places, gap, low, high)
		if len(got) != len(places) {
			t.Fatalf("%d places became %d", len(places), len(got))
		}
		for i, at := range got {
			if at < low-1e-9 || at > high+1e-9 || i > 0 && at-got[i-1] < gap-1e-9 {
				t.Fatalf("place %d of %v is out of bounds or too near", i, got)
			}
		}
		// The problem is convex: if no small allowed step of a run of places is
		// better, none is.
		distance := func(xs []vg.Length) float64 {
			sum := 0.0
			for i, x := range xs {
				sum += math.Pow(float64(x-places[i]), 2)
			}
			return sum
		}
		best := distance(got)
		for from := range got {
			for to := from + 1; to <= len(got); to++ {
				for _, step := range []vg.Length{-0.01, 0.01} {
					moved := slices.Clone(got)
					for i := from; i < to; i++ {
						moved[i] += step
					}
					if allowed(moved, gap, low, high) && distance(moved) < best-1e-9 {
						t.Fatalf("%v is better than %v for %v", moved, got, places)
					}
				}
			}
		}
	})
}

func allowed(xs []vg.Length, gap, low, high vg.Length) bool {
	for i, x := range xs {
		if x < low || x > high || i > 0 && x-xs[i-1] < gap {
			return false
		}
	}
	return true
}
