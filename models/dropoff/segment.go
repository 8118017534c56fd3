package dropoff

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"
)

// Segment finds the changes of level in a series.
//
// For each number of changes the segmentation with the smallest residual sum
// of squares is found exactly, rows weighted by the inverse of their variance;
// the number is the one with the best modified Bayesian information criterion
// (Zhang and Siegmund 2007). The variance of a row about its level is the
// square of its own standard error, where it carries one, plus a scatter common
// to all rows, which is estimated robustly first and then from the residuals of
// the levels found. The interval of each place holds 95 % of its posterior
// probability, given that there is one change in each stretch of rows that lies
// nearer to one change found than to the others; its probability is that of a
// change anywhere in that interval, over all numbers and places of changes
// (Fearnhead 2006), the noise's variance integrated out and Options.Expected
// changes expected beforehand.
//
// It fails with a sentence where the series or the options do not make sense.
func Segment(s Series, o Options) (*Changes, error) {
	n := len(s.Values)
	o, err := o.filled(n)
	if err != nil {
		return nil, err
	}
	if err := s.check(o); err != nil {
		return nil, err
	}
	where, err := o.places(n)
	if err != nil {
		return nil, err
	}
	found, err := choose(s, o, where)
	if err != nil {
		return nil, err
	}
	return found.changes(s, o), nil
}

// A choice is the segmentation chosen, with the noise it rests on.
type choice struct {
	search
	noise  noise
	path   []Step
	chosen int
	breaks int
	phi    float64 // factor of the noise's variance
	df     float64
}

// noiseRounds is how often the noise and the segmentation are estimated in
// turn where rows carry standard errors; they settle in two or three.
const noiseRounds = 10

func choose(s Series, o Options, where places) (*choice, error) {
	v := robustNoise(s)
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
		last, v = now, fittedNoise(s, now)
	}
}

func chooseGiven(v noise, s Series, o Options, where places) (*choice, error) {
	n := len(s.Values)
	c := &choice{
		search: search{newRows(s.Values, v.sd(n)), where, o.MinLength},
		noise:  v,
	}
	for _, forced := range where.forced {
		if forced {
			c.breaks++
		}
	}
	most := o.mostChanges(n)
	for _, found := range c.search.path(most) {
		c.path = append(c.path, Step{Changes: len(found) - c.breaks, Places: found, RSS: c.total(found)})
	}
	if o.Number != nil && *o.Number >= len(c.path) {
		return nil, tooMany(*o.Number, n, o.MinLength)
	}
	c.weigh(s.SE != nil)
	if o.Number != nil {
		c.chosen = *o.Number
	}
	c.settle(s.SE != nil)
	return c, nil
}

// exactMisfit is the share of the whole misfit below which levels are taken to
// fit exactly: what is left is rounding.
const exactMisfit = 1e-14

// weigh gives each step its criterion and takes the best.
func (c *choice) weigh(bound bool) {
	least := exactMisfit * max(c.path[0].RSS, c.sums[c.n].c)
	by := newCriterion(c.n, max(c.path[0].RSS, least), bound)
	for k := range c.path {
		step := &c.path[k]
		step.Criterion = by.of(step.Places, c.breaks, max(step.RSS, least))
		if step.Criterion > c.path[c.chosen].Criterion {
			c.chosen = k
		}
	}
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

// changes tells the choice as a result.
func (c *choice) changes(s Series, o Options) *Changes {
	step := c.path[c.chosen]
	out := &Changes{
		N: c.n, Criterion: criterionName,
		Changes: []Change{}, Levels: c.levels(step.Places),
		Scatter: c.noise.scatter, DF: c.df,
		Path: c.path, Labels: s.Labels,
	}
	if s.SE == nil {
		out.Scatter *= math.Sqrt(c.phi)
	}
	if o.Number != nil {
		out.Criterion = "number of changes given"
	}
	out.place(c, s, o)
	out.Notes = c.notes(s, o, out)
	return out
}

// place gives each change its interval, its probability and its size.
func (out *Changes) place(c *choice, s Series, o Options) {
	step := c.path[c.chosen]
	b := newBelief(c.search, c.prior(o), c.phi, c.df, s.SE != nil)
	found := c.found()
	spots := b.spots(zonesAbout(found, c.n))
	out.Each, out.Number = b.each(), b.number()
	quantile := distuv.StudentsT{Sigma: 1, Nu: c.df}.Quantile(0.975)
	for j, after := range found {
		k := slices.Index(step.Places, after)
		low, high := spots[j].interval(after)
		old, new := out.Levels[k], out.Levels[k+1]
		size, half := new.Mean-old.Mean, quantile*math.Hypot(old.SE, new.SE)
		out.Changes = append(out.Changes, Change{
			After: after, At: s.Label(after), Low: low, High: high, Probability: b.within(low, high),
			Size: size, SizeLow: size - half, SizeHigh: size + half,
		})
	}
}

// found are the places of the changes, known breaks left out.
func (c *choice) found() []int {
	var out []int
	for _, after := range c.path[c.chosen].Places {
		if !c.forced[after] {
			out = append(out, after)
		}
	}
	return out
}

// prior is what is held beforehand: the expected number of changes spread over
// all places that may have one, and levels as spread as the values.
func (c *choice) prior(o Options) prior {
	free := 0
	for _, ok := range c.free {
		if ok {
			free++
		}
	}
	change := o.Expected / float64(max(free, 1))
	spread := c.sums[c.n].c / c.sums[c.n].a // weighted variance of the values over the unit
	return prior{change: min(change, 0.5), spread: max(spread, c.phi/c.sums[c.n].a)}
}

// levels are the means between the places.
func (c *choice) levels(places []int) []Level {
	var out []Level
	from := 0
	for _, to := range append(slices.Clone(places), c.n) {
		f := c.segment(from, to)
		out = append(out, Level{From: from + 1, To: to, Mean: f.level() + c.centre, SE: math.Sqrt(c.phi / f.a)})
		from = to
	}
	return out
}

// mostChanges is how many changes are weighed.
func (o Options) mostChanges(n int) int {
	most := max(n/4, 1)
	if o.MostChanges > 0 {
		most = o.MostChanges
	}
	if o.Number != nil {
		most = max(most, *o.Number)
	}
	return most
}
