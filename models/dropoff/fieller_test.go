package dropoff

import (
	"math"
	"math/rand/v2"
	"testing"
)

// TestFiellerDefinition: the ends of the interval are the ratios at which the
// difference a − r b lies exactly the quantile's number of standard errors from
// nothing, which is what Fieller (1954) defines them by. Tolerance 1e-9.
func TestFiellerDefinition(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 1))
	intervals := 0
	for range 1000 {
		a, b := rng.NormFloat64(), 3*rng.Float64()
		va, vb := rng.Float64()+0.01, rng.Float64()/4+0.01
		cov := (2*rng.Float64() - 1) * math.Sqrt(va*vb)
		const q = 2.0
		r, ok := fieller(a, b, va, vb, cov, q)
		if ok != (b*b > q*q*vb) {
			t.Fatalf("b = %v, variance %v: interval %v", b, vb, ok)
		}
		if !ok {
			continue
		}
		intervals++
		for _, end := range []float64{r.low, r.high} {
			distance := math.Abs(a-end*b) / math.Sqrt(va-2*end*cov+end*end*vb)
			if math.Abs(distance-q) > 1e-6 {
				t.Errorf("at the end %v the difference is %v standard errors from nothing", end, distance)
			}
		}
		if r.low > a/b || r.high < a/b {
			t.Errorf("%v is outside %v to %v", a/b, r.low, r.high)
		}
	}
	if intervals < 300 {
		t.Errorf("only %d of 1000 were intervals", intervals)
	}
}

// TestFiellerCoverage: near nothing the interval holds the true ratio as often
// as it should: 95 % ± 1.5 (three binomial standard errors of 2,000 draws).
func TestFiellerCoverage(t *testing.T) {
	rng := rand.New(rand.NewPCG(2, 1))
	const n, a, b, se, quantile = 2000, 0.05, 1.0, 0.15, 1.959963984540054
	held := 0
	for range n {
		r, ok := fieller(a+se*rng.NormFloat64(), b+se*rng.NormFloat64(), se*se, se*se, 0, quantile)
		if ok && r.low <= a/b && a/b <= r.high {
			held++
		}
	}
	if share := float64(held) / n; math.Abs(share-0.95) > 0.015 {
		t.Errorf("the true ratio is held in %.1f %%", 100*share)
	}
}
