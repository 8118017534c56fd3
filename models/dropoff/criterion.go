package dropoff

import (
	"math"

	"gonum.org/v1/gonum/mathext"
)

// criterionName is what the choice of the number of changes rests on, as
// results give it.
const criterionName = "modified Bayesian information criterion (Zhang and Siegmund 2007), noise variance not known"

// A criterion weighs segmentations by the modified Bayesian information
// criterion for changes of level with a noise variance that is not known
// (Zhang and Siegmund 2007, Biometrics 63, 22–32, section 2.2).
//
// Misfits are in units of a robust estimate of the noise's variance, so that
// the criterion does not depend on the unit of the values: in the paper the
// prior of a step is flat in that unit. Its terms in the misfit are the
// logarithm of the likelihood integrated over the factor φ by which the noise's
// variance departs from the unit; where rows carry standard errors the noise
// cannot be less than these, and the integral is over φ ≥ 1. The rows of a
// segment count by the precision of its level: all alike where the noise is
// independent and the rows carry no standard errors, as in the paper, and less
// where neighbours are alike. A known break adds a level and no place: the level
// is integrated over like the others. The logarithms of the noise's variances make
// criteria comparable between noises of different correlation.
type criterion struct {
	rows
	breaks int
	bound  bool    // φ ≥ 1
	least  float64 // the misfit below which all is rounding
}

// newCriterion makes the criterion of a search; bound says that rows carry
// standard errors.
func newCriterion(q search, bound bool) criterion {
	return criterion{rows: q.rows, breaks: q.breaks, bound: bound, least: exactMisfit * q.sums[q.n].c}
}

// correlationCost is what a correlation of neighbouring rows other than zero costs
// a criterion of n rows: ½ log n, as a further parameter does in the criterion
// of Schwarz (1978, Annals of Statistics 6, 461–464).
func correlationCost(rho float64, n int) float64 {
	if rho == 0 {
		return 0
	}
	return math.Log(float64(n)) / 2
}

// evidence is the logarithm of the likelihood with m + 1 levels integrated over
// the noise: Γ(ν/2) (S/2)^(−ν/2) with ν = n − m + 1, times the regularised
// incomplete gamma function at S/2 where φ ≥ 1.
func (c criterion) evidence(m int, misfit float64) float64 {
	half, misfit := float64(c.n-m+1)/2, max(misfit, c.least)
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

// of is the criterion of a segmentation, given as the last rows of all its
// segments but the last: the higher the better. Only differences between
// segmentations of one series mean anything.
func (c criterion) of(places []int) float64 {
	m := len(places) - c.breaks
	misfit, logs := c.total(places)
	// −½ Σ log nᵢ + (½ − m) log n, written with the lengths as shares of n.
	return c.evidence(len(places), misfit) - (logs+c.shares(places)+float64(3*m+c.breaks)*math.Log(float64(c.n)))/2
}

// shares is the sum of the logarithms of the segments' shares of the rows.
func (c criterion) shares(places []int) float64 {
	sum, from := 0.0, 0
	for _, to := range append(places[:len(places):len(places)], c.n) {
		sum += math.Log(c.segment(from, to).a / c.weight)
		from = to
	}
	return sum
}
