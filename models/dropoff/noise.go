package dropoff

import (
	"math"
	"slices"
)

// noise is what is known of the scatter of rows about their level: the
// standard deviation that comes on top of the rows' own standard errors, where
// they carry such.
type noise struct {
	scatter float64
	se      []float64 // nil where not known
}

// sd is the standard deviation of each row about its level.
func (v noise) sd(n int) []float64 {
	out := filled(n, v.scatter)
	for i, se := range v.se {
		out[i] = math.Hypot(v.scatter, se)
	}
	return out
}

// toSD makes the median absolute value of normal variates their standard
// deviation: 1 / Φ⁻¹(3/4).
const toSD = 1.4826022185056018

// robustNoise estimates the scatter from differences of neighbouring rows,
// before any change is known: a change spoils one difference only, and the
// median absolute difference does not mind a few. Without standard errors it is
// 1.4826 × the median absolute difference / √2; with them, the scatter at which
// differences over their standard deviations have the median absolute value of
// normal variates, 0 where the standard errors alone are enough.
func robustNoise(s Series) noise {
	n := len(s.Values)
	ratios := make([]float64, n-1)
	spread := func(scatter float64) float64 {
		sd := noise{scatter, s.SE}.sd(n)
		for i := range ratios {
			ratios[i] = math.Abs(s.Values[i+1]-s.Values[i]) / math.Hypot(sd[i], sd[i+1])
		}
		return toSD * median(ratios)
	}
	if s.SE == nil {
		unit := spread(1)
		if unit == 0 {
			unit = rootMeanDifference(s.Values)
		}
		return noise{scatter: unit}
	}
	if spread(0) <= 1 {
		return noise{se: s.SE}
	}
	low, high := bounds(s.Values)
	return noise{scatter: bisect(0, high-low, func(x float64) bool { return spread(x) > 1 }), se: s.SE}
}

// rootMeanDifference is the noise where more than half of the differences are
// nothing, as with values at a floor: it is too large rather than too small
// where there are changes.
func rootMeanDifference(values []float64) float64 {
	sum := 0.0
	for i, v := range values[1:] {
		d := v - values[i]
		sum += d * d
	}
	return math.Sqrt(sum / float64(2*(len(values)-1)))
}

// fittedNoise estimates the scatter from the rows about the levels found: the
// scatter at which their squares over their variances sum to the degrees of
// freedom (Paule and Mandel 1982, Journal of Research of the National Bureau of
// Standards 87, 377–385), 0 where the standard errors alone are enough.
func fittedNoise(s Series, places []int) noise {
	n := len(s.Values)
	df := float64(n - len(places) - 1)
	excess := func(scatter float64) bool {
		return newRows(s.Values, noise{scatter, s.SE}.sd(n)).total(places) > df
	}
	if df <= 0 || !excess(0) {
		return noise{se: s.SE}
	}
	low, high := bounds(s.Values)
	return noise{scatter: bisect(0, high-low, excess), se: s.SE}
}

// bisect finds where above turns false between low, where it is true, and high.
func bisect(low, high float64, above func(float64) bool) float64 {
	for range 60 {
		if mid := low + (high-low)/2; above(mid) {
			low = mid
		} else {
			high = mid
		}
	}
	return low + (high-low)/2
}

func median(values []float64) float64 {
	sorted := slices.Clone(values)
	slices.Sort(sorted)
	n := len(sorted)
	return (sorted[(n-1)/2] + sorted[n/2]) / 2
}
