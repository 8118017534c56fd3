package mixed

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"thumbed/models/table"
)

// An autoregression makes x a continuous process of first order along positions inside
// groups: the correlation of two rows is near to the power of the distance between them.
type autoregression struct {
	silent
	along, within string
	gap           []float64 // n: distance to the row before in its group, in units; 0 for a group's first
	unit          float64   // the gaps' median
	runs          []int32   // rows by group and position
	ends          []int32   // end of each group in runs
}

func (e *autoregression) asked() bool                     { return e.along != "" }
func (e *autoregression) parameters() []residualParameter { return []residualParameter{nearness{e}} }
func (e *autoregression) begin(s *residualState)          { s.phi = make([]float64, len(e.gap)) }
func (e *autoregression) needs(add func(name, role string)) {
	add(e.within, "by")
	add(e.along, "number")
}

// lay sorts the rows by group and position and measures the gaps.
func (e *autoregression) lay(l *layer, d *design) bool {
	known := part[*knownErrors](&d.errors).values
	position := l.values(e.along)
	group := make([]int32, len(l.rows))
	if e.within != "" {
		group = l.groupedBy(e.within).code
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
		if known == nil || known[i] == 0 {
			l.ps.Add(table.Problem{File: l.table.File, Line: l.table.Line(l.rows[i]), Column: e.along, Value: fmt.Sprint(position[i]),
				Expected: fmt.Sprintf("each place along %s once in a group (line %d has it already)", e.along, l.table.Line(l.rows[before])),
				Remedy:   "name the groups with within, average the rows, or give the rows a known_sd"})
		}
	}
	e.ends = append(e.ends, int32(len(e.runs)))
	if len(gaps) == 0 {
		l.problem(e.along, fmt.Sprintf("%d groups of one place each", len(e.ends)), "groups with several places along "+e.along,
			"autocorrelation cannot be estimated from single rows: take along out of the model")
		return true
	}
	slices.Sort(gaps)
	e.unit = gaps[len(gaps)/2]
	for i := range e.gap {
		e.gap[i] /= e.unit
	}
	return true
}

// split gives the runs of correlated rows; nil where rows are independent.
func (e *residual) split() [][]int32 {
	var out [][]int32
	from, along := int32(0), part[*autoregression](e)
	for _, end := range along.ends {
		out = append(out, along.runs[from:end])
		from = end
	}
	return out
}

// correlated tells whether the rows of a run are.
func (e *residual) correlated() bool { return part[*autoregression](e).asked() }

func (e *autoregression) take(s *residualState, given ResidualFit) error {
	nearness{e}.correlate(s, math.Pow(given.Rho, e.unit))
	return nil
}

func (e *autoregression) step(larger structure, s *ratioStep) error {
	other := larger.(*autoregression)
	switch {
	case e.along == other.along && (e.within == other.within || !e.asked()):
	case e.asked():
		return errors.New("the smaller model has an autocorrelation that the larger has not: neither holds the other")
	default:
		s.variances++ // from zero up only
		s.words = append(s.words, "the autocorrelation along "+other.along)
	}
	return nil
}

// leastNear and mostNear are the ends of the autocorrelation's range: beyond them
// it counts as zero and as one.
const (
	leastNear = 1e-5
	mostNear  = 1 - 1e-6
)

// describe gives the autocorrelation, and a note where it is at the end of its range.
func (e *autoregression) describe(f *Fit) {
	near, along := f.like.weighing.state.near, e.along
	f.Residual.Rho = math.Pow(near, 1/e.unit)
	switch {
	case near < leastNear:
		f.Residual.Rho = 0
		f.Boundary = append(f.Boundary, "autocorrelation along "+along)
		f.Notes = append(f.Notes, fmt.Sprintf("The autocorrelation along %s is estimated as zero: neighbouring rows are no more alike than distant ones, once the rest of the model is allowed for. Leaving along out gives the same answers.", along))
	case near > mostNear:
		f.Boundary = append(f.Boundary, "autocorrelation along "+along)
		f.Notes = append(f.Notes, fmt.Sprintf("The autocorrelation along %s is estimated as 1: the rows of a group drift together, which the data cannot tell from a difference between groups. Take out the random intercept by these groups, or add a trend along %s to fixed.", along, along))
	}
}

// A nearness is the correlation of rows at distance unit; the search moves its logit.
type nearness struct{ e *autoregression }

func (p nearness) set(s *residualState, tau float64) { p.correlate(s, 1/(1+math.Exp(-tau))) }

// correlate takes near, and makes each row's correlation with the row before: near to the
// power of the gap, 1 where there is no gap, 0 of a group's first.
func (p nearness) correlate(s *residualState, near float64) {
	s.near = near
	rate := math.Log(near)
	gap, phi := 0.0, 1.0 // of the row before: gaps recur
	for _, i := range p.e.runs {
		if g := p.e.gap[i]; g != gap {
			gap, phi = g, 1
			if g > 0 {
				phi = math.Exp(rate * g)
			}
		}
		s.phi[i] = phi
	}
	from := int32(0)
	for _, end := range p.e.ends {
		s.phi[p.e.runs[from]] = 0
		from = end
	}
}

func (p nearness) slope(s *residualState, i int32, _, phi float64) (dh, dphi float64) {
	if phi > 0 {
		dphi = phi * p.e.gap[i] * (1 - s.near)
	}
	return 0, dphi
}

func (nearness) start(float64) float64 { return 0 }

func (p nearness) curvature(s *residualState) float64 {
	return float64(len(p.e.gap)) * math.Max(s.near*(1-s.near), 0.02)
}

func (nearness) value(p *variancePoint) *float64 { return &p.near }
func (nearness) level() (int32, bool)            { return 0, false }
func (nearness) estimated(at variancePoint) bool { return at.near > leastNear && at.near < mostNear }
func (nearness) tau(p variancePoint) float64     { return math.Log(p.near / (1 - p.near)) }

func (p nearness) trace(l *likelihood, at variancePoint, slopes []float64) float64 {
	return slopes[l.weighing.index(p)] / (at.near * (1 - at.near))
}

func (nearness) scale(_ *likelihood, at variancePoint) float64 { return at.near * (1 - at.near) }
func (nearness) inside(variancePoint, float64) bool            { return true }

// times is v times the correlation at a distance, which is power, or its derivative by
// near, as often as order says.
func (e *autoregression) times(v, near, distance, power float64, order int) float64 {
	switch {
	case order == 0:
		return v * power
	case distance == 0 || order == 2 && distance == 1:
		return 0
	}
	v *= distance
	lower := power / near
	if order == 2 {
		v *= distance - 1
		lower /= near
	}
	if power == 0 { // rows too far apart, or none that are alike
		lower = math.Pow(near, distance-float64(order))
	}
	return v * lower
}

func (p nearness) place() parameterPlace {
	return parameterPlace{kind: Autocorrelation, name: fmt.Sprintf("autocorrelation along %s at distance 1", p.e.along), terms: []string{p.e.along}}
}

func (p nearness) told(s *residualState, _ float64) float64 { return math.Pow(s.near, 1/p.e.unit) }

func (p nearness) hold(l *likelihood) (int, func(float64, []float64) float64) {
	return len(l.parameters) + l.weighing.index(p), func(told float64, _ []float64) float64 {
		near := math.Pow(told, p.e.unit)
		return math.Max(-farLogit, math.Min(farLogit, math.Log(near/(1-near))))
	}
}

// farLogit stands for a logit without end.
const farLogit = 36
