package mixed

import (
	"math"
	"slices"
)

// A residual is how the residuals of rows are spread and related. The residual of a row
// is H·x + e: x a process of variance 1 that runs from row to row or is independent, H
// its standard deviation, and e an error of known variance. H is relative to σ, or σ
// itself where a variance that is known fixes the scale. What a model asks for are
// structures: each has its share in H, in how x runs or in e, and all compose.
type residual struct {
	n          int
	structures []structure // all kinds
	present    []structure // those that have a share
}

// A structure is one kind of structure of the residual. A new one has a file of its own
// and its keys in parse.go; [silent] says nothing in place of it.
type structure interface {
	asked() bool                                    // whether the model asks for it
	needs(add func(name, role string))              // the columns that it needs, and their roles
	lay(l *layer, d *design) (present bool)         // reads them; false where there is nothing of it
	rescale(unit float64)                           // brings what it has read into the likelihood's unit
	fixesScale() bool                               // whether it is in the outcome's unit, so that σ² is not profiled out
	parameters() []residualParameter                // its own
	begin(s *residualState)                         // makes room for its share in a state
	describe(f *Fit)                                // tells of it in a fit
	take(s *residualState, given ResidualFit) error // its parameters as given, into a state
	step(larger structure, s *ratioStep) error      // counts what a larger model has more of it
}

type silent struct{}

func (silent) needs(func(name, role string))          {}
func (silent) rescale(float64)                        {}
func (silent) fixesScale() bool                       { return false }
func (silent) parameters() []residualParameter        { return nil }
func (silent) begin(*residualState)                   {}
func (silent) describe(*Fit)                          {}
func (silent) take(*residualState, ResidualFit) error { return nil }
func (silent) step(structure, *ratioStep) error       { return nil }

// A residualParameter is one parameter of R: a variance, in which V is linear, or a
// correlation. The search moves another, without bounds, in its place: τ.
type residualParameter interface {
	set(s *residualState, tau float64)
	slope(s *residualState, i int32, h, phi float64) (dh, dphi float64) // of a row's H and its correlation with the row before, by τ
	start(spread float64) float64                                       // where a search begins, σ being at spread
	curvature(s *residualState) float64                                 // of the criterion by τ, roughly

	value(p *variancePoint) *float64
	level() (level int32, spread bool) // the level whose variance it is, in which V is linear; false for a correlation
	estimated(at variancePoint) bool   // false at the end of its range, where it is held
	tau(p variancePoint) float64
	trace(l *likelihood, at variancePoint, slopes []float64) float64 // tr(P·Vᵢ) from the derivatives by all τ
	scale(l *likelihood, at variancePoint) float64                   // the size of a change over which the determinants bend
	inside(at variancePoint, scale float64) bool                     // whether small parts of it to both sides stay in the range

	place() parameterPlace                                                          // as it is told
	told(s *residualState, unit float64) float64                                    // … its value
	hold(l *likelihood) (which int, at func(told float64, point []float64) float64) // … and the coordinate of (φ, log σ) that holds it
}

// lay reads the structures that the model asks for.
func (e *residual) lay(l *layer, d *design) {
	e.n, e.structures = d.n, l.model.Residual.structures()
	if !part[*bounds](e).asked() {
		l.noteLimitsUnnamed(d)
	}
	for _, s := range e.structures {
		if s.asked() && s.lay(l, d) {
			e.present = append(e.present, s)
		}
	}
}

// part is the structure of one kind.
func part[T structure](e *residual) (own T) {
	for _, s := range e.structures {
		if s, ok := s.(T); ok {
			return s
		}
	}
	return own
}

// plain tells whether rows are independent and alike.
func (e *residual) plain() bool { return len(e.present) == 0 }

// absolute tells whether the residual standard deviation is a parameter of its
// own, because known variances, bounds or shared errors of known spread fix the
// scale.
func (d *design) absolute() bool {
	return len(d.offsets) > 0 || slices.ContainsFunc(d.errors.present, structure.fixesScale)
}

// parameters are all of the residual's parameters, σ's first.
func (e *residual) parameters() []residualParameter {
	out := []residualParameter{sigma{e: e}}
	for _, s := range e.present {
		out = append(out, s.parameters()...)
	}
	return out
}

// errorParameters are those that the search moves.
func (d *design) errorParameters() []residualParameter {
	if d.absolute() {
		return d.errors.parameters()
	}
	return d.errors.parameters()[1:] // σ² is profiled out
}

// A residualState is the residual's structure at given parameters.
type residualState struct {
	e     *residual
	sigma float64
	ratio []float64 // by level: its standard deviation over the first one's
	level []int32   // n: the level of each row; nil where there is one
	near  float64   // correlation at distance unit
	phi   []float64 // n: correlation with the row before; nil where rows are independent
	known []float64 // n: variances of the measurements' own errors; nil where none
	extra []float64 // n: variances of pseudo-measurements, see [pseudo]; nil where none
}

func newResidualState(e *residual) *residualState {
	s := &residualState{e: e, sigma: 1, ratio: []float64{1}}
	for _, part := range e.present {
		part.begin(s)
	}
	return s
}

func (s *residualState) set(parameters []residualParameter, tau []float64) {
	for i, p := range parameters {
		p.set(s, tau[i])
	}
}

// row gives a row's H, known variance and correlation with the row before.
func (s *residualState) row(i int32) (h, known, phi float64) {
	h = s.sigma
	if s.level != nil {
		h *= s.ratio[s.level[i]]
	}
	if s.known != nil {
		known = s.known[i]
	}
	if s.extra != nil {
		known += s.extra[i]
	}
	if s.phi != nil {
		phi = s.phi[i]
	}
	return h, known, phi
}

// whiten takes the rows of one group (in order of position; m columns each)
// to independent rows of variance one: the innovations of the Kalman filter of
// an autoregression observed with error (Jones 1980), divided by their standard
// deviation. It returns the log determinant of the rows' covariance. carried is
// scratch of m numbers.
func (s *residualState) whiten(rows []int32, w []float64, m int, carried []float64) float64 {
	clear(carried)
	logDet := 0.0
	p := 1.0
	for k, i := range rows {
		h, known, phi := s.row(i)
		p = phi*phi*p + 1 - phi*phi
		variance := h*h*p + known
		inverse := 1 / math.Sqrt(variance)
		gain := p * h / variance
		row := w[k*m : (k+1)*m]
		for c, y := range row {
			a := phi * carried[c]
			v := y - h*a
			carried[c] = a + gain*v
			row[c] = v * inverse
		}
		p *= known / variance
		logDet += math.Log(variance)
	}
	return logDet
}

// unwhiten takes rows that whiten has made to the inverse of the rows' covariance
// times what whiten was given, and writes the diagonal of that inverse: the
// smoother's pass backwards (de Jong 1989, Journal of the American Statistical
// Association 84, 1085–1088). carried is scratch of m numbers.
func (s *residualState) unwhiten(rows []int32, w []float64, m int, carried, diagonal []float64) {
	predicted := diagonal // variances of the state before each row, until they are used
	p := 1.0
	for k, i := range rows {
		h, known, phi := s.row(i)
		p = phi*phi*p + 1 - phi*phi
		predicted[k] = p
		p *= known / (h*h*p + known)
	}
	clear(carried)
	later := 0.0 // what later rows say of the state after this one
	for k := len(rows) - 1; k >= 0; k-- {
		h, known, phi := s.row(rows[k])
		p := predicted[k]
		variance := h*h*p + known
		inverse := 1 / math.Sqrt(variance)
		gain := p * h / variance
		row := w[k*m : (k+1)*m]
		for c, v := range row {
			u := v*inverse + gain*carried[c]
			carried[c] = phi * (carried[c] - h*u)
			row[c] = u
		}
		diagonal[k] = 1/variance + gain*gain*later
		left := 1 - gain*h
		later = phi * phi * (h*h/variance + left*left*later)
	}
}

// whitenSlope writes the derivative by one parameter of what whiten makes of
// the rows w into out, and returns that of the log determinant. carried is
// scratch of 2m numbers.
func (s *residualState) whitenSlope(par residualParameter, rows []int32, w, out []float64, m int, carried []float64) float64 {
	clear(carried)
	state, dstate := carried[:m], carried[m:2*m]
	dlogDet := 0.0
	p, dp := 1.0, 0.0
	for k, i := range rows {
		h, known, phi := s.row(i)
		dh, dphi := par.slope(s, i, h, phi)
		dp = 2*phi*dphi*(p-1) + phi*phi*dp
		p = phi*phi*p + 1 - phi*phi
		variance := h*h*p + known
		dvariance := 2*h*dh*p + h*h*dp
		inverse := 1 / math.Sqrt(variance)
		gain := p * h / variance
		dgain := (dp*h+p*dh)/variance - gain*dvariance/variance
		row, drow := w[k*m:(k+1)*m], out[k*m:(k+1)*m]
		for c, y := range row {
			a := phi * state[c]
			da := dphi*state[c] + phi*dstate[c]
			v := y - h*a
			dv := -dh*a - h*da
			state[c] = a + gain*v
			dstate[c] = da + dgain*v + gain*dv
			drow[c] = inverse * (dv - 0.5*v*dvariance/variance)
		}
		dp = known * (dp/variance - p*dvariance/(variance*variance))
		p *= known / variance
		dlogDet += dvariance / variance
	}
	return dlogDet
}
