package mixed

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// RandomEffects are the conditional modes of all random effects, by random term, group
// and term.
func (f *Fit) RandomEffects() []RandomEffect {
	f.like.criterion(f.phi)
	t := f.like.trial
	effects := t.Modes(f.cov.beta)
	t.StartInverse(false, 0)
	t.Invert()
	var out []RandomEffect
	for k := range f.d.factors {
		fac := &f.d.factors[k]
		if fac.spline != nil {
			continue
		}
		for _, vary := range fac.blocks {
			for g, group := range fac.groups {
				first := f.like.s.First(k, g)
				for a := vary.first; a < vary.first+vary.size; a++ {
					out = append(out, RandomEffect{By: fac.by, Group: group, Term: fac.z[a].name,
						Value: effects[first+a] * f.d.fixed.scale / fac.unit(a), SD: f.modeSD(k, g, a)})
				}
			}
		}
	}
	return out
}

// modeSD is the conditional standard deviation of column a of group g of factor
// k, from the inverse last filled.
func (f *Fit) modeSD(k, g, a int) float64 {
	t := f.like.trial
	inv, _, w := t.InverseOf(k, g)
	fac := &f.d.factors[k]
	row := t.Lambda[k][a*fac.k : (a+1)*fac.k]
	sum := 0.0
	for b := range a + 1 {
		for c := range a + 1 {
			sum += row[b] * inv[b*w+c] * row[c]
		}
	}
	return math.Sqrt(sum) * f.sigma * f.d.fixed.scale / fac.unit(a)
}

// A joint is the distribution of one group's random effects and the fixed
// effects together, the variance parameters held: the random effects' modes as
// errors of prediction, on the outcome's scale, for columns scaled as the
// factor has them; the fixed effects of X.
type joint struct {
	estimate   []float64 // k + p
	covariance *mat.Dense
}

// jointNode is the joint distribution of group g of factor k and the fixed
// effects (Henderson 1975): σ² times blocks of the inverse of the penalised
// normal equations.
func (f *Fit) jointNode(k, g int) joint {
	f.like.criterion(f.phi)
	t := f.like.trial
	s := f.like.s
	fac := &f.d.factors[k]
	p := s.p
	effects := t.Modes(f.cov.beta)
	t.StartInverse(true, 0)
	t.Invert()
	own, across, w := t.InverseOf(k, g)
	size := fac.k + p
	block := mat.NewDense(size, size, nil)
	for a := range fac.k {
		for b := range fac.k {
			block.Set(a, b, own[a*w+b])
		}
		for i := range p {
			block.Set(fac.k+i, a, across[i*w+a])
			block.Set(a, fac.k+i, across[i*w+a])
		}
	}
	for i := range p {
		for l := range p {
			block.Set(fac.k+i, fac.k+l, t.RootInverse[i*s.root+l])
		}
	}
	// (u, coefficients of Q) → (Λu, coefficients of X)
	change := mat.NewDense(size, size, nil)
	for a := range fac.k {
		for b := range a + 1 {
			change.Set(a, b, t.Lambda[k][a*fac.k+b])
		}
	}
	inverse := f.d.fixed.inverseTriangle()
	for i := range p {
		for l := i; l < p; l++ {
			change.Set(fac.k+i, fac.k+l, inverse.At(i, l))
		}
	}
	out := joint{estimate: make([]float64, size), covariance: mat.NewDense(size, size, nil)}
	out.covariance.Product(change, block, change.T())
	unit := f.sigma * f.d.fixed.scale
	out.covariance.Scale(unit*unit, out.covariance)
	for a := range fac.k {
		out.estimate[a] = effects[s.First(k, g)+a] * f.d.fixed.scale
	}
	for i, c := range f.Fixed {
		out.estimate[fac.k+i] = c.Estimate
	}
	return out
}

// combine is a weighted sum's estimate and standard error.
func (j joint) combine(weights []float64) (estimate, se float64) {
	w := mat.NewVecDense(len(weights), weights)
	return inner(weights, j.estimate), math.Sqrt(mat.Inner(w, j.covariance, w))
}
