package generalised

import (
	"math"

	"gonum.org/v1/gonum/integrate/quad"
)

// A quadrature integrates the one random effect of each group out by adaptive
// Gauss–Hermite quadrature (Liu and Pierce 1994, Biometrika 81, 624–629): with û the
// mode and H the curvature there of a group's F(u) = Σℓ − u²/2,
//
//	log ∫ exp F(u) du/√2π ≈ log Σₘ ωₘ exp(xₘ² + F(û + xₘ√(2/H))) − log(πH)/2.
//
// Its gradient is exact: the points move with û and H.
type quadrature struct {
	*trial
	x, log []float64 // the points, and the logarithms of ωₘ exp xₘ²

	h, third       []float64   // by group: H and its derivative by u
	f              [][]float64 // by point and group: F; after logLik, the point's share
	du, ds         []float64   // by group: what the log likelihood gains from û, log σ
	l              []float64   // rows: ℓ at a point
	atMode         struct{ s, w, r []float64 }
	shares, zeroes []float64
}

func newQuadrature(d *design, points int) *quadrature {
	t := newTrial(d)
	groups := d.random.factors[0].groups
	q := &quadrature{trial: t, x: make([]float64, points), log: make([]float64, points),
		h: make([]float64, groups), third: make([]float64, groups), du: make([]float64, groups), ds: make([]float64, groups),
		shares: make([]float64, d.n), zeroes: make([]float64, d.n)}
	quad.Hermite{}.FixedLocations(q.x, q.log, math.Inf(-1), math.Inf(1))
	for m, x := range q.x {
		q.log[m] = math.Log(q.log[m]) + x*x
		q.f = append(q.f, make([]float64, groups))
	}
	for _, v := range []*[]float64{&q.l, &q.atMode.s, &q.atMode.w, &q.atMode.r} {
		*v = make([]float64, d.n)
	}
	return q
}

// moved writes the random effects at point m into t.trialU, and Λ times them into t.b.
func (q *quadrature) moved(m int) {
	for g, u := range q.u {
		q.trialU[g] = u + q.x[m]*math.Sqrt(2/q.h[g])
	}
	q.d.random.apply(q.lambda, q.trialU, q.b)
}

// scaled is row i of ZΛ.
func (q *quadrature) scaled(i int) float64 {
	return q.d.random.factors[0].at(i, 0) * q.lambda[0][0]
}

func (q *quadrature) logLik(psi []float64) float64 {
	if math.IsInf(q.trial.logLik(psi), -1) {
		return math.Inf(-1)
	}
	code := q.d.random.factors[0].code
	for g := range q.h {
		q.h[g] = 1
	}
	for i, w := range q.w {
		q.h[code[i]] += w * q.scaled(i) * q.scaled(i)
	}
	copy(q.atMode.r, q.r)
	copy(q.atMode.s, q.s)
	copy(q.atMode.w, q.w)
	for m := range q.x {
		q.moved(m)
		if math.IsInf(q.weighAt(q.b, q.l), -1) {
			return math.Inf(-1)
		}
		f := q.f[m]
		for g, u := range q.trialU {
			f[g] = q.log[m] - u*u/2
		}
		for i, l := range q.l {
			f[code[i]] += l
		}
	}
	total := 0.0
	for g, h := range q.h {
		most := math.Inf(-1)
		for m := range q.x {
			most = math.Max(most, q.f[m][g])
		}
		sum := 0.0
		for m := range q.x {
			q.f[m][g] = math.Exp(q.f[m][g] - most)
			sum += q.f[m][g]
		}
		for m := range q.x {
			q.f[m][g] /= sum
		}
		total += most + math.Log(sum) - math.Log(math.Pi*h)/2
	}
	return total
}

func (q *quadrature) gradient(out []float64) {
	d, r := q.d, &q.d.random
	code := r.factors[0].code
	clear(out)
	clear(q.slopes)
	clear(q.du)
	for g := range q.ds {
		q.ds[g] = 1
	}
	byLambda := 0.0
	for m := range q.x {
		q.moved(m)
		q.weighAt(q.b, q.l) // computed before: it cannot fail
		for i, g := range code {
			q.shares[i] = q.f[m][g]
		}
		q.addSlopes(q.shares, q.zeroes, q.zeroes)
		r.gatherRows(q.s, q.next) // Z'ℓ'
		for g, u := range q.trialU {
			share := q.f[m][g]
			byU := share * (q.lambda[0][0]*q.next[g] - u)
			q.du[g] += byU
			q.ds[g] += byU * q.x[m] * math.Sqrt(2/q.h[g])
			byLambda += share * q.next[g] * u
		}
	}
	// through û and log σ = −log H/2
	copy(q.r, q.atMode.r)
	copy(q.s, q.atMode.s)
	copy(q.w, q.atMode.w)
	d.kind.third(q.trial, 0, d.n)
	clear(q.third)
	for i, g := range code {
		z := q.scaled(i)
		q.third[g] -= q.t[i] * z * z * z
	}
	byMode := func(g int32) float64 { return (q.du[g] - q.ds[g]*q.third[g]/q.h[g]/2) / q.h[g] }
	l := q.lambda[0][0]
	for i, g := range code {
		z := q.scaled(i)
		plain := r.factors[0].at(i, 0)
		q.forth[i] = byMode(g) * z
		q.fifth[i] = q.ds[g] / q.h[g] / 2 * z * z
		byLambda += byMode(g)*plain*(q.s[i]-q.w[i]*z*q.u[g]) - q.ds[g]/q.h[g]/2*plain*plain*l*(2*q.w[i]-q.t[i]*z*q.u[g])
	}
	q.addSlopes(q.zeroes, q.forth, q.fifth)
	d.collect(q.slopes, out)
	if len(r.entries) > 0 {
		out[d.size] = byLambda
	}
}
