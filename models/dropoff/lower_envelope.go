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

// A lowerEnvelope is the smallest cost of a segmentation as a function of the
// level of its last segment: the lower envelope of one quadratic for each
// start, kept as pieces in order of level. A start whose piece has vanished can
// never again be best and is forgotten: that is functional pruning (Rigaill
// 2015, Journal de la Société Française de Statistique 156, section 3;
// Maidstone, Hocking, Rigaill and Fearnhead 2017, Statistics and Computing 27,
// section 4).
type lowerEnvelope struct {
	pieces, spare []piece
	low, high     float64 // no level outside can be best
}

func (e *lowerEnvelope) clear() { e.pieces = e.pieces[:0] }

// add charges one more row to every start.
func (e *lowerEnvelope) add(row quadratic) {
	for i := range e.pieces {
		p := &e.pieces[i]
		p.a += row.a
		p.b += row.b
		p.c += row.c
	}
}

// offer puts the segment that starts after row start, with cost q so far,
// wherever it is cheaper than what stands; ties stay with what stands.
func (e *lowerEnvelope) offer(q quadratic, start int32) {
	if len(e.pieces) == 0 {
		e.pieces = append(e.pieces, piece{q, e.low, e.high, start})
		return
	}
	e.spare = e.spare[:0]
	highKept := e.pieces[0].quadratic.minus(q).at(e.low) <= 0
	for i := range e.pieces {
		p := &e.pieces[i]
		d := p.quadratic.minus(q) // what stands is kept where this is at or below 0
		// Neighbouring pieces agree at the level where they meet.
		lowKept := highKept
		highKept = d.at(p.high) <= 0
		offered := piece{q, p.low, p.high, start}
		switch {
		case lowKept && highKept:
			if from, to, ok := d.dip(p.low, p.high, -1); ok {
				e.keep(p, p.low, from)
				e.put(offered, from, to)
				e.keep(p, to, p.high)
				continue
			}
			e.keep(p, p.low, p.high)
		case !lowKept && !highKept:
			if from, to, ok := d.dip(p.low, p.high, 1); ok {
				e.put(offered, p.low, from)
				e.keep(p, from, to)
				e.put(offered, to, p.high)
				continue
			}
			e.put(offered, p.low, p.high)
		case lowKept:
			at := d.crossing(p.low, p.high, 1)
			e.keep(p, p.low, at)
			e.put(offered, at, p.high)
		default:
			at := d.crossing(p.low, p.high, -1)
			e.put(offered, p.low, at)
			e.keep(p, at, p.high)
		}
	}
	e.pieces, e.spare = e.spare, e.pieces
}

// beatenBy tells whether a quadratic is cheaper anywhere than what stands.
func (e *lowerEnvelope) beatenBy(q quadratic) bool {
	if len(e.pieces) == 0 || e.pieces[0].quadratic.minus(q).at(e.low) > 0 {
		return true
	}
	for i := range e.pieces {
		p := &e.pieces[i]
		d := p.quadratic.minus(q)
		if d.at(p.high) > 0 {
			return true
		}
		if d.a < 0 {
			if _, _, ok := d.dip(p.low, p.high, -1); ok {
				return true
			}
		}
	}
	return false
}

// keep appends what stands from one level to another.
func (e *lowerEnvelope) keep(p *piece, low, high float64) {
	if low < high {
		e.spare = append(e.spare, piece{p.quadratic, low, high, p.start})
	}
}

// put appends what is offered from one level to another, joined to what was
// offered just before.
func (e *lowerEnvelope) put(p piece, low, high float64) {
	if !(low < high) {
		return
	}
	if n := len(e.spare); n > 0 && e.spare[n-1].start == p.start {
		e.spare[n-1].high = high
		return
	}
	p.low, p.high = low, high
	e.spare = append(e.spare, p)
}

// least is the smallest cost over all levels once the rows of ahead are
// charged too, and the start that gives it.
func (e *lowerEnvelope) least(ahead quadratic) (cost float64, start int32) {
	cost, start = math.Inf(1), -1
	for i := range e.pieces {
		p := &e.pieces[i]
		if c := p.quadratic.plus(ahead).least(); c < cost {
			cost, start = c, p.start
		}
	}
	return cost, start
}

// at is the value at a level.
func (q quadratic) at(level float64) float64 { return (q.a*level-2*q.b)*level + q.c }

// dip gives the levels between which a quadratic that has one sign at both low
// and high has the other inside: below 0 where sign is 1, above where −1. Where
// it has not, ok is false.
func (q quadratic) dip(low, high, sign float64) (from, to float64, ok bool) {
	if sign*q.a <= 0 {
		return 0, 0, false
	}
	top, disc := q.b/q.a, q.b*q.b-q.a*q.c
	if disc <= 0 || top <= low || top >= high {
		return 0, 0, false
	}
	root := math.Sqrt(disc) / math.Abs(q.a)
	return max(top-root, low), min(top+root, high), true
}

// crossing is the one level between low and high at which a quadratic with
// different signs there is 0: upwards where sign is 1, downwards where −1.
func (q quadratic) crossing(low, high, sign float64) float64 {
	if q.a == 0 {
		return q.c / (2 * q.b)
	}
	root := math.Sqrt(max(q.b*q.b-q.a*q.c, 0))
	return min(max((q.b+sign*root)/q.a, low), high)
}
