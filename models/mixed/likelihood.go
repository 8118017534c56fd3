package mixed

import (
	"math"
	"slices"
	"thumbed/models/sparse"
)

// A parameter is one variance parameter: one entry of a factor's Λ, or several
// that share one value.
type parameter struct {
	factor  int
	entries [][2]int // row and column in Λ
}

// A likelihood is the profiled criterion of a design as a function of its
// variance parameters φ: first the entries of the relative covariance factors Λ
// (random effects have covariance σ²ΛΛ'), column by column within each random
// term, then those of the residual's structure. σ² and the fixed effects are
// profiled out (Bates et al. 2015, section 3.4), except where known standard
// deviations fix the scale; then Λ is absolute and σ is itself a parameter.
type likelihood struct {
	s          *system
	parameters []parameter
	weighing   *weighing // nil where rows are independent and alike
	full       bool
	absolute   bool // known standard deviations fix the scale: σ² is not profiled out
	trial      *sparse.Factor
	constant   float64 // what does not depend on φ
	surface    *surface
	kappa      float64   // weight of the sum of squares in the last gradient
	standing   bool      // the trial is factored …
	here       []float64 // … at this φ …
	value      float64   // … where the criterion has this value …
	sloped     bool      // … and, if so, with this gradient
	slope      []float64
	filled     []float64 // the residual's parameters that take made the trial's cross-product at; nil where others may stand in it
}

func newLikelihood(s *system) *likelihood {
	l := &likelihood{s: s, full: s.d.model.full()}
	c := s.NewCross()
	if s.d.errors.plain() && len(s.d.offsets) == 0 {
		c.Fill(nil, s.d.fixed.left)
	} else {
		l.weighing = newWeighing(s)
		l.absolute = s.d.absolute()
	}
	l.trial = s.NewFactor(c)
	for f := range s.factors {
		for _, v := range s.factors[f].blocks {
			l.addParameters(f, v)
		}
	}
	l.constant = l.unit()
	return l
}

// size is the number of variance parameters φ.
func (l *likelihood) size() int {
	k := len(l.parameters)
	if l.weighing != nil {
		k += len(l.weighing.parameters)
	}
	return k
}

func (l *likelihood) addParameters(f int, v varying) {
	switch {
	case v.shared:
		p := parameter{factor: f}
		for k := range v.size {
			p.entries = append(p.entries, [2]int{v.first + k, v.first + k})
		}
		l.parameters = append(l.parameters, p)
	default:
		for c := range v.size {
			for r := c; r < v.size; r++ {
				if r == c || v.correlated {
					l.parameters = append(l.parameters, parameter{factor: f, entries: [][2]int{{v.first + r, v.first + c}}})
				}
			}
		}
	}
}

// unit is the part of the criterion that comes from the outcome's unit and the
// fixed effects' basis, see [fixedPart].
func (l *likelihood) unit() float64 {
	fixed := &l.s.d.fixed
	out := 2 * l.degrees() * math.Log(fixed.scale)
	if !l.full {
		out += 2 * fixed.logR
	}
	return out
}

// degrees is the number of rows, under the restricted likelihood less the fixed
// effects.
func (l *likelihood) degrees() float64 {
	if l.full {
		return float64(l.s.n)
	}
	return float64(l.s.n - l.s.p)
}

// start gives starting values of φ: each variance by moments, as if its column
// alone varied, from the squares of its groups' sums (Henderson's method 1 in
// its plainest form), the rest of the spread to the residual.
func (l *likelihood) start() []float64 {
	phi := make([]float64, l.size())
	tau := phi[len(l.parameters):]
	if l.weighing != nil {
		for i, p := range l.weighing.parameters {
			tau[i] = p.start(0.8)
		}
		l.weighing.fill(l.trial.Cross, tau)
	}
	shares := make([]float64, len(l.parameters))
	total := 0.0
	for i, p := range l.parameters {
		if p.entries[0][0] == p.entries[0][1] {
			shares[i] = l.share(p)
			total += shares[i]
		}
	}
	left := math.Max(1-total, 0.2) // of the outcome's variance, for the residual
	if l.absolute {
		left = 1
		for i, p := range l.weighing.parameters {
			tau[i] = p.start(math.Sqrt(math.Max(1-total, 0.2)))
		}
	}
	for i, p := range l.parameters {
		if p.entries[0][0] == p.entries[0][1] {
			phi[i] = math.Min(math.Sqrt(shares[i]/left), 3)
		}
	}
	return phi
}

// share is the variance by moments that one parameter's columns explain, as a
// share of the outcome's: with s a group's sum of products of column and
// outcome and a its sum of squares of the column, s²/a is expected to be 1 plus
// the share times a. It is kept between 0.01 and 0.8.
func (l *likelihood) share(p parameter) float64 {
	s := l.s
	k := s.factors[p.factor].k
	var squares, weights, groups float64
	for g := range s.factors[p.factor].groups {
		block, outcome := l.trial.Cross.Group(p.factor, g)
		for _, e := range p.entries {
			a := block[e[0]*k+e[0]]
			if !(a > 0) {
				continue
			}
			sum := outcome[e[0]]
			squares += sum * sum / a
			weights += a
			groups++
		}
	}
	if weights == 0 {
		return 0.1
	}
	return math.Min(math.Max((squares-groups)/weights, 0.01), 0.8)
}

// vanishing is the size below which a diagonal entry of Λ is zero to the
// likelihood: its derivatives there can no longer be told from rounding.
const vanishing = 1e-5

// vanished tells whether parameter i is the diagonal entry of a column of Λ that
// is as good as zero. The criterion does not change when a column changes its
// sign, so that a zero column is a stationary point.
func (l *likelihood) vanished(i int, phi []float64) bool {
	e := l.parameters[i].entries[0]
	if e[0] != e[1] || math.Abs(phi[i]) >= vanishing {
		return false
	}
	for j := i + 1; j < len(l.parameters); j++ { // a column's parameters stand together
		q := l.parameters[j]
		if q.factor != l.parameters[i].factor || q.entries[0][1] != e[1] {
			break
		}
		if math.Abs(phi[j]) >= vanishing {
			return false
		}
	}
	return true
}

// set takes φ into the covariance factors.
func (l *likelihood) set(phi []float64) {
	l.standing, l.sloped, l.filled = false, false, nil
	for i, p := range l.parameters {
		lambda, k := l.trial.Lambda[p.factor], l.s.factors[p.factor].k
		value := phi[i]
		if math.Abs(value) < vanishing && l.vanished(i, phi) {
			value = 0
		}
		for _, e := range p.entries {
			lambda[e[0]*k+e[1]] = value
		}
	}
	for o := range l.s.d.offsets {
		l.setOffset(o, l.s.d.offsets[o].sd)
	}
}

// setOffset takes the spread of a shared error into its covariance factor.
func (l *likelihood) setOffset(o int, sd float64) {
	k := l.s.d.offsets[o].columns()
	lambda := l.trial.Lambda[len(l.s.factors)+o]
	for c := range k {
		lambda[c*k+c] = sd
	}
}

// criterion is −2 times the log likelihood at φ, restricted where the model
// says so; +Inf where it cannot be computed.
func (l *likelihood) criterion(phi []float64) float64 {
	l.set(phi)
	if l.weighing != nil && l.weighing.pseudo != nil {
		l.value = l.boundedCriterion(phi)
	} else {
		if l.weighing != nil {
			l.weighing.fill(l.trial.Cross, phi[len(l.parameters):])
		}
		l.value = l.factored()
	}
	l.here, l.standing = append(l.here[:0], phi...), true
	return l.value
}

// stand is criterion, computed only where the trial does not stand at φ already.
func (l *likelihood) stand(phi []float64) float64 {
	if l.standing && slices.Equal(l.here, phi) {
		return l.value
	}
	return l.criterion(phi)
}

// factored factorises the trial as it stands and gives the criterion.
func (l *likelihood) factored() float64 {
	t := l.trial
	if !t.Factorise() || !(t.Squares > 0) {
		return math.Inf(1)
	}
	df := l.degrees()
	out := l.constant + t.LogRandom
	if l.weighing != nil {
		out += l.weighing.logDet
	}
	if !l.full {
		out += t.LogFixed
	}
	if l.absolute {
		l.kappa = 1
		out += t.Squares + df*math.Log(2*math.Pi)
	} else {
		l.kappa = df / t.Squares
		out += df * (1 + math.Log(2*math.Pi*t.Squares/df))
	}
	if math.IsNaN(out) {
		return math.Inf(1)
	}
	return out
}

// How long bounds are swept for a fixed point.
const (
	mostSweeps  = 400
	stillSweep  = 1e-9 // the criterion is stationary in the pseudo-measurements: its own error is of the square
	nearlySweep = 1e-6 // beyond mostSweeps this still passes
)

// boundedCriterion is criterion where some rows are bounds: their
// pseudo-measurements are swept to their fixed point, from where they stood at
// the last parameters.
func (l *likelihood) boundedCriterion(phi []float64) float64 {
	g := l.weighing
	damp, before := 1.0, math.Inf(1)
	for sweep := range mostSweeps {
		g.fill(l.trial.Cross, phi[len(l.parameters):])
		value := l.factored()
		if math.IsInf(value, 1) {
			return value
		}
		g.adjustBounds(l.trial, l.full, damp)
		if g.pseudo.moved < stillSweep || (sweep == mostSweeps-1 && g.pseudo.moved < nearlySweep) {
			// the constants are in the outcome's unit for rows that are bounds too
			return value + g.pseudo.logOut - 2*float64(len(g.pseudo.rows))*math.Log(l.s.d.fixed.scale)
		}
		if g.pseudo.moved > 0.8*before {
			damp = math.Max(0.8*damp, 0.2) // strongly correlated bounds swing past one another
		}
		before = g.pseudo.moved
	}
	return math.Inf(1)
}

// at makes a likelihood an [objective].
func (l *likelihood) at(phi, g []float64) float64 {
	value := l.criterion(phi)
	if !math.IsInf(value, 1) {
		l.gradient(l.kappa, g)
		l.slope, l.sloped = append(l.slope[:0], g...), true
	}
	return value
}

// slopeHere is the gradient where the trial stands.
func (l *likelihood) slopeHere(out []float64) {
	if l.sloped {
		copy(out, l.slope)
		return
	}
	l.gradient(l.kappa, out)
}

// gradient gives the derivatives of the criterion by φ at the point where
// criterion was last computed, the outcome's sum of squares weighted by kappa
// (l.kappa: σ² profiled out; 1/σ²: σ² held).
func (l *likelihood) gradient(kappa float64, out []float64) {
	t := l.trial
	t.StartInverse(!l.full, kappa)
	t.Invert()
	t.FillSlopes()
	for i, p := range l.parameters {
		k := l.s.factors[p.factor].k
		sum := 0.0
		for _, e := range p.entries {
			sum += t.Slopes[p.factor][e[1]*k+e[0]]
		}
		out[i] = 2 * sum
	}
	if l.weighing != nil {
		l.weighing.gradient(t, out[len(l.parameters):])
	}
}

// sigma is the residual standard deviation that Λ is relative to, in the
// outcome's unit of [fixedPart], where criterion was last computed.
func (l *likelihood) sigma() float64 {
	if l.absolute {
		return 1
	}
	return math.Sqrt(l.trial.Squares / l.degrees())
}
