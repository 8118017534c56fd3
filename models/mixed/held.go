package mixed

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// A held is the criterion as a function of the parameters that are left free
// while one of them is held at a value: the objective behind a profile. Its free
// variables x are carried to (φ, log σ) by a map that keeps the held parameter
// where it is; the gradient follows by that map's Jacobian.
type held struct {
	l       *likelihood
	hessian *mat.SymDense // by (φ, log σ) at the unconstrained optimum
	place   func(x, point []float64)
	// pin is a penalty on directions of x in which place is redundant; nil
	// where there are none. It is zero at the optimum.
	pin func(x, gradient []float64) float64

	point, slope, moved []float64 // (φ, log σ) and the criterion's gradient there
	jacobian            *mat.Dense
}

// newHeld makes room for size free variables.
func newHeld(l *likelihood, hessian *mat.SymDense, size int) *held {
	h := &held{l: l, hessian: hessian}
	points := l.size()
	if !l.absolute {
		points++
	}
	h.point, h.slope, h.moved = make([]float64, points), make([]float64, points), make([]float64, points)
	if size > 0 {
		h.jacobian = mat.NewDense(points, size, nil)
	}
	return h
}

// at is the criterion at x, its gradient in g.
func (h *held) at(x, g []float64) float64 {
	h.place(x, h.point)
	value := h.l.deviance(h.point, h.slope)
	if math.IsInf(value, 1) || len(x) == 0 {
		return value
	}
	h.derive(x)
	for j := range g {
		sum := 0.0
		for i, v := range h.slope {
			sum += v * h.jacobian.At(i, j)
		}
		g[j] = sum
	}
	if h.pin != nil {
		value += h.pin(x, g)
	}
	return value
}

// derive fills the Jacobian of place at x by central differences, which cost no
// factorisation.
func (h *held) derive(x []float64) {
	for j := range x {
		at, step := x[j], 1e-5*math.Max(1, math.Abs(x[j]))
		x[j] = at + step
		h.place(x, h.moved)
		for i, v := range h.moved {
			h.jacobian.Set(i, j, v)
		}
		x[j] = at - step
		h.place(x, h.moved)
		for i, v := range h.moved {
			h.jacobian.Set(i, j, (h.jacobian.At(i, j)-v)/(2*step))
		}
		x[j] = at
	}
}

// leastCurvature keeps steps short in directions without curvature.
const leastCurvature = 1e-3

// curvature is J'HJ with H the Hessian at the unconstrained optimum.
func (h *held) curvature(out, safe []float64) {
	if h.jacobian == nil {
		return
	}
	var product mat.Dense
	product.Product(h.jacobian.T(), h.hessian, h.jacobian)
	_, n := product.Dims()
	for i := range n {
		copy(out[i*n:(i+1)*n], product.RawRowView(i))
		out[i*n+i] += leastCurvature
	}
	copy(safe, out)
}

// deviance is the criterion at point = (φ, log σ), σ relative to the outcome's
// unit in the likelihood and absent where it is no parameter of its own, with
// its gradient.
func (l *likelihood) deviance(point, slope []float64) float64 {
	k := l.size()
	value := l.criterion(point[:k])
	if math.IsInf(value, 1) {
		return value
	}
	if l.absolute {
		l.gradient(1, slope)
		return value
	}
	df, pwrss := l.degrees(), l.trial.Squares
	precision := math.Exp(-2 * point[k])
	l.gradient(precision, slope[:k])
	slope[k] = 2*df - 2*pwrss*precision
	return value - df*(1+math.Log(pwrss/df)) + 2*df*point[k] + pwrss*precision
}

// rowEntries are the parameters that are entries of row a of Λ in the place's
// random term, by column.
func (l *likelihood) rowEntries(p parameterPlace, a int) []int {
	var out []int
	for i, q := range l.parameters {
		if q.factor == p.factor && q.entries[0][0] == a && q.entries[0][1] >= p.block.first && q.entries[0][1] < p.block.first+p.block.size {
			out = append(out, i)
		}
	}
	return out
}

// hold makes the objective in which the parameter at place p is held at
// value(), and the free variables' values at (φ, log σ). It is for every kind
// but fixed effects.
func (l *likelihood) hold(p parameterPlace, hessian *mat.SymDense, value *float64) (*held, func(point []float64) []float64) {
	switch p.kind {
	case GroupDeviation, CurveDeviation:
		return l.holdDeviation(p, hessian, value)
	case GroupCorrelation:
		return l.holdCorrelation(p, hessian, value)
	default:
		which, at := p.residual.hold(l)
		return l.holdCoordinate(which, hessian, func(point []float64) float64 { return at(*value, point) })
	}
}

// holdCoordinate holds one coordinate of (φ, log σ) at a value that may depend
// on the others.
func (l *likelihood) holdCoordinate(which int, hessian *mat.SymDense, value func(point []float64) float64) (*held, func([]float64) []float64) {
	points := hessian.SymmetricDim()
	h := newHeld(l, hessian, points-1)
	h.place = func(x, point []float64) {
		copy(point[:which], x[:which])
		copy(point[which+1:], x[which:])
		point[which] = value(point)
	}
	return h, func(point []float64) []float64 {
		x := append([]float64(nil), point[:which]...)
		return append(x, point[which+1:]...)
	}
}

// holdDeviation holds the length of a row of σΛ; the row's direction is free,
// its free entries being pinned to length one.
func (l *likelihood) holdDeviation(p parameterPlace, hessian *mat.SymDense, value *float64) (*held, func([]float64) []float64) {
	unit := l.s.factors[p.factor].unit(p.a) / l.s.d.fixed.scale
	row := l.rowEntries(p, p.a)
	sigma := func(point []float64) float64 {
		if l.absolute {
			return 1
		}
		return math.Exp(point[len(point)-1])
	}
	if len(row) == 1 {
		return l.holdCoordinate(row[0], hessian, func(point []float64) float64 { return *value * unit / sigma(point) })
	}
	h := newHeld(l, hessian, hessian.SymmetricDim())
	h.place = func(x, point []float64) {
		copy(point, x)
		length := *value * unit / sigma(point) / lengthOf(x, row)
		for _, i := range row {
			point[i] = x[i] * length
		}
	}
	h.pin = func(x, g []float64) float64 {
		length := lengthOf(x, row)
		excess := length*length - 1
		for _, i := range row {
			g[i] += 4 * excess * x[i]
		}
		return excess * excess
	}
	return h, func(point []float64) []float64 {
		x := append([]float64(nil), point...)
		length := lengthOf(x, row)
		for k, i := range row {
			switch {
			case length > 0:
				x[i] /= length
			default:
				x[i] = float64(k / (len(row) - 1)) // (0, …, 0, 1): uncorrelated
			}
		}
		return x
	}
}

func lengthOf(x []float64, which []int) float64 {
	sum := 0.0
	for _, i := range which {
		sum += x[i] * x[i]
	}
	return math.Sqrt(sum)
}

// holdCorrelation holds the angle between two rows of Λ. Row b is free; row a is
// made of what its free entries have across row b, turned to the angle; what
// they have along row b is pinned to zero.
func (l *likelihood) holdCorrelation(p parameterPlace, hessian *mat.SymDense, value *float64) (*held, func([]float64) []float64) {
	rowA, rowB := l.rowEntries(p, p.a), l.rowEntries(p, p.b)
	h := newHeld(l, hessian, hessian.SymmetricDim())
	along := func(x []float64) (unit []float64, share float64) {
		length := math.Max(lengthOf(x, rowB), 1e-12)
		unit = make([]float64, len(rowA))
		for k, i := range rowB {
			unit[k] = x[i] / length
			share += unit[k] * x[rowA[k]]
		}
		return unit, share
	}
	h.place = func(x, point []float64) {
		copy(point, x)
		unit, share := along(x)
		across := 0.0
		for k, i := range rowA {
			point[i] = x[i] - share*unit[k]
			across += point[i] * point[i]
		}
		across = math.Sqrt(across)
		turn := math.Sqrt(math.Max(0, 1-*value**value))
		for k, i := range rowA {
			point[i] = turn*point[i] + *value*across*unit[k]
		}
	}
	h.pin = func(x, g []float64) float64 {
		unit, share := along(x)
		for k, i := range rowA {
			g[i] += 2 * share * unit[k]
		}
		length := math.Max(lengthOf(x, rowB), 1e-12)
		for k, i := range rowB {
			g[i] += 2 * share * (x[rowA[k]] - share*unit[k]) / length
		}
		return share * share
	}
	return h, func(point []float64) []float64 {
		x := append([]float64(nil), point...)
		unit, share := along(x)
		length := lengthOf(x, rowA)
		across := 0.0
		for k, i := range rowA {
			x[i] -= share * unit[k]
			across += x[i] * x[i]
		}
		across = math.Sqrt(across)
		if across < 1e-6*length || across == 0 { // all along row b: any direction across
			x[rowA[len(rowA)-1]] += math.Max(length, 0.1)
			return x
		}
		for _, i := range rowA { // keep the row's length
			x[i] *= length / across
		}
		return x
	}
}
