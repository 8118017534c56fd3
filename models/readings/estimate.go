package readings

import "math"

// A datum is one placing as it enters a page's estimate. Its expectation is
// the level of its block (the zero of one sitting) and, on the page itself,
// the wear on top.
type datum struct {
	value    float64 // density, corrected
	variance float64 // density², known
	limit    Limit   // value is a bound only
	zero     bool    // read on the zero
	block    int
}

// An estimate is the wear of a page and how each datum bears on it.
type estimate struct {
	wear  float64
	limit Limit
	// derivative is the change of wear with each datum's value.
	derivative []float64
	// share is what each datum's own variance adds to that of wear, density².
	share []float64
}

// solve gives the wear of a page by maximum likelihood for normal values of
// known variance, with those at a limit entering by the probability of lying
// beyond it (Tobin 1958, Econometrica 26, 24–36; Cohen 1959, Technometrics 1,
// 217–237). Without limits this is least squares: the weighted mean over
// blocks of mean placing less mean zero. Where the placings give no more than a
// bound the wear is that bound, marked as such; the lower one where one sitting
// bounds it from below and another from above. It is false where they give not
// even a bound.
func solve(data []datum, blocks int) (estimate, bool) {
	kinds := blockKinds(data, blocks)
	up, down, whole := false, false, false
	for _, k := range kinds {
		up, down, whole = up || k == atLeast, down || k == atMost, whole || k == measuredBlock
	}
	switch {
	case whole:
		return likelihood(data, kinds), true
	case up:
		return tightest(data, kinds, atLeast), true
	case down:
		return tightest(data, kinds, atMost), true
	}
	return estimate{}, false
}

// A blockKind is what the readings of a block can say of the wear.
type blockKind uint8

const (
	silent        blockKind = iota // nothing: page and zero both at the floor, or one of them not read, or the page at both ends of the scale
	measuredBlock                  // a number
	atLeast                        // a lower bound
	atMost                         // an upper bound
)

func blockKinds(data []datum, blocks int) []blockKind {
	type tally struct{ measured, above, below int }
	tallies := make([]struct{ page, zero tally }, blocks)
	for i := range data {
		d := &data[i]
		t := &tallies[d.block].page
		if d.zero {
			t = &tallies[d.block].zero
		}
		switch d.limit {
		case Above:
			t.above++
		case Below:
			t.below++
		default:
			t.measured++
		}
	}
	kinds := make([]blockKind, blocks)
	for b := range kinds {
		page, zero := tallies[b].page, tallies[b].zero
		switch {
		case zero.measured+zero.below == 0:
		case page.measured > 0 && zero.measured > 0:
			kinds[b] = measuredBlock
		case page.measured > 0, page.above > 0 && page.below == 0:
			kinds[b] = atLeast
		case page.below > 0 && page.above == 0 && zero.measured > 0:
			kinds[b] = atMost
		}
	}
	return kinds
}

// slopes gives the logarithm of a datum's likelihood at a mean (constants left
// out), its derivative along the mean and its information, the negative second
// derivative.
func (d *datum) slopes(mean float64) (log, first, information float64) {
	sd := math.Sqrt(d.variance)
	sign := 1.0
	switch d.limit {
	case Measured:
		r := d.value - mean
		return -r * r / (2 * d.variance), r / d.variance, 1 / d.variance
	case Below:
		sign = -1
	}
	z := sign * (mean - d.value) / sd
	ratio := tail(z)
	return logPhi(z), sign * ratio / sd, ratio * (ratio + z) / d.variance
}

// An arrow is the information on the wear and the blocks' levels: dense in the
// first row and column, diagonal elsewhere.
type arrow struct {
	gradient, corner       float64   // of the wear
	slopes, edge, diagonal []float64 // of the levels
}

// gather sums the data's derivatives at a point; it gives the log likelihood.
func (a *arrow) gather(data []datum, kinds []blockKind, wear float64, levels []float64) float64 {
	a.gradient, a.corner = 0, 0
	clear(a.slopes)
	clear(a.edge)
	clear(a.diagonal)
	total := 0.0
	for i := range data {
		d := &data[i]
		if kinds[d.block] == silent {
			continue
		}
		mean := levels[d.block]
		if !d.zero {
			mean += wear
		}
		log, first, information := d.slopes(mean)
		total += log
		a.slopes[d.block] += first
		a.diagonal[d.block] += information
		if !d.zero {
			a.gradient += first
			a.corner += information
			a.edge[d.block] += information
		}
	}
	return total
}

// schur is the information on the wear when the levels are estimated too.
func (a *arrow) schur() float64 {
	s := a.corner
	for b, diagonal := range a.diagonal {
		if diagonal > 0 {
			s -= a.edge[b] * a.edge[b] / diagonal
		}
	}
	return s
}

// likelihood climbs the log likelihood, which is concave, by Newton's method
// with halved steps; without limits the first step is exact.
func likelihood(data []datum, kinds []blockKind) estimate {
	const most, close, slack = 200, 1e-13, 1e-9 // steps; density; log likelihood, rounding of its sum
	blocks := len(kinds)
	room := make([]float64, 5*blocks) // one piece of memory
	take := func() (of []float64) { of, room = room[:blocks:blocks], room[blocks:]; return of }
	wear, levels := start(data, blocks)
	a := &arrow{slopes: take(), edge: take(), diagonal: take()}
	step, trial := take(), take()
	height := a.gather(data, kinds, wear, levels)
	for range most {
		wearStep := a.gradient
		for b, diagonal := range a.diagonal {
			if diagonal > 0 {
				wearStep -= a.edge[b] * a.slopes[b] / diagonal
			}
		}
		wearStep /= a.schur()
		largest := math.Abs(wearStep)
		for b, diagonal := range a.diagonal {
			if step[b] = 0; diagonal > 0 {
				step[b] = (a.slopes[b] - a.edge[b]*wearStep) / diagonal
			}
			largest = math.Max(largest, math.Abs(step[b]))
		}
		if largest < close {
			break
		}
		size := 1.0
		for {
			for b := range trial {
				trial[b] = levels[b] + size*step[b]
			}
			if reached := a.gather(data, kinds, wear+size*wearStep, trial); reached >= height-slack || size < 1e-6 {
				height = reached
				break
			}
			size /= 2
		}
		wear += size * wearStep
		copy(levels, trial)
	}
	return a.bearing(data, kinds, wear, levels)
}

// start is a first guess: bounds taken for numbers.
func start(data []datum, blocks int) (wear float64, levels []float64) {
	levels = make([]float64, blocks)
	sides := make([]struct{ page, placings, zeros float64 }, blocks)
	for i := range data {
		d := &data[i]
		s := &sides[d.block]
		if d.zero {
			levels[d.block] += d.value
			s.zeros++
		} else {
			s.page += d.value
			s.placings++
		}
	}
	used := 0.0
	for b, s := range sides {
		if s.zeros == 0 || s.placings == 0 {
			continue
		}
		levels[b] /= s.zeros
		wear += s.page/s.placings - levels[b]
		used++
	}
	return wear / used, levels
}

// bearing gives each datum's derivative and share from the information at the top.
func (a *arrow) bearing(data []datum, kinds []blockKind, wear float64, levels []float64) estimate {
	n := len(data)
	room := make([]float64, 2*n)
	e := estimate{wear: wear, derivative: room[:n:n], share: room[n:]}
	onWear := 1 / a.schur()
	for i := range data {
		d := &data[i]
		if kinds[d.block] == silent {
			continue
		}
		mean, lever := levels[d.block], -a.edge[d.block]/a.diagonal[d.block]
		if !d.zero {
			mean += wear
			lever++
		}
		_, _, information := d.slopes(mean)
		e.derivative[i] = information * lever * onWear
		e.share[i] = information * lever * lever * onWear * onWear
	}
	return e
}

// tightest gives the bound of the block that binds most among those of a kind.
// All its placings, or all its zeros, stand at a limit; that side counts at the
// limit itself, the other at its mean.
func tightest(data []datum, kinds []blockKind, kind blockKind) estimate {
	var best estimate
	for b := range kinds {
		if kinds[b] != kind {
			continue
		}
		e := blockBound(data, b)
		e.limit = Above
		if kind == atMost {
			e.limit = Below
		}
		if best.limit == Measured || kind == atLeast && e.wear > best.wear || kind == atMost && e.wear < best.wear {
			best = e
		}
	}
	return best
}

func blockBound(data []datum, block int) estimate {
	e := estimate{derivative: make([]float64, len(data)), share: make([]float64, len(data))}
	for _, zero := range []bool{false, true} {
		var side []datum
		var at []int
		for i, d := range data {
			if d.block == block && d.zero == zero {
				side, at = append(side, d), append(at, i)
			}
		}
		sign := 1.0
		if zero {
			sign = -1
		}
		mean, derivative, share := sideMean(side)
		e.wear += sign * mean
		for k, i := range at {
			e.derivative[i], e.share[i] = sign*derivative[k], share[k]
		}
	}
	return e
}

// sideMean is the mean, by maximum likelihood, of values of one expectation,
// some of them at a limit; where all are, their mean, which has no variance of
// its own. Derivative and share are as in [estimate].
func sideMean(side []datum) (mean float64, derivative, share []float64) {
	derivative, share = make([]float64, len(side)), make([]float64, len(side))
	limits := 0
	for _, d := range side {
		mean += d.value / float64(len(side))
		if d.limit != Measured {
			limits++
		}
	}
	if limits == len(side) {
		for k := range side {
			derivative[k] = 1 / float64(len(side))
		}
		return mean, derivative, share
	}
	score := func(at float64) (first, total float64) {
		for k := range side {
			_, slope, information := side[k].slopes(at)
			first += slope
			total += information
			derivative[k] = information
		}
		return first, total
	}
	// The score falls all along, so Newton's method with halved steps finds
	// its zero.
	first, total := score(mean)
	for range 200 {
		step := first / total
		if math.Abs(step) < 1e-13 {
			break
		}
		reached, information := score(mean + step)
		for math.Abs(reached) > math.Abs(first) && math.Abs(step) > 1e-13 {
			step /= 2
			reached, information = score(mean + step)
		}
		mean += step
		first, total = reached, information
	}
	for k := range side {
		share[k] = derivative[k] / (total * total)
		derivative[k] /= total
	}
	return mean, derivative, share
}
