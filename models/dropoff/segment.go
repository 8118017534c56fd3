package dropoff

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"
)

// Segment finds the changes of level in a series.
//
// For each number of changes the segmentation with the largest likelihood is
// found exactly; the number is the one with the best modified Bayesian
// information criterion (Zhang and Siegmund 2007). A row departs from its level
// by its own measuring error, where it carries a standard error, and by a
// scatter common to all rows, which may be alike in neighbouring rows
// (first-order autoregression along the positions) and begins afresh with each
// level. The scatter is estimated robustly first and then from the residuals of
// the levels found; its correlation is the one with the best criterion.
//
// The interval of each place holds 95 % of its posterior probability, given
// that there is one change in each stretch of rows that lies nearer to one
// change found than to the others; its probability is that of a change anywhere
// in that interval, over all numbers and places of changes (Fearnhead 2006),
// the noise's variance and correlation averaged over, and Options.Expected
// changes expected beforehand.
//
// In a series of more than 5,000 rows the best segmentation is found for one
// penalty, which is what a change costs the criterion in that segmentation, the
// correlation is estimated robustly, and no series are drawn; beyond 2,000 rows
// each place is judged between its neighbours as found.
//
// It fails with a sentence where the series or the options do not make sense.
func Segment(s Series, o Options) (*Changes, error) {
	o, where, err := prepare(s, o)
	if err != nil {
		return nil, err
	}
	var found *choice
	if len(s.Values) > mostSearched && o.Number == nil {
		found = chooseLong(s, o, where)
	} else if found, err = choose(s, o, where); err != nil {
		return nil, err
	}
	if o.Number == nil {
		found.guard(s, o, where)
	}
	return found.changes(s, o), nil
}

// prepare checks the series and the options, and fills in what was left open.
func prepare(s Series, o Options) (Options, places, error) {
	if err := s.check(o); err != nil {
		return o, places{}, err
	}
	o, err := o.filled(len(s.Values))
	if err != nil {
		return o, places{}, err
	}
	where, err := o.places(len(s.Values))
	return o, where, err
}

// guard compares the accounts of the series, and withholds steps where noise
// alone looks as much like them more often than alarmLevel.
func (c *choice) guard(s Series, o Options, where places) {
	c.proposed = c.path[c.chosen].Changes
	if c.n > mostDrawn {
		return
	}
	real := newContest(s, o, where)
	var rates alarms
	if c.chosen > 0 || real.best() > 0 {
		rates = falseAlarms(real, s, o, where)
	}
	c.compared = newComparison(real, rates, s)
	if c.chosen > 0 && rates.steps > alarmLevel {
		c.chosen = 0
		c.settle(s.SE != nil)
	}
	c.alarm = rates.steps
}

// likely is the probability below which a change is left out.
const likely = 0.5

// prune takes one change less for as long as one of several is less likely
// than not.
func (c *choice) prune(b belief, s Series) {
	for c.chosen > 1 {
		found := c.found()
		least := 1.0
		for j, spot := range b.spots(zonesAbout(found, c.n)) {
			least = min(least, b.within(spot.interval(found[j])))
		}
		if least >= likely {
			return
		}
		c.chosen--
		c.settle(s.SE != nil)
	}
}

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
	phi      float64     // factor of the noise's variance
	df       float64
	// others are the choices for the other correlations that are not far
	// behind the best, where it is estimated.
	others []*choice
}

// mostLikeness is the largest correlation of neighbouring rows that may be
// given: beyond it a series wanders so much that levels mean nothing.
const mostLikeness = 0.9

// likenesses are the correlations among which the best is chosen.
var likenesses = []float64{0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7}

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
	for _, rho := range likenesses {
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
	return c.path[c.chosen].Criterion - likenessCost(c.noise.rho, c.n)
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
	out := &Changes{N: c.n, Criterion: criterionName, Changes: []Change{}, FalseAlarm: c.alarm, Compared: c.compared, Labels: s.Labels}
	if o.Number != nil {
		out.Criterion = "number of changes given"
	}
	var b belief
	if c.n <= mostWeighed {
		b = newBelief(append([]*choice{c}, c.others...), c.path[c.chosen].Places, o, s.SE != nil)
		out.Each, out.Number = b.each(), b.number()
		if o.Number == nil {
			c.prune(b, s)
		}
	}
	out.Levels, out.Path = c.levels(s, b), c.steps(s)
	out.Scatter, out.Correlation, out.DF = c.noise.scatter, c.noise.rho, c.df
	if s.SE == nil {
		out.Scatter *= math.Sqrt(c.phi)
	}
	if c.n <= mostWeighed {
		out.place(c, b, s)
	} else {
		out.placeLocally(c, s, o)
	}
	out.Notes = c.notes(s, o, out)
	return out
}

// steps are the path in the unit of the values, criteria from that of no
// change.
func (c *choice) steps(s Series) []Step {
	out := slices.Clone(c.path)
	for k := range out {
		out[k].Criterion -= c.path[0].Criterion
		if s.SE == nil {
			out[k].RSS *= c.noise.scatter * c.noise.scatter
		}
	}
	return out
}

// place gives each change its interval, its probability and its size.
func (out *Changes) place(c *choice, b belief, s Series) {
	found := c.found()
	spots, quantile := b.spots(zonesAbout(found, c.n)), out.quantile()
	for j, after := range found {
		low, high := spots[j].interval(after)
		out.report(s, slices.Index(c.path[c.chosen].Places, after), quantile, low, high, b.within(low, high))
	}
}

// quantile is that of Student's t for 95 % intervals.
func (out *Changes) quantile() float64 {
	return distuv.StudentsT{Sigma: 1, Nu: out.DF}.Quantile(0.975)
}

// report adds the change between levels k and k+1, with its size and the
// interval of that.
func (out *Changes) report(s Series, k int, quantile float64, low, high int, probability float64) {
	old, new := out.Levels[k], out.Levels[k+1]
	size := new.Mean - old.Mean
	half := quantile * math.Hypot(old.SE, new.SE)
	out.Changes = append(out.Changes, Change{
		After: old.To, At: s.Label(old.To), Low: low, High: high, Probability: probability,
		Size: size, SizeLow: size - half, SizeHigh: size + half,
	})
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
	spread := 0.0
	for _, row := range c.first[1:] {
		spread += row.c / c.weight // the weighted variance of the values
	}
	return prior{change: min(change, 0.5), spread: spread}
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
