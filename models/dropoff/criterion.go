package dropoff

import (
	"math"

	"gonum.org/v1/gonum/mathext"
)

// criterionName is what the choice of the number of changes rests on, as
// results give it.
const criterionName = "modified Bayesian information criterion (Zhang and Siegmund 2007), noise variance not known"

// A criterion weighs numbers of changes by the modified Bayesian information
// criterion for changes of level with a noise variance that is not known
// (Zhang and Siegmund 2007, Biometrics 63, 22–32, equation 2 and section 2.2).
//
// Misfits are in units of a robust estimate of the noise's variance, so that
// the criterion does not depend on the unit of the values: in the paper the
// prior of a step is flat in that unit. Its terms in the misfit are the
// logarithm of the likelihood integrated over the factor φ by which the noise's
// variance departs from the unit; where rows carry standard errors the noise
// cannot be less than these, and the integral is over φ ≥ 1.
type criterion struct {
	n     int
	bound bool // φ ≥ 1
	none  float64
}

func newCriterion(n int, misfitWithout float64, bound bool) criterion {
	c := criterion{n: n, bound: bound}
	c.none = c.evidence(0, misfitWithout)
	return c
}

// evidence is the logarithm of the likelihood with m changes integrated over
// the noise: Γ(ν/2) (S/2)^(−ν/2) with ν = n − m + 1, times the regularised
// incomplete gamma function at S/2 where φ ≥ 1.
func (c criterion) evidence(m int, misfit float64) float64 {
	half := float64(c.n-m+1) / 2
	gamma, _ := math.Lgamma(half)
	log := gamma - half*math.Log(misfit/2)
	if !c.bound {
		return log
	}
	if p := mathext.GammaIncReg(half, misfit/2); p > 0 {
		return log + math.Log(p)
	}
	return -math.Log(half) // the integral's limit as S goes to 0
}

// of is the criterion of a segmentation: the higher the better, 0 without
// change. places are the last rows of all its segments but the last; breaks is
// how many of these are known and cost nothing.
func (c criterion) of(places []int, breaks int, misfit float64) float64 {
	m, n := len(places)-breaks, float64(c.n)
	lengths, from := 0.0, 0
	for _, to := range append(places[:len(places):len(places)], c.n) {
		lengths += math.Log(float64(to-from) / n)
		from = to
	}
	// −½ Σ log nᵢ + (½ − m) log n, written with the lengths as shares of n.
	return c.evidence(m, misfit) - c.none - lengths/2 - 1.5*float64(m)*math.Log(n)
}
