package dropoff

import (
	"cmp"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/stat"
)

// Series too long to be drawn again and again in full are guarded change by
// change: how much must a change lower the misfit so that noise alone has one of
// its like anywhere in the series in at most 5 of 100 cases? Windows without
// change are drawn with the noise of the rows, searched as the series was, and the
// tail of what their changes are worth is carried on to the length of the series.

const (
	longWindows = 24     // drawn for a series
	longWindow  = 10_000 // rows of a window at most
	// shortLevel is the length of a level up to which its rows are taken for
	// noise when noise is drawn: a few rows out of line that heavy tails make.
	shortLevel = 20
	// tailShare of the worths found in windows, at most, tell how the tail falls.
	tailShare = 10
)

// guardLong leaves out the changes that noise alone may make.
func (c *choice) guardLong(s Series) {
	if c.chosen == 0 {
		return
	}
	c.needed = c.neededWorth(s)
	places := c.worthy(c.path[c.chosen].Places, c.needed)
	if len(places) == len(c.path[c.chosen].Places) {
		return
	}
	by := newCriterion(c.search, s.SE != nil)
	if c.path[1] = c.step(by, places); c.path[1].Changes == 0 {
		c.path, c.chosen = c.path[:1], 0
	}
	c.settle(s.SE != nil)
}

// worths are by how much each change lowers the misfit, its neighbours as found;
// infinite for known breaks.
func (c *choice) worths(places []int) []float64 {
	out := make([]float64, len(places))
	for j, at := range places {
		if out[j] = inf; !c.forced[at] {
			before, after := neighbours(places, j, c.n)
			out[j] = c.segment(before, after).least() - c.segment(before, at).least() - c.segment(at, after).least()
		}
	}
	return out
}

// worthy are the changes left when those worth less than is needed are taken out,
// the least of each run of neighbours first, until all are worth it.
func (c *choice) worthy(places []int, needed float64) []int {
	for {
		worth := c.worths(places)
		var kept []int
		for j, at := range places {
			least := (j == 0 || worth[j] < worth[j-1]) && (j+1 == len(worth) || worth[j] <= worth[j+1])
			if !least || worth[j] >= needed {
				kept = append(kept, at)
			}
		}
		if len(kept) == len(places) {
			return places
		}
		places = kept
	}
}

// neededWorth is what a change must be worth: the most that noise alone makes in
// 24 windows, which one more exceeds in 1 of 25 cases. For a series of B windows
// that is carried on: the tail of the worths is taken as a power law, whose index
// ξ is Hill's (1975, Annals of Statistics 3, 1163–1174, equation 2.5) from the
// largest tenth of them, and the exponential law of a likelihood ratio is added,
// so that what is needed is B^ξ times the most of the windows, and 2 log B more.
func (c *choice) neededWorth(s Series) float64 {
	n := min(c.n, longWindow)
	d := c.longDrawing(s)
	worths := []float64{0}
	for window := range longWindows {
		worths = append(worths, c.alike(d.window(uint64(window), n))...)
	}
	blocks := float64(c.n) / float64(n)
	return slices.Max(worths)*math.Pow(blocks, hill(worths)) + 2*math.Log(blocks)
}

// hill is the index of the tail of positive values, 0 where they are few.
func hill(values []float64) float64 {
	values = slices.DeleteFunc(slices.Clone(values), func(v float64) bool { return v <= 0 })
	slices.SortFunc(values, func(a, b float64) int { return cmp.Compare(b, a) })
	k := len(values) / tailShare
	if k < 2 {
		return 0
	}
	sum := 0.0
	for _, v := range values[:k] {
		sum += math.Log(v / values[k])
	}
	return sum / float64(k)
}

// alike are the worths of the changes that the same search finds in a drawn
// series.
func (c *choice) alike(drawn Series) []float64 {
	o := Options{MinLength: c.minLength}
	where, err := o.places(len(drawn.Values))
	if err != nil {
		panic(err) // only breaks and zones could be wrong, and there are none
	}
	v := robustNoise(drawn, c.noise.rho)
	like := &choice{search: search{newRows(drawn, v), where, c.minLength}, noise: v}
	return like.worths(like.penalised(c.penalty))
}

// longDrawing is what windows are drawn from: innovations about the levels, of
// which short ones are taken as part of their neighbours.
func (c *choice) longDrawing(s Series) drawing {
	places := c.withoutShort(c.path[c.chosen].Places)
	d := drawing{like: s, floored: floored(s.Values)}
	from := 0
	for _, to := range append(places, c.n) {
		level, _ := c.noise.mean(s, from, to)
		for i := from + 1; i <= to; i++ {
			share, rest := c.noise.link(s, i)
			e := s.Values[i-1] - level
			if i > from+1 {
				e -= share * (s.Values[i-2] - level)
			}
			d.share, d.sd = append(d.share, share), append(d.sd, math.Sqrt(rest))
			d.errors = append(d.errors, e/math.Sqrt(rest))
		}
		from = to
	}
	mean := stat.Mean(d.errors, nil)
	for i := range d.errors {
		d.errors[i] -= mean
	}
	return d
}

// withoutShort leaves out the changes about levels that are short.
func (c *choice) withoutShort(places []int) []int {
	var out []int
	for j, at := range places {
		before, after := neighbours(places, j, c.n)
		if c.forced[at] || at-before > shortLevel && after-at > shortLevel {
			out = append(out, at)
		}
	}
	return out
}

// window draws n rows, with the standard errors and distances of as many rows of
// the series from a place of chance on.
func (d drawing) window(seed uint64, n int) Series {
	start := 0
	if over := len(d.share) - n; over > 0 {
		start = rand.New(rand.NewPCG(seed, 0x77696e646f77)).IntN(over + 1)
	}
	part := d
	part.share, part.sd = d.share[start:start+n], d.sd[start:start+n]
	part.like = Series{SE: between(d.like.SE, start, n), Position: between(d.like.Position, start, n)}
	part.floored = d.floored * n / len(d.share)
	return part.draw(seed)
}

// between are n values from a place on; nil where there are none.
func between(values []float64, start, n int) []float64 {
	if values == nil {
		return nil
	}
	return values[start : start+n]
}

// longNote tells what was done about noise in a long series.
func (c *choice) longNote(found int) string {
	if c.proposed == 0 {
		return ""
	}
	note := fmt.Sprintf("The series is too long to be drawn again in full: %d windows without change were drawn with the noise of its rows, and changes of which noise alone makes the like in more than some 5 of 100 series of this length were left out", longWindows)
	if left := c.proposed - found; left > 0 {
		return note + fmt.Sprintf(" (%d of %d).", left, c.proposed)
	}
	return note + " (none of " + fmt.Sprint(c.proposed) + ")."
}
