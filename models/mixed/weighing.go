package mixed

import (
	"math"
	"slices"
	"thumbed/models/sparse"

	"gonum.org/v1/gonum/blas"
	"gonum.org/v1/gonum/blas/blas64"
	"gonum.org/v1/gonum/floats"
)

// A weighing makes the cross-product of [Z X y] under the residual's structure
// at given parameters, and carries the criterion's derivative by the
// cross-product back to them.
type weighing struct {
	s          *system
	state      *residualState
	parameters []residualParameter
	weights    []float64 // n, where rows are independent
	adjoint    *sparse.Cross
	logDet     float64   // of the rows' covariance
	left       []float64 // n: the outcome's remainder
	pseudo     *pseudo   // nil where every row's outcome is a value

	// scratch for one group of correlated rows
	w, dw, product, local, carried []float64
}

func newWeighing(s *system) *weighing {
	e := &s.d.errors
	g := &weighing{s: s, state: newResidualState(e), parameters: s.d.errorParameters(), adjoint: s.NewCross(), left: s.d.fixed.left}
	if e.bounded() {
		g.pseudo = newPseudo(s.d)
		g.left = g.pseudo.left
		g.state.extra = g.pseudo.extra
	}
	if !e.correlated() {
		g.weights = make([]float64, s.n)
		return g
	}
	widest, long := s.Widest()
	g.w, g.dw, g.product = make([]float64, long), make([]float64, long), make([]float64, long)
	g.local = make([]float64, widest*widest)
	g.carried = make([]float64, 2*widest)
	return g
}

// fill makes the cross-product at parameters tau.
func (g *weighing) fill(c *sparse.Cross, tau []float64) {
	g.state.set(g.parameters, tau)
	g.logDet = 0
	if g.weights != nil {
		for i := range g.weights {
			h, known, _ := g.state.row(int32(i))
			variance := h*h + known
			g.weights[i] = 1 / variance
			g.logDet += math.Log(variance)
		}
		c.Fill(g.weights, g.left)
		return
	}
	c.Clear()
	for k := range g.s.Runs() {
		rows, m := g.s.Run(k)
		w := g.w[:len(rows)*m]
		g.s.LoadRun(k, g.left, w)
		g.logDet += g.state.whiten(rows, w, m, g.carried[:m])
		local := g.local[:m*m]
		crossProduct(w, len(rows), m, local)
		c.AddRun(k, local)
	}
}

// blocked tells whether the products of rows of m numbers, w one after the other, are
// worth the overhead of blocked linear algebra: many columns, and more than one number
// in four not zero. Rows along one line have few: their own groups and those of
// their neighbours.
func blocked(w []float64, m int) bool {
	if m < 40 {
		return false
	}
	filled := 0
	for _, v := range w {
		if v != 0 {
			filled++
		}
	}
	return filled > len(w)/4
}

// mirror copies the lower triangle of an n × n block to the upper.
func mirror(m []float64, n int) {
	for i := range n {
		for j := range i {
			m[j*n+i] = m[i*n+j]
		}
	}
}

// crossProduct writes w'w (m × m) of n rows into out, its lower triangle at
// least.
func crossProduct(w []float64, n, m int, out []float64) {
	if blocked(w, m) {
		blas64.Syrk(blas.Trans, 1, blas64.General{Rows: n, Cols: m, Stride: m, Data: w}, 0,
			blas64.Symmetric{Uplo: blas.Lower, N: m, Stride: m, Data: out})
		mirror(out, m)
		return
	}
	clear(out)
	for i := range n {
		row := w[i*m : (i+1)*m]
		for a, v := range row {
			if v == 0 {
				continue
			}
			floats.AddScaled(out[a*m:(a+1)*m], v, row)
		}
	}
}

// rowsTimes writes the n rows of m numbers w, each times the symmetric m × m
// matrix, into out.
func rowsTimes(w []float64, n, m int, matrix, out []float64) {
	if blocked(w, m) {
		g := func(rows int, data []float64) blas64.General {
			return blas64.General{Rows: rows, Cols: m, Stride: m, Data: data}
		}
		blas64.Gemm(blas.NoTrans, blas.NoTrans, 1, g(n, w), g(m, matrix), 0, g(n, out))
		return
	}
	clear(out)
	for i := range n {
		row, to := w[i*m:(i+1)*m], out[i*m:(i+1)*m]
		for a, v := range row {
			if v != 0 {
				floats.AddScaled(to, v, matrix[a*m:(a+1)*m])
			}
		}
	}
}

// solve replaces n rows of m numbers by R⁻¹ times them.
func (g *weighing) solve(rows []float64, m int) {
	if g.weights != nil {
		for i, w := range g.weights {
			for k := range m {
				rows[i*m+k] *= w
			}
		}
		return
	}
	var own, diagonal []float64
	for r := range g.s.Runs() {
		run, _ := g.s.Run(r)
		own, diagonal = resized(own, len(run)*m), resized(diagonal, len(run))
		for k, i := range run {
			copy(own[k*m:(k+1)*m], rows[int(i)*m:])
		}
		g.solveRun(run, own, m, diagonal)
		for k, i := range run {
			copy(rows[int(i)*m:(int(i)+1)*m], own[k*m:])
		}
	}
}

// solveRun replaces a run's rows of m numbers by its R⁻¹ times them, and writes the
// diagonal of that.
func (g *weighing) solveRun(run []int32, w []float64, m int, diagonal []float64) {
	carried := make([]float64, m)
	g.state.whiten(run, w, m, carried)
	g.state.unwhiten(run, w, m, carried, diagonal)
}

// adjustBounds makes the pseudo-measurements of bounds anew from what the trial
// t, just factorised, says of their rows; full tells that the fixed effects are
// held at their estimates rather than integrated out.
func (g *weighing) adjustBounds(t *sparse.Factor, full bool, damp float64) {
	weight := make([]float64, len(g.pseudo.rows))
	residual := make([]float64, len(g.pseudo.rows))
	beta := make([]float64, g.s.p)
	t.Coefficients(beta)
	effects := t.Modes(beta)
	t.StartInverse(!full, 0)
	t.Invert()
	t.Adjoint(g.adjoint)
	if g.weights != nil {
		for k, i := range g.pseudo.rows {
			w := g.weights[i]
			weight[k] = w - w*w*g.adjoint.Form(int(i), g.left)
			residual[k] = w * (g.left[i] - g.s.Predicted(int(i), beta, effects))
		}
	} else {
		g.projectGroups(weight, residual, beta, effects)
	}
	g.pseudo.sweep(weight, residual, damp)
}

// projectGroups is the diagonal of P and P times the outcome for bounds among
// correlated rows.
func (g *weighing) projectGroups(weight, residual, beta []float64, effects []float64) {
	s := g.s
	at := make([]int32, s.n) // 1 + number of the row among the bounds
	for k, i := range g.pseudo.rows {
		at[i] = int32(k) + 1
	}
	var w, raw, carried, diagonal, along []float64
	for k := range s.Runs() {
		rows, m := s.Run(k)
		if !slices.ContainsFunc(rows, func(i int32) bool { return at[i] > 0 }) {
			continue
		}
		// the group's rows of V⁻¹ times [Z X y] and the remainder together
		n := len(rows)
		raw = resized(raw, n*m)
		s.LoadRun(k, g.left, raw)
		w = resized(w, n*(m+1))
		for r, i := range rows {
			row := w[r*(m+1) : (r+1)*(m+1)]
			copy(row, raw[r*m:(r+1)*m])
			row[m] = g.left[i] - s.Predicted(int(i), beta, effects)
		}
		carried, diagonal, along = resized(carried, m+1), resized(diagonal, n), resized(along, m)
		g.state.whiten(rows, w, m+1, carried)
		g.state.unwhiten(rows, w, m+1, carried, diagonal)
		local := g.local[:m*m]
		g.adjoint.CollectRun(k, local)
		for r, i := range rows {
			if at[i] == 0 {
				continue
			}
			row := w[r*(m+1) : (r+1)*(m+1)]
			multiply(local, row[:m], along)
			weight[at[i]-1] = diagonal[r] - inner(along, row)
			residual[at[i]-1] = row[m]
		}
	}
}

// resized gives room for n numbers, keeping what room there was.
func resized(room []float64, n int) []float64 {
	if cap(room) < n {
		return make([]float64, n)
	}
	return room[:n]
}

// gradient writes the criterion's derivatives by the residual's parameters,
// from the inverse that t holds.
func (g *weighing) gradient(t *sparse.Factor, out []float64) {
	clear(out)
	if len(out) == 0 {
		return
	}
	t.Adjoint(g.adjoint)
	if g.weights != nil {
		g.rowGradient(out)
		return
	}
	for k := range g.s.Runs() {
		g.runGradient(k, out)
	}
}

func (g *weighing) rowGradient(out []float64) {
	s := g.s
	for i := range s.n {
		w := g.weights[i]
		slope := w - w*w*g.adjoint.Form(i, g.left) // by the row's variance
		h, _, _ := g.state.row(int32(i))
		for k, p := range g.parameters {
			dh, _ := p.slope(g.state, int32(i), h, 0)
			out[k] += slope * 2 * h * dh
		}
	}
}

func (g *weighing) runGradient(r int, out []float64) {
	rows, m := g.s.Run(r)
	n := len(rows)
	raw, w := g.dw[:n*m], g.w[:n*m]
	g.s.LoadRun(r, g.left, raw)
	copy(w, raw)
	g.state.whiten(rows, w, m, g.carried[:m])
	local := g.local[:m*m]
	g.adjoint.CollectRun(r, local)
	product := g.product[:n*m]
	rowsTimes(w, n, m, local, product)
	for k, p := range g.parameters {
		// the derivative overwrites w row by row; the raw rows stay
		out[k] += g.state.whitenSlope(p, rows, raw, w, m, g.carried[:2*m])
		out[k] += 2 * inner(product, w)
	}
}

// roughCurvature puts a rough curvature on the diagonal for each of the
// residual's parameters, which begin at first.
func (g *weighing) roughCurvature(out []float64, first, size int) {
	for k, p := range g.parameters {
		out[(first+k)*size+first+k] = p.curvature(g.state)
	}
}

// index is the place of a parameter among those that the search moves.
func (g *weighing) index(p residualParameter) int { return slices.Index(g.parameters, p) }

// fixedSlopes gives, for each of the residual's parameters, the derivative of
// X'V⁻¹X in the basis Q (p × p by rows), from the sensitivity of the random
// effects.
func (g *weighing) fixedSlopes(v *sparse.Sensitivity) [][]float64 {
	s := g.s
	p := s.p
	rows := v.Rows()
	out := make([][]float64, len(g.parameters))
	for k := range out {
		out[k] = make([]float64, p*p)
	}
	runs := s.d.errors.split()
	if runs == nil { // each row by itself
		alone := make([]int32, s.n)
		for i := range alone {
			alone[i] = int32(i)
			runs = append(runs, alone[i:i+1])
		}
	}
	carried := make([]float64, 2*p)
	var w, raw, dw []float64
	for _, members := range runs {
		raw = raw[:0]
		for _, r := range members {
			raw = append(raw, rows[int(r)*p:(int(r)+1)*p]...)
		}
		w = append(w[:0], raw...)
		g.state.whiten(members, w, p, carried[:p])
		dw = append(dw[:0], raw...)
		for k, par := range g.parameters {
			g.state.whitenSlope(par, members, raw, dw, p, carried)
			for r := range members {
				for a := range p {
					for b := range p {
						out[k][a*p+b] += w[r*p+a]*dw[r*p+b] + dw[r*p+a]*w[r*p+b]
					}
				}
			}
		}
	}
	return out
}
