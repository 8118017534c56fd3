package mixed

import (
	"math"
	"slices"

	"thumbed/models/sparse"
)

// A varianceParameter is one parameter in which V is linear, but for the
// autocorrelation: a covariance of random effects, the variance of a shared error
// that was estimated beforehand, a residual variance, or the autocorrelation at
// distance unit.
type varianceParameter struct {
	kind     varianceKind
	term     int      // of the normal equations, for covariances and shared errors
	entries  [][2]int // of the term's covariance matrix
	residual residualParameter
}

type varianceKind int

const (
	covarianceOf varianceKind = iota
	sharedError
	ofResidual
)

// A variancePoint is a value of all of them, relative to σ² where that is
// profiled out.
type variancePoint struct {
	covariances [][]float64 // k × k by rows, one a term; of a shared error its one variance
	variances   []float64   // of the residual, by level
	near        float64
}

// clone is a copy to be moved.
func (p variancePoint) clone() variancePoint {
	out := variancePoint{variances: slices.Clone(p.variances), near: p.near}
	for _, c := range p.covariances {
		out.covariances = append(out.covariances, slices.Clone(c))
	}
	return out
}

// varianceParameters lists the parameters whose uncertainty counts, in the order:
// covariances, residual variances, autocorrelation, shared errors. An
// autocorrelation at the end of its range is held there.
func (l *likelihood) varianceParameters(at variancePoint) []varianceParameter {
	var out []varianceParameter
	for f := range l.s.factors {
		for _, v := range l.s.factors[f].blocks {
			out = append(out, v.covariances(f)...)
		}
	}
	for _, p := range l.s.d.errors.parameters() {
		if p.estimated(at) {
			out = append(out, varianceParameter{kind: ofResidual, residual: p})
		}
	}
	for k, o := range l.s.d.offsets {
		if o.DF > 0 {
			out = append(out, varianceParameter{kind: sharedError, term: len(l.s.factors) + k})
		}
	}
	return out
}

// covariances are the parameters of a block of a factor's columns.
func (v varying) covariances(factor int) []varianceParameter {
	var out []varianceParameter
	if v.shared {
		p := varianceParameter{term: factor}
		for k := range v.size {
			p.entries = append(p.entries, [2]int{v.first + k, v.first + k})
		}
		return []varianceParameter{p}
	}
	for a := range v.size {
		for b := range a + 1 {
			if a == b || v.correlated {
				out = append(out, varianceParameter{term: factor, entries: [][2]int{{v.first + a, v.first + b}}})
			}
		}
	}
	return out
}

// across tells whether the parameter is a covariance of two different columns.
func (p varianceParameter) across() bool {
	return p.kind == covarianceOf && p.entries[0][0] != p.entries[0][1]
}

// variancePoint is the point at φ.
func (l *likelihood) variancePoint(phi []float64) variancePoint {
	l.set(phi)
	var out variancePoint
	for f := range l.s.factors {
		k := l.s.factors[f].k
		lambda := l.trial.Lambda[f]
		c := make([]float64, k*k)
		for a := range k {
			for b := range k {
				n := min(a, b) + 1
				c[a*k+b] = inner(lambda[a*k:a*k+n], lambda[b*k:b*k+n])
			}
		}
		out.covariances = append(out.covariances, c)
	}
	for _, o := range l.s.d.offsets {
		out.covariances = append(out.covariances, []float64{o.sd * o.sd})
	}
	out.variances = []float64{1}
	if w := l.weighing; w != nil {
		w.state.set(w.parameters, phi[len(l.parameters):])
		out.near = w.state.near
		out.variances = out.variances[:0]
		for _, ratio := range w.state.ratio {
			out.variances = append(out.variances, math.Pow(w.state.sigma*ratio, 2))
		}
	}
	return out
}

// offBoundary is the variance that is added to every variance of random effects
// before derivatives are taken, against its size and one: a zero is a point of the
// parameters as any other, but Λ has no derivative by it there.
const offBoundary = 1e-10

// take makes the factor at a point. It tells whether there is one.
func (l *likelihood) take(p variancePoint) bool {
	l.standing, l.sloped = false, false
	for f := range l.s.factors {
		k := l.s.factors[f].k
		shifted := slices.Clone(p.covariances[f])
		for a := range k {
			shifted[a*k+a] += offBoundary * math.Max(1, shifted[a*k+a])
		}
		copy(l.trial.Lambda[f], semidefiniteRoot(shifted, k))
	}
	for o := range l.s.d.offsets {
		l.setOffset(o, math.Sqrt(p.covariances[len(l.s.factors)+o][0]))
	}
	if w := l.weighing; w != nil {
		if tau := l.tau(p); l.filled == nil || !slices.Equal(tau, l.filled) {
			w.fill(l.trial.Cross, tau)
			l.filled = tau
		}
	}
	return l.trial.Factorise()
}

// tau are the residual's parameters, as the weighing takes them, at a point.
func (l *likelihood) tau(p variancePoint) []float64 {
	tau := make([]float64, len(l.weighing.parameters))
	for i, par := range l.weighing.parameters {
		tau[i] = par.tau(p)
	}
	return tau
}

// traces gives tr(P·Vᵢ) for each parameter at a point, P what projects the fixed
// effects out: the derivatives of both determinants of the restricted likelihood.
// That of the residual's first variance is 0 where σ² is profiled out: the sum of
// all, each times its parameter, is n − p. nil where the point has no factor.
func (l *likelihood) traces(at variancePoint, parameters []varianceParameter) []float64 {
	if !l.take(at) {
		return nil
	}
	t := l.trial
	t.StartInverse(true, 0)
	t.Invert()
	t.FillSlopes()
	var slopes []float64
	if w := l.weighing; w != nil {
		slopes = make([]float64, len(w.parameters))
		w.gradient(t, slopes)
	}
	out := make([]float64, len(parameters))
	for i, p := range parameters {
		switch p.kind {
		case covarianceOf:
			out[i] = l.covarianceTrace(p)
		case sharedError:
			k := l.s.d.offsets[p.term-len(l.s.factors)].columns()
			for c := range k {
				out[i] += t.Slopes[p.term][c*k+c] / t.Lambda[p.term][c*k+c]
			}
		default:
			out[i] = p.residual.trace(l, at, slopes)
		}
	}
	return out
}

// covarianceTrace is tr(P·Vᵢ) of a covariance: Σ over groups of Z'PZ is Q with
// Λ'Q = slopes.
func (l *likelihood) covarianceTrace(p varianceParameter) float64 {
	k := l.s.factors[p.term].k
	q := make([]float64, k*k)
	backSolve(l.trial.Lambda[p.term], l.trial.Slopes[p.term], q, k)
	sum := 0.0
	for _, e := range p.entries {
		sum += q[e[0]*k+e[1]]
		if e[0] != e[1] {
			sum += q[e[1]*k+e[0]]
		}
	}
	return sum
}

// A move is a point a step away along one parameter, or where that is the
// covariance of two columns along both their variances too, since a covariance
// alone may leave the range.
func (p variancePoint) move(par varianceParameter, step float64, k int) variancePoint {
	out := p.clone()
	switch par.kind {
	case covarianceOf:
		c := out.covariances[par.term]
		for _, e := range par.entries {
			a, b := e[0], e[1]
			c[a*k+b] += step
			if a != b {
				c[b*k+a] += step
				c[a*k+a] += step
				c[b*k+b] += step
			}
		}
	case sharedError:
		out.covariances[par.term][0] += step
	default:
		*par.residual.value(&out) += step
	}
	return out
}

// scale is the size of a parameter's change over which the determinants bend.
func (l *likelihood) scaleOf(par varianceParameter, at variancePoint) float64 {
	switch par.kind {
	case covarianceOf, sharedError:
		groups, k := 1, 1
		if par.term < len(l.s.factors) {
			groups, k = len(l.s.factors[par.term].groups), l.s.factors[par.term].k
		} else if o := &l.s.d.offsets[par.term-len(l.s.factors)]; o.columns() == 1 {
			groups = len(o.groups)
		} else {
			k = o.columns()
		}
		entries := par.entries
		if par.kind == sharedError {
			entries = [][2]int{{0, 0}}
		}
		most, own := 0.0, at.covariances[par.term][0]
		for _, e := range entries {
			if par.kind == covarianceOf {
				own = math.Min(at.covariances[par.term][e[0]*k+e[0]], at.covariances[par.term][e[1]*k+e[1]])
			}
			for g := range groups {
				block, _ := l.trial.Cross.Group(par.term, g)
				most = math.Max(most, math.Max(block[e[0]*k+e[0]], block[e[1]*k+e[1]]))
			}
		}
		return own + 1/most
	default:
		return par.residual.scale(l, at)
	}
}

// expectedInformation gives tr(P·Vᵢ·P·Vⱼ)/2 for each two parameters, the expected
// information of the restricted likelihood, by differences of traces: that of
// tr(P·Vᵢ) by parameter j is −tr(P·Vⱼ·P·Vᵢ) + tr(P·Vᵢⱼ), curved being the latter.
// In between where σ² is profiled out it follows from V = ΣθᵢVᵢ and PVP = P. Where
// the point has no factor it is nil. [likelihood.take] leaves the factor elsewhere.
func (l *likelihood) expectedInformation(at variancePoint, parameters []varianceParameter, here []float64, curved func(i, j int) float64) [][]float64 {
	n := len(parameters)
	scales := make([]float64, n)
	for j, p := range parameters {
		if !l.profiled(p) {
			scales[j] = l.scaleOf(p, at)
		}
	}
	rows := make([][]float64, n)
	large := l.s.Size() >= largeFactor
	workers := l.workers(n)
	sparse.InParallel(n, func(j int) {
		if l.profiled(parameters[j]) {
			return
		}
		w := <-workers
		rows[j] = w.traceSlopes(at, parameters, j, scales[j], here, large)
		workers <- w
	})
	for j, p := range parameters {
		if l.profiled(p) {
			rows[j] = make([]float64, n)
			continue
		}
		if rows[j] == nil {
			return nil
		}
		for i := range rows[j] {
			rows[j][i] = -rows[j][i]
		}
		if l.weighing != nil {
			for i := range rows[j] {
				rows[j][i] += curved(i, j)
			}
		}
	}
	l.takeDiagonalsOut(parameters, rows)
	for i := range n {
		for j := range i {
			if l.profiled(parameters[i]) || l.profiled(parameters[j]) {
				continue
			}
			mean := (rows[i][j] + rows[j][i]) / 2
			rows[i][j], rows[j][i] = mean, mean
		}
	}
	l.completeProfiled(at, parameters, here, rows)
	for i := range rows {
		for j := range rows[i] {
			rows[i][j] /= 2
		}
	}
	return rows
}

// profiled tells whether a parameter is σ² where that is profiled out.
func (l *likelihood) profiled(p varianceParameter) bool {
	if p.kind != ofResidual || l.absolute {
		return false
	}
	level, spread := p.residual.level()
	return spread && level == 0
}

// A stencil is a difference in place of a derivative: the sum of values at whole
// steps, each times its weight, over the step.
type stencil struct {
	steps   []int
	weights []float64
	step    float64 // against the parameter's scale
}

// The first is of sixth order, the second of fourth (Fornberg 1988, Mathematics of
// Computation 51, 699–706, tables 1 and 3), so that their steps can be long: the traces
// lose digits where an autocorrelation nears 1, and which of them is left to the processor.
var (
	bothSides = stencil{[]int{-3, -2, -1, 1, 2, 3}, []float64{-1. / 60, 3. / 20, -3. / 4, 3. / 4, -3. / 20, 1. / 60}, 1e-2}
	oneSide   = stencil{[]int{0, 1, 2, 3, 4}, []float64{-25. / 12, 4, -3, 4. / 3, -1. / 4}, 1e-3}
	oneStep   = stencil{[]int{0, 1}, []float64{-1, 1}, 1e-5}
)

// traceSlopes are differences of the traces along parameter j, from steps to either
// side where the parameter can surely go there, and from one step for a large design.
func (l *likelihood) traceSlopes(at variancePoint, parameters []varianceParameter, j int, scale float64, here []float64, large bool) []float64 {
	p, k := parameters[j], 1
	if p.kind == covarianceOf {
		k = l.s.factors[p.term].k
	}
	by := oneSide
	switch {
	case large:
		by = oneStep
	case p.kind == ofResidual && p.residual.inside(at, scale):
		by = bothSides
	}
	out := make([]float64, len(parameters))
	for e, n := range by.steps {
		traces := here
		if n != 0 {
			traces = l.traces(at.move(p, float64(n)*by.step*scale, k), parameters)
		}
		if traces == nil {
			return nil
		}
		for i, v := range traces {
			out[i] += by.weights[e] / (by.step * scale) * v
		}
	}
	return out
}

// takeDiagonalsOut makes the slopes along two columns' variances and covariance
// together those along the covariance alone.
func (l *likelihood) takeDiagonalsOut(parameters []varianceParameter, rows [][]float64) {
	for j, p := range parameters {
		if !p.across() {
			continue
		}
		for i, q := range parameters {
			if q.kind != covarianceOf || q.term != p.term || q.across() || len(q.entries) > 1 {
				continue
			}
			if a := q.entries[0][0]; a == p.entries[0][0] || a == p.entries[0][1] {
				for e := range rows[j] {
					rows[j][e] -= rows[i][e]
				}
			}
		}
	}
}

// completeProfiled fills what has σ², profiled out, as one of its parameters.
func (l *likelihood) completeProfiled(at variancePoint, parameters []varianceParameter, here []float64, rows [][]float64) {
	if l.absolute {
		return
	}
	own := slices.IndexFunc(parameters, l.profiled)
	rest := float64(l.s.n - l.s.p)
	values := make([]float64, len(parameters))
	for i, p := range parameters {
		switch p.kind {
		case covarianceOf:
			e := p.entries[0]
			values[i] = at.covariances[p.term][e[0]*l.s.factors[p.term].k+e[1]]
		case ofResidual:
			if _, spread := p.residual.level(); spread {
				values[i] = *p.residual.value(&at)
			}
		}
		if i != own {
			rest -= values[i] * here[i]
		}
	}
	here[own] = rest / values[own]
	for i := range parameters {
		if i == own {
			continue
		}
		sum := here[i]
		for j := range parameters {
			if j != own {
				sum -= values[j] * rows[i][j]
			}
		}
		rows[i][own] = sum / values[own]
		rows[own][i] = rows[i][own]
	}
	sum := here[own]
	for j := range parameters {
		if j != own {
			sum -= values[j] * rows[own][j]
		}
	}
	rows[own][own] = sum / values[own]
}
