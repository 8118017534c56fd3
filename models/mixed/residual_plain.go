package mixed

import "math"

// A sigma is the residual's standard deviation, of the first level where levels have
// their own: its variance is the parameter of R, σ itself is what the search moves,
// whose sign does not matter.
type sigma struct {
	e  *residual
	of int32 // the level
}

func (sigma) set(s *residualState, tau float64) { s.sigma = tau }

func (sigma) slope(s *residualState, i int32, _, _ float64) (dh, dphi float64) {
	return s.ratio[s.levelOf(i)], 0
}

func (sigma) start(spread float64) float64        { return spread }
func (p sigma) curvature(*residualState) float64  { return 2 * float64(p.e.n) }
func (p sigma) value(at *variancePoint) *float64  { return &at.variances[p.of] }
func (p sigma) level() (level int32, spread bool) { return p.of, true }
func (sigma) estimated(variancePoint) bool        { return true }
func (p sigma) tau(at variancePoint) float64      { return math.Sqrt(at.first()) }

// first is the variance of the first level, a little off zero.
func (p variancePoint) first() float64 { return math.Max(p.variances[0], offBoundary) }

func (p sigma) trace(l *likelihood, at variancePoint, slopes []float64) float64 {
	if !l.absolute {
		return 0
	}
	sum, first := 0.0, at.first()
	for i, other := range l.weighing.parameters {
		switch other.(type) {
		case sigma:
			sum += slopes[i] * math.Sqrt(first) / 2
		case levelRatio: // the other levels' variances held
			sum -= slopes[i] / 2
		}
	}
	return sum / first
}

// scale is the least variance of the level's rows.
func (p sigma) scale(l *likelihood, _ variancePoint) float64 {
	least := math.Inf(1)
	for i := range int32(l.s.n) {
		if h, known, _ := l.weighing.state.row(i); l.weighing.state.levelOf(i) == p.of {
			least = math.Min(least, h*h+known)
		}
	}
	return least
}

func (p sigma) inside(at variancePoint, scale float64) bool { return at.variances[p.of] > 0.05*scale }

func (s *residualState) levelOf(i int32) int32 {
	if s.level == nil {
		return 0
	}
	return s.level[i]
}

func (p sigma) place() parameterPlace {
	out := parameterPlace{kind: ResidualDeviation, name: "residual standard deviation"}
	if levels := part[*levelSpreads](p.e); levels.asked() {
		out.name += " of " + levels.names[p.of]
		out.by, out.terms = []string{levels.column}, []string{levels.names[p.of]}
	}
	return out
}

func (p sigma) told(s *residualState, unit float64) float64 {
	return unit * math.Abs(s.sigma) * s.ratio[p.of]
}

func (p sigma) hold(l *likelihood) (int, func(float64, []float64) float64) { return l.holdSpread(-1) }

// holdSpread holds the residual's standard deviation, or that of a level whose logarithm
// of the ratio is a coordinate.
func (l *likelihood) holdSpread(ratio int) (int, func(float64, []float64) float64) {
	which := l.size() // log σ
	if l.absolute {
		which = len(l.parameters)
	}
	return which, func(told float64, point []float64) float64 {
		sd := told / l.s.d.fixed.scale
		if ratio >= 0 {
			sd /= math.Exp(point[ratio])
		}
		if l.absolute {
			return sd
		}
		return math.Log(math.Max(sd, 1e-300))
	}
}
