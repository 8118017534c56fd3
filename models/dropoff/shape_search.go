package dropoff

import (
	"math"
	"slices"
)

// prefix are the moments of rows 1 to i.
func (l candidateFits) prefix() []moments {
	out := make([]moments, l.n+1)
	for i := 1; i <= l.n; i++ {
		out[i] = out[i-1]
		out[i].add(l.columns(i))
	}
	return out
}

func (m moments) minus(o moments) moments {
	return moments{m.cc - o.cc, m.cp - o.cp, m.cv - o.cv, m.pp - o.pp, m.pv - o.pv, m.vv - o.vv}
}

// unit is the logarithm of a row's mean precision: the unit in which coefficients
// are flat beforehand.
func (l candidateFits) unit() float64 { return math.Log(l.weight / float64(l.n)) }

// ends are the rows after which a piece may end, with 0 before them and the last
// row after: all that options allow, or of them that many, evenly spread, and the
// known breaks.
func (q search) ends(most int) []int {
	every := (q.n + most - 1) / most
	out := []int{0}
	for s := 1; s < q.n; s++ {
		if q.forced[s] || q.free[s] && s%every == 0 {
			out = append(out, s)
		}
	}
	return append(out, q.n)
}

// byCost is the best segmentation for each number of changes when segments cost
// cost(s, t) each, rows s+1 to t, and end with one of the rows given, by dynamic
// programming (Auger and Lawrence 1989, Bulletin of Mathematical Biology 51,
// 39–54).
func (q search) byCost(ends []int, cost func(s, t int) float64, more func(k int, places []int) bool) {
	var starts [][]int32
	before := filled(q.n+1, inf)
	for k := 0; ; k++ {
		now, from := filled(q.n+1, inf), make([]int32, q.n+1)
		q.costliness(ends, now, from, cost, func(s int) float64 {
			switch {
			case s == 0 && k == 0:
				return 0
			case q.forced[s]:
				return now[s]
			}
			return before[s]
		})
		if now[q.n] == inf {
			return
		}
		starts = append(starts, from)
		if !more(k, q.trace(starts)) {
			return
		}
		before = now
	}
}

// leastCost is the best segmentation for a penalty for each change, by optimal
// partitioning (Jackson et al. 2005, IEEE Signal Processing Letters 12, 105–108).
func (q search) leastCost(ends []int, penalty float64, cost func(s, t int) float64) []int {
	now, from := filled(q.n+1, inf), make([]int32, q.n+1)
	q.costliness(ends, now, from, cost, func(s int) float64 {
		switch {
		case s == 0:
			return 0
		case q.forced[s]:
			return now[s]
		}
		return now[s] + penalty
	})
	places := []int{}
	for t := int(from[q.n]); t > 0; t = int(from[t]) {
		places = append(places, t)
	}
	slices.Reverse(places)
	return places
}

// costliness gives, for each end t, the smallest cost of rows 1 to t whose last
// segment starts after an end s at the cost entry(s), and that start.
func (q search) costliness(ends []int, now []float64, from []int32, cost func(s, t int) float64, entry func(s int) float64) {
	first := 0
	for _, t := range ends[1:] {
		for ends[first] < int(q.barrier[t]) {
			first++
		}
		for _, s := range ends[first:] {
			if t-s < q.minLength {
				break
			}
			start := entry(s)
			if start == inf {
				continue
			}
			if c := start + cost(s, t); c < now[t] {
				now[t], from[t] = c, int32(s)
			}
		}
	}
}

// settle moves each change to its most probable row between its neighbours, twice,
// where not all rows were searched.
func (f shapedFit) settle(places []int, shape Shape) []int {
	if f.n <= shape.mostEnds() {
		return places
	}
	for range 2 {
		for j, at := range places {
			if f.forced[at] {
				continue
			}
			where, _ := f.model.alone(places, j)
			from, _ := neighbours(places, j, f.n)
			best := at
			for t, share := range where {
				if share > where[best-from] {
					best = from + t
				}
			}
			places[j] = best
		}
	}
	return places
}

// neighbours are the places before and after place j, 0 and n at the ends.
func neighbours(places []int, j, n int) (before, after int) {
	before, after = 0, n
	if j > 0 {
		before = places[j-1]
	}
	if j+1 < len(places) {
		after = places[j+1]
	}
	return before, after
}

// mostEnds is up to how many rows are searched for changes all at once.
func (shape Shape) mostEnds() int {
	if shape == JoinedLines {
		return 2000 // joints take some thirty times as long
	}
	return 5000
}
