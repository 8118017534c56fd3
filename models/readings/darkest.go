package readings

import (
	"math"

	"gonum.org/v1/gonum/integrate/quad"
	"gonum.org/v1/gonum/stat/distuv"
)

// Quadrature over the largest of n standard normals: outside ±reach its
// density is below 1e-16 for every n up to [mostTried], and nodes is enough
// for 12 digits (checked against the closed forms for n up to 5).
const (
	reach = 9.0
	nodes = 256
)

// Largest gives the mean and the variance of the largest of n independent
// standard normal values: the amount, in standard deviations between spots, by
// which the darkest of n spots exceeds their mean, and how much that scatters.
// The mean is the integral of n x φ(x) Φ(x)^(n−1); tabled by Harter (1961,
// Biometrika 48, 151–165) and in Pearson and Hartley, Biometrika Tables I,
// table 28. Both are by Gauss–Legendre quadrature. n is at least 1.
func Largest(n int) (mean, variance float64) {
	moment := func(power float64) float64 {
		return quad.Fixed(func(x float64) float64 {
			logDensity := distuv.UnitNormal.LogProb(x) + float64(n-1)*logPhi(x) + math.Log(float64(n))
			return math.Pow(x, power) * math.Exp(logDensity)
		}, -reach, reach, nodes, quad.Legendre{}, 0)
	}
	if n <= 1 {
		return 0, 1
	}
	mean = moment(1)
	return mean, moment(2) - mean*mean
}

// logPhi is the logarithm of the standard normal distribution function, exact
// far into the lower tail, where it follows the asymptotic series (Abramowitz
// and Stegun 1964, 26.2.12).
func logPhi(z float64) float64 {
	if z > -30 {
		return math.Log(0.5 * math.Erfc(-z/math.Sqrt2))
	}
	z2 := z * z
	return distuv.UnitNormal.LogProb(z) - math.Log(-z) + math.Log1p(-1/z2+3/(z2*z2))
}

// tail is φ(z)/Φ(z), the slope of logPhi.
func tail(z float64) float64 {
	return math.Exp(distuv.UnitNormal.LogProb(z) - logPhi(z))
}
