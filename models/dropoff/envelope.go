package dropoff

import "math"

// A quadratic is the misfit aθ² − 2bθ + c of rows to a common level θ.
type quadratic struct{ a, b, c float64 }

func (q quadratic) plus(r quadratic) quadratic {
	return quadratic{q.a + r.a, q.b + r.b, q.c + r.c}
}

func (q quadratic) minus(r quadratic) quadratic {
	return quadratic{q.a - r.a, q.b - r.b, q.c - r.c}
}

// least is the smallest misfit over all levels.
func (q quadratic) least() float64 {
	if q.a == 0 {
		return q.c
	}
	return q.c - q.b*q.b/q.a
}

// level is where the misfit is smallest.
func (q quadratic) level() float64 { return q.b / q.a }

// A piece says that, for levels from low to high, the best last segment is the
// one that starts after row start, and what it costs.
type piece struct {
	quadratic
	low, high float64
	start     int32
}

// An envelope is the smallest cost of a segmentation as a function of the
// level of its last segment: the lower envelope of one quadratic for each
// start, kept as pieces in order of level. A start whose piece has vanished can
// never again be best and is forgotten: that is functional pruning (Rigaill
// 2015, Journal de la Société Française de Statistique 156, section 3;
// Maidstone, Hocking, Rigaill and Fearnhead 2017, Statistics and Computing 27,
// section 4).
type envelope struct {
	pieces, spare []piece
	low, high     float64 // no level outside can be best
}

func (e *envelope) clear() { e.pieces = e.pieces[:0] }

// add charges one more row to every start.
func (e *envelope) add(row quadratic) {
	for i := range e.pieces {
		p := &e.pieces[i]
		p.a += row.a
		p.b += row.b
		p.c += row.c
	}
}

// offer puts the segment that starts after row start, with cost q so far,
// wherever it is cheaper than what stands; ties stay with what stands.
func (e *envelope) offer(q quadratic, start int32) {
	if len(e.pieces) == 0 {
		e.pieces = append(e.pieces, piece{q, e.low, e.high, start})
		return
	}
	e.spare = e.spare[:0]
	for _, p := range e.pieces {
		first, second := keeps(p.quadratic.minus(q), p.low, p.high)
		if first.empty() {
			e.put(piece{q, p.low, p.high, start})
			continue
		}
		e.put(piece{q, p.low, first.low, start})
		e.put(piece{p.quadratic, first.low, first.high, p.start})
		if second.empty() {
			e.put(piece{q, first.high, p.high, start})
			continue
		}
		e.put(piece{q, first.high, second.low, start})
		e.put(piece{p.quadratic, second.low, second.high, p.start})
	}
	e.pieces, e.spare = e.spare, e.pieces
}

// put appends a piece, joined to the one before where both are one start's.
func (e *envelope) put(p piece) {
	if !(p.low < p.high) {
		return
	}
	if n := len(e.spare); n > 0 && e.spare[n-1].start == p.start {
		e.spare[n-1].high = p.high
		return
	}
	e.spare = append(e.spare, p)
}

// least is the smallest cost over all levels once the rows of ahead are
// charged too, and the start that gives it.
func (e *envelope) least(ahead quadratic) (cost float64, start int32) {
	cost, start = math.Inf(1), -1
	for i := range e.pieces {
		p := &e.pieces[i]
		if c := p.quadratic.plus(ahead).least(); c < cost {
			cost, start = c, p.start
		}
	}
	return cost, start
}

// A span is an interval of levels, empty where low is not below high.
type span struct{ low, high float64 }

func (s span) empty() bool { return !(s.low < s.high) }

func (s span) within(low, high float64) span {
	return span{max(s.low, low), min(s.high, high)}
}

// keeps gives the levels between low and high at which d is at or below zero:
// at most two spans, the second empty where there is one, both where there is
// none.
func keeps(d quadratic, low, high float64) (first, second span) {
	all := span{low, high}
	if d.a == 0 {
		return keepsLine(d, low, high), span{}
	}
	disc := d.b*d.b - d.a*d.c
	if disc <= 0 {
		if d.a > 0 {
			return span{}, span{}
		}
		return all, span{}
	}
	root := math.Sqrt(disc)
	r, s := (d.b-root)/d.a, (d.b+root)/d.a
	if d.a > 0 {
		return span{r, s}.within(low, high), span{}
	}
	// d.a < 0: below zero outside the roots, and s < r.
	first = span{low, s}.within(low, high)
	second = span{r, high}.within(low, high)
	if first.empty() {
		first, second = second, span{}
	}
	return first, second
}

func keepsLine(d quadratic, low, high float64) span {
	switch {
	case d.b > 0: // −2bθ + c ≤ 0
		return span{d.c / (2 * d.b), high}.within(low, high)
	case d.b < 0:
		return span{low, d.c / (2 * d.b)}.within(low, high)
	case d.c <= 0:
		return span{low, high}
	}
	return span{}
}
