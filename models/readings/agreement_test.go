package readings

import (
	"math"
	"math/rand/v2"
	"testing"
)

// The peak flow of 17 people by two meters (Bland and Altman 1986, Lancet i, 307–310,
// table 1, first readings; data from memory): mean difference −2.1, standard deviation
// 38.8, limits of agreement −79.7 to 75.5 with two standard deviations.
func TestLimitsOfAgreement(t *testing.T) {
	large := []float64{494, 395, 516, 434, 476, 557, 413, 442, 650, 433, 417, 656, 267, 478, 178, 423, 427}
	mini := []float64{512, 430, 520, 428, 500, 600, 364, 380, 658, 445, 432, 626, 260, 477, 259, 350, 451}
	a := agreement(mini, large, make([]int, len(large)), 1)
	near(t, "mean difference", a.Difference, -2.1, 0.05)
	near(t, "standard deviation", a.SD, 38.8, 0.05)
	near(t, "lower limit", a.Difference-2*a.SD, -79.7, 0.1)
	near(t, "upper limit", a.Difference+2*a.SD, 75.5, 0.1)
}

// Intervals of slope and offset hold in 95 % (Monte-Carlo error of 600 sets: 0.9 %;
// four times it below, and the jackknife is known to be a little wide above), where
// least squares of one on the other would shrink the slope.
func TestDemingIntervalsHold(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 1993))
	const sets, slope, offset, noise = 600, 1.1, 0.01, 0.03
	held := [2]int{}
	mean := 0.0
	for range sets {
		var x, y []float64
		for range 40 {
			truth := 0.1 + 0.3*rng.Float64()
			x, y = append(x, truth+noise*rng.NormFloat64()), append(y, offset+slope*truth+noise*rng.NormFloat64())
		}
		a := agreement(x, y, make([]int, len(x)), 1)
		mean += a.Slope / sets
		if a.SlopeLow <= slope && slope <= a.SlopeHigh {
			held[0]++
		}
		if a.OffsetLow <= offset && offset <= a.OffsetHigh {
			held[1]++
		}
	}
	for _, n := range held {
		if share := float64(n) / sets; share < 0.914 || share > 0.985 {
			t.Errorf("%.3f of the intervals hold", share)
		}
	}
	if math.Abs(mean-slope) > 0.02 {
		t.Errorf("the mean slope is %.3f", mean)
	}
}
