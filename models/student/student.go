// Package student gives Student's t and Fisher's F for any degrees of freedom,
// also where there are so many of them that the libraries' functions break down, and
// Wilson's interval of a share.
package student

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// Many is the number of degrees of freedom from which Student's t is the normal
// distribution, and F the chi-squared one: quantiles differ by less than a part in
// 10⁷ there, and from about 10¹³ on the incomplete beta function loses all digits.
const Many = 1e7

// CDF is the probability of at most t with df degrees of freedom.
func CDF(t, df float64) float64 {
	if df >= Many {
		return distuv.UnitNormal.CDF(t)
	}
	return distuv.StudentsT{Sigma: 1, Nu: df}.CDF(t)
}

// TwoSided is the probability of a value at least as far from zero as t.
func TwoSided(t, df float64) float64 { return 2 * CDF(-math.Abs(t), df) }

// Quantile is the value that t stays below with probability p.
func Quantile(p, df float64) float64 {
	if df >= Many {
		return distuv.UnitNormal.Quantile(p)
	}
	return distuv.StudentsT{Sigma: 1, Nu: df}.Quantile(p)
}

// Half is how many standard errors an interval of a level reaches to either side.
func Half(level, df float64) float64 { return Quantile((1+level)/2, df) }

// Wilson is the 95 % interval of a share of n things (Wilson 1927, Journal of the
// American Statistical Association 22, 209–212).
func Wilson(share, n float64) (low, high float64) {
	z := distuv.UnitNormal.Quantile(0.975)
	middle := (share + z*z/(2*n)) / (1 + z*z/n)
	half := z / (1 + z*z/n) * math.Sqrt(share*(1-share)/n+z*z/(4*n*n))
	return max(0, middle-half), min(1, middle+half)
}

// FSurvival is the probability of more than f with n and df degrees of freedom.
func FSurvival(f, n, df float64) float64 {
	if df >= Many {
		return distuv.ChiSquared{K: n}.Survival(f * n)
	}
	return distuv.F{D1: n, D2: df}.Survival(f)
}
