package dropoff

import (
	"math"
	"slices"
)

// noise is what is known of the scatter of rows about their level: its
// standard deviation, which comes on top of the rows' own standard errors where
// they carry such, and how alike neighbouring rows are.
type noise struct {
	scatter float64
	rho     float64   // correlation of the scatter of rows one position apart; not of the rows' own errors
	se      []float64 // nil where not known
}

// own is the variance of the measurement of row i, from 1.
func (v noise) own(i int) float64 {
	if v.se == nil {
		return 0
	}
	return v.se[i-1] * v.se[i-1]
}

// variance is that of row i, from 1, about its level.
func (v noise) variance(i int) float64 { return v.scatter*v.scatter + v.own(i) }

// alike is the correlation of the scatter of rows i and i−1: ρ to the power of
// their distance; 0 for the first row.
func (v noise) alike(s Series, i int) float64 {
	switch {
	case i == 1 || v.rho == 0:
		return 0
	case s.Position == nil:
		return v.rho
	}
	return math.Pow(v.rho, s.Position[i-1]-s.Position[i-2])
}

// link tells how row i follows from row i−1: the share of the latter's
// departure from the level that is expected in the former, and the variance of
// the rest. Without standard errors that is the autoregression itself; with
// them it is the best prediction from the one row before (Vecchia 1988, Journal
// of the Royal Statistical Society B 50, 297–312), from which the rows before
// that could take a little more.
func (v noise) link(s Series, i int) (share, rest float64) {
	alike := v.alike(s, i)
	if alike == 0 || v.scatter == 0 {
		return 0, v.variance(i)
	}
	share = alike * v.scatter * v.scatter / v.variance(i-1)
	return share, v.variance(i) - share*share*v.variance(i-1)
}

// times is the noise with its variance times phi, standard errors too.
func (v noise) times(phi float64) noise {
	root := math.Sqrt(phi)
	out := noise{scatter: root * v.scatter, rho: v.rho}
	for _, se := range v.se {
		out.se = append(out.se, root*se)
	}
	return out
}

// toSD makes the median absolute value of normal variates their standard
// deviation: 1 / Φ⁻¹(3/4).
const toSD = 1.4826022185056018

// robustNoise estimates the scatter, given rho, from differences of
// neighbouring rows, before any change is known: a change spoils one difference
// only, and the median absolute difference does not mind a few. The difference
// of neighbours has twice the variance 1 − ρ of the scatter and the squares of
// both standard errors: the median of the latter is subtracted from the square of
// 1.4826 times the median absolute difference.
func robustNoise(s Series, rho float64) noise {
	v := noise{rho: rho, se: s.SE}
	var differences, own []float64
	for i := 0; i+1 < len(s.Values); i += stride(len(s.Values)) {
		unlike := 2 * (1 - v.alike(s, i+2))
		differences = append(differences, math.Abs(s.Values[i+1]-s.Values[i])/math.Sqrt(unlike))
		if s.SE != nil {
			own = append(own, (v.own(i+1)+v.own(i+2))/unlike)
		}
	}
	v.scatter = toSD * median(differences)
	if s.SE != nil {
		v.scatter = math.Sqrt(max(v.scatter*v.scatter-median(own), 0))
	} else if v.scatter == 0 {
		v.scatter = rootMeanDifference(s.Values)
	}
	return v
}

// stride is how far apart differences are taken for a median: all of them in
// series of ordinary length, some twenty thousand evenly spread in longer ones.
func stride(n int) int { return max(n/20000, 1) }

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

// fittedNoise estimates the scatter, given rho, from the rows about the levels
// found: the scatter at which their squares over their variances sum to the
// degrees of freedom (Paule and Mandel 1982, Journal of Research of the National
// Bureau of Standards 87, 377–385), 0 where the standard errors alone are
// enough.
func fittedNoise(s Series, rho float64, places []int) noise {
	df := float64(len(s.Values) - len(places) - 1)
	excess := func(scatter float64) bool {
		rows := newSquares(s, noise{scatter, rho, s.SE}, false)
		misfit, _ := rows.total(places)
		return misfit > df
	}
	v := noise{rho: rho, se: s.SE}
	if df > 0 && excess(0) {
		low, high := bounds(s.Values)
		v.scatter = bisect(0, (high-low)/math.Sqrt(1-rho), excess)
	}
	return v
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
