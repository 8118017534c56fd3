package readings

import (
	"math"
	"math/rand/v2"
	"testing"
)

// The upper limit of the standard deviation between observers holds the true one in
// 95 % of the logs, also where that is zero.
func TestUpperLimitBetweenObservers(t *testing.T) {
	const logs = 1500
	for _, between := range []float64{0, 0.005, 0.02} {
		r, held := rand.New(rand.NewPCG(12, 8)), 0
		for range logs {
			b := betweenPool{}
			for range 20 { // pages, each measured by two
				level := make([]determination, 2)
				for k := range level {
					variance := []float64{4e-5, 6e-5}[r.IntN(2)]
					level[k] = determination{value: between*r.NormFloat64() + math.Sqrt(variance)*r.NormFloat64(), variance: variance}
				}
				b.add(level)
			}
			if b.upper() >= between {
				held++
			}
		}
		share := float64(held) / logs
		t.Logf("observers differ by %g: the limit holds it in %.1f %%", between, 100*share)
		if between > 0 && math.Abs(share-0.95) > 0.02 || between == 0 && share < 1 {
			t.Errorf("observers differ by %g: the limit holds it in %.1f %%", between, 100*share)
		}
	}
}
