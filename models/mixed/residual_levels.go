package mixed

import (
	"errors"
	"fmt"
	"math"
	"slices"
)

// A levelSpreads lets the residual's standard deviation differ by a column's levels.
type levelSpreads struct {
	silent
	e      *residual
	column string
	names  []string
	of     []int32 // n: the level of each row
}

func (r *levelSpreads) asked() bool                       { return r.column != "" }
func (r *levelSpreads) needs(add func(name, role string)) { add(r.column, "by") }

func (r *levelSpreads) lay(l *layer, d *design) bool {
	r.e = &d.errors
	r.names, r.of = l.levelCodes(r.column)
	return true
}

func (r *levelSpreads) parameters() []residualParameter {
	var out []residualParameter
	for k := 1; k < len(r.names); k++ {
		out = append(out, levelRatio{sigma{r.e, int32(k)}})
	}
	return out
}

func (r *levelSpreads) begin(s *residualState) {
	s.level, s.ratio = r.of, make([]float64, max(len(r.names), 1))
	for k := range s.ratio {
		s.ratio[k] = 1
	}
}

func (r *levelSpreads) describe(f *Fit) {
	for k, level := range r.names {
		f.Residual.Levels = append(f.Residual.Levels, LevelSpread{Level: level, SD: f.Residual.SD * f.like.weighing.state.ratio[k]})
	}
}

func (r *levelSpreads) take(s *residualState, given ResidualFit) error {
	for k, level := range r.names {
		at := slices.IndexFunc(given.Levels, func(l LevelSpread) bool { return l.Level == level })
		if at < 0 {
			return fmt.Errorf("no spread is given of single rows of level %s", level)
		}
		s.ratio[k] = given.Levels[at].SD / given.SD
	}
	return nil
}

func (r *levelSpreads) step(larger structure, s *ratioStep) error {
	other := larger.(*levelSpreads)
	switch {
	case r.column == other.column:
	case r.asked():
		return errors.New("the residual's levels of the smaller model are not those of the larger: neither holds the other")
	default:
		s.regular += len(other.names) - 1
		s.words = append(s.words, fmt.Sprintf("another spread for each of %d levels of %s", len(other.names), other.column))
	}
	return nil
}

// A levelRatio is the standard deviation of another level; the search moves the logarithm
// of its ratio to the first one's.
type levelRatio struct{ sigma }

func (p levelRatio) set(s *residualState, tau float64) { s.ratio[p.of] = math.Exp(tau) }

func (p levelRatio) slope(s *residualState, i int32, h, _ float64) (dh, dphi float64) {
	if s.level[i] == p.of {
		return h, 0
	}
	return 0, 0
}

func (levelRatio) start(float64) float64 { return 0 }

func (p levelRatio) curvature(s *residualState) float64 {
	rows := 0.0
	for _, level := range s.level {
		if level == p.of {
			rows++
		}
	}
	return 2 * rows
}

func (p levelRatio) tau(at variancePoint) float64 {
	return 0.5 * math.Log(at.variances[p.of]/at.first())
}

func (p levelRatio) trace(l *likelihood, at variancePoint, slopes []float64) float64 {
	return slopes[l.weighing.index(p)] / (2 * at.variances[p.of])
}

func (p levelRatio) hold(l *likelihood) (int, func(float64, []float64) float64) {
	return l.holdSpread(len(l.parameters) + l.weighing.index(p))
}
