package dropoff

import (
	"math"
	"slices"
	"thumbed/models/student"
)

// Segment finds the changes of level in a series.
//
// For each number of changes the segmentation with the largest likelihood is
// found exactly; the number is the one with the best modified Bayesian
// information criterion (Zhang and Siegmund 2007). At a known break the level
// may differ by anything, which costs no place and is no change; how much it does
// bears on nothing else. A row departs from its level
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
// correlation is estimated robustly, and changes are left out of which noise alone
// makes the like (see long_guard.go); beyond 2,000 rows each place is judged between
// its neighbours as found.
//
// It fails with a sentence where the series or the options do not make sense.
func Segment(s Series, o Options) (*Changes, error) {
	o, where, err := prepareLevels(s, o)
	if err != nil {
		return nil, err
	}
	var found *choice
	flat := s.levelled(o.breaks())
	if len(s.Values) > mostSearched && o.Number == nil {
		found = chooseLong(flat, o, where)
	} else if found, err = choose(flat, o, where); err != nil {
		return nil, err
	}
	if o.Number == nil {
		found.guard(s, o, where)
	}
	return found.changes(s, o), nil
}

// prepare checks the series and the options, and fills in what was left open.
// Between known breaks there must be as many rows as one piece needs.
func prepare(s Series, o Options) (Options, places, error) {
	o, where, err := prepareLevels(s, o)
	if err == nil {
		err = where.checkLengths(o.MinLength)
	}
	return o, where, err
}

// prepareLevels is prepare where levels are looked for, of which a known break
// may part off a single row.
func prepareLevels(s Series, o Options) (Options, places, error) {
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

// changes tells the choice as a result.
func (c *choice) changes(s Series, o Options) *Changes {
	out := &Changes{N: c.n, Criterion: criterionName, Changes: []Change{}, FalseAlarm: c.alarm, Compared: c.compared, Labels: s.Labels}
	if o.Number != nil {
		out.Criterion = "number of changes given"
	}
	var b belief
	if c.n <= mostWeighed {
		b = newBelief(append([]*choice{c}, c.others...), c.path[c.chosen].Places, o, s.SE != nil)
		out.ChangeProbability, out.CountProbability = b.each(), b.number()
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
		out.place(c, b, s, o)
	} else {
		out.placeLocally(c, s, o)
	}
	out.know(s, o)
	out.reconcile(s, o)
	out.withhold(s, o)
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
func (out *Changes) place(c *choice, b belief, s Series, o Options) {
	found := c.found()
	spots := b.spots(c.zonesAbout(found))
	for j, after := range found {
		low, high := spots[j].interval(after)
		none := b.none(low, high)
		out.report(s, o, slices.Index(c.path[c.chosen].Places, after), low, high, min(1-none, 1-c.alarm), none, c.prior(o).change)
	}
}

// quantile is that of Student's t for 95 % intervals.
func (out *Changes) quantile() float64 {
	return student.Half(0.95, out.DF)
}

// report adds the change between levels k and k+1, with its size and the interval of
// that; none is the probability that there is no change, as far as the rows tell, and
// beforehand that of one after any one row.
func (out *Changes) report(s Series, o Options, k, low, high int, probability, none, beforehand float64) {
	old, new := out.Levels[k], out.Levels[k+1]
	c := Change{After: old.To, At: s.Label(old.To), Low: low, High: high, Probability: probability, Size: new.Mean - old.Mean}
	own := math.Hypot(old.SE, new.SE)
	se, df, _ := out.sizeError(old, new, s)
	least := 0.0
	if o.Number == nil && own > 0 {
		least = own * leastReported(c.Size/own, none, beforehand)
	}
	c.SizeLow, c.SizeHigh = reportedInterval(c.Size, se, df, least)
	out.Changes = append(out.Changes, c)
}

// sizeOf is by how much a level is above the one before, with its interval.
func sizeOf(old, new Level, quantile float64) (size, low, high float64) {
	size = new.Mean - old.Mean
	half := quantile * math.Hypot(old.SE, new.SE)
	return size, size - half, size + half
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
