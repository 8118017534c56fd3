package dropoff

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// TestPenalties: for any penalty, the number of changes that the stretches name
// has the least misfit plus penalties.
func TestPenalties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		path := []Step{{RSS: 100}}
		for k := 1; k <= rapid.IntRange(0, 12).Draw(t, "changes"); k++ {
			path = append(path, Step{Changes: k, RSS: path[k-1].RSS * rapid.Float64Range(0.3, 1).Draw(t, "left")})
		}
		stretches := penalties(path)
		if !math.IsInf(stretches[0].High, 1) || stretches[len(stretches)-1].Low != 0 {
			t.Fatalf("%+v", stretches)
		}
		penalty := rapid.Float64Range(0.001, 120).Draw(t, "penalty")
		least := math.Inf(1)
		for _, step := range path {
			least = min(least, step.RSS+penalty*float64(step.Changes))
		}
		for i, s := range stretches {
			if i > 0 && s.High != stretches[i-1].Low {
				t.Fatalf("a gap between %+v and %+v", stretches[i-1], s)
			}
			if s.Low <= penalty && penalty <= s.High {
				if cost := path[s.Changes].RSS + penalty*float64(s.Changes); cost > least+1e-9 {
					t.Fatalf("at %v, %d changes cost %v, the best %v", penalty, s.Changes, cost, least)
				}
			}
		}
	})
}
