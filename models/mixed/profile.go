package mixed

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"
)

// An Interval is an interval for one parameter.
type Interval struct {
	Parameter
	Level float64 `json:"level"` // share of samples in which such intervals hold the truth
	Low   float64 `json:"low"`   // lower end; null where there is none
	High  float64 `json:"high"`  // upper end; null where there is none
	// OpenLow and OpenHigh tell that the data set no end on that side, so that
	// the interval reaches to the end of the parameter's range: zero for a
	// standard deviation, ±1 for a correlation.
	OpenLow  bool   `json:"open_low"`       // whether the data set no lower end
	OpenHigh bool   `json:"open_high"`      // whether the data set no upper end
	Note     string `json:"note,omitempty"` // what an open end means, or why there is no interval
}

// MarshalJSON writes an end that is infinite or not known as null.
func (i Interval) MarshalJSON() ([]byte, error) {
	end := func(v float64) *float64 {
		if !finite(v) {
			return nil
		}
		return &v
	}
	type plain Interval
	return json.Marshal(struct {
		plain
		Low  *float64 `json:"low"`
		High *float64 `json:"high"`
	}{plain(i), end(i.Low), end(i.High)})
}

// Profile gives profile-likelihood intervals for the parameters named, without names for
// every parameter: the values
// that a likelihood-ratio test at the level would not reject, all other
// parameters being fitted anew for each (Venzon and Moolgavkar 1988, Applied
// Statistics 37, 87–94; for mixed models Bates et al. 2015, section 5.1). The
// variances of a fit by restricted likelihood are profiled by that; fixed
// effects always by the full likelihood, since restricted ones do not compare
// between them, so that their intervals there stand around the full likelihood's
// estimates. level is between 0 and 1, commonly 0.95. Where a parameter has no
// interval its note says why. It fails where level is none.
func (f *Fit) Profile(level float64, names ...string) ([]Interval, error) {
	if !(level > 0 && level < 1) {
		return nil, fmt.Errorf("an interval's level is %g; expected a number between 0 and 1, such as 0.95", level)
	}
	places := f.d.parameterPlaces()
	values := f.Parameters()
	var wanted []int
	for k := range values {
		if len(names) == 0 || slices.Contains(names, values[k].Name) {
			wanted = append(wanted, k)
		}
	}
	out := make([]Interval, len(wanted))
	errs := make([]error, len(wanted))
	err := shareOut(context.Background(), len(wanted), func() func(int) error {
		var w *profiler // by the worker itself: it takes time
		return func(i int) error {
			if w == nil || f.d.errors.bounded() { // bounds stand where the parameter before left them
				w = f.newProfiler(level)
			}
			out[i] = Interval{Parameter: values[wanted[i]], Level: level, Low: math.NaN(), High: math.NaN()}
			errs[i] = w.interval(places[wanted[i]], &out[i])
			return nil
		}
	})
	return out, errors.Join(append(errs, err)...)
}

// A profiler is one worker's own likelihoods with their optima.
type profiler struct {
	f     *Fit
	reach float64 // how far the criterion may rise
	own   *optimum
	full  *optimum // nil until wanted

	deepest float64 // the least rise seen in the present search; below zero the fit was not the best
}

// notBest is how far below the fit's own criterion a profile may come by
// rounding.
const notBest = 1e-3

// An optimum is a likelihood at its best parameters.
type optimum struct {
	l       *likelihood
	point   []float64 // (φ, log σ)
	value   float64
	hessian *mat.SymDense
}

func (f *Fit) newProfiler(level float64) *profiler {
	return &profiler{f: f, reach: distuv.ChiSquared{K: 1}.Quantile(level), own: newOptimum(newLikelihood(f.like.s), f.phi)}
}

// newOptimum notes where l stands at φ.
func newOptimum(l *likelihood, phi []float64) *optimum {
	o := &optimum{l: l, point: append([]float64(nil), phi...)}
	o.value = l.criterion(phi)
	sigma := l.sigma()
	if !l.absolute {
		o.point = append(o.point, math.Log(sigma))
	}
	if len(o.point) > 0 {
		o.hessian = l.heldHessian(phi)
	}
	return o
}

// fullOptimum is the optimum of the full likelihood.
func (w *profiler) fullOptimum() *optimum {
	if w.full == nil {
		l := newLikelihood(w.f.like.s)
		l.full = true
		l.constant = l.unit()
		phi := append([]float64(nil), w.f.phi...)
		if len(phi) > 0 {
			d := newDescent(len(phi))
			l.optimise(d, offZero(l, phi))
			copy(phi, d.x)
		}
		w.full = newOptimum(l, phi)
	}
	return w.full
}

// offZero moves variances that are zero a little off, where the criterion is
// not stationary by construction.
func offZero(l *likelihood, point []float64) []float64 {
	out := append([]float64(nil), point...)
	for i, p := range l.parameters {
		if p.entries[0][0] == p.entries[0][1] && math.Abs(out[i]) < nearZero {
			out[i] = 0.03
		}
	}
	return out
}

// interval finds both ends of a parameter's interval.
func (w *profiler) interval(p parameterPlace, out *Interval) error {
	if p.kind == FixedEffect {
		return w.fixedInterval(p, out)
	}
	if p.kind == GroupCorrelation && w.vanishing(p) {
		out.Note = "one of the two standard deviations is estimated as zero, so that there is no correlation to give an interval for"
		return nil
	}
	low, high := rangeOf(p.kind)
	w.deepest = 0
	out.Low, out.OpenLow = w.end(p, out.Value, low)
	out.High, out.OpenHigh = w.end(p, out.Value, high)
	out.Note = openNote(p.kind, out.OpenLow, out.OpenHigh)
	if w.deepest < -notBest {
		better := fmt.Sprintf("with other values of this parameter the likelihood is higher, by %.3g: the fit ended away from its best", -w.deepest/2)
		out.Note = strings.TrimPrefix(out.Note+"; "+better, "; ")
	}
	return nil
}

// vanishing tells whether one of a correlation's standard deviations is zero.
func (w *profiler) vanishing(p parameterPlace) bool {
	w.own.l.set(w.own.point[:w.own.l.size()])
	a, b := w.own.l.lambdaRow(p.factor, p.a), w.own.l.lambdaRow(p.factor, p.b)
	return inner(a, a) < nearZero*nearZero || inner(b, b) < nearZero*nearZero
}

// rangeOf is the range of a kind of parameter.
func rangeOf(kind ParameterKind) (low, high float64) {
	switch kind {
	case GroupCorrelation:
		return -1, 1
	case Autocorrelation:
		return 0, 1
	}
	return 0, math.Inf(1)
}

func openNote(kind ParameterKind, low, high bool) string {
	var notes []string
	if low {
		switch kind {
		case GroupCorrelation:
			notes = append(notes, "the data do not exclude a correlation of −1")
		case Autocorrelation:
			notes = append(notes, "the data do not exclude that neighbouring rows are unrelated")
		case ResidualDeviation:
			notes = append(notes, "the data do not exclude that nothing is left between rows beyond their known errors")
		case CurveDeviation:
			notes = append(notes, "the data do not exclude a straight line")
		default:
			notes = append(notes, "the data do not exclude that the groups are alike")
		}
	}
	if high {
		switch kind {
		case GroupCorrelation, Autocorrelation:
			notes = append(notes, "the data do not exclude a correlation of 1")
		default:
			notes = append(notes, "the data set no upper bound: there are too few groups or rows")
		}
	}
	return strings.Join(notes, "; ")
}

// end finds one end of the interval of a parameter other than a fixed effect,
// on the side of limit. open tells that limit is not excluded.
func (w *profiler) end(p parameterPlace, estimate, limit float64) (at float64, open bool) {
	o := w.own
	if estimate == limit {
		return limit, true
	}
	value := estimate
	h, start := o.l.hold(p, o.hessian, &value)
	x := start(offZero(o.l, o.point))
	d := newDescent(len(x))
	rise := func(t float64) float64 {
		value = t
		if len(x) == 0 {
			return h.at(x, nil) - o.value
		}
		d.minimise(h, x)
		least := d.value
		if finite(d.value) {
			copy(x, d.x)
		}
		// Another valley may lie lower: from the fit's own place too.
		d.minimise(h, start(offZero(o.l, o.point)))
		if finite(d.value) && !(least <= d.value) {
			least = d.value
			copy(x, d.x)
		}
		w.deepest = math.Min(w.deepest, least-o.value)
		return least - o.value
	}
	return searchEnd(rise, estimate, limit, w.firstStep(p, estimate, limit), w.reach)
}

// firstStep is where an end is looked for first.
func (w *profiler) firstStep(p parameterPlace, estimate, limit float64) float64 {
	switch {
	case !math.IsInf(limit, 0):
		return estimate + 0.5*(limit-estimate)
	case estimate*w.f.unitOf(p) < nearZero*w.f.d.fixed.scale: // zero: the residual may be so too
		return 0.3 * math.Max(w.f.Residual.SD, 0.3*w.f.d.fixed.scale) / w.f.unitOf(p)
	}
	return 1.4 * estimate
}

// unitOf is the size of the column that a place's standard deviation belongs to.
func (f *Fit) unitOf(p parameterPlace) float64 {
	switch p.kind {
	case GroupDeviation, CurveDeviation:
		return f.d.factors[p.factor].unit(p.a)
	}
	return 1
}

// How an end is searched for.
const (
	endTolerance = 1e-6 // of the square root of the criterion's rise
	mostTrials   = 60
)

// searchEnd finds where rise reaches reach between the estimate and limit,
// beginning at first. The square root of the rise is nearly straight, so that it
// is met by the secant, kept inside what is known to hold the end. open tells
// that the limit, or 10⁶ times the first step where there is none, lies within
// reach.
func searchEnd(rise func(float64) float64, estimate, limit, first, reach float64) (at float64, open bool) {
	want := math.Sqrt(reach)
	height := func(t float64) float64 { return math.Sqrt(math.Max(rise(t), 0)) - want }
	inside, below := estimate, -want
	outside, above := math.NaN(), math.NaN()
	t := first
	far := 1e6 * math.Abs(first-estimate)
	for range mostTrials {
		v := height(t)
		if math.IsNaN(v) { // nothing can be computed there: as far out as can be
			v = math.Inf(1)
		}
		if math.Abs(v) < endTolerance*want {
			return t, false
		}
		if v < 0 {
			if t == limit {
				return limit, true
			}
			inside, below = t, v
		} else { // above, or beyond what can be computed
			outside, above = t, v
		}
		switch {
		case math.IsNaN(outside) && math.IsInf(limit, 0):
			t = estimate + (inside-estimate)*math.Max(1.05, math.Min(4, want/math.Max(want+below, 1e-3)))
			if math.Abs(t-estimate) > far {
				return limit, true
			}
		case math.IsNaN(outside):
			t = estimate + (inside-estimate)*want/math.Max(want+below, 1e-9)
			if (limit-t)*(limit-estimate) <= 0 || math.Abs(limit-t) < 0.02*math.Abs(limit-estimate) {
				t = limit
			}
		case math.IsInf(above, 1):
			t = (inside + outside) / 2
		default:
			t = inside + (outside-inside)*(-below)/(above-below)
			margin := 0.02 * math.Abs(outside-inside)
			t = math.Max(math.Min(t, math.Max(inside, outside)-margin), math.Min(inside, outside)+margin)
		}
		if math.Abs(outside-inside) < 1e-10*math.Abs(outside) {
			return t, false
		}
	}
	return t, false
}

// fixedInterval profiles a fixed effect by the full likelihood.
func (w *profiler) fixedInterval(p parameterPlace, out *Interval) error {
	if w.f.d.errors.bounded() {
		out.Note = "where rows are only bounds a fixed effect cannot be profiled, since the approximation is made around its estimate; use the interval of the fit"
		return nil
	}
	o := w.fullOptimum()
	h := newHeldFixed(o, w.f.d.fixed.toBasis(unitVector(p.fixed, w.f.d.fixed.p)))
	estimate, se := h.best(o)
	rise := func(t float64) float64 { return h.criterion(t) - o.value }
	scale, base := w.f.d.fixed.scale, w.f.d.fixed.beta[p.fixed]
	for _, side := range []float64{-1, 1} {
		at, open := searchEnd(rise, estimate, side*math.Inf(1), estimate+side*math.Sqrt(w.reach)*se, w.reach)
		h.restart(o)
		if open {
			at = side * math.Inf(1)
			out.Note = "the data set no bound: there are too few rows"
		} else {
			at = base + at*scale
		}
		if side < 0 {
			out.Low, out.OpenLow = at, open
		} else {
			out.High, out.OpenHigh = at, open
		}
	}
	return nil
}

func unitVector(j, n int) []float64 {
	v := make([]float64, n)
	v[j] = 1
	return v
}

// A heldFixed is the full criterion with one contrast of the fixed effects held
// at a value. For given variance parameters the constrained fixed effects and
// sum of squares follow from the unconstrained ones, so that no other design is
// needed: with β̂ and C = (X'V⁻¹X)⁻¹, holding w'β at t moves β̂ by
// Cw(t − w'β̂)/(w'Cw) and adds (t − w'β̂)²/(w'Cw) to the sum of squares.
type heldFixed struct {
	l       *likelihood
	hessian *mat.SymDense // by (φ, log σ) at the unconstrained optimum
	weight  []float64     // in the basis Q
	value   float64
	x       []float64
	d       *descent

	beta, along, column []float64
}

func newHeldFixed(o *optimum, weight []float64) *heldFixed {
	p := o.l.s.p
	h := &heldFixed{l: o.l, hessian: o.hessian, weight: weight, d: newDescent(o.l.size()),
		beta: make([]float64, p), along: make([]float64, p), column: make([]float64, p)}
	h.restart(o)
	return h
}

func (h *heldFixed) restart(o *optimum) { h.x = offZero(o.l, o.point[:o.l.size()]) }

// best is the unconstrained estimate with its standard error.
func (h *heldFixed) best(o *optimum) (estimate, se float64) {
	h.l.criterion(o.point[:h.l.size()])
	share := h.constrain()
	h.l.trial.Coefficients(h.beta)
	return inner(h.weight, h.beta), h.l.sigma() * math.Sqrt(share)
}

// constrain writes the unconstrained fixed effects into beta and C·weight into
// along, and returns weight'C·weight.
func (h *heldFixed) constrain() float64 {
	t := h.l.trial
	r, p := h.l.s.root, h.l.s.p
	t.Coefficients(h.beta)
	copy(h.column, h.weight)
	for j := range p { // L·column = weight
		for k := range j {
			h.column[j] -= t.RootL[j*r+k] * h.column[k]
		}
		h.column[j] /= t.RootL[j*r+j]
	}
	copy(h.along, h.column)
	for j := p - 1; j >= 0; j-- {
		for k := j + 1; k < p; k++ {
			h.along[j] -= t.RootL[k*r+j] * h.along[k]
		}
		h.along[j] /= t.RootL[j*r+j]
	}
	return inner(h.column, h.column)
}

// criterion is the criterion with the contrast held at t, all else at its best.
func (h *heldFixed) criterion(t float64) float64 {
	h.value = t
	if len(h.x) == 0 {
		return h.at(nil, nil)
	}
	h.d.minimise(h, h.x)
	if finite(h.d.value) {
		copy(h.x, h.d.x)
	}
	return h.d.value
}

func (h *heldFixed) at(phi, g []float64) float64 {
	l, t := h.l, h.l.trial
	value := l.criterion(phi)
	if math.IsInf(value, 1) {
		return value
	}
	share := h.constrain()
	off := (h.value - inner(h.weight, h.beta)) / share
	more := off * off * share
	kappa := 1.0
	if l.absolute {
		value += more
	} else {
		value += l.degrees() * math.Log1p(more/t.Squares)
		kappa = l.degrees() / (t.Squares + more)
	}
	if len(phi) == 0 {
		return value
	}
	// The gradient takes the fixed effects from the factor's row of the outcome:
	// that row is made the constrained ones'.
	r, p := h.l.s.root, h.l.s.p
	for j := range p {
		h.beta[j] += off * h.along[j]
	}
	for j := range p {
		sum := 0.0
		for k := j; k < p; k++ {
			sum += t.RootL[k*r+j] * h.beta[k]
		}
		t.RootL[p*r+j] = sum
	}
	l.gradient(kappa, g)
	return value
}

// curvature is the Hessian at the unconstrained optimum, σ² profiled out.
func (h *heldFixed) curvature(out, safe []float64) {
	n := len(h.x)
	for i := range n {
		for j := range n {
			v := h.hessian.At(i, j)
			if !h.l.absolute {
				v -= h.hessian.At(i, n) * h.hessian.At(n, j) / h.hessian.At(n, n)
			}
			out[i*n+j] = v
		}
		out[i*n+i] += leastCurvature
	}
	copy(safe, out)
}
