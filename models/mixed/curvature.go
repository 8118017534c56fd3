package mixed

import (
	"math"

	"thumbed/models/sparse"
)

// A surface holds the scratch of [likelihood.curvature]. Vectors are one number
// for each random effect, then p + 1 for the root.
type surface struct {
	point    []float64 // (Λu, β, −1)
	residual []float64 // [Z X y]'R⁻¹(y − ZΛu − Xβ)
	variate  [][]float64
	product  [][]float64
	solved   [][]float64
	reach    []float64 // for each parameter −∂r²
	q        [][]float64
}

func (l *likelihood) newSurface() *surface {
	size := l.s.Effects + l.s.root
	w := &surface{point: make([]float64, size), residual: make([]float64, size), reach: make([]float64, len(l.parameters))}
	for range l.parameters {
		w.variate = append(w.variate, make([]float64, size))
		w.product = append(w.product, make([]float64, size))
		w.solved = append(w.solved, make([]float64, size))
	}
	for _, f := range l.s.factors {
		w.q = append(w.q, make([]float64, f.k*f.k))
	}
	return w
}

// curvature writes an approximation of the criterion's Hessian by φ into out
// (size × size by rows), at the point where gradient was last computed with
// κ = l.kappa. For the entries of Λ it is the average of observed and expected
// information, which needs no traces (Gilmour, Thompson and Cullis 1995),
// κ·(V̇ₐPy)'P(V̇ᵦPy), less what profiling σ² takes, plus, exactly, what the
// curvature of ΛΛ' itself adds. For the residual's parameters it is a rough
// diagonal; the descent learns those by its secants.
//
// safe is the same without the exact part, which may be negative.
func (l *likelihood) curvature(out, safe []float64) {
	clear(out)
	clear(safe)
	size := l.size()
	if len(l.parameters) > 0 {
		l.informationOfRandom(out, safe, size)
	}
	l.holdVanished(out, safe, size)
	if l.weighing != nil {
		l.weighing.roughCurvature(out, len(l.parameters), size)
		l.weighing.roughCurvature(safe, len(l.parameters), size)
	}
}

// holdVanished lets diagonal entries of Λ that are zero rest: zero is a
// stationary point, and what leads away from it is looked for at the end.
func (l *likelihood) holdVanished(out, safe []float64, size int) {
	for i, p := range l.parameters {
		e := p.entries[0]
		k := l.s.factors[p.factor].k
		if e[0] != e[1] || l.trial.Lambda[p.factor][e[0]*k+e[1]] != 0 || !l.rests(p.factor, e[1]) {
			continue
		}
		for j := range size {
			out[i*size+j], out[j*size+i] = 0, 0
			safe[i*size+j], safe[j*size+i] = 0, 0
		}
		out[i*size+i], safe[i*size+i] = 1, 1
	}
}

// rests tells whether column c of a factor's Λ is zero but for entries too small
// to count.
func (l *likelihood) rests(f, c int) bool {
	k := l.s.factors[f].k
	for a := c; a < k; a++ {
		if math.Abs(l.trial.Lambda[f][a*k+c]) >= vanishing {
			return false
		}
	}
	return true
}

// manyEffects is the number of random effects from which the parameters' shares
// of the average information are made on all cores at once.
const manyEffects = 1000

// informationOfRandom is curvature for the entries of Λ.
func (l *likelihood) informationOfRandom(out, safe []float64, size int) {
	if l.surface == nil {
		l.surface = l.newSurface()
	}
	w := l.surface
	l.residuals(w)
	if len(w.point) < manyEffects {
		for a := range l.parameters {
			l.project(a)
		}
	} else {
		sparse.InParallel(len(l.parameters), l.project)
	}
	df := l.degrees()
	for a := range l.parameters {
		for b := range a + 1 {
			v := l.kappa * (inner(w.variate[a], w.product[b]) - inner(w.solved[a], w.solved[b]))
			if !l.absolute {
				v -= l.kappa * l.kappa / df * w.reach[a] * w.reach[b]
			}
			out[a*size+b] = v
			safe[a*size+b], safe[b*size+a] = v, v
		}
	}
	l.addOwnCurvature(w, out, size)
	for a := range l.parameters {
		for b := range a {
			out[b*size+a] = out[a*size+b]
		}
	}
}

// project makes parameter a's working variate and what the average information
// needs of it.
func (l *likelihood) project(a int) {
	w, t := l.surface, l.trial
	l.workingVariate(l.parameters[a], w.point, w.residual, w.variate[a])
	w.reach[a] = inner(w.variate[a], w.residual)
	t.CrossTimes(w.variate[a], w.product[a])
	copy(w.solved[a], w.product[a])
	t.Forward(w.solved[a])
}

// reaches writes −κ times the derivatives of the sum of squares by the entries of
// Λ into out.
func (l *likelihood) reaches(out []float64) {
	if l.surface == nil {
		l.surface = l.newSurface()
	}
	w := l.surface
	l.residuals(w)
	for a, p := range l.parameters {
		l.workingVariate(p, w.point, w.residual, w.variate[a])
		out[a] = l.kappa * inner(w.variate[a], w.residual)
	}
}

// residuals fills point with (u, β, −1), u not yet multiplied by Λ, and residual
// with [Z X y]'R⁻¹ times what is left of the outcome.
func (l *likelihood) residuals(w *surface) {
	t, s := l.trial, l.s
	random := s.Effects
	beta := w.point[random : random+s.p]
	t.Coefficients(beta)
	w.point[random+s.p] = -1
	t.Spherical(beta, w.point[:random])
	scaled := w.variate[0] // borrowed until the variates are made
	copy(scaled, w.point)
	t.TimesLambda(scaled)
	t.CrossTimes(scaled, w.residual)
	for i, v := range w.residual {
		w.residual[i] = -v
	}
}

// workingVariate writes (Λ̇Λ' + ΛΛ̇')g into out, g the random effects' part of
// residual; Λ'g is u.
func (l *likelihood) workingVariate(p parameter, u, g, out []float64) {
	clear(out)
	s := l.s
	k := s.factors[p.factor].k
	lambda := l.trial.Lambda[p.factor]
	for group := range s.factors[p.factor].groups {
		at := s.First(p.factor, group)
		for _, e := range p.entries {
			row, col := e[0], e[1]
			out[at+row] += u[at+col]
			for a := col; a < k; a++ {
				out[at+a] += lambda[a*k+col] * g[at+row]
			}
		}
	}
}

// addOwnCurvature adds 2·Q[r,r'] for each two entries of Λ in one column, rows r
// and r'; Q with Λ'Q = grad is the criterion's derivative by ΛΛ'. A factor whose
// Λ is singular is left as it is.
func (l *likelihood) addOwnCurvature(w *surface, out []float64, size int) {
	for f := range l.s.factors {
		solveTransposed(l.trial.Lambda[f], l.trial.Slopes[f], w.q[f], l.s.factors[f].k)
	}
	for a, pa := range l.parameters {
		for b, pb := range l.parameters[:a+1] {
			if pa.factor != pb.factor {
				continue
			}
			k := l.s.factors[pa.factor].k
			for _, ea := range pa.entries {
				for _, eb := range pb.entries {
					if ea[1] == eb[1] {
						out[a*size+b] += 2 * w.q[pa.factor][ea[0]*k+eb[0]]
					}
				}
			}
		}
	}
}

// solveTransposed writes Λ'⁻¹·g into out, all k × k; zero where Λ is nearly
// singular.
func solveTransposed(lambda, g, out []float64, k int) {
	for a := range k {
		if math.Abs(lambda[a*k+a]) < vanishing {
			clear(out)
			return
		}
	}
	backSolve(lambda, g, out, k)
}

// backSolve writes Λ'⁻¹·g into out, all k × k.
func backSolve(lambda, g, out []float64, k int) {
	for a := k - 1; a >= 0; a-- {
		for c := range k {
			v := g[a*k+c]
			for b := a + 1; b < k; b++ {
				v -= lambda[b*k+a] * out[b*k+c]
			}
			out[a*k+c] = v / lambda[a*k+a]
		}
	}
}
