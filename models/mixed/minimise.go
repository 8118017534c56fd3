package mixed

import "math"

// An objective gives its value at x and writes its gradient into g.
type objective func(x, g []float64) float64

// A descent is what minimise found.
type descent struct {
	x, gradient []float64
	value       float64
	evaluations int
	converged   bool
}

// How far minimise goes.
const (
	mostSteps     = 500
	smallGradient = 1e-7 // largest derivative, in units of the criterion, at the end
	roundOff      = 1e-13
)

// minimise goes down an objective from x by quasi-Newton steps with the BFGS
// update of the inverse Hessian and a line search by the Wolfe conditions
// (Nocedal and Wright 2006, algorithms 6.1 and 3.5), the condition on the value
// relaxed to the gradient's form where rounding hides the value's change
// (Hager and Zhang 2005). A criterion that is smooth and has few parameters is
// found to its last digits in some ten evaluations. It is written out here, and
// not left to gonum's optimize, because thousands of refits call it on problems
// whose evaluation takes microseconds.
func minimise(f objective, x []float64) descent {
	n := len(x)
	d := descent{x: append([]float64(nil), x...), gradient: make([]float64, n)}
	d.value = f(d.x, d.gradient)
	d.evaluations = 1
	h := make([]float64, n*n)
	step, next, slope := make([]float64, n), make([]float64, n), make([]float64, n)
	fresh := true
	for range mostSteps {
		if largest(d.gradient) < smallGradient {
			d.converged = true
			return d
		}
		if fresh {
			startHessian(h, d.gradient)
		}
		multiply(h, d.gradient, step)
		downhill := -inner(step, d.gradient)
		if !(downhill < 0) {
			if fresh {
				return d
			}
			fresh = true
			continue
		}
		value, ok := search(f, &d, step, downhill, next, slope)
		if !ok {
			if fresh {
				d.converged = largest(d.gradient) < 1e3*smallGradient
				return d
			}
			fresh = true
			continue
		}
		updateInverse(h, d.x, next, d.gradient, slope, fresh)
		fresh = false
		copy(d.x, next)
		copy(d.gradient, slope)
		d.value = value
	}
	return d
}

// startHessian makes the first step at most one unit long.
func startHessian(h, g []float64) {
	n := len(g)
	clear(h)
	length := math.Sqrt(inner(g, g))
	for i := range n {
		h[i*n+i] = 0.5 / math.Max(length, 0.5)
	}
}

// search finds a point along −step that satisfies the Wolfe conditions. It
// leaves the point in next and its gradient in slope.
func search(f objective, d *descent, step []float64, downhill float64, next, slope []float64) (float64, bool) {
	const decrease, curvature = 1e-4, 0.9
	noise := roundOff * (math.Abs(d.value) + 1)
	low, high := 0.0, math.Inf(1)
	alpha := 1.0
	for range 60 {
		for i := range next {
			next[i] = d.x[i] - alpha*step[i]
		}
		value := f(next, slope)
		d.evaluations++
		along := -inner(step, slope)
		flat := math.Abs(value-d.value) <= 10*noise && along <= (2*decrease-1)*downhill && along >= curvature*downhill
		switch {
		case math.IsNaN(value) || math.IsInf(value, 1) || (value > d.value+decrease*alpha*downhill && !flat):
			high = alpha
		case along < curvature*downhill && !flat:
			low = alpha
		default:
			return value, true
		}
		if math.IsInf(high, 1) {
			alpha *= 3
		} else {
			alpha = (low + high) / 2
			if low == 0 {
				alpha = interpolate(d.value, downhill, value, high)
			}
		}
	}
	return 0, false
}

// interpolate is the minimum of the parabola through a value and slope at zero
// and a value at high, kept inside.
func interpolate(value, slope, there, high float64) float64 {
	alpha := high / 2
	if c := (there - value - slope*high) / (high * high); c > 0 && !math.IsInf(c, 0) {
		alpha = -slope / (2 * c)
	}
	return math.Min(math.Max(alpha, 0.1*high), 0.6*high)
}

// updateInverse is the BFGS update of the inverse Hessian (Nocedal and Wright
// 2006, equation 6.17), the first one after scaling it (equation 6.20).
func updateInverse(h, x, next, g, slope []float64, first bool) {
	n := len(x)
	var sy, yy float64
	s, y := make([]float64, n), make([]float64, n)
	for i := range n {
		s[i] = next[i] - x[i]
		y[i] = slope[i] - g[i]
		sy += s[i] * y[i]
		yy += y[i] * y[i]
	}
	if !(sy > 1e-14*math.Sqrt(yy*inner(s, s))) {
		return
	}
	if first {
		clear(h)
		for i := range n {
			h[i*n+i] = sy / yy
		}
	}
	hy := make([]float64, n)
	multiply(h, y, hy)
	yhy := inner(y, hy)
	for i := range n {
		for j := range n {
			h[i*n+j] += (1+yhy/sy)*s[i]*s[j]/sy - (hy[i]*s[j]+s[i]*hy[j])/sy
		}
	}
}

func multiply(h, g, out []float64) {
	n := len(g)
	for i := range n {
		out[i] = inner(h[i*n:(i+1)*n], g)
	}
}

func inner(a, b []float64) float64 {
	sum := 0.0
	for i, v := range a {
		sum += v * b[i]
	}
	return sum
}

func largest(g []float64) float64 {
	most := 0.0
	for _, v := range g {
		most = math.Max(most, math.Abs(v))
	}
	return most
}
