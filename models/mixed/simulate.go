package mixed

import (
	"math"
	"math/rand/v2"
)

// A Simulator draws outcomes from a model with given parameters: new random effects for every
// group, new residuals for every row, the rows' columns as they are. Bends of
// curves are drawn as the random effects that they are in the model. It serves
// one goroutine.
type Simulator struct {
	d      *design
	mean   []float64   // n: the fixed part, on the model's scale
	lambda [][]float64 // per factor, k × k: covariance factors on the model's scale
	state  *residualState
	unit   float64 // what the residual's structure is relative to

	effects [][]float64 // scratch: random effects by factor, groups × k
	normal  []float64
}

func (f *Fit) newSimulator() *Simulator {
	d := f.d
	s := d.newSimulator(f.sigma * d.fixed.scale)
	s.state.set(d.errorParameters(), f.phi[len(f.like.parameters):])
	s.mean = f.fixedPart()
	f.like.set(f.phi)
	for k := range d.factors {
		fac := &d.factors[k]
		lambda := make([]float64, fac.k*fac.k)
		for i, v := range f.like.trial.Lambda[k] {
			lambda[i] = v * s.unit
		}
		s.lambda = append(s.lambda, lambda)
	}
	return s
}

// newSimulator makes the room of a Simulator; unit is what the residual's
// structure is relative to.
func (d *design) newSimulator(unit float64) *Simulator {
	s := &Simulator{d: d, unit: unit, state: newResidualState(&d.errors)}
	for _, fac := range d.factors {
		s.effects = append(s.effects, make([]float64, fac.k*len(fac.groups)))
		if fac.k > len(s.normal) {
			s.normal = make([]float64, fac.k)
		}
	}
	return s
}

// fixedPart is Xβ in each row used, on the model's scale.
func (f *Fit) fixedPart() []float64 {
	d := f.d
	p := d.fixed.p
	out := make([]float64, d.n)
	for i := range out {
		out[i] = d.outcome[i] - d.fixed.left[i]*d.fixed.scale + inner(f.cov.beta, d.fixed.q[i*p:(i+1)*p])*d.fixed.scale
	}
	return out
}

// Draw writes one outcome for each of [Simulator.Rows] into out, on the model's scale.
func (s *Simulator) Draw(r *rand.Rand, out []float64) {
	d := s.d
	copy(out, s.mean)
	for k := range d.factors {
		fac := &d.factors[k]
		s.drawEffects(r, k)
		for i, g := range fac.code {
			b := s.effects[k][int(g)*fac.k:][:fac.k]
			for c := range b {
				out[i] += fac.z[c].at(i) * b[c]
			}
		}
	}
	for k := range d.offsets {
		s.drawOffset(r, &d.offsets[k], out)
	}
	s.drawResiduals(r, out)
}

// drawOffset adds a shared error to the rows.
func (s *Simulator) drawOffset(r *rand.Rand, o *offsetPart, out []float64) {
	errors := make([]float64, len(o.groups))
	for g := range errors {
		errors[g] = s.unit * o.sd * r.NormFloat64()
	}
	for _, m := range o.members {
		for i, g := range m.code {
			if g >= 0 {
				out[i] += m.weight[i] * errors[g]
			}
		}
	}
}

func (s *Simulator) drawEffects(r *rand.Rand, k int) {
	size := s.d.factors[k].k
	u := s.normal[:size]
	for g := range s.d.factors[k].groups {
		for c := range u {
			u[c] = r.NormFloat64()
		}
		b := s.effects[k][g*size:][:size]
		for a := range b {
			b[a] = inner(s.lambda[k][a*size:a*size+a+1], u[:a+1])
		}
	}
}

// drawResiduals adds residuals: along each run the autoregression, and each
// row's own measuring error.
func (s *Simulator) drawResiduals(r *rand.Rand, out []float64) {
	runs := s.d.errors.split()
	if runs == nil {
		for i := range int32(len(out)) {
			h, known, _ := s.state.row(i)
			out[i] += s.unit * (h*r.NormFloat64() + knownDraw(r, known))
		}
		return
	}
	for _, run := range runs {
		x := 0.0
		for _, i := range run {
			h, known, phi := s.state.row(i)
			if phi < 1 {
				x = phi*x + math.Sqrt(1-phi*phi)*r.NormFloat64()
			}
			out[i] += s.unit * (h*x + knownDraw(r, known))
		}
	}
}

// knownDraw draws only where there is a known error, so that models without
// spend no random numbers on it.
func knownDraw(r *rand.Rand, known float64) float64 {
	if known == 0 {
		return 0
	}
	return math.Sqrt(known) * r.NormFloat64()
}
