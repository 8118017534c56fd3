package mixed

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/blas"
	"gonum.org/v1/gonum/blas/blas64"

	"thumbed/models/wording"
)

// A Refitter fits a model's design to other outcomes: for the parametric
// bootstrap and the power of a plan. The shape of the problem, its columns and
// all room are kept from one outcome to the next, so that a refit costs a few
// evaluations of the criterion and allocates nothing. A Refitter serves one
// goroutine; make one for each with [Fit.Refitter].
type Refitter struct {
	f    *Fit
	like *likelihood
	d    *descent
	from []float64
	left []float64
	beta []float64 // least squares of the new outcome, then the fixed effects of X
	se   []float64
	inv  []float64
	row  []float64
}

// A Refit is what came of one outcome. Its slices are the refitter's own and
// last until its next refit.
type Refit struct {
	MinusTwiceLogLik float64
	Converged        bool
	Fixed            []float64 // in the order of [Fit.Fixed]
	SE               []float64
	Phi              []float64 // the variance parameters, see the package's head
	Sigma            float64   // the residual standard deviation they are relative to
}

// Refitter makes a refitter for the fit's design and model.
func (f *Fit) Refitter() *Refitter {
	p := f.d.fixed.p
	r := &Refitter{f: f, like: newLikelihood(f.like.s), d: newDescent(len(f.phi)), from: append([]float64(nil), f.phi...),
		left: make([]float64, f.d.n), beta: make([]float64, p), se: make([]float64, p), inv: make([]float64, p*p), row: make([]float64, p)}
	if r.like.weighing == nil { // elsewhere the Hessian is too rough to finish by
		r.d.last = r.like.criterion
	}
	for i, par := range r.like.parameters {
		// zero is a stationary point: begin a little way off
		if par.entries[0][0] == par.entries[0][1] && math.Abs(r.from[i]) < 0.1 {
			r.from[i] = 0.1
		}
	}
	return r
}

// Refit fits the design to another outcome: one number for each row used, in
// their order, on the model's scale (logarithms where the scale is log). Where
// the model has a limit, outcomes at or below it become bounds. It fails where
// the outcome has another length, is not finite or does not vary, where only
// bounds on one side tell of a fixed effect, and for models whose bounds are told
// row by row, since what the bounds of another outcome would be is not known.
func (r *Refitter) Refit(outcome []float64) (Refit, error) {
	d := r.f.d
	if len(outcome) != d.n {
		return Refit{}, fmt.Errorf("the outcome has %s, the design %d: give one for each row used", wording.Plain(len(outcome), "value", "values"), d.n)
	}
	if err := r.f.model.CanRefit(); err != nil {
		return Refit{}, err
	}
	if err := r.project(outcome); err != nil {
		return Refit{}, err
	}
	r.like.standing = false // what stood was of another outcome
	switch w := r.like.weighing; {
	case w == nil:
		r.like.trial.Cross.FillOutcome(r.left)
	case r.f.model.Residual.Limit == nil:
		w.left = r.left
	default:
		w.bound(r.left, outcome, r.f.model.onScale(*r.f.model.Residual.Limit))
		if still := d.fixed.stillDirections(w.pseudo.side); still != nil && d.fixed.openDirection(still, w.pseudo.side) != nil {
			return Refit{}, errors.New("in this outcome a fixed effect has nothing but bounds on one side, and so no estimate: leave it out of the model")
		}
	}
	r.like.optimise(r.d, r.from)
	return r.read(), nil
}

// CanRefit tells why the model cannot be fitted to outcomes drawn from it; nil
// where it can.
func (m Model) CanRefit() error {
	if m.Residual.Limits != "" {
		return errors.New("the model's bounds are told row by row, so that it is not known which rows of another outcome would be bounds: where one limit holds for all rows, use limit instead of limits")
	}
	return nil
}

// project splits the outcome into its least-squares part and what is left.
func (r *Refitter) project(outcome []float64) error {
	fixed := &r.f.d.fixed
	p := fixed.p
	clear(r.beta)
	for i, y := range outcome {
		if !finite(y) {
			return fmt.Errorf("the outcome's value %d is %g: expected a finite number", i+1, y)
		}
		for j, q := range fixed.q[i*p : (i+1)*p] {
			r.beta[j] += q * y
		}
	}
	sum := 0.0
	for i, y := range outcome {
		e := (y - inner(r.beta, fixed.q[i*p:(i+1)*p])) / fixed.scale
		r.left[i] = e
		sum += e * e
	}
	if !(sum > 0) {
		return errors.New("the fixed effects reproduce the outcome without remainder: nothing is left to fit")
	}
	r.solve(r.beta)
	return nil
}

// solve carries coefficients of Q over to X, in place.
func (r *Refitter) solve(v []float64) {
	fixed := &r.f.d.fixed
	blas64.Trsv(blas.NoTrans, blas64.Triangular{Uplo: blas.Upper, Diag: blas.NonUnit, N: fixed.p, Stride: fixed.p, Data: fixed.r},
		blas64.Vector{N: fixed.p, Inc: 1, Data: v})
}

// read takes the estimates out of the likelihood.
func (r *Refitter) read() Refit {
	l, fixed := r.like, &r.f.d.fixed
	p := fixed.p
	criterion := l.stand(r.d.x)
	step := r.se // borrowed
	l.trial.Coefficients(step)
	r.solve(step)
	for j, v := range step {
		r.beta[j] += v * fixed.scale
	}
	l.trial.FixedCovariance(r.inv)
	sigma := l.sigma() * fixed.scale
	for j := range p {
		r.se[j] = sigma * r.length(func(weights []float64) { weights[j] = 1 })
	}
	return Refit{MinusTwiceLogLik: criterion, Converged: r.d.converged, Fixed: r.beta, SE: r.se, Phi: r.d.x, Sigma: sigma}
}

// length is the standard error, relative to σ, of a weighted sum of the refit's
// fixed effects; fill sets the weights, which are all zero before.
func (r *Refitter) length(fill func(weights []float64)) float64 {
	fixed := &r.f.d.fixed
	p := fixed.p
	row := r.row // in the basis Q: w'R⁻¹
	clear(row)
	fill(row)
	blas64.Trsv(blas.Trans, blas64.Triangular{Uplo: blas.Upper, Diag: blas.NonUnit, N: p, Stride: p, Data: fixed.r},
		blas64.Vector{N: p, Inc: 1, Data: row})
	return math.Sqrt(quadratic(row, r.inv))
}

// quadratic is v'mv of a square matrix, given by its rows.
func quadratic(v, m []float64) float64 {
	sum := 0.0
	for a, x := range v {
		sum += x * inner(v, m[a*len(v):(a+1)*len(v)])
	}
	return sum
}

// Variances turns a refit's variance parameters into random terms and residual,
// as [Fit.Random] and [Fit.Residual] have them.
func (r *Refitter) Variances(refit Refit) ([]RandomFit, ResidualFit) {
	g := &Fit{model: r.f.model, d: r.f.d, like: r.like, phi: refit.Phi, sigma: refit.Sigma / r.f.d.fixed.scale, Converged: refit.Converged}
	g.describeVariances()
	return g.Random, g.Residual
}

// bound makes the pseudo-measurements of another outcome's bounds.
func (g *weighing) bound(left, outcome []float64, limit float64) {
	p := g.pseudo
	p.rows, p.value = p.rows[:0], p.value[:0]
	side := make([]boundSide, len(outcome))
	for i, y := range outcome {
		p.left[i], p.extra[i] = left[i], 0
		if y > limit {
			continue
		}
		side[i] = below
		// the bound stands where the outcome would, had it been the limit
		p.left[i] += (limit - y) / g.s.d.fixed.scale
		p.rows = append(p.rows, int32(i))
		p.value = append(p.value, p.left[i])
		p.extra[i] = 1
	}
	p.side = side
}
