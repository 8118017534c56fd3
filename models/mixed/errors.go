package mixed

import (
	"fmt"
	"math"
	"slices"

	"thumbed/models/table"
)

// An errorPart is how the residuals of rows are spread and related. The
// residual of a row is H·x + e: x a process of variance 1 that is
// autocorrelated along positions inside groups (or independent), H its
// standard deviation (another one for each level of a column, if asked), and e
// the measurement's own error of known variance. H is relative to σ, or σ
// itself where known variances fix the scale.
type errorPart struct {
	known  []float64   // n: known variances, in the outcome's unit of [fixedPart]; nil
	levels []string    // levels with a spread of their own; nil
	level  []int32     // n: the level of each row
	gap    []float64   // n: distance to the row before in its group, in units; 0 for a group's first; nil without autocorrelation
	unit   float64     // the gaps' median
	runs   []int32     // rows by group and position
	ends   []int32     // end of each group in runs
	side   []boundSide // n: whether the row's value is only a bound; nil where none is
}

// plain tells whether rows are independent and alike.
func (e *errorPart) plain() bool {
	return e.known == nil && e.level == nil && e.gap == nil && e.side == nil
}

// absolute tells whether the residual standard deviation is a parameter of its
// own, because known variances, bounds or shared errors of known spread fix the
// scale.
func (d *design) absolute() bool {
	return d.errors.known != nil || d.errors.side != nil || len(d.offsets) > 0
}

// readErrors reads the residual's structure.
func (l *layer) readErrors(d *design) {
	r := l.model.Residual
	e := &d.errors
	l.readLimits(d)
	if r.Levels != "" {
		e.levels, e.level = l.levelCodes(r.Levels)
	}
	if r.KnownSD != "" {
		e.known = l.values(r.KnownSD)
		some := false
		for k, v := range e.known {
			if v < 0 {
				l.ps.Add(table.Problem{File: l.table.File, Line: l.table.Line(l.rows[k]), Column: r.KnownSD, Value: fmt.Sprint(v),
					Expected: "a standard deviation, zero or more", Remedy: "correct the value"})
			}
			some = some || v > 0
			if l.model.logarithmic() {
				v /= math.Exp(d.outcome[k]) // to first order, the error of a logarithm
			}
			e.known[k] = v * v
		}
		if !some {
			l.problem(r.KnownSD, "zero in every row", "known standard deviations", "take known_sd out of the model: it says that nothing is known of the measuring error")
		}
	}
	if r.Along != "" {
		l.readAlong(e)
	}
}

// readAlong sorts the rows by group and position and measures the gaps.
func (l *layer) readAlong(e *errorPart) {
	r := l.model.Residual
	position := l.values(r.Along)
	group := make([]int32, len(l.rows))
	if r.Within != "" {
		group = l.groupedBy(r.Within).code
	}
	e.runs = make([]int32, len(l.rows))
	for i := range e.runs {
		e.runs[i] = int32(i)
	}
	slices.SortStableFunc(e.runs, func(a, b int32) int {
		if group[a] != group[b] {
			return int(group[a] - group[b])
		}
		switch {
		case position[a] < position[b]:
			return -1
		case position[a] > position[b]:
			return 1
		}
		return 0
	})
	e.gap = make([]float64, len(l.rows))
	var gaps []float64
	for k := 1; k < len(e.runs); k++ {
		i, before := e.runs[k], e.runs[k-1]
		if group[i] != group[before] {
			e.ends = append(e.ends, int32(k))
			continue
		}
		e.gap[i] = position[i] - position[before]
		if e.gap[i] > 0 {
			gaps = append(gaps, e.gap[i])
			continue
		}
		if e.known == nil || e.known[i] == 0 {
			l.ps.Add(table.Problem{File: l.table.File, Line: l.table.Line(l.rows[i]), Column: r.Along, Value: fmt.Sprint(position[i]),
				Expected: fmt.Sprintf("each place along %s once in a group (line %d has it already)", r.Along, l.table.Line(l.rows[before])),
				Remedy:   "name the groups with within, average the rows, or give the rows a known_sd"})
		}
	}
	e.ends = append(e.ends, int32(len(e.runs)))
	if len(gaps) == 0 {
		l.problem(r.Along, fmt.Sprintf("%d groups of one place each", len(e.ends)), "groups with several places along "+r.Along,
			"autocorrelation cannot be estimated from single rows: take along out of the model")
		return
	}
	slices.Sort(gaps)
	e.unit = gaps[len(gaps)/2]
	for i := range e.gap {
		e.gap[i] /= e.unit
	}
}

// split gives the runs of correlated rows; nil where rows are independent.
func (e *errorPart) split() [][]int32 {
	var out [][]int32
	from := int32(0)
	for _, end := range e.ends {
		out = append(out, e.runs[from:end])
		from = end
	}
	return out
}

// scaleKnown brings known variances into the likelihood's unit.
func (e *errorPart) scaleKnown(scale float64) {
	for i := range e.known {
		e.known[i] /= scale * scale
	}
}

// An errorKind is what one parameter of the residual's structure means.
type errorKind int

const (
	spread     errorKind = iota // σ, where known variances or bounds fix the scale; its sign does not matter
	levelRatio                  // log of a level's standard deviation over the first level's
	nearness                    // logit of the autocorrelation at distance unit
)

type errorParameter struct {
	kind  errorKind
	level int32
}

// parameters lists the residual's own variance parameters.
func (d *design) errorParameters() []errorParameter {
	e := &d.errors
	var out []errorParameter
	if d.absolute() {
		out = append(out, errorParameter{kind: spread})
	}
	for k := 1; k < len(e.levels); k++ {
		out = append(out, errorParameter{kind: levelRatio, level: int32(k)})
	}
	if e.gap != nil {
		out = append(out, errorParameter{kind: nearness})
	}
	return out
}

// An errorState is the residual's structure at given parameters.
type errorState struct {
	e     *errorPart
	sigma float64
	log   []float64 // log ratio of each level
	ratio []float64 // exp of these
	near  float64   // autocorrelation at distance unit
	phi   []float64 // n: correlation with the row before; nil without autocorrelation
	extra []float64 // n: variances of pseudo-measurements, see [pseudo]; nil where none
}

func newErrorState(e *errorPart) *errorState {
	k := max(len(e.levels), 1)
	s := &errorState{e: e, sigma: 1, log: make([]float64, k), ratio: make([]float64, k)}
	for i := range s.ratio {
		s.ratio[i] = 1
	}
	if e.gap != nil {
		s.phi = make([]float64, len(e.gap))
	}
	return s
}

func (s *errorState) set(parameters []errorParameter, tau []float64) {
	for i, p := range parameters {
		switch p.kind {
		case spread:
			s.sigma = tau[i]
		case levelRatio:
			s.log[p.level] = tau[i]
			s.ratio[p.level] = math.Exp(tau[i])
		case nearness:
			s.near = 1 / (1 + math.Exp(-tau[i]))
			s.correlate()
		}
	}
}

// correlate makes each row's correlation with the row before: near to the power
// of the gap, 1 where there is no gap.
func (s *errorState) correlate() {
	rate := math.Log(s.near)
	gap, phi := 0.0, 1.0 // of the row before: gaps recur
	for _, i := range s.e.runs {
		if g := s.e.gap[i]; g != gap {
			gap, phi = g, 1
			if g > 0 {
				phi = math.Exp(rate * g)
			}
		}
		s.phi[i] = phi
	}
}

// row gives a row's H, known variance and correlation with the row before.
func (s *errorState) row(i int32) (h, known, phi float64) {
	e := s.e
	h = s.sigma
	if e.level != nil {
		h *= s.ratio[e.level[i]]
	}
	if e.known != nil {
		known = e.known[i]
	}
	if s.extra != nil {
		known += s.extra[i]
	}
	if s.phi != nil {
		phi = s.phi[i]
	}
	return h, known, phi
}

// slope gives the derivatives of H and of the correlation by a parameter.
func (s *errorState) slope(p errorParameter, i int32, h, phi float64) (dh, dphi float64) {
	e := s.e
	switch p.kind {
	case spread:
		dh = 1
		if e.level != nil {
			dh = s.ratio[e.level[i]]
		}
	case levelRatio:
		if e.level[i] == p.level {
			dh = h
		}
	case nearness:
		if phi > 0 {
			dphi = phi * e.gap[i] * (1 - s.near)
		}
	}
	return dh, dphi
}

// first tells whether a row is the first of its run.
func first(k int) bool { return k == 0 }

// whiten takes the rows of one group (in order of position; m columns each)
// to independent rows of variance one: the innovations of the Kalman filter of
// an autoregression observed with error (Jones 1980), divided by their standard
// deviation. It returns the log determinant of the rows' covariance. carried is
// scratch of m numbers.
func (s *errorState) whiten(rows []int32, w []float64, m int, carried []float64) float64 {
	clear(carried)
	logDet := 0.0
	p := 1.0
	for k, i := range rows {
		h, known, phi := s.row(i)
		if first(k) {
			phi = 0
		}
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
func (s *errorState) unwhiten(rows []int32, w []float64, m int, carried, diagonal []float64) {
	predicted := diagonal // variances of the state before each row, until they are used
	p := 1.0
	for k, i := range rows {
		h, known, phi := s.row(i)
		if first(k) {
			phi = 0
		}
		p = phi*phi*p + 1 - phi*phi
		predicted[k] = p
		p *= known / (h*h*p + known)
	}
	clear(carried)
	later := 0.0 // what later rows say of the state after this one
	for k := len(rows) - 1; k >= 0; k-- {
		h, known, phi := s.row(rows[k])
		if first(k) {
			phi = 0
		}
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
func (s *errorState) whitenSlope(par errorParameter, rows []int32, w, out []float64, m int, carried []float64) float64 {
	clear(carried)
	state, dstate := carried[:m], carried[m:2*m]
	dlogDet := 0.0
	p, dp := 1.0, 0.0
	for k, i := range rows {
		h, known, phi := s.row(i)
		dh, dphi := s.slope(par, i, h, phi)
		if first(k) {
			phi, dphi = 0, 0
		}
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
