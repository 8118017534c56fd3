package dropoff

import "slices"

// A search looks for the best segmentations of rows.
type search struct {
	rows
	places
	minLength int
}

// sweep runs once over the rows and gives, for each row t, the smallest cost
// of a segmentation of rows 1 to t whose last segment may start after row s at
// the cost entry(s) (infinite: it may not), and that start. It holds the lower
// envelope back by the minimum length: segments are compared at their first
// row and the rows that follow are the same for all.
func (q search) sweep(e *lowerEnvelope, cost []float64, from []int32, entry func(s int) float64) {
	h := q.minLength
	e.clear()
	cost[0], from[0] = inf, -1
	for t := 1; t <= q.n; t++ {
		u := t - h + 1 // the last row inside the envelope
		if u < 1 {
			cost[t], from[t] = q.short(t, entry)
			continue
		}
		if q.forced[u-1] {
			e.clear()
		}
		e.add(q.link[u])
		if start := entry(u - 1); start < inf {
			offered := q.first[u]
			offered.c += start + q.start[u]
			e.offer(offered, int32(u-1))
		}
		if int(q.barrier[t]) > u-1 {
			cost[t], from[t] = q.short(t, entry)
			continue
		}
		cost[t], from[t] = e.least(q.between(u, t))
	}
}

// short is the cost of a segmentation that ends with row t, and the start of its
// last segment, where the known break before t is nearer than the minimum length:
// all rows since then are one segment, if another break or the end follows.
func (q search) short(t int, entry func(s int) float64) (cost float64, from int32) {
	base := q.barrier[t]
	start := inf
	if q.whole(int(base), t) {
		start = entry(int(base))
	}
	if start == inf {
		return inf, -1
	}
	return start + q.start[base+1] + q.segment(int(base), t).least(), base
}

// path gives the best segmentation for each number of changes from 0 on, by
// dynamic programming over the number of changes with functional pruning
// (Rigaill 2015, algorithm 1), for as long as more says that more are wanted
// and until no more fit. Time is proportional to the rows, the number of
// changes and the pieces of an envelope, in practice about ten; memory to the
// rows and the number of changes.
func (q search) path(more func(k int, places []int) bool) {
	var starts [][]int32
	e := &lowerEnvelope{low: q.low, high: q.high}
	before, now := filled(q.n+1, inf), make([]float64, q.n+1)
	for k := 0; ; k++ {
		from := make([]int32, q.n+1)
		q.sweep(e, now, from, func(s int) float64 {
			switch {
			case s == 0 && k == 0:
				return 0
			case q.forced[s]:
				return now[s]
			case k > 0 && q.free[s]:
				return before[s]
			}
			return inf
		})
		if now[q.n] == inf {
			return
		}
		starts = append(starts, from)
		if !more(k, q.trace(starts)) {
			return
		}
		before, now = now, before
	}
}

// trace reads the last rows of the segments back from the starts that were
// best, known breaks among them.
func (q search) trace(starts [][]int32) []int {
	var places []int
	k := len(starts) - 1
	for t := int(starts[k][q.n]); t > 0; t = int(starts[k][t]) {
		places = append(places, t)
		if !q.forced[t] {
			k--
		}
	}
	slices.Reverse(places)
	return places
}

// penalised gives the segmentation with the smallest misfit plus penalty for
// each change, by optimal partitioning with functional pruning (Maidstone et
// al. 2017, section 4.1): exact, in time and memory that grow in proportion to
// the rows for all practical series.
func (q search) penalised(penalty float64) []int {
	cost, from := make([]float64, q.n+1), make([]int32, q.n+1)
	q.sweep(&lowerEnvelope{low: q.low, high: q.high}, cost, from, func(s int) float64 {
		switch {
		case s == 0:
			return 0
		case q.forced[s]:
			return cost[s]
		case q.free[s]:
			return cost[s] + penalty
		}
		return inf
	})
	var places []int
	for t := int(from[q.n]); t > 0; t = int(from[t]) {
		places = append(places, t)
	}
	slices.Reverse(places)
	return places
}
