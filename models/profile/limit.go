package profile

import (
	"math"

	"thumbed/models/readings"
)

// A page at an instrument's limit says only that its value lies on one side of
// a bound (a Tobit observation: Tobin 1958, Econometrica 26, 24–36). About a
// level z with standard deviation s its likelihood is Φ(a), with
// a = (bound − z)/s below and a = (z − bound)/s above.

// support gives the log likelihood of a page at a limit, its slope and its
// curvature (minus the second derivative) in the level z, where v is the
// variance of one reading about the level.
func support(p *point, z, v float64) (logp, slope, curvature float64) {
	s := math.Sqrt(v)
	sign := 1.0
	if p.limit == readings.Below {
		sign = -1
	}
	a := sign * (z - p.value) / s
	logp = logPhi(a)
	h := hazard(a)
	return logp, sign * h / s, shrinkage(a, h) / v
}

// beyond gives expectation and variance of a normal value with the given level
// and standard deviation, known to lie beyond the bound (Johnson, Kotz and
// Balakrishnan 1994, section 13.10.1).
func beyond(limit readings.Limit, bound, level, sd float64) (mean, variance float64) {
	sign := 1.0
	if limit == readings.Below {
		sign = -1
	}
	a := sign * (level - bound) / sd
	h := hazard(a)
	return level + sign*sd*h, sd * sd * (1 - shrinkage(a, h))
}

// hazard is φ(a)/Φ(a).
func hazard(a float64) float64 {
	return math.Exp(-0.5*a*a - 0.5*math.Log(2*math.Pi) - logPhi(a))
}

// shrinkage is h(a + h), the share of the variance that the bound takes away:
// 0 where the bound is far from the level, towards 1 where the level lies far
// on the wrong side of it.
func shrinkage(a, h float64) float64 {
	return math.Min(1, math.Max(0, h*(a+h)))
}

// logPhi is the logarithm of the normal distribution function, by its
// asymptotic series in the far lower tail, where the function itself underflows
// (Abramowitz and Stegun 1964, 26.2.12; relative error of Φ below 1e-8).
func logPhi(a float64) float64 {
	if a > -12 {
		return math.Log(0.5 * math.Erfc(-a/math.Sqrt2))
	}
	q := 1 / (a * a)
	series := 1 - q*(1-3*q*(1-5*q*(1-7*q)))
	return -0.5*a*a - math.Log(-a) - 0.5*math.Log(2*math.Pi) + math.Log(series)
}
