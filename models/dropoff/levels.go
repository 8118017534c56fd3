package dropoff

import (
	"math"
	"slices"
)

// levels are the means of the rows between the changes, weighted by the inverse
// of the rows' variances, with their standard errors: the mean variance over the
// noises that are believed in, or under the one found where there is no such
// belief.
func (c *choice) levels(s Series, b belief) []Level {
	if len(b.noises) == 0 {
		b = belief{weights: []float64{1}, noises: []noise{c.noise.times(c.phi)}}
	}
	var out []Level
	from := 0
	for _, to := range append(slices.Clone(c.path[c.chosen].Places), c.n) {
		level := Level{From: from + 1, To: to}
		level.Mean, _ = c.noise.mean(s, from, to)
		variance := 0.0
		for k, v := range b.noises {
			_, each := v.mean(s, from, to)
			variance += b.weights[k] * each
		}
		level.SE = math.Sqrt(variance)
		out = append(out, level)
		from = to
	}
	return out
}

// mean is the weighted mean of rows from+1 to to, and its variance: each row's
// own, and twice each pair's covariance, which falls off by the correlation of one
// row to the next.
func (v noise) mean(s Series, from, to int) (mean, variance float64) {
	weights, shared, unit := 0.0, 0.0, v.variance(from+1)
	for i := from + 1; i <= to; i++ {
		w := unit / v.variance(i)
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
