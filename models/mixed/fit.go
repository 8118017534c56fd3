package mixed

import (
	"fmt"
	"math"
	"strings"
	"time"

	"thumbed/models/table"
)

// Fit fits the model to a table, by restricted or full maximum likelihood; with
// no random term and independent errors that is ordinary least squares. What is
// wrong with the model for this table comes back as a [*table.Fault] with every
// problem found. A fit that did not converge, or that ended on the boundary of
// the parameters, is returned with notes that say so.
func (m Model) Fit(t *table.Table) (*Fit, error) {
	begun := time.Now()
	s, err := m.layOver(t)
	if err != nil {
		return nil, err
	}
	f, err := s.fit()
	if err != nil {
		return nil, err
	}
	f.Seconds = time.Since(begun).Seconds()
	return f, nil
}

// fit finds the variance parameters and everything that follows.
func (s *system) fit() (*Fit, error) {
	d := s.d
	like := newLikelihood(s)
	f := &Fit{N: d.n, Estimate: "restricted", model: d.model, d: d, like: like}
	if like.full {
		f.Estimate = "full"
	}
	f.Boundary = []string{}
	f.Random = []RandomFit{}
	f.Notes = append([]string{}, d.notes...)
	if d.model.logarithmic() {
		f.Notes = append(f.Notes, fmt.Sprintf("Estimates are on the scale of natural logarithms: a difference d means that %s is exp(d) times as high. The log likelihood is that of the logarithms.", d.model.Outcome))
	}
	f.optimise()
	f.MinusTwiceLogLik = like.stand(f.phi)
	f.LogLik = -f.MinusTwiceLogLik / 2
	f.sigma = like.sigma()
	if err := f.checkRemainder(); err != nil {
		return nil, err
	}
	f.describeVariances()
	if err := f.infer(); err != nil {
		return nil, err
	}
	return f, nil
}

// leastSigma is the residual's standard deviation, against what the fixed effects
// leave, below which nothing is left: the search for it goes on towards zero.
const leastSigma = 1e-5

// checkRemainder refuses an outcome that the random effects reproduce: the variances
// of the random terms then grow beyond all bounds against the residual's. Its error
// is a [*table.Fault].
func (f *Fit) checkRemainder() error {
	if f.like.absolute || f.sigma > leastSigma {
		return nil
	}
	var by []string
	for _, fac := range f.d.factors {
		by = append(by, strings.Join(fac.by, " and "))
	}
	var ps table.Problems
	ps.Add(table.Problem{File: f.d.file, Column: f.model.Outcome, Value: "no remainder", Expected: "rows that differ within their groups",
		Remedy: fmt.Sprintf("the fixed effects and the groups of %s explain every row without error: was the outcome computed from these columns, or is a group's value repeated in each of its rows?", strings.Join(by, ", "))})
	return ps.Err()
}

// optimise finds the minimum of the criterion.
func (f *Fit) optimise() {
	d := newDescent(f.like.size())
	f.like.optimise(d, f.like.start())
	f.phi, f.slope, f.Converged = d.x, d.gradient, d.converged
}

// optimise takes d to the minimum of the criterion from a starting point.
func (l *likelihood) optimise(d *descent, from []float64) {
	if len(from) == 0 {
		d.converged = true
		return
	}
	d.minimise(l, from)
	for range 3 {
		better := l.escape(d)
		if better == nil {
			break
		}
		d.minimise(l, better)
	}
	l.settle(d.x, d.value)
}

// nearZero is the size below which an entry of Λ, in units of the residual
// standard deviation and the column's root mean square, counts as zero.
const nearZero = 1e-4

// escape looks whether a variance that ended at zero did so only because zero
// is always a stationary point of its square root: the criterion a little way
// off is compared. It gives a better start, or nil.
func (l *likelihood) escape(d *descent) []float64 {
	for i, p := range l.parameters {
		if p.entries[0][0] != p.entries[0][1] || math.Abs(d.x[i]) > 10*nearZero {
			continue
		}
		for _, off := range []float64{0.03, -0.03, 0.005} {
			copy(d.next, d.x)
			d.next[i] = off
			if l.criterion(d.next) < d.value {
				return d.next
			}
		}
	}
	return nil
}

// settle gives every column of Λ a diagonal that is not negative (the criterion
// depends on ΛΛ' alone), and makes what is nearly zero zero where the criterion
// does not mind.
func (l *likelihood) settle(phi []float64, value float64) {
	for i, p := range l.parameters {
		row, col := p.entries[0][0], p.entries[0][1]
		if row != col || phi[i] >= 0 {
			continue
		}
		for j, q := range l.parameters {
			if q.factor == p.factor && q.entries[0][1] == col {
				phi[j] = -phi[j]
			}
		}
	}
	small := false
	trial := append([]float64(nil), phi...)
	for i := range l.parameters {
		if v := math.Abs(trial[i]); v < nearZero && v > 0 {
			trial[i] = 0
			small = true
		}
	}
	if small && l.criterion(trial) <= value+1e-7 {
		copy(phi, trial)
	}
}
