package mixed

import (
	"math"
	"thumbed/models/student"

	"gonum.org/v1/gonum/mat"
)

// A Mean is a mean of the outcome in its own unit, with its 95 % interval.
type Mean struct {
	Estimate float64 `json:"estimate"`
	Low      float64 `json:"low"`
	High     float64 `json:"high"`
}

// OutcomeMean carries a mean on the model's scale (a contrast of fixed effects
// that includes the intercept) back to the outcome's own unit: the mean over
// rows of new groups. On the identity scale that is the coefficient itself. On
// the log scale the mean of exp(η) with variance v around it is exp(η + v/2), v
// the variance of the random terms and the residual, averaged over the rows
// used; the estimate is corrected for the bias that estimated η and v bring to
// second order, and the interval is Cox's (Land 1972; Zhou and Gao 1997): it is
// taken on the log scale, with the uncertainty of both η and v. A difference on
// the log scale needs no correction: see [Coefficient.Ratio].
func (f *Fit) OutcomeMean(c Coefficient) Mean {
	if !f.model.logarithmic() {
		return Mean{Estimate: c.Estimate, Low: c.Low, High: c.High}
	}
	total, variance := f.totalVariance()
	middle := c.Estimate + total/2
	spread := c.SE*c.SE + variance/4
	half := student.Half(0.95, c.DF) * math.Sqrt(spread)
	return Mean{Estimate: math.Exp(middle - spread/2), Low: math.Exp(middle - half), High: math.Exp(middle + half)}
}

// Ratio is a difference on the log scale as a factor of the outcome in its own
// unit, with its interval.
func (c Coefficient) Ratio() Mean {
	return Mean{Estimate: math.Exp(c.Estimate), Low: math.Exp(c.Low), High: math.Exp(c.High)}
}

// totalVariance is the variance of one row of a new group around its fixed
// effects, averaged over the rows used, on the model's scale, and the variance
// of that estimate.
func (f *Fit) totalVariance() (total, variance float64) {
	moments := f.columnMoments()
	at := func(phi []float64) float64 { return f.like.relativeVariance(phi, moments) }
	unit := math.Pow(f.sigma*f.d.fixed.scale, 2)
	here := at(f.phi)
	total = unit * here
	f.asymptotic()
	if f.cov.variance == nil { // least squares: σ² alone
		return total, 2 * total * total / float64(f.N-f.d.fixed.p)
	}
	gradient := make([]float64, 0, len(f.phi)+1)
	phi := append([]float64(nil), f.phi...)
	for i := range phi {
		h := differenceStep(phi[i])
		phi[i] += h
		up := at(phi)
		phi[i] -= 2 * h
		gradient = append(gradient, unit*(up-at(phi))/(2*h))
		phi[i] = f.phi[i]
	}
	at(f.phi)
	if !f.like.absolute {
		gradient = append(gradient, total) // by log σ²
	}
	g := mat.NewVecDense(len(gradient), gradient)
	return total, mat.Inner(g, f.cov.variance, g)
}

// columnMoments gives for each factor the k × k mean over the rows of the
// products of its columns.
func (f *Fit) columnMoments() [][]float64 {
	out := make([][]float64, len(f.d.factors))
	for k := range f.d.factors {
		fac := &f.d.factors[k]
		out[k] = make([]float64, fac.k*fac.k)
		for a := range fac.k {
			for b := range fac.k {
				sum := 0.0
				for i := range f.d.n {
					sum += fac.z[a].at(i) * fac.z[b].at(i)
				}
				out[k][a*fac.k+b] = sum / float64(f.d.n)
			}
		}
	}
	return out
}

// relativeVariance is the mean variance of a row relative to σ². A known
// measuring error is none of the page's own and does not count; the bends of a
// curve are part of the mean.
func (l *likelihood) relativeVariance(phi []float64, moments [][]float64) float64 {
	l.set(phi)
	sum := 0.0
	for k, moment := range moments {
		if l.s.factors[k].spline != nil {
			continue
		}
		size := l.s.factors[k].k
		lambda := l.trial.Lambda[k]
		for a := range size {
			for b := range size {
				cov := 0.0
				for c := range min(a, b) + 1 {
					cov += lambda[a*size+c] * lambda[b*size+c]
				}
				sum += cov * moment[a*size+b]
			}
		}
	}
	if l.weighing == nil {
		return sum + 1
	}
	l.weighing.state.set(l.weighing.parameters, phi[len(l.parameters):])
	own := 0.0
	for i := range l.s.n {
		h, _, _ := l.weighing.state.row(int32(i))
		own += h * h
	}
	return sum + own/float64(l.s.n)
}
