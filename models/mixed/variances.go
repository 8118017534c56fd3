package mixed

import (
	"fmt"
	"math"
	"strings"
)

// describeVariances turns the variance parameters into standard deviations and
// correlations on the outcome's scale, and tells which lie on their boundary.
func (f *Fit) describeVariances() {
	unit := f.sigma * f.d.fixed.scale
	f.Residual.SD = unit
	f.like.set(f.phi)
	f.describeErrors(unit)
	byTerm := make([]RandomFit, len(f.model.Random))
	for k := range f.d.factors {
		fac := &f.d.factors[k]
		lambda := f.like.trial.Lambda[k]
		if fac.spline != nil {
			continue
		}
		for _, v := range fac.blocks {
			byTerm[v.random] = fac.describe(v, lambda, unit)
			f.noteBoundary(fac, v, lambda)
		}
	}
	f.Random = append(f.Random, byTerm...)
	f.describeSmooths(unit)
	if !f.Converged {
		f.Notes = append(f.Notes, fmt.Sprintf("The fit did not converge: at the end the criterion still changes by %.2g for a unit change of a variance parameter. "+
			"Do not use these numbers; take out random terms, or look for a column with very unlike sizes.", largest(f.slope)))
	}
}

// describeErrors gives the residual's own parameters.
func (f *Fit) describeErrors(unit float64) {
	if f.like.weighing == nil {
		return
	}
	if f.like.absolute {
		value := f.phi[len(f.like.parameters)]
		f.Residual.SD = math.Abs(value) * unit
		if math.Abs(value) < nearZero {
			f.Residual.SD = 0
			f.Boundary = append(f.Boundary, "residual")
			f.Notes = append(f.Notes, f.model.zeroResidualNote())
		}
	}
	for _, s := range f.d.errors.present {
		s.describe(f)
	}
}

// zeroResidualNote says what a residual variance of zero means.
func (m Model) zeroResidualNote() string {
	if m.Residual.KnownSD == "" {
		return "The residual variance is estimated as zero: the other terms of the model account for all of the differences between rows. Look whether the outcome was computed from its columns."
	}
	return fmt.Sprintf("The residual variance is estimated as zero: the measuring errors in %s, and the random terms, account for all of the differences between rows. "+
		"Either the pages differ no more than that, or %s is too large: compare it with the repeatability of the readings.", m.Residual.KnownSD, m.Residual.KnownSD)
}

// describe gives a random term's standard deviations and correlations.
func (fac *factor) describe(v varying, lambda []float64, unit float64) RandomFit {
	out := RandomFit{By: fac.by, Groups: len(fac.groups)}
	cov := func(a, b int) float64 {
		sum := 0.0
		for c := range fac.k {
			sum += lambda[(v.first+a)*fac.k+c] * lambda[(v.first+b)*fac.k+c]
		}
		return sum
	}
	for a := range v.size {
		out.Terms = append(out.Terms, fac.z[v.first+a].name)
		out.SD = append(out.SD, math.Sqrt(cov(a, a))*unit/fac.unit(v.first+a))
		row := make([]float64, v.size)
		for b := range v.size {
			switch product := cov(a, a) * cov(b, b); {
			case a == b:
				row[b] = 1
			case product > 0:
				row[b] = math.Max(-1, math.Min(1, cov(a, b)/math.Sqrt(product)))
			}
		}
		out.Correlation = append(out.Correlation, row)
	}
	return out
}

// noteBoundary adds a random term to the boundary list where its covariance
// matrix is singular, with a note on what that means.
func (f *Fit) noteBoundary(fac *factor, v varying, lambda []float64) {
	by := strings.Join(fac.by, " and ")
	var zero, live []string
	flat := false // a combination of terms that vary does not vary
	for a := range v.size {
		length := 0.0
		for c := range v.size {
			x := lambda[(v.first+a)*fac.k+v.first+c]
			length += x * x
		}
		length = math.Sqrt(length)
		name := fac.z[v.first+a].name
		if length < nearZero {
			zero = append(zero, name)
			continue
		}
		live = append(live, name)
		if math.Abs(lambda[(v.first+a)*(fac.k+1)]) < nearZero*math.Max(1, length) && v.correlated {
			flat = true
		}
	}
	for _, name := range zero {
		f.Boundary = append(f.Boundary, name+" by "+by)
		f.Notes = append(f.Notes, zeroVarianceNote(name, by, fac.groups))
	}
	if flat && len(live) > 1 {
		f.Boundary = append(f.Boundary, strings.Join(live, " and ")+" by "+by)
		f.Notes = append(f.Notes, fullCorrelationNote(live, by))
	}
}

func zeroVarianceNote(name, by string, groups []string) string {
	what := fmt.Sprintf("the %s differs between groups of %s (%d of them)", name, by, len(groups))
	if name != interceptName {
		what = fmt.Sprintf("the effect of %s differs between groups of %s (%d of them)", name, by, len(groups))
	}
	return fmt.Sprintf("The variance of %s by %s is estimated as zero: the data show no sign that %s beyond what the residual explains. "+
		"This does not prove that they are alike; few groups or few rows in each often cannot tell. "+
		"The estimates stand, but the fixed effects' standard errors then treat the groups as alike: say so when you report them, "+
		"and keep the term where the groups were part of the plan, or take it out and compare.", name, by, what)
}

func fullCorrelationNote(names []string, by string) string {
	list := strings.Join(names, " and ")
	return fmt.Sprintf("The correlation of %s by %s is estimated as 1 or −1 (with several terms: one is determined by the others): the data cannot tell that they vary each in their own way. "+
		"The fixed effects stand, but the correlation itself must not be read as a finding. "+
		"Set correlated = false for this term, or leave one of its terms out, and see whether the answer you need changes.", list, by)
}
