package mixed

import "math"

// An objective is what minimise goes down.
type objective interface {
	// at gives the value at x and writes the gradient into g; +Inf where there
	// is no value.
	at(x, g []float64) float64
	// curvature writes an approximate Hessian, by rows, at the point where at
	// was last called, and into safe a coarser one that is never negative.
	curvature(h, safe []float64)
}

// A descent goes down an objective by quasi-Newton steps. The Hessian is what
// the objective says of it plus a correction, learnt from the secants by the
// BFGS update (structured secant update: Dennis, Gay and Welsch 1981; Nocedal
// and Wright 2006, section 10.3), so that a good approximation gives a good
// first step and the last steps converge superlinearly none the less. Steps are
// accepted by the Wolfe conditions (Nocedal and Wright 2006, algorithm 3.5), the
// condition on the value relaxed to the gradient's form where rounding hides the
// value's change (Hager and Zhang 2005). It is written out here, and not left to
// gonum's optimize, because thousands of refits call it on problems whose
// evaluation takes microseconds: nothing is allocated once it is made.
type descent struct {
	x, gradient []float64
	value       float64
	evaluations int
	converged   bool
	// last, where given, computes the value alone. Then the last step, where the
	// Hessian promises next to nothing of it, is taken without a gradient at its
	// end: gradient stays that of the point before.
	last func(x []float64) float64

	next, slope   []float64
	step          []float64
	model, safe   []float64 // the objective's own Hessians
	correction    []float64 // what the secants add
	hessian       []float64
	factor        []float64
	leant         bool // the factor is that of a Hessian leant on, see lean
	secant, image []float64
	change        []float64
}

func newDescent(n int) *descent {
	v := func() []float64 { return make([]float64, n) }
	m := func() []float64 { return make([]float64, n*n) }
	return &descent{x: v(), gradient: v(), next: v(), slope: v(), step: v(), secant: v(), image: v(), change: v(),
		model: m(), safe: m(), correction: m(), hessian: m(), factor: m()}
}

// How far a descent goes.
const (
	mostSteps     = 300
	smallGradient = 1e-7  // largest derivative, in units of the criterion, at the end
	smallDecrease = 1e-10 // of the criterion, by its Hessian, that the next step promises
	smallMove     = 1e-7  // of a variable, against its size, in that step
	lastDecrease  = 1e-7  // promised, below which a step may be the last: what is left after it is of the square
	roundOff      = 1e-13
	stretch       = 10  // steps after which a descent that gains nothing ends
	longestStep   = 2.0 // of the variance parameters, which are of order one
)

// minimise goes down f from x.
func (d *descent) minimise(f objective, x []float64) {
	copy(d.x, x)
	clear(d.correction)
	d.converged = false
	d.value = f.at(d.x, d.gradient)
	d.evaluations = 1
	if math.IsInf(d.value, 1) {
		return
	}
	if largest(d.gradient) < smallGradient {
		d.converged = true
		return
	}
	f.curvature(d.model, d.safe)
	fresh := true
	checkpoint := d.value
	for step := range mostSteps {
		downhill := d.direction()
		if -downhill < smallDecrease && short(d.step, d.x) {
			d.converged = true
			return
		}
		if -downhill < lastDecrease && d.last != nil && d.finish() {
			return
		}
		if step%stretch == stretch-1 {
			// where two entries of Λ do one entry's work the criterion is flat, and
			// there is no point to come to
			if checkpoint-d.value < 1e-9 && -downhill < 1e-6 {
				d.converged = true
				return
			}
			checkpoint = d.value
		}
		value, ok := d.search(f, downhill)
		if !ok {
			if fresh {
				// no step helps: rounding hides what is left
				d.converged = largest(d.gradient) < 1e3*smallGradient
				return
			}
			clear(d.correction)
			fresh = true
			continue
		}
		arrived := d.arrived()
		if !arrived {
			f.curvature(d.model, d.safe)
			d.learn()
		}
		fresh = false
		copy(d.x, d.next)
		copy(d.gradient, d.slope)
		d.value = value
		if arrived {
			d.converged = true
			return
		}
	}
}

// finish takes the step as the last one, if it is a small one and goes down.
func (d *descent) finish() bool {
	for i, v := range d.step {
		if d.leant || math.Abs(v) > nearby*math.Abs(d.x[i]) {
			return false
		}
		d.next[i] = d.x[i] - v
	}
	value := d.last(d.next)
	if !(value <= d.value) {
		return false
	}
	copy(d.x, d.next)
	d.value, d.converged = value, true
	return true
}

// short tells whether a step from x moves no variable by more than its last
// digits that matter.
func short(step, x []float64) bool {
	for i, v := range step {
		if math.Abs(v) > smallMove*math.Max(math.Abs(x[i]), smallMove) {
			return false
		}
	}
	return true
}

// nearby is the move of a variable, against its size, up to which the Hessian
// before the move serves to tell whether its end is the minimum.
const nearby = 0.01

// arrived tells whether the next point is the minimum by the Hessian that led to
// it, which saves making another there.
func (d *descent) arrived() bool {
	if largest(d.slope) < smallGradient {
		return true
	}
	if d.leant {
		return false
	}
	for i, v := range d.next {
		if math.Abs(v-d.x[i]) > nearby*math.Abs(v) {
			return false
		}
	}
	copy(d.image, d.slope)
	solveFactored(d.factor, len(d.x), d.image)
	return inner(d.image, d.slope) < smallDecrease && short(d.image, d.next)
}

// direction writes the step into d.step (x moves to x − step) and returns the
// slope of the value along it.
func (d *descent) direction() float64 {
	n := len(d.x)
	for i, v := range d.model {
		d.factor[i] = v + d.correction[i]
	}
	d.leant = false
	if !wellPositive(d.factor, n) {
		clear(d.correction)
		copy(d.factor, d.model)
		if !wellPositive(d.factor, n) {
			d.leant = true
			d.lean(n)
		}
	}
	copy(d.step, d.gradient)
	solveFactored(d.factor, n, d.step)
	if length := math.Sqrt(inner(d.step, d.step)); length > longestStep {
		for i := range d.step {
			d.step[i] *= longestStep / length
		}
	}
	return -inner(d.step, d.gradient)
}

// lean factors the safe Hessian with what the model's diagonal adds to it where
// that is positive, and with as much more of a diagonal as it takes.
func (d *descent) lean(n int) {
	for ridge := 1e-6; ; ridge *= 10 {
		copy(d.factor, d.safe)
		for i := range n {
			own := math.Max(d.model[i*n+i]-d.safe[i*n+i], 0)
			d.factor[i*n+i] += own + ridge*(d.safe[i*n+i]+own+1e-6)
		}
		if wellPositive(d.factor, n) {
			return
		}
	}
}

// wellPositive factors the n × n matrix in place and tells whether every pivot
// was well above zero.
func wellPositive(m []float64, n int) bool {
	for j := range n {
		least := 1e-9 * m[j*n+j]
		for k := range j {
			m[j*n+k] = (m[j*n+k] - inner(m[j*n:j*n+k], m[k*n:k*n+k])) / m[k*n+k]
		}
		pivot := m[j*n+j] - inner(m[j*n:j*n+j], m[j*n:j*n+j])
		if !(pivot > least) || !(least > 0) {
			return false
		}
		m[j*n+j] = math.Sqrt(pivot)
	}
	return true
}

// solveFactored solves L·L'·x = v in place.
func solveFactored(l []float64, n int, v []float64) {
	for i := range n {
		v[i] = (v[i] - inner(l[i*n:i*n+i], v)) / l[i*n+i]
	}
	for i := n - 1; i >= 0; i-- {
		for k := i + 1; k < n; k++ {
			v[i] -= l[k*n+i] * v[k]
		}
		v[i] /= l[i*n+i]
	}
}

// search finds a point along −step that satisfies the Wolfe conditions, and
// leaves it in next and its gradient in slope.
func (d *descent) search(f objective, downhill float64) (float64, bool) {
	const decrease, curvature = 1e-4, 0.9
	noise := 10 * roundOff * (math.Abs(d.value) + 1)
	low, high := 0.0, math.Inf(1)
	alpha := 1.0
	for range 40 {
		for i := range d.next {
			d.next[i] = d.x[i] - alpha*d.step[i]
		}
		value := f.at(d.next, d.slope)
		d.evaluations++
		if math.IsInf(value, 1) || math.IsNaN(value) {
			high = alpha
			alpha = (low + high) / 2
			continue
		}
		along := -inner(d.step, d.slope)
		flat := math.Abs(value-d.value) <= noise && along <= (2*decrease-1)*downhill && along >= curvature*downhill
		switch {
		case value > d.value+decrease*alpha*downhill && !flat:
			high = alpha
			alpha = interpolate(d.value, downhill, value, high, low)
		case along < curvature*downhill && !flat:
			low = alpha
			if math.IsInf(high, 1) {
				alpha *= 3
			} else {
				alpha = (low + high) / 2
			}
		default:
			return value, true
		}
	}
	return 0, false
}

// interpolate is the minimum of the parabola through a value and slope at zero
// and a value at high, kept inside.
func interpolate(value, slope, there, high, low float64) float64 {
	alpha := high / 2
	if c := (there - value - slope*high) / (high * high); c > 0 && !math.IsInf(c, 0) {
		alpha = -slope / (2 * c)
	}
	return math.Min(math.Max(alpha, low+0.1*(high-low)), low+0.6*(high-low))
}

// longMove is the move of a variable, against its size, beyond which a step's
// secant says nothing of the Hessian at its end.
const longMove = 0.25

// learn makes the correction anew, so that the objective's own Hessian at the
// new point with the correction maps the step just taken to the gradient's
// change (BFGS update, Nocedal and Wright 2006, equation 6.19).
func (d *descent) learn() {
	n := len(d.x)
	for i := range n {
		d.secant[i] = d.next[i] - d.x[i]
		d.change[i] = d.slope[i] - d.gradient[i]
	}
	for i, v := range d.secant {
		if math.Abs(v) > longMove*math.Max(math.Abs(d.next[i]), 0.02) {
			clear(d.correction)
			return
		}
	}
	for i, v := range d.model {
		d.hessian[i] = v + d.correction[i]
	}
	multiply(d.hessian, d.secant, d.image)
	curved, rise := inner(d.secant, d.image), inner(d.secant, d.change)
	if !(curved > 0) || !(rise > 1e-12*math.Sqrt(inner(d.change, d.change)*inner(d.secant, d.secant))) {
		return
	}
	for i := range n {
		for j := range n {
			d.correction[i*n+j] += d.change[i]*d.change[j]/rise - d.image[i]*d.image[j]/curved
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
	b = b[:len(a)]
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
