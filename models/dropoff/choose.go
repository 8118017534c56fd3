package dropoff

import "slices"

// A choice is the segmentation chosen for one correlation of the noise.
type choice struct {
	search
	noise  noise
	path   []Step
	chosen int
	// proposed is the number of changes by the criterion alone, and alarm how
	// often noise alone looks as much like a change; 0 where not asked.
	proposed int
	alarm    float64
	compared *Comparison // nil where not asked
	// penalty is that for each change of a long series, in units of the noise, and
	// needed what a change of it must be worth.
	penalty, needed float64
	phi             float64 // factor of the noise's variance
	df              float64
	// others are the choices for the other correlations that are not far
	// behind the best, where it is estimated.
	others []*choice
}

// mostLikeness is the largest correlation of neighbouring rows that may be
// given: beyond it a series wanders so much that levels mean nothing.
const mostLikeness = 0.9

// correlationGrid are the correlations among which the best is chosen.
var correlationGrid = []float64{0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7}

// negligible is how far the criterion of a correlation may be behind the best
// for it to be averaged over.
const negligible = 6.0

// choose takes the best of the choices over the correlation of the noise.
func choose(s Series, o Options, where places) (*choice, error) {
	if o.Correlation != nil {
		return chooseLike(*o.Correlation, s, o, where)
	}
	var best *choice
	var all []*choice
	for _, rho := range correlationGrid {
		c, err := chooseLike(rho, s, o, where)
		if err != nil {
			return nil, err
		}
		if all = append(all, c); best == nil || c.score() > best.score() {
			best = c
		}
	}
	for _, c := range all {
		if c != best && best.score()-c.score() < negligible {
			best.others = append(best.others, c)
		}
	}
	return best, nil
}

// noiseRounds is how often the noise and the segmentation are estimated in
// turn where rows carry standard errors; they settle in two or three.
const noiseRounds = 10

// chooseLike chooses given the correlation of the noise.
func chooseLike(rho float64, s Series, o Options, where places) (*choice, error) {
	v := robustNoise(s, rho)
	var last []int
	for round := 0; ; round++ {
		c, err := chooseGiven(v, s, o, where)
		if err != nil {
			return nil, err
		}
		now := c.path[c.chosen].Places
		if s.SE == nil || round == noiseRounds || (round > 0 && slices.Equal(now, last)) {
			return c, nil
		}
		last, v = now, fittedNoise(s, rho, now)
	}
}

// exactMisfit is the share of the whole misfit below which levels are taken to
// fit exactly: what is left is rounding.
const exactMisfit = 1e-14

// patience is how many more changes are tried in vain before the search for a
// better number than k ends.
func patience(k int) int { return 10 + k/2 }

// chooseGiven chooses given the noise.
func chooseGiven(v noise, s Series, o Options, where places) (*choice, error) {
	c := &choice{search: search{newRows(s, v), where, o.MinLength}, noise: v}
	by := newCriterion(c.search, s.SE != nil)
	most, enough := o.mostChanges(c.n), o.Number != nil || o.MostChanges > 0
	c.search.path(func(k int, places []int) bool {
		misfit, _ := c.total(places)
		c.path = append(c.path, Step{Changes: k, Places: places, RSS: misfit, Criterion: by.of(places)})
		if c.path[k].Criterion > c.path[c.chosen].Criterion {
			c.chosen = k
		}
		return k < most && (enough || k < c.chosen+patience(c.chosen))
	})
	if o.Number != nil {
		if *o.Number >= len(c.path) {
			return nil, tooMany(*o.Number, c.n, o.MinLength)
		}
		c.chosen = *o.Number
	}
	c.settle(s.SE != nil)
	return c, nil
}

// score is the criterion of the choice, comparable between correlations.
func (c *choice) score() float64 {
	return c.path[c.chosen].Criterion - correlationCost(c.noise.rho, c.n)
}

// settle takes the noise from the residuals of the segmentation chosen.
func (c *choice) settle(bound bool) {
	step := c.path[c.chosen]
	c.df = max(float64(c.n-len(step.Places)-1), 1)
	c.phi = max(step.RSS, exactMisfit*c.sums[c.n].c) / c.df
	if bound {
		c.phi = max(c.phi, 1)
	}
}
