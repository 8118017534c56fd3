package generalised

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// An objective is what a descent goes down: the value at x and, asked for next, the
// gradient there.
type objective interface {
	value(x []float64) float64 // +∞ where there is none
	slope(g []float64)         // at the point of which the value was asked last
	settle(gain float64)       // how near to the mode of the random effects values are taken
}

// A descent is quasi-Newton (BFGS; Nocedal and Wright 2006, algorithm 6.1) from a
// first Hessian, with steps by the Armijo condition, goes on from one by differences of
// the exact gradient once it is near, and ends by Newton's steps with such a Hessian,
// which is wanted for standard errors anyhow.
type descent struct {
	x, g    []float64
	f       float64
	hessian *mat.SymDense // by differences, at the end
	settled bool
}

const (
	mostDescents  = 200
	nearEnough    = 1e-8  // of the objective, promised by a step: from there Newton's steps
	refreshed     = 0.5   // … from there the steps are by a Hessian made anew
	roughlyNear   = 1e-3  // … where the end is only the start of another search
	closelyNear   = 1e-8  // … where there are no Newton's steps
	settledEnough = 1e-11 // of the objective, promised by Newton's step at the end
)

// minimise goes down f from x with a first Hessian.
// Quasi-Newton steps go on until one promises less than near; without differences it
// ends there, with the Hessian that the
// gradients taught it.
func minimise(f objective, x []float64, first *mat.SymDense, near float64, differences func(x, g []float64, scale []float64) *mat.SymDense) *descent {
	n := len(x)
	d := &descent{x: append([]float64(nil), x...), g: make([]float64, n)}
	f.settle(modeNear)
	defer f.settle(modeSettle)
	d.f = f.value(d.x)
	if math.IsInf(d.f, 1) || math.IsNaN(d.f) {
		return d
	}
	f.slope(d.g)
	h := mat.NewSymDense(n, nil)
	h.CopySym(first)
	step := make([]float64, n)
	next, slope := make([]float64, n), make([]float64, n)
	anew := differences == nil
	// sharply takes the value and the gradient for differences to be taken from
	sharply := func() {
		f.settle(modeSharp)
		d.f = f.value(d.x)
		f.slope(d.g)
	}
	for range mostDescents {
		promised := newtonStep(h, d.g, step)
		if !anew && promised < refreshed {
			anew = true
			sharply()
			if near := differences(d.x, d.g, scales(h)); new(mat.Cholesky).Factorize(near) {
				h = near
			}
			f.settle(modeNear)
			promised = newtonStep(h, d.g, step)
		}
		if promised < near {
			break
		}
		value, length := search(f, d, step, next, promised)
		if length == 0 {
			break
		}
		f.slope(slope)
		update(h, d.x, next, d.g, slope)
		copy(d.x, next)
		copy(d.g, slope)
		d.f = value
	}
	if differences == nil {
		d.hessian = h
		return d
	}
	sharply()
	for range 12 {
		d.hessian = differences(d.x, d.g, scales(h))
		promised := newtonStep(d.hessian, d.g, step)
		if promised < settledEnough {
			d.settled = true
			break
		}
		value, length := search(f, d, step, next, promised)
		if length == 0 {
			d.settled = promised < 1e-7
			break
		}
		copy(d.x, next)
		d.f = value
		f.slope(d.g)
		h.CopySym(d.hessian)
		if length == 1 && promised < 1e-7 {
			// the next step is of this one's square: the Hessian hardly changed
			d.settled = true
			break
		}
	}
	return d
}

// scales are the standard errors that a Hessian gives single variables alone.
func scales(h *mat.SymDense) []float64 {
	out := make([]float64, h.SymmetricDim())
	for i := range out {
		out[i] = 1
		if v := h.At(i, i); v > 1e-8 {
			out[i] = math.Min(1, 1/math.Sqrt(v))
		}
	}
	return out
}

// newtonStep writes −H⁻¹g into step, directions in which H does not curve upwards
// turned over, and gives what it promises: −g'step/2.
func newtonStep(h *mat.SymDense, g, step []float64) float64 {
	n := len(g)
	var chol mat.Cholesky
	v := mat.NewVecDense(n, step)
	if chol.Factorize(h) && chol.Cond() < 1e14 {
		if chol.SolveVecTo(v, mat.NewVecDense(n, g)) == nil {
			v.ScaleVec(-1, v)
			return -dot(g, step) / 2
		}
	}
	var eigen mat.EigenSym
	if !eigen.Factorize(h, true) {
		for i := range step {
			step[i] = -g[i]
		}
		return dot(g, g) / 2
	}
	var vectors mat.Dense
	eigen.VectorsTo(&vectors)
	values := eigen.Values(nil)
	largest := math.Max(math.Abs(values[0]), math.Abs(values[n-1]))
	clear(step)
	for k, value := range values {
		along := 0.0
		for i := range n {
			along += vectors.At(i, k) * g[i]
		}
		size := math.Max(math.Abs(value), 1e-7*largest)
		for i := range n {
			step[i] -= vectors.At(i, k) * along / size
		}
	}
	return -dot(g, step) / 2
}

// search goes along a step until the objective falls enough; it gives its value
// there and how much of the step was taken, 0 where none helps.
func search(f objective, d *descent, step, next []float64, promised float64) (value, length float64) {
	length = 1
	largest := 0.0
	for _, v := range step {
		largest = math.Max(largest, math.Abs(v))
	}
	if largest > 5 {
		length = 5 / largest
	}
	rounding := 1e-12 * (1 + math.Abs(d.f))
	for range 40 {
		for i, v := range step {
			next[i] = d.x[i] + length*v
		}
		value = f.value(next)
		if value <= d.f-1e-4*2*length*promised+rounding {
			return value, length
		}
		shorter := 0.5
		if !math.IsInf(value, 0) { // the lowest point of the parabola
			shorter = math.Max(0.1, math.Min(0.5, length*promised/(value-d.f+2*length*promised)))
		}
		length *= shorter
	}
	f.value(d.x)
	return d.f, 0
}

// update corrects a Hessian by what the gradient's change says (damped BFGS;
// Nocedal and Wright 2006, procedure 18.2).
func update(h *mat.SymDense, x, next, g, slope []float64) {
	n := len(x)
	s, y := mat.NewVecDense(n, nil), mat.NewVecDense(n, nil)
	for i := range n {
		s.SetVec(i, next[i]-x[i])
		y.SetVec(i, slope[i]-g[i])
	}
	var hs mat.VecDense
	hs.MulVec(h, s)
	shs, sy := mat.Dot(s, &hs), mat.Dot(s, y)
	if !(shs > 0) {
		return
	}
	if sy < 0.2*shs {
		share := 0.8 * shs / (shs - sy)
		y.ScaleVec(share, y)
		y.AddScaledVec(y, 1-share, &hs)
		sy = mat.Dot(s, y)
	}
	h.SymRankOne(h, -1/shs, &hs)
	h.SymRankOne(h, 1/sy, y)
}
