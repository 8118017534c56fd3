package dropoff

import (
	"math"

	"gonum.org/v1/gonum/floats"
)

// A belief is the posterior distribution with the noise integrated out: an
// average of posteriors over a few values of the noise's variance and of its
// correlation, each with its weight.
type belief struct {
	posteriors []*posterior
	weights    []float64
	noises     []noise // of each posterior, its variance included
}

// newBelief averages over the correlations of the choices, all of them alike
// beforehand, and over the noise's variance about what it is with the places
// found, with the prior flat in its logarithm. bound says that the variance
// cannot be below what the rows' standard errors make it.
func newBelief(choices []*choice, places []int, o Options, bound bool) belief {
	var b belief
	most := -inf
	for _, c := range choices {
		misfit, _ := c.total(places)
		df := max(float64(c.n-len(places)-1), 1)
		phi := max(misfit, exactMisfit*c.sums[c.n].c) / df
		for _, at := range phiNodes(phi, df, bound) {
			post := newPosterior(c.search, c.prior(o), at)
			b.posteriors = append(b.posteriors, post)
			b.noises = append(b.noises, c.noise.times(at))
			b.weights = append(b.weights, post.evidence)
			most = max(most, post.evidence)
		}
	}
	normalise(b.weights, most)
	return b
}

// manyDF are degrees of freedom from which the noise's variance is known well
// enough for three values of it to do.
const manyDF = 400

// tie is the difference of a variance from its bound that counts as none. Where
// the scatter is the one found (fittedNoise), the variance is at it but for the
// last bits.
const tie = 1e-9

// phiNodes are the values of the noise's variance that are averaged over: a
// standard deviation of its estimate's logarithm, √(2/ν) with ν degrees of
// freedom, apart.
func phiNodes(phi, df float64, bound bool) []float64 {
	far := 2.0
	if df > manyDF {
		far = 1
	}
	var out []float64
	for z := -far; z <= far; z++ {
		at := phi * math.Exp(z*math.Sqrt(2/df))
		if bound && at <= 1+tie {
			at = 1
			out = out[:0]
		}
		out = append(out, at)
	}
	return out
}

// each is the probability that a change follows row i, from 0 for row 1; a
// known break is none.
func (b belief) each() []float64 {
	n := b.posteriors[0].n
	out := make([]float64, n)
	for k, post := range b.posteriors {
		floats.AddScaled(out, b.weights[k], post.ends[1:])
	}
	for s, forced := range b.posteriors[0].forced[1:] {
		if forced || s == n-1 {
			out[s] = 0
		}
	}
	return out
}

// none is the probability that no change follows any of the rows low to high.
func (b belief) none(low, high int) float64 {
	sum := 0.0
	for k, post := range b.posteriors {
		sum += b.weights[k] * post.none(low, high)
	}
	return min(max(sum, 0), 1)
}

// within is the probability that a change follows one of the rows low to high.
func (b belief) within(low, high int) float64 { return 1 - b.none(low, high) }

// A spot is how the place of one change is spread: spot[s] is the probability
// that it follows row s.
type spot []float64

// zonesAbout parts the rows among the places of the changes found: each has
// the rows that are nearer to it than to its neighbours, no farther than the known
// breaks on either side of it: beyond them it would be another change.
func (q search) zonesAbout(places []int) []zone {
	out := make([]zone, len(places))
	for j, place := range places {
		from, to := int(q.barrier[place]), q.pieceEnd(place)
		out[j] = zone{from + 1, to - 1}
		if j > 0 && places[j-1] > from {
			out[j].low = out[j-1].high + 1
		}
		if j+1 < len(places) && places[j+1] < to {
			out[j].high = (place + places[j+1]) / 2
		}
	}
	return out
}

// pieceEnd is the first known break after row s, or the last row.
func (p places) pieceEnd(s int) int {
	for s++; s < len(p.forced)-1 && !p.forced[s]; {
		s++
	}
	return s
}

// spots gives the distribution of the place of each change, given that there
// is exactly one in each zone.
func (b belief) spots(zones []zone) []spot {
	var out []spot
	for i, post := range b.posteriors {
		now := post.spots(zones)
		if out == nil {
			out = make([]spot, len(now))
			for j := range out {
				out[j] = make(spot, post.n+1)
			}
		}
		for j := range out {
			floats.AddScaled(out[j], b.weights[i], now[j])
		}
	}
	for _, at := range out {
		if total := floats.Sum(at); total > 0 {
			floats.Scale(1/total, at)
		}
	}
	return out
}

// numberRest is the probability of still more changes at which the list of
// their numbers ends.
const numberRest = 1e-6

// number gives the probability of 0, 1, 2 … changes.
func (b belief) number() []float64 {
	var out []float64
	for i, post := range b.posteriors {
		now := post.number(numberRest)
		out = append(out, make([]float64, max(len(now)-len(out), 0))...)
		floats.AddScaled(out[:len(now)], b.weights[i], now)
	}
	return out
}

// interval is the central interval with 95 % of the probability, widened where
// needed to hold the place found.
func (p spot) interval(after int) (low, high int) {
	const tail = 0.025
	low, high = after, after
	sum := 0.0
	for s, v := range p {
		if sum <= tail && sum+v > tail {
			low = min(low, s)
		}
		sum += v
		if sum-v < 1-tail && sum >= 1-tail {
			high = max(high, s)
		}
	}
	return low, high
}

// onePlace is the posterior of one change among rows from+1 to to, where
// segments have the log evidence given and a change at any one place the log
// odds: its place, by rows after from, and the probability that there is one
// rather than none.
func (q search) onePlace(from, to int, odds float64, evidence func(s, t int) float64) (at spot, some float64) {
	at = make(spot, to-from+1)
	most := -inf
	for t := range at {
		at[t] = -inf
		if t >= q.minLength && to-from-t >= q.minLength && q.free[from+t] {
			at[t] = odds + evidence(from, from+t) + evidence(from+t, to)
			most = max(most, at[t])
		}
	}
	one := normalise(at, most)
	return at, 1 / (1 + math.Exp(evidence(from, to)-one))
}
