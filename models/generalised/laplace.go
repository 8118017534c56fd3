package generalised

import (
	"math"
)

// A trial holds the numbers of one trial of the parameters ψ: first those of the
// predictors, then the entries of Λ. The log likelihood with the random effects
// integrated out by Laplace's approximation is
//
//	L(ψ) = Σℓᵢ(û) − û'û/2 − log det H/2 + constant,  H = Λ'Z'WZΛ + I,
//
// with û the mode of what stands before the determinant, W = −∂²ℓ/∂r² there: the
// exact Hessian, for canonical links and others (Breslow and Clayton 1993, Journal
// of the American Statistical Association 88, equation 4, have it before they go on
// to the expected one). All is refilled in place.
type trial struct {
	d       *design
	lambda  [][]float64
	lattice *lattice

	predictors []float64
	odds, more []float64 // of grades under the logit: see setOdds; odds nil where they cannot be taken
	roomOdds   []float64
	u, b       []float64 // the mode, and Λ times it
	r          []float64 // rows: Zb
	s, w       []float64 // rows: the derivatives of ℓ by r, the second with its sign changed
	value      float64   // Σℓ − u'u/2

	step, next, trialU []float64
	t, h, v            []float64 // rows: third derivative; variance of r; derivative of the mode
	ones, forth, fifth []float64
	slopes             []float64
	parts, partSlopes  []float64 // by chunk of rows: the sums of ℓ, and slopes
	ready              bool      // whether u holds the mode of a trial before
	near               float64   // the least gain that the search for the mode goes on for
}

func newTrial(d *design) *trial {
	n, q := d.n, d.random.q
	t := &trial{d: d, lambda: d.random.newLambda(), near: modeSettle,
		predictors: make([]float64, d.patterns*d.width), slopes: make([]float64, d.patterns*d.width), parts: make([]float64, d.chunks())}
	for _, v := range []*[]float64{&t.r, &t.s, &t.w, &t.t, &t.h, &t.v, &t.ones, &t.forth, &t.fifth} {
		*v = make([]float64, n)
	}
	for _, v := range []*[]float64{&t.u, &t.b, &t.step, &t.next, &t.trialU} {
		*v = make([]float64, q)
	}
	for i := range t.ones {
		t.ones[i] = 1
	}
	if q > 0 {
		t.lattice = newLattice(d.system, &d.random)
	}
	return t
}

// weigh computes the rows at u, and their value; false where it is not finite.
func (t *trial) weigh(u []float64) bool {
	t.value = 0
	if t.d.random.q > 0 {
		t.d.random.apply(t.lambda, u, t.b)
		t.value = -dot(u, u) / 2
	}
	t.value += t.weighAt(t.b, nil)
	return !math.IsNaN(t.value) && !math.IsInf(t.value, 0)
}

// weighAt computes the rows where the random effects are b, ℓ too where l is not nil,
// and gives the sum of ℓ.
func (t *trial) weighAt(b, l []float64) float64 {
	d := t.d
	d.inChunks(func(chunk, from, to int) {
		d.random.spread(b, from, to, t.r)
		t.parts[chunk] = d.kind.weigh(t, from, to, l)
	})
	return sum(t.parts)
}

// addSlopes is the kind's slopes over all rows, added to t.slopes.
func (t *trial) addSlopes(a, b, e []float64) {
	d := t.d
	chunks, size := d.chunks(), len(t.slopes)
	if chunks == 1 || chunks*size > d.n { // too many patterns for sums of each chunk
		d.kind.slopes(t, 0, d.n, a, b, e, t.slopes)
		return
	}
	if t.partSlopes == nil {
		t.partSlopes = make([]float64, chunks*size)
	}
	d.inChunks(func(chunk, from, to int) {
		own := t.partSlopes[chunk*size : (chunk+1)*size]
		clear(own)
		d.kind.slopes(t, from, to, a, b, e, own)
	})
	for chunk := range chunks {
		for i, v := range t.partSlopes[chunk*size : (chunk+1)*size] {
			t.slopes[i] += v
		}
	}
}

func dot(a, b []float64) float64 {
	sum := 0.0
	for i, v := range a {
		sum += v * b[i]
	}
	return sum
}

// set takes over parameters; false where the kind rules them out.
func (t *trial) set(psi []float64) bool {
	d := t.d
	d.random.set(t.lambda, psi[d.size:])
	d.predict(psi[:d.size], t.predictors)
	if k, ok := d.kind.(grades); ok {
		if _, plain := k.link.(logit); plain {
			t.setOdds()
		}
	}
	if o, ok := d.kind.(ordered); ok {
		if _, possible := o.ordered(d, t.predictors); !possible {
			return false
		}
	}
	return true
}

const (
	mostSteps  = 100
	modeSettle = 1e-13 // of the Newton decrement, twice what a step would still gain
	modeNear   = 1e-9  // … where the parameters are still far from the best
	modeSharp  = 1e-19 // … where gradients at nearby parameters are compared
)

// findMode climbs to the mode by Newton's steps, halved where they do not climb. On
// return the lattice is factored at the mode; false where there is none.
func (t *trial) findMode() bool {
	d := t.d
	if d.random.q == 0 {
		return t.weigh(nil)
	}
	if !t.ready {
		clear(t.u)
	}
	if !t.weigh(t.u) {
		clear(t.u)
		if !t.weigh(t.u) {
			return false
		}
	}
	t.ready = true
	last := math.Inf(1)
	for range mostSteps {
		exact := t.lattice.factorise(t.lambda, t.w)
		if !exact && !t.factorSafely() {
			return false
		}
		d.random.gatherRows(t.s, t.step)
		d.random.applyTransposed(t.lambda, t.step)
		for i, v := range t.u {
			t.step[i] -= v
		}
		copy(t.next, t.step)
		t.lattice.solve(t.step)
		gain := dot(t.next, t.step)
		if gain < t.near || gain < modeSettle && gain > last/4 { // near enough, or as near as numbers go
			return exact
		}
		last = gain
		if !t.climb(gain) {
			return false
		}
	}
	return false
}

// factorSafely factors with negative weights left out, where the Hessian is not
// that of a maximum: a step with it climbs.
func (t *trial) factorSafely() bool {
	for i, w := range t.w {
		t.v[i] = math.Max(w, 0)
	}
	return t.lattice.factorise(t.lambda, t.v)
}

// climb takes the step, or the largest half of it that climbs.
func (t *trial) climb(gain float64) bool {
	before := t.value
	for length := 1.0; length > 1e-10; length /= 2 {
		for i, v := range t.u {
			t.trialU[i] = v + length*t.step[i]
		}
		if t.weigh(t.trialU) && t.value > before+1e-4*length*gain-1e-12*math.Abs(before) {
			copy(t.u, t.trialU)
			return true
		}
	}
	return false
}

func (t *trial) mode() []float64 { return t.u }

func (t *trial) solve(v []float64) { t.lattice.solve(v) }

func (t *trial) settle(gain float64) { t.near = gain }

func (t *trial) anchor(u []float64) {
	copy(t.u, u)
	t.ready = true
}

// logLik is the approximated log likelihood at ψ, without design.base; −∞ where
// it is not there.
func (t *trial) logLik(psi []float64) float64 {
	if !t.set(psi) || !t.findMode() {
		return math.Inf(-1)
	}
	if t.d.random.q == 0 {
		return t.value
	}
	return t.value - t.lattice.logDet()/2
}

// gradient fills the derivative of logLik by ψ, where logLik was last computed. It
// is exact: the mode moves with ψ by dû = H⁻¹ ∂²(Σℓ − u'u/2)/∂u∂ψ, and H with both
// (implicit differentiation; Skaug and Fournier 2006, Computational Statistics and
// Data Analysis 51, section 3).
func (t *trial) gradient(out []float64) {
	d, r := t.d, &t.d.random
	clear(out)
	clear(t.slopes)
	if r.q == 0 {
		clear(t.forth)
		t.addSlopes(t.ones, t.forth, t.forth)
		d.collect(t.slopes, out)
		return
	}
	bySpread := t.lattice.variances(t.h)
	// half the derivative of log det H by the mode: Λ'Z'(−h·ℓ”'/2); how the rows'
	// sums would move with it through H⁻¹
	d.inChunks(func(_, from, to int) {
		d.kind.third(t, from, to)
		for i, h := range t.h[from:to] {
			t.fifth[from+i] = h / 2
			t.forth[from+i] = h / 2 * t.t[from+i]
		}
	})
	r.gatherRows(t.forth, t.step)
	r.applyTransposed(t.lambda, t.step)
	t.lattice.solve(t.step) // −v/2
	r.apply(t.lambda, t.step, t.next)
	d.inChunks(func(_, from, to int) { r.spread(t.next, from, to, t.v) })
	if d.direct() {
		for i, p := range d.pattern {
			t.slopes[p] += t.s[i] - t.w[i]*t.v[i] + t.forth[i]
		}
	} else {
		t.addSlopes(t.ones, t.v, t.fifth)
	}
	d.collect(t.slopes, out)
	t.spreadGradient(bySpread, out[d.size:])
}

// spreadGradient is the part of gradient by the entries of Λ. t.step holds minus
// half H⁻¹ times the determinant's derivative by the mode, t.v its part in the rows.
func (t *trial) spreadGradient(bySpread [][]float64, out []float64) {
	r := &t.d.random
	// through the rows' sums, u held: ℓ' + hℓ”'/2 + ℓ”·v
	for i, s := range t.s {
		t.forth[i] += s - t.w[i]*t.v[i]
	}
	total, first := t.trialU, t.next
	r.gatherRows(t.forth, total)
	r.gatherRows(t.s, first)
	for i, e := range r.entries {
		f := &r.factors[e.factor]
		sum := -bySpread[e.factor][e.column*f.k+e.row]
		for g := range f.groups {
			at := f.first + g*f.k
			sum += total[at+e.row]*t.u[at+e.column] + first[at+e.row]*t.step[at+e.column]
		}
		out[i] = sum
	}
}
