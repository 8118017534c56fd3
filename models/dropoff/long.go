package dropoff

import (
	"math"

	"gonum.org/v1/gonum/floats"
)

// mostSearched is the longest series for which the best segmentation is found
// for each number of changes; in longer ones it is found for one penalty, and
// the posterior near each change only.
const mostSearched = 5000

// mostWeighed is the longest series for which the posterior over all
// segmentations is computed, whose cost grows with the square of the rows.
const mostWeighed = 2000

// penaltyRounds bounds how often the penalty is brought in line with the
// changes found; it settles in two or three.
const penaltyRounds = 5

// chooseLong chooses in a long series: the best segmentation for a penalty for
// each change that is what the change costs the modified Bayesian information
// criterion in that very segmentation. In the penalty the noise's variance is
// that of the residuals, and the correlation of neighbouring rows is estimated
// from their differences.
func chooseLong(s Series, o Options, where places) *choice {
	rho := 0.0
	if o.Correlation != nil {
		rho = *o.Correlation
	} else {
		rho = robustCorrelation(s)
	}
	v := robustNoise(s, rho)
	c := &choice{search: search{newRows(s, v), where, o.MinLength}, noise: v}
	by := newCriterion(c.search, s.SE != nil)
	none := c.penalised(inf)
	c.path = []Step{c.step(by, none), c.step(by, none)}
	c.chosen = 1
	next := 3 * math.Log(float64(c.n))
	for range penaltyRounds {
		c.penalty = next
		c.path[1] = c.step(by, c.penalised(c.penalty))
		c.settle(s.SE != nil)
		if next = c.phi * by.cost(c.path[1].Places); math.Abs(next/c.penalty-1) < 0.01 {
			break
		}
	}
	if c.path[1].Changes == 0 || c.path[1].Criterion <= c.path[0].Criterion {
		c.path, c.chosen = c.path[:1], 0
		c.settle(s.SE != nil)
	}
	return c
}

// step describes a segmentation.
func (c *choice) step(by criterion, places []int) Step {
	misfit, _ := c.total(places)
	return Step{Changes: len(places) - c.breaks, Places: places, RSS: misfit, Criterion: by.of(places)}
}

// cost is what each change costs the criterion on the scale of −2 log
// likelihood, on average over a segmentation.
func (c criterion) cost(places []int) float64 {
	m := float64(len(places) - c.breaks)
	if m == 0 {
		return 3 * math.Log(float64(c.n))
	}
	return (c.shares(places) + 3*m*math.Log(float64(c.n))) / m
}

// robustCorrelation estimates the correlation of neighbouring rows from the median
// absolute differences of rows two and one apart, d₂ and d₁, as (d₂/d₁)² − 1
// (Chakar, Lebarbier, Lévy-Leduc and Robin 2017, Bernoulli 23, 1408–1447,
// equation 5), which a few changes do not disturb; 0 where it is within two
// standard errors of 0 or rows carry standard errors that hide it.
func robustCorrelation(s Series) float64 {
	n := len(s.Values)
	apart := func(k int) float64 {
		var d []float64
		for i := 0; i+k < n; i += stride(n) {
			d = append(d, math.Abs(s.Values[i+k]-s.Values[i]))
		}
		return median(d)
	}
	near, far := apart(1), apart(2)
	if near == 0 || s.SE != nil {
		return 0
	}
	rho := (far/near)*(far/near) - 1
	if rho < 4/math.Sqrt(float64(n/stride(n))) {
		return 0
	}
	return min(rho, mostLikeness)
}

// placeLocally gives each change the interval and the probability that the rows
// between its neighbours give it, which are taken as found: one change there
// against none, by the same posterior as in short series. It takes time in
// proportion to the rows.
func (out *Changes) placeLocally(c *choice, s Series, o Options) {
	out.ChangeProbability = make([]float64, c.n)
	// A long series cannot be held to one change; as many as were found are
	// expected.
	o.Expected = max(o.Expected, float64(len(c.path[c.chosen].Places)))
	p := c.prior(o)
	places := c.path[c.chosen].Places
	for k, after := range places {
		if c.forced[after] {
			continue
		}
		from, to := neighbours(places, k, c.n)
		at, some := c.alone(from, to, p)
		low, high := at.interval(after - from)
		for t, share := range at {
			if t > 0 && t < to-from {
				out.ChangeProbability[from+t-1] = max(out.ChangeProbability[from+t-1], some*share)
			}
		}
		probability := some * floats.Sum(at[low:high+1])
		out.report(s, o, k, from+low, from+high, probability, 1-probability, p.change)
	}
}

// alone is the posterior of one change among rows from+1 to to: its place, by
// rows after from, and the probability that there is one rather than none.
func (c *choice) alone(from, to int, p prior) (at spot, some float64) {
	odds := math.Log(p.change / (1 - p.change))
	return c.onePlace(from, to, odds, func(s, t int) float64 { return c.evidence(s, t, p.spread, c.phi) })
}
