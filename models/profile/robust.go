package profile

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

// median is the middle value, the mean of the middle two where their number is
// even. values is not changed and must not be empty.
func median(values []float64) float64 {
	return sortedMedian(slices.Sorted(slices.Values(values)), -1)
}

// sortedMedian is the median of sorted values without the one at index out; of
// all of them where out is negative.
func sortedMedian(sorted []float64, out int) float64 {
	n := len(sorted)
	at := func(k int) float64 { return sorted[k] }
	if out >= 0 {
		n--
		at = func(k int) float64 {
			if k >= out {
				k++
			}
			return sorted[k]
		}
	}
	if n%2 == 1 {
		return at(n / 2)
	}
	return (at(n/2-1) + at(n/2)) / 2
}

// medianVariance is the variance of the median of n standard normal values:
// π/2n for great n, with a small-sample term fitted to the exact values (David
// and Nagaraja 2003, Order Statistics, section 4: 0.449 for 3, 0.287 for 5),
// within 1 % for 3 ≤ n; a test recomputes it by simulation.
func medianVariance(n int) float64 {
	if n <= 2 {
		return 1 / float64(n) // the median is the mean
	}
	if n%2 == 1 {
		return math.Pi / (2 * (float64(n) + 0.45))
	}
	return math.Pi / (2 * (float64(n) + 1.35))
}

// madFactors make the median absolute deviation of n = 2 … 9 normal values
// unbiased for their standard deviation, after the factor 1.4826 (Croux and
// Rousseeuw 1992, COMPSTAT 1, 411–428; from memory, and recomputed by a test).
// For greater n the factor is n/(n − 0.8).
var madFactors = [...]float64{2: 1.196, 3: 1.495, 4: 1.363, 5: 1.206, 6: 1.200, 7: 1.140, 8: 1.129, 9: 1.107}

// mad is the median absolute deviation about the median, made unbiased for the
// standard deviation of normal values (Hampel 1974, J. Am. Stat. Assoc. 69,
// 383–393). Up to half of the values may be anything without breaking it.
func mad(values []float64) float64 {
	centre := median(values)
	away := make([]float64, len(values))
	for i, v := range values {
		away[i] = math.Abs(v - centre)
	}
	n := len(values)
	factor := float64(n) / (float64(n) - 0.8)
	if n < len(madFactors) {
		factor = madFactors[n]
	}
	return 1.4826 * factor * median(away)
}

// robustScatter is the squared median absolute deviation with the degrees of
// freedom of the χ² that it is most like: that with the same mean and variance
// of its logarithm. Degrees of freedom and the small factor on the square are
// fitted to simulations for 4 ≤ n ≤ 100 (0.37(n − 1), the efficiency of the
// median absolute deviation, and a term for small n); a test repeats them.
func robustScatter(values []float64) scatter {
	n := float64(len(values))
	s := mad(values)
	df := 0.37*(n-1) + 0.3
	if len(values)%2 == 0 {
		df += 0.4
	}
	return scatter{variance: s * s * math.Exp(-1.4/(n+1.5)), df: df}
}

// lowerScatter is the scatter told by the lower half of the values alone: the
// slope of the ordered values on their normal scores, as for a normal sample
// censored above its middle (Gupta 1952, Biometrika 39, 260–273, the alternative
// linear estimator; scores of Blom 1958). Values that stand far above the
// others, up to half of all, do not lengthen it. Degrees of freedom and the
// small factor as in robustScatter.
func lowerScatter(values []float64) scatter {
	sorted := slices.Sorted(slices.Values(values))
	n := len(sorted)
	h := max(min(n, 3), (n+1)/2)
	scores := make([]float64, h)
	for i := range scores {
		scores[i] = distuv.UnitNormal.Quantile((float64(i) + 1 - 0.375) / (float64(n) + 0.25))
	}
	_, slope := stat.LinearRegression(scores, sorted[:h], nil, false)
	half := float64(h)
	return scatter{variance: slope * slope * math.Exp(-0.85/(half+0.8)), df: 0.66*(half-1) + 0.5}
}
