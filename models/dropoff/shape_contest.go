package dropoff

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
)

// A shapedContest is a shape with no change and with some, each with the
// correlation of the noise that suits it best.
type shapedContest struct {
	none, some           shapedFit
	noneScore, someScore float64
	few                  []int       // the places of some
	fits                 []shapedFit // one for each correlation
}

// newShapedContest looks for changes with each correlation of the noise.
func newShapedContest(shape Shape, s Series, o Options, where places) shapedContest {
	c := shapedContest{noneScore: -inf, someScore: -inf}
	for _, rho := range o.shapedCorrelations(s) {
		f := newShaped(shape, rho, s, o, where)
		c.fits = append(c.fits, f)
		cost := correlationCost(rho, f.n)
		none, _ := f.model.score(f.known())
		if none -= cost; none > c.noneScore {
			c.noneScore, c.none = none, f
		}
		few, some := f.few()
		if some -= cost; some > c.someScore {
			c.someScore, c.some, c.few = some, f, few
		}
	}
	return c
}

// shapedCorrelations are the correlations that shapes are laid with.
func (o Options) shapedCorrelations(s Series) []float64 {
	if o.Correlation == nil && len(s.Values) > mostSearched {
		return []float64{robustCorrelation(s.levelled(o.breaks()))}
	}
	return o.correlations()
}

// gain is how much better some changes are than none.
func (c shapedContest) gain() float64 { return c.someScore - c.noneScore }

// best is the fit to be described: with changes where these are better.
func (c shapedContest) best() shapedFit {
	if c.gain() > 0 {
		return c.some
	}
	return c.none
}

// known are the known breaks.
func (q search) known() []int {
	var out []int
	for s, forced := range q.forced {
		if forced {
			out = append(out, s)
		}
	}
	return out
}

// fewTried is about how many rows are tried for the first change of a few.
const fewTried = 1000

// nearby is how many rows a first change is moved once there is a second.
const nearby = 20

// few is a segmentation with one change or two, and its criterion, found in
// time proportional to the rows, so that hundreds of drawn series can be treated
// as the real one is: the best one change; the best second one beside it; and the
// best of pieces of 6, 12, 24 … rows at every half of their length (intervals as
// Kovács, Bühlmann, Li and Munk 2023, Biometrika 110, 249–256, seed them); each
// change then moved to its best row, its neighbours as they are. The criterion is
// −Inf where no change can be placed.
func (f shapedFit) few() (places []int, score float64) {
	known := f.known()
	thin := max(f.n/fewTried, 1)
	one := f.added(known, thin)
	if one == nil {
		return known, -inf
	}
	places, score = f.moved(one, thin)
	better := func(trial []int, reach int) {
		if trial == nil {
			return
		}
		if moved, now := f.moved(trial, reach); now > score {
			places, score = moved, now
		}
	}
	better(f.added(one, thin), max(thin, nearby))
	better(f.pair(known))
	return places, score
}

// added adds the best change, of every so many rows, to places; nil where there
// is room for none.
func (f shapedFit) added(places []int, every int) []int {
	var best []int
	score := -inf
	trial := make([]int, len(places)+1)
	next := 0 // the first place at or after s
	for s := f.minLength; s <= f.n-f.minLength; s += every {
		for next < len(places) && places[next] < s {
			next++
		}
		if !f.fits(places, next, s) {
			continue
		}
		copy(trial, places[:next])
		trial[next] = s
		copy(trial[next+1:], places[next:])
		if now, _ := f.model.score(trial); now > score {
			score, best = now, append(best[:0], trial...)
		}
	}
	return best
}

// fits tells whether a change may follow row s, between place next−1 and next.
func (f shapedFit) fits(places []int, next, s int) bool {
	before, after := 0, f.n
	if next > 0 {
		before = places[next-1]
	}
	if next < len(places) {
		after = places[next]
	}
	return f.free[s] && s-before >= f.minLength && after-s >= f.minLength
}

// pair is the best piece of 6, 12, 24 … rows between two changes, and how far its
// ends are from those of the next.
func (f shapedFit) pair(known []int) (best []int, reach int) {
	score := -inf
	for length := 2 * f.minLength; length <= f.n/2; length *= 2 {
		next := 0
		for s := f.minLength; s+length <= f.n-f.minLength; s += length / 2 {
			for next < len(known) && known[next] < s {
				next++
			}
			if !f.fits(known, next, s) || !f.fits(known, next, s+length) || next < len(known) && known[next] < s+length {
				continue
			}
			trial := slices.Insert(slices.Clone(known), next, s, s+length)
			if now, _ := f.model.score(trial); now > score {
				score, best, reach = now, trial, length/2
			}
		}
	}
	return best, reach
}

// moved moves each change to its best row among those up to reach away, its
// neighbours as they are, and gives the criterion.
func (f shapedFit) moved(places []int, reach int) (trial []int, score float64) {
	score, _ = f.model.score(places)
	trial = slices.Clone(places)
	for j, at := range places {
		if f.forced[at] {
			continue
		}
		before, after := neighbours(trial, j, f.n)
		best := at
		for s := max(before+f.minLength, at-reach); s <= min(after-f.minLength, at+reach); s++ {
			if !f.free[s] {
				continue
			}
			trial[j] = s
			if now, _ := f.model.score(trial); now > score {
				score, best = now, s
			}
		}
		trial[j] = best
	}
	return trial, score
}

// alarmAsked is up to which share of drawn series may look as much like a change of
// the shape: with 4 of 100 joined lines were claimed in up to 6 of 100 series with
// heavy tails and a correlation of 0.3.
func (shape Shape) alarmAsked() float64 {
	if shape == LevelAndScatter {
		return AlarmAsked
	}
	return 0.03
}

// alarm is how often series of one piece, with the noise of this one about that
// piece and as many rows at the floor, look as much like a change of the shape.
// Drawing ends early once it is clear that the rate is too high.
func (c shapedContest) alarm(shape Shape, s Series, o Options, where places) float64 {
	f, slopes, atFloor := c.none, 0, 0
	if shape != LevelAndScatter {
		slopes, atFloor = f.breaks+1, floored(s.Values)
	}
	about := f.about(f.known(), s)
	d := newDrawing(about, o, slopes)
	clear := int(2 * shape.alarmAsked() * (alarmDraws + 1))
	asLarge, draws := 1, 1
	for draws <= alarmDraws && asLarge <= clear {
		drawn := d.draw(uint64(draws))
		if atFloor > 0 { // which rows of a line are at the floor depends on where it is low
			floats.Add(drawn.Values, s.Values)
			floats.Sub(drawn.Values, about.Values)
			raise(drawn.Values, atFloor)
		}
		if newShapedContest(shape, drawn, o, where).gain() >= c.gain() {
			asLarge++
		}
		draws++
	}
	return float64(asLarge) / float64(draws)
}

// about is the series less what the pieces expect of each row.
func (f shapedFit) about(places []int, s Series) Series {
	out := s
	out.Values = slices.Clone(s.Values)
	done := 0
	for _, p := range f.model.pieces(places) {
		length := f.at[p.To] - f.at[p.From]
		for i := max(p.From, done+1); i <= p.To; i++ {
			out.Values[i-1] -= p.Start + (p.End-p.Start)*(f.at[i]-f.at[p.From])/length
		}
		done = p.To
	}
	return out
}

// A weighed fit is one of those over which is averaged.
type weighed struct {
	shapedFit
	weight float64
}

// weigh gives each correlation of the noise its weight under the places found: by
// the criterion, all alike beforehand but for the cost of a correlation. Where
// only one was laid, that has it all.
func (c shapedContest) weigh(found shapedFit, places []int) []weighed {
	var out []weighed
	logs, most := []float64{}, -inf
	for _, f := range c.fits {
		score, _ := f.model.score(places)
		logs = append(logs, score-correlationCost(f.rho, f.n))
		most = max(most, logs[len(logs)-1])
	}
	normalise(logs, most)
	for k, f := range c.fits {
		if logs[k] > leastWeight {
			out = append(out, weighed{f, logs[k]})
		}
	}
	if math.IsInf(most, 0) {
		return []weighed{{found, 1}}
	}
	return out
}

// leastWeight is the weight below which nothing is averaged over.
const leastWeight = 1e-4

// about gives the place of change j, the probability that there is one, and what
// its sizes may be, all averaged over the fits, and sizes over places too, the
// other places as found.
func about(believed []weighed, places []int, j int) (where spot, some float64, sizes []mixture) {
	for _, b := range believed {
		at, chance := b.model.alone(places, j)
		if where == nil {
			where = make(spot, len(at))
		}
		some += b.weight * chance
		from, _ := neighbours(places, j, b.n)
		moved := slices.Clone(places)
		for t, share := range at {
			where[t] += b.weight * share
			if share < leastWeight {
				continue
			}
			moved[j] = from + t
			for k, e := range b.model.differences(moved, j) {
				if k == len(sizes) {
					sizes = append(sizes, nil)
				}
				sizes[k] = append(sizes[k], component{b.weight * share, e})
			}
		}
	}
	return where, some, sizes
}
