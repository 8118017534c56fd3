package mixed

import "math"

// A Surface is the criterion of a fit's model between the fit and other
// variance parameters, for tests from outside.
type Surface struct {
	// Criterion is what the fit minimises, on the straight line, in the entries of Λ and the
	// residual's own parameters, from the fit to the others: the first is the
	// fit's, the last the others'.
	Criterion []float64
	Sigma     float64 // the residual standard deviation that is best for the others
}

// SurfaceTowards walks from the fit to other variance parameters.
func (f *Fit) SurfaceTowards(there Parameters, steps int) (Surface, error) {
	phi, err := f.phiOf(there)
	if err != nil {
		return Surface{}, err
	}
	l := newLikelihood(f.like.s)
	var out Surface
	at := make([]float64, len(phi))
	for step := range steps + 1 {
		share := float64(step) / float64(steps)
		for i := range at {
			at[i] = f.phi[i] + share*(phi[i]-f.phi[i])
		}
		out.Criterion = append(out.Criterion, l.criterion(at))
	}
	out.Sigma = l.sigma() * f.d.fixed.scale
	if l.absolute {
		out.Sigma = there.Residual.SD
	}
	return out, nil
}

// phiOf takes variance parameters to φ.
func (f *Fit) phiOf(there Parameters) ([]float64, error) {
	l, unit := f.like, f.d.fixed.scale
	if !l.absolute {
		unit = there.Residual.SD
	}
	var phi []float64
	for k := range f.d.factors {
		root, err := f.d.factors[k].root(there)
		if err != nil {
			return nil, err
		}
		for _, p := range l.parameters {
			if e := p.entries[0]; p.factor == k {
				phi = append(phi, root[e[0]*f.d.factors[k].k+e[1]]/unit)
			}
		}
	}
	if l.weighing == nil {
		return phi, nil
	}
	for _, p := range l.weighing.parameters {
		switch p := p.(type) {
		case sigma:
			phi = append(phi, there.Residual.SD/unit)
		case levelRatio:
			phi = append(phi, math.Log(there.Residual.Levels[p.of].SD/there.Residual.SD))
		case nearness:
			near := math.Pow(there.Residual.Rho, p.e.unit)
			phi = append(phi, math.Log(near/(1-near)))
		}
	}
	return phi, nil
}
