package dropoff

import (
	"math"
	"slices"
)

// levels are the means of the rows between the changes, weighted by the inverse
// of the rows' variances, with their standard errors under the noise found.
func (c *choice) levels(s Series) []Level {
	var out []Level
	from := 0
	for _, to := range append(slices.Clone(c.path[c.chosen].Places), c.n) {
		mean, variance := c.noise.mean(s, from, to)
		out = append(out, Level{From: from + 1, To: to, Mean: mean, SE: math.Sqrt(c.phi * variance)})
		from = to
	}
	return out
}

// mean is the weighted mean of rows from+1 to to, and its variance: each row's
// own, and twice each pair's covariance, which falls off by the likeness of one
// row to the next.
func (v noise) mean(s Series, from, to int) (mean, variance float64) {
	weights, shared := 0.0, 0.0
	for i := from + 1; i <= to; i++ {
		w := 1 / v.variance(i)
		if i > from+1 {
			shared *= v.alike(s, i)
		}
		mean += w * s.Values[i-1]
		variance += w*w*v.variance(i) + 2*w*shared*v.scatter*v.scatter
		shared += w
		weights += w
	}
	return mean / weights, variance / (weights * weights)
}

// residuals are the values less their level.
func (c *Changes) residuals(values []float64) []float64 {
	out := make([]float64, 0, c.N)
	for _, level := range c.Levels {
		for _, v := range values[level.From-1 : level.To] {
			out = append(out, v-level.Mean)
		}
	}
	return out
}
