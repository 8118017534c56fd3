package dropoff

import (
	"math"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/stat"
)

// manyBlocks is about how many stretches a long series is averaged over to see how
// often noise alone looks like a gradual change of it.
const manyBlocks = 200

// compareLong compares the steps of a long series, of which those that noise may
// make were left out, with no change and with gradual ones. A gradual change is
// claimed only where it also shows in the means of some 200 stretches, which are
// drawn again without change as a short series is: a row more or less, and how
// alike neighbours are, matters little to them.
func (c *choice) compareLong(s Series, o Options, where places) {
	q := c.search
	if c.breaks > 0 { // levels had been subtracted
		q = search{newRows(s, c.noise), where, c.minLength}
	}
	l := newCandidateFits(s, c.noise, q)
	real := contest{none: entry{Candidate{Name: NoChange, Criterion: l.by.of(q.known()), Places: q.known()}, l}}
	steady, broken := l.lines()
	real.steady, real.broken = entry{steady, l}, entry{broken, l}
	if step := c.path[c.chosen]; step.Changes > 0 {
		real.steps = entry{Candidate{Name: Steps, Criterion: l.by.of(step.Places), Places: step.Places}, l}
	} else {
		real.steps.Criterion = -inf
	}
	var rates alarms
	if gradual := max(steady.Criterion, broken.Criterion); gradual > max(real.none.Criterion, real.steps.Criterion) {
		rates.any = gradualAlarm(s, o)
	}
	c.compared = newComparison(real, rates, s, o)
}

// gradualAlarm is how often means of stretches without change look as much like a
// change as those of the series; 1 where these look like none.
func gradualAlarm(s Series, o Options) float64 {
	means, breaks := s.averaged(o.breaks(), manyBlocks)
	short, where, err := prepareLevels(means, Options{Breaks: breaks})
	if err != nil {
		return 1 // stretches that do not differ at all
	}
	real := newContest(means, short, where)
	if real.best() <= 0 {
		return 1
	}
	return falseAlarms(real, means, short, where).any
}

// averaged is the series by the means of about so many stretches of as many rows,
// none across a known break, and the stretches that end with a known break.
func (s Series) averaged(breaks []int, blocks int) (means Series, ends []int) {
	n := len(s.Values)
	from := 0
	for _, to := range append(breaks[:len(breaks):len(breaks)], n) {
		many := max((to-from)*blocks/n, 1)
		for k := range many {
			a, b := from+k*(to-from)/many, from+(k+1)*(to-from)/many
			means.Values = append(means.Values, stat.Mean(s.Values[a:b], nil))
			means.Position = append(means.Position, (s.position(a+1)+s.position(b))/2)
			if s.SE != nil {
				means.SE = append(means.SE, floats.Norm(s.SE[a:b], 2)/float64(b-a))
			}
		}
		if from = to; to < n {
			ends = append(ends, len(means.Values))
		}
	}
	// By blocks, so that means one block apart are as alike as one correlation says.
	floats.Scale(float64(len(means.Values))/math.Max(s.position(n)-s.position(1), 1), means.Position)
	return means, ends
}
