package dropoff

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// joints are lines that meet at rows.
type joints struct {
	lineup
	sums []moments // of rows 1 to i
	// all and heights are used again for each row.
	all     []way
	heights envelope
}

func newJoints(l lineup) *joints {
	reach := l.high - l.low
	return &joints{lineup: l, sums: l.prefix(), heights: envelope{low: l.low - reach, high: l.high + reach}}
}

// A way is one choice of joints up to a row: its cost as a function of the
// height at that row, and the joint and way before it.
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
func (m *joints) through(w quadratic, s, t int) quadratic {
	r := m.arm(s, t)
	a, b := w.a+r.hh, w.b+r.hv
	return quadratic{r.gg - r.hg*r.hg/a, r.gv - r.hg*b/a, w.c + r.vv - b*b/a}
}

func (m *joints) path(more func(k int, places []int) bool) {
	var levels [][][]way // by number of joints, row, way
	for k := 0; ; k++ {
		now := make([][]way, m.n+1)
		if k == 0 {
			now[1] = []way{{quadratic: m.first[1], from: -1}}
		}
		var before [][]way
		if k > 0 {
			before = levels[k-1]
		}
		for t := 2; t <= m.n; t++ {
			now[t] = m.ways(k, t, now, before)
		}
		if len(now[m.n]) == 0 {
			return
		}
		levels = append(levels, now)
		if !more(k, m.traceJoints(levels)) {
			return
		}
	}
}

// ways are those to row t with k joints before it that may be best at some
// height: from the first row for none, else from each earlier joint.
func (m *joints) ways(k, t int, now, before [][]way) []way {
	m.all = m.all[:0]
	m.heights.clear()
	offer := func(s int, ways []way) {
		for j, w := range ways {
			through := m.through(w.quadratic, s, t)
			m.heights.offer(through, int32(len(m.all)))
			m.all = append(m.all, way{through, int32(s), int32(j)})
		}
	}
	if k == 0 {
		offer(1, now[1])
	} else {
		for s := max(m.minLength, 2); s <= t-m.minLength; s++ {
			if m.free[s] {
				offer(s, before[s])
			}
		}
	}
	kept := make([]way, 0, len(m.heights.pieces))
	for _, p := range m.heights.pieces {
		// A way may be best at two stretches of heights; it is kept once.
		if w := m.all[p.start]; !slices.Contains(kept, w) {
			kept = append(kept, w)
		}
	}
	return kept
}

// traceJoints reads the joints of the cheapest way to the last row.
func (m *joints) traceJoints(levels [][][]way) []int {
	k := len(levels) - 1
	best := 0
	for j, w := range levels[k][m.n] {
		if w.least() < levels[k][m.n][best].least() {
			best = j
		}
	}
	places := []int{}
	for w := levels[k][m.n][best]; w.from > 1; {
		places = append(places, int(w.from))
		k--
		w = levels[k][w.from][w.before]
	}
	slices.Reverse(places)
	return places
}

// fit is least squares of the joined lines: heights at the first row, the joints
// and the last row, the misfit and the logarithm of the determinant of their
// precision.
func (m *joints) fit(places []int) (heights []float64, misfit, logDet float64) {
	knots := append(append([]int{1}, places...), m.n)
	p := len(knots)
	x, y := mat.NewSymDense(p, nil), mat.NewVecDense(p, nil)
	add := func(i, j int, v float64) { x.SetSym(i, j, x.At(i, j)+v) }
	first := m.first[1]
	add(0, 0, first.a)
	y.SetVec(0, first.b)
	square := first.c
	for k := 1; k < p; k++ {
		r := m.arm(knots[k-1], knots[k])
		add(k-1, k-1, r.hh)
		add(k-1, k, r.hg)
		add(k, k, r.gg)
		y.SetVec(k-1, y.AtVec(k-1)+r.hv)
		y.SetVec(k, y.AtVec(k)+r.gv)
		square += r.vv
	}
	var chol mat.Cholesky
	var b mat.VecDense
	if !chol.Factorize(x) || chol.SolveVecTo(&b, y) != nil {
		return make([]float64, p), square, inf
	}
	return b.RawVector().Data, max(square-mat.Dot(&b, y), 0), chol.LogDet()
}

func (m *joints) score(places []int) (criterion, misfit float64) {
	_, misfit, logDet := m.fit(places)
	p, n := len(places)+2, float64(m.n)
	logs := m.logs + logDet - float64(p)*m.unit() - math.Log(n)
	return m.by.evidence(p-1, misfit) - logs/2 - float64(len(places))*math.Log(n), misfit
}

func (m *joints) pieces(places []int) []Piece {
	heights, misfit, _ := m.fit(places)
	scatter := m.scatterOf(misfit, m.n-len(heights))
	knots := append(append([]int{1}, places...), m.n)
	var out []Piece
	for k := 1; k < len(knots); k++ {
		out = append(out, Piece{From: knots[k-1], To: knots[k], Start: m.centre + heights[k-1], End: m.centre + heights[k], Scatter: scatter})
	}
	return out
}

// alone weighs places of one joint by their integrated likelihood, the others
// as found, against the series without it.
func (m *joints) alone(places []int, j int) (spot, float64) {
	from, to := neighbours(places, j, m.n)
	out := make(spot, to-from+1)
	most := -inf
	for t := range out {
		out[t] = -inf
		if t >= m.minLength && to-from-t >= m.minLength && m.free[from+t] {
			moved := slices.Clone(places)
			moved[j] = from + t
			out[t], _ = m.score(moved)
			most = max(most, out[t])
		}
	}
	one := normalise(out, most)
	none, _ := m.score(slices.Delete(slices.Clone(places), j, j+1))
	return out, 1 / (1 + math.Exp(none-one))
}
