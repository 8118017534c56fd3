package dropoff

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
)

// joints are lines that meet at rows. At a known break they may jump: a chain of
// lines ends with its last row, another begins with the next, and noise begins
// afresh.
type joints struct {
	candidateFits
	sums []moments // of rows 1 to i
	// all and heights are used again for each row.
	all     []way
	heights lowerEnvelope
}

func newJoints(l candidateFits) *joints {
	reach := l.high - l.low
	return &joints{candidateFits: l, sums: l.prefix(), heights: lowerEnvelope{low: l.low - reach, high: l.high + reach}}
}

// A way is one choice of joints up to a row: its cost as a function of the
// height at that row, and the row and way before it: a joint or the first
// row of the chain, or for that row itself the last one before the break.
type way struct {
	quadratic
	from, before int32
}

// An arm is the misfit of the rows after row s up to row t to the line from
// height h at s to height g at t: hh h² + 2 hg h g + gg g² − 2 hv h − 2 gv g + vv.
type arm struct{ hh, hg, gg, hv, gv, vv float64 }

func (m *joints) arm(s, t int) arm {
	sum := m.sums[t].minus(m.sums[s])
	at, length := m.at[s], m.at[t]-m.at[s]
	// A row at place p is expected at h (1 − u) + g u with u = (p − at)/length.
	uu := (sum.pp - 2*at*sum.cp + at*at*sum.cc) / (length * length)
	cu := (sum.cp - at*sum.cc) / length
	uv := (sum.pv - at*sum.cv) / length
	return arm{hh: sum.cc - 2*cu + uu, hg: cu - uu, gg: uu, hv: sum.cv - uv, gv: uv, vv: sum.vv}
}

// through carries a way on from row s to row t in a straight line, for each
// height at t the best height at s.
func (r arm) through(w quadratic) quadratic {
	a, b := w.a+r.hh, w.b+r.hv
	return quadratic{r.gg - r.hg*r.hg/a, r.gv - r.hg*b/a, w.c + r.vv - b*b/a}
}

func (m *joints) path(more func(k int, places []int) bool) {
	ends := m.ends(JoinedLines.mostEnds())
	var levels [][][]way // by number of joints, row, way
	for k := 0; ; k++ {
		now := make([][]way, m.n+1)
		var before [][]way
		if k == 0 {
			now[1] = []way{{quadratic: m.first[1]}}
		} else {
			before = levels[k-1]
		}
		m.sweepWays(ends, now, before, 0)
		if len(now[m.n]) == 0 {
			return
		}
		levels = append(levels, now)
		if !more(k, m.traceWays(func(joints int) [][]way { return levels[k-joints] })) {
			return
		}
	}
}

func (m *joints) cheapest(penalty float64) []int {
	now := make([][]way, m.n+1)
	now[1] = []way{{quadratic: m.first[1]}}
	m.sweepWays(m.ends(JoinedLines.mostEnds()), now, now, penalty)
	return m.traceWays(func(int) [][]way { return now })
}

// sweepWays finds the ways to each end: in a straight line from the first row of
// its chain, and from each joint before it, to which jointed has the ways, at a
// penalty.
func (m *joints) sweepWays(ends []int, now, jointed [][]way, penalty float64) {
	first := 0
	for _, t := range ends[1:] {
		base := int(m.barrier[t])
		for ends[first] < base {
			first++
		}
		if t-base < m.minLength {
			continue
		}
		m.all = m.all[:0]
		m.heights.clear()
		m.offer(base+1, t, now[base+1], 0)
		for _, s := range ends[first+1:] {
			if t-s < m.minLength || jointed == nil {
				break
			}
			if s-base >= m.minLength && m.free[s] {
				m.offer(s, t, jointed[s], penalty)
			}
		}
		now[t] = m.kept()
		if m.forced[t] && len(now[t]) > 0 {
			best := cheapestWay(now[t])
			begun := m.first[t+1]
			begun.c += now[t][best].least() + m.start[t+1]
			now[t+1] = []way{{begun, int32(t), int32(best)}}
		}
	}
}

// offer carries ways to row s on to row t.
func (m *joints) offer(s, t int, ways []way, penalty float64) {
	if len(ways) == 0 {
		return
	}
	r := m.arm(s, t)
	for j, w := range ways {
		through := r.through(w.quadratic)
		through.c += penalty
		if m.heights.beatenBy(through) { // few are, of those whose last joint is long ago
			m.heights.offer(through, int32(len(m.all)))
			m.all = append(m.all, way{through, int32(s), int32(j)})
		}
	}
}

// kept are the ways offered that are best at some height.
func (m *joints) kept() []way {
	kept := make([]way, 0, len(m.heights.pieces))
	for _, p := range m.heights.pieces {
		// A way may be best at two stretches of heights; it is kept once.
		if w := m.all[p.start]; !slices.Contains(kept, w) {
			kept = append(kept, w)
		}
	}
	return kept
}

func cheapestWay(ways []way) int {
	best := 0
	for j, w := range ways {
		if w.least() < ways[best].least() {
			best = j
		}
	}
	return best
}

// traceWays reads the joints and known breaks of the cheapest way to the last row;
// levels gives the ways to rows once so many joints were read.
func (m *joints) traceWays(levels func(joints int) [][]way) []int {
	places, joints := []int{}, 0
	w := levels(0)[m.n][cheapestWay(levels(0)[m.n])]
	for row := m.n; row > 1; {
		if m.begins(row) {
			places = append(places, row-1)
		} else if !m.begins(int(w.from)) {
			places = append(places, int(w.from))
			joints++
		}
		row = int(w.from)
		w = levels(joints)[row][w.before]
	}
	slices.Reverse(places)
	return places
}

// begins tells whether a chain begins with the row.
func (m *joints) begins(row int) bool { return row == 1 || m.forced[row-1] }

// A chain is the least-squares fit of lines joined between known breaks: the
// precision of the heights at its knots (the first row, the joints, the last row),
// which is tridiagonal, as L D Lᵀ, and the heights.
type chain struct {
	knots    []int
	diagonal []float64 // D
	below    []float64 // L, of knot k on knot k−1
	heights  []float64
	misfit   float64
}

// chains are those of a segmentation.
func (m *joints) chains(places []int) []chain {
	out := make([]chain, 0, m.breaks+1)
	knots := make([]int, 1, len(places)+2*m.breaks+2)
	knots[0] = 1
	begin := 0
	for _, place := range places {
		knots = append(knots, place)
		if m.forced[place] {
			out = append(out, m.chain(knots[begin:len(knots):len(knots)]))
			begin = len(knots)
			knots = append(knots, place+1)
		}
	}
	knots = append(knots, m.n)
	return append(out, m.chain(knots[begin:]))
}

func (m *joints) chain(knots []int) chain {
	p := len(knots)
	room := make([]float64, 3*p)
	c := chain{knots: knots, diagonal: room[:p], below: room[p : 2*p], heights: room[2*p:]}
	first := m.first[knots[0]]
	c.diagonal[0], c.heights[0], c.misfit = first.a, first.b, first.c
	for k := 1; k < p; k++ {
		r := m.arm(knots[k-1], knots[k])
		c.diagonal[k-1] += r.hh
		c.below[k] = r.hg / c.diagonal[k-1]
		c.diagonal[k] = r.gg - c.below[k]*r.hg
		c.heights[k-1] += r.hv
		c.heights[k] = r.gv
		c.misfit += r.vv
	}
	c.misfit = max(c.misfit-c.forward(c.heights), 0)
	for k := p - 1; k >= 0; k-- {
		c.heights[k] /= c.diagonal[k]
		if k+1 < p {
			c.heights[k] -= c.below[k+1] * c.heights[k+1]
		}
	}
	return c
}

// forward takes L off a vector v, and gives vᵀ(L D Lᵀ)⁻¹v as it was before.
func (c chain) forward(v []float64) (square float64) {
	for k := range v {
		if k > 0 {
			v[k] -= c.below[k] * v[k-1]
		}
		square += v[k] * v[k] / c.diagonal[k]
	}
	return square
}

// fit is the misfit of joined lines, and what else they add to −2 log likelihood,
// heights integrated over.
func (m *joints) fit(places []int) (misfit, logs float64) {
	logs = m.logs
	for _, c := range m.chains(places) {
		misfit += c.misfit
		logs += m.start[c.knots[0]]
		for _, d := range c.diagonal {
			logs += math.Log(d) - m.unit()
		}
	}
	return misfit, logs
}

// coefficients are how many heights there are.
func (m *joints) coefficients(places []int) int { return len(places) + m.breaks + 2 }

func (m *joints) score(places []int) (criterion, misfit float64) {
	misfit, logs := m.fit(places)
	return m.weighed(m.coefficients(places), len(places)-m.breaks, misfit, logs), misfit
}

func (m *joints) penalty(places []int) float64 {
	misfit, logs := m.fit(places)
	_, none := m.fit(m.known())
	return m.costOf(len(places)-m.breaks, m.coefficients(places), misfit, logs-none, 3)
}

func (m *joints) pieces(places []int) []Piece {
	misfit, _ := m.fit(places)
	scatter := m.scatterOf(misfit, m.n-m.coefficients(places))
	var out []Piece
	for _, c := range m.chains(places) {
		for k := 1; k < len(c.knots); k++ {
			out = append(out, Piece{From: c.knots[k-1], To: c.knots[k], Start: m.centre + c.heights[k-1], End: m.centre + c.heights[k], Scatter: scatter})
		}
	}
	return out
}

func (m *joints) slope(places []int, k int) estimate {
	for _, c := range m.chains(places) {
		lines := len(c.knots) - 1
		if k < lines {
			return m.contrast(places, c, map[int]float64{k: 1})
		}
		k -= lines
	}
	panic("more pieces than lines") // pieces are counted as pieces does
}

func (m *joints) names() []string { return []string{slopeChange} }

func (m *joints) differences(places []int, j int) []estimate {
	for _, c := range m.chains(places) {
		if k := slices.Index(c.knots[1:len(c.knots)-1], places[j]); k >= 0 {
			return []estimate{m.contrast(places, c, map[int]float64{k: -1, k + 1: 1})}
		}
	}
	return nil // a known break
}

// contrast is a sum of slopes of lines of a chain, each times its share; misfit
// and degrees of freedom are those of all places.
func (m *joints) contrast(places []int, c chain, shares map[int]float64) estimate {
	weights := make([]float64, len(c.knots))
	for k, share := range shares {
		share /= (m.at[c.knots[k+1]] - m.at[c.knots[k]]) * m.span
		weights[k+1] += share
		weights[k] -= share
	}
	misfit, _ := m.fit(places)
	phi, df := m.scale(misfit, m.coefficients(places))
	return estimate{value: floats.Dot(weights, c.heights), se: math.Sqrt(phi * c.forward(weights)), df: df}
}

// alone weighs places of one joint by their integrated likelihood, the others
// as found, against the series without it.
func (m *joints) alone(places []int, j int) (spot, float64) {
	from, to := neighbours(places, j, m.n)
	out := make(spot, to-from+1)
	most := -inf
	moved := slices.Clone(places)
	for t := range out {
		out[t] = -inf
		if t >= m.minLength && to-from-t >= m.minLength && m.free[from+t] {
			moved[j] = from + t
			out[t], _ = m.score(moved)
			most = max(most, out[t])
		}
	}
	one := normalise(out, most)
	none, _ := m.score(slices.Delete(moved, j, j+1))
	return out, 1 / (1 + math.Exp(none-one))
}
