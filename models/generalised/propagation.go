package generalised

import "math"

// A propagation integrates the random effects out of grades under the probit by
// expectation propagation (Minka 2001, Uncertainty in Artificial Intelligence 17,
// 362–369): each row's probability of its grade, Φ(θⱼ − xβ − r) − Φ(θⱼ₋₁ − xβ − r), stands
// as a normal site exp(νr − τr²/2) whose product with the other rows' has the mean and
// the variance that the row's own probability gives in its place. It is what bounds of
// measures have (mixed/limits.go), with intervals for bounds. With H = Λ'Z'TZΛ + I, û =
// H⁻¹Λ'Z'ν and cavities (the rest without one site) of mean m and variance v,
//
//	log L ≈ Σ (log Zᵢ − log Gᵢ) − log det H/2 + û'Hû/2,
//
// Zᵢ and Gᵢ the integrals of the row's probability and of its site over its cavity. At
// the fixed point it does not move with the sites, so that its gradient is that with the
// sites held (Seeger 2005, Expectation propagation for exponential families, section 5).
type propagation struct {
	*trial
	tau, nu  []float64 // the sites of single rows
	change   []float64 // by chunk: the most that a site would still move
	bySpread [][]float64
}

const (
	mostSweeps = 400
	damped     = 0.8 // of the way to the new sites, once full steps have had their time
)

func newPropagation(d *design) *propagation {
	return &propagation{trial: newTrial(d), tau: make([]float64, d.n), nu: make([]float64, d.n), change: make([]float64, d.chunks())}
}

// propagates tells whether expectation propagation serves a design: two grades are left
// to the approximation that yes or no have, since they are one model.
func (d *design) propagates() bool {
	k, ok := d.kind.(grades)
	if !ok || d.random.q == 0 || d.width < 2 {
		return false
	}
	_, ok = k.link.(probit)
	return ok
}

func (p *propagation) anchor(u []float64) {
	p.trial.anchor(u)
	p.ready = false
}

// begin takes sites from the curvature of the rows at u.
func (p *propagation) begin() bool {
	if !p.weigh(p.u) {
		clear(p.u)
		if !p.weigh(p.u) {
			return false
		}
	}
	for i, f := range p.d.weight {
		p.tau[i], p.nu[i] = 0, 0
		if f > 0 {
			p.tau[i] = math.Max(p.w[i], 0) / f
			p.nu[i] = p.s[i]/f + p.tau[i]*p.r[i]
		}
	}
	p.ready = true
	return true
}

// A tilt is a row's probability over its cavity: its logarithm, and the derivatives by
// the cavity's mean and by the two thresholds.
type tilt struct {
	log, first, second float64 // the second with its sign changed
	up, low            float64
}

func (p *propagation) tilt(i int, mean, variance float64) (out tilt, ok bool) {
	d := p.d
	y := d.y[i]
	at := int(d.pattern[i])*d.width + int(y)
	s := 1 / math.Sqrt(1+variance)
	a, b := math.Inf(-1), math.Inf(1)
	fa, fb, afa, bfb := 0.0, 0.0, 0.0, 0.0
	if y < d.kind.(grades).last {
		b = (p.predictors[at] - mean) * s
		fb = math.Exp(-b*b/2) / rootTwoPi
		bfb = b * fb
	}
	if y > 0 {
		a = (p.predictors[at-1] - mean) * s
		fa = math.Exp(-a*a/2) / rootTwoPi
		afa = a * fa
	}
	share := probit{}.between(a, b)
	if !(share > leastProbability) {
		return out, false
	}
	out.log = math.Log(share)
	out.up, out.low = fb*s/share, -fa*s/share
	out.first = -(out.up + out.low)
	out.second = out.first*out.first + (bfb-afa)*s*s/share
	return out, true
}

// cavity is what the other rows say of row i's sum.
func (p *propagation) cavity(i int) (mean, variance float64) {
	left := 1 / (1 - p.tau[i]*p.h[i])
	return (p.r[i] - p.nu[i]*p.h[i]) * left, p.h[i] * left
}

func (p *propagation) logLik(psi []float64) float64 {
	if !p.set(psi) || !p.ready && !p.begin() {
		return math.Inf(-1)
	}
	d, r := p.d, &p.d.random
	tolerance := math.Sqrt(p.near)
	last := math.Inf(1)
	for sweep := range mostSweeps {
		for i, f := range d.weight {
			p.w[i], p.s[i] = f*p.tau[i], f*p.nu[i]
		}
		if !p.lattice.factorise(p.lambda, p.w) {
			break
		}
		r.gatherRows(p.s, p.u)
		r.applyTransposed(p.lambda, p.u)
		copy(p.next, p.u)
		p.lattice.solve(p.u)
		r.apply(p.lambda, p.u, p.b)
		p.bySpread = p.lattice.variances(p.h)
		share := 1.0
		if sweep > 20 {
			share = damped
		}
		d.inChunks(func(chunk, from, to int) {
			r.spread(p.b, from, to, p.r)
			p.parts[chunk], p.change[chunk] = p.sweep(from, to)
		})
		most := 0.0
		for _, v := range p.change {
			most = math.Max(most, v)
		}
		if math.IsInf(most, 1) {
			break
		}
		if most < tolerance || most < 1e-7 && most > last/2 && sweep > 20 { // near enough, or as near as numbers go
			return sum(p.parts) - p.lattice.logDet()/2 + dot(p.next, p.u)/2
		}
		last = most
		for i := range p.tau { // t and v hold the new sites
			p.tau[i] += share * (p.t[i] - p.tau[i])
			p.nu[i] += share * (p.v[i] - p.nu[i])
		}
	}
	p.ready = false
	clear(p.u)
	return math.Inf(-1)
}

// sweep makes the new sites of some rows, in t.t and t.v. It gives the rows' part of the
// log likelihood by the sites that stand, and the most that one would move: +∞ where a
// row's probability is too small to be told.
func (p *propagation) sweep(from, to int) (value, change float64) {
	for i := from; i < to; i++ {
		if p.d.weight[i] == 0 { // it counts for nothing, and has no site
			p.t[i], p.v[i] = 0, 0
			continue
		}
		mean, variance := p.cavity(i)
		x, ok := p.tilt(i, mean, variance)
		if !ok || !(variance >= 0) {
			return 0, math.Inf(1)
		}
		tau, nu := p.tau[i], p.nu[i]
		left := 1 / (1 - variance*x.second)
		p.t[i], p.v[i] = x.second*left, (x.first+mean*x.second)*left
		shift := nu - tau*mean // the site's own, round the cavity's mean
		g := (shift*shift*variance/(1+tau*variance)-math.Log1p(tau*variance))/2 + nu*mean - tau*mean*mean/2
		value += p.d.weight[i] * (x.log - g)
		change = math.Max(change, math.Max(math.Abs(p.t[i]-tau)*variance, math.Abs(p.v[i]-nu)*math.Sqrt(variance)))
	}
	return value, change
}

func (p *propagation) gradient(out []float64) {
	d, r := p.d, &p.d.random
	clear(out)
	clear(p.slopes)
	last := d.kind.(grades).last
	for i, f := range d.weight {
		mean, variance := p.cavity(i)
		x, _ := p.tilt(i, mean, variance) // computed before: it cannot fail
		at := int(d.pattern[i])*d.width + int(d.y[i])
		if d.y[i] < last {
			p.slopes[at] += f * x.up
		}
		if d.y[i] > 0 {
			p.slopes[at-1] += f * x.low
		}
		p.forth[i] = f * (p.nu[i] - p.tau[i]*p.r[i])
	}
	d.collect(p.slopes, out)
	r.gatherRows(p.forth, p.step)
	for i, e := range r.entries {
		f := &r.factors[e.factor]
		sum := -p.bySpread[e.factor][e.column*f.k+e.row]
		for g := range f.groups {
			at := f.first + g*f.k
			sum += p.step[at+e.row] * p.u[at+e.column]
		}
		out[d.size+i] = sum
	}
}
