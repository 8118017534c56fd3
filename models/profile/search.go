package profile

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/optimize"
)

// fit finds the sizes of greatest restricted likelihood and gives the system
// solved at them. The smooth is fitted by itself first; levels must be likelier
// than that, or there are none.
func fit(points []point, groups []int, unit float64) (*system, error) {
	alone := &search{system: newSystem(points, ungrouped(len(groups))), unit: unit}
	best, err := alone.run()
	if err != nil {
		return nil, err
	}
	sys := alone.system
	if measuredGroups(points, groups) > 1 {
		levels := &search{system: newSystem(points, groups), unit: unit, levels: true}
		with, err := levels.run()
		if err != nil {
			return nil, err
		}
		if with.criterion < best.criterion-likelier && with.omega > justAbove*leastSize*unit {
			sys, best = levels.system, with
		}
	}
	if !sys.solve(best.sizes) {
		return nil, errors.New("the wear curve could not be computed: its equations are singular; check that the measured pages are spread along the book")
	}
	return sys, nil
}

// likelier is the gain in −2 log likelihood that counts as one.
const likelier = 1e-5

// ungrouped is a grid of places without groups.
func ungrouped(n int) []int { return slices.Repeat([]int{-1}, n) }

// measuredGroups is the number of groups with a measured place. The level of a
// single one is the constant of the straight line, and there is no second to
// compare it with.
func measuredGroups(points []point, groups []int) int {
	seen := map[int]bool{}
	for _, p := range points {
		if g := groups[p.at]; g >= 0 {
			seen[g] = true
		}
	}
	return len(seen)
}

// The search for the sizes runs over their logarithms between bounds, in units
// of the standard deviation of the values about their trend. At the lower
// bound of σ the smooth is a straight line to a hundredth of a degree of
// freedom; at that of τ the scatter is a thousandth of the whole, at that of ω
// the difference between texts. A size up to justAbove the bound is at it.
const (
	leastSize = 1e-3
	mostSize  = 10.0
	justAbove = 1.01
)

// straight is 4.73⁴/100, from the lowest frequency of a free beam: with
// σ² below straight × τ²/n⁴ a curve over n places bends by less than a
// hundredth of a degree of freedom.
const straight = 5.0

// A search minimises the criterion of a system over its sizes.
type search struct {
	system *system
	unit   float64 // standard deviation of the values about their trend
	levels bool    // over ω too; without, it is zero
}

// An evaluation is a place of the search, the sizes there and the criterion.
type evaluation struct {
	x []float64 // logarithms of τ, σ and, with levels, ω in units
	sizes
	criterion float64
}

// descents is the number of valleys that are gone into.
const descents = 2

// run searches by the simplex of Nelder and Mead (1965, Computer J. 7, 308–313).
// The likelihood may have several peaks (a smooth curve with much scatter or a
// rough one with little; jumps between texts or a curve that bends steeply at
// them), so that it first goes some way from the best of a coarse grid at each
// of several bends, then near the end from the best place reached, and to the end
// by Newton's method (polish.go).
func (s *search) run() (evaluation, error) {
	var starts []evaluation
	for _, bend := range []float64{0.1, 0.35, 0.55, 0.75} {
		starts = append(starts, s.bestOfGrid(bend))
	}
	slices.SortStableFunc(starts, func(a, b evaluation) int { return cmp.Compare(a.criterion, b.criterion) })
	best, err := starts[0], error(nil)
	if math.IsInf(best.criterion, 1) {
		return evaluation{}, errors.New("the wear curve could not be computed at any smoothing; check the readings for values far outside the others")
	}
	for _, start := range starts[:descents] {
		reached, err := s.descend(start, 1, someWay)
		if err != nil {
			return evaluation{}, err
		}
		if reached.criterion < best.criterion {
			best = reached
		}
	}
	if best, err = s.descend(best, 0.3, nearTheEnd); err != nil {
		return evaluation{}, err
	}
	return s.polish(best), nil
}

// bestOfGrid is the best place of a coarse grid at one bend, given as its share
// of the way between the bounds.
func (s *search) bestOfGrid(bend float64) evaluation {
	low, high := s.bounds()
	between := func(k int, share float64) float64 { return low[k] + share*(high[k]-low[k]) }
	best := evaluation{criterion: math.Inf(1)}
	try := func(x ...float64) {
		if t := s.try(x); t.criterion < best.criterion {
			best = t
		}
	}
	for _, scatter := range []float64{0.35, 0.6, 0.75} {
		if !s.levels {
			try(between(0, scatter), between(1, bend))
			continue
		}
		for _, level := range []float64{0.45, 0.6, 0.75} {
			try(between(0, scatter), between(1, bend), between(2, level))
		}
	}
	return best
}

// A descent stops when the criterion has fallen by less than this over so many
// steps.
var (
	someWay    = optimize.FunctionConverge{Absolute: 0.05, Iterations: 6}
	nearTheEnd = optimize.FunctionConverge{Absolute: 1e-4, Iterations: 12}
)

// sides are the sides of the first simplex in the logarithms of τ, σ and ω,
// about as wide as the likelihood is in each: that of τ, which hundreds of pages
// tell, is narrow, that of σ wide.
var sides = [3]float64{0.15, 0.7, 0.4}

// descend goes downhill from a place, with a first simplex of the given size.
func (s *search) descend(from evaluation, size float64, stop optimize.FunctionConverge) (evaluation, error) {
	if math.IsInf(from.criterion, 1) {
		return from, nil
	}
	simplex := &optimize.NelderMead{InitialVertices: [][]float64{from.x}, InitialValues: []float64{from.criterion}}
	for k := range from.x {
		x := slices.Clone(from.x)
		x[k] += size * sides[k]
		simplex.InitialVertices = append(simplex.InitialVertices, x)
		simplex.InitialValues = append(simplex.InitialValues, s.try(x).criterion)
	}
	problem := optimize.Problem{Func: func(x []float64) float64 { return s.try(x).criterion }}
	result, err := optimize.Minimize(problem, from.x, &optimize.Settings{FuncEvaluations: 400, Converger: &stop}, simplex)
	if err != nil && result == nil {
		return evaluation{}, fmt.Errorf("the wear curve's smoothing was not found (%w); measure more pages, or leave this book out", err)
	}
	return evaluation{result.X, s.at(result.X), result.F}, nil
}

func (s *search) try(x []float64) evaluation {
	t := evaluation{x, s.at(x), math.Inf(1)}
	if s.system.solve(t.sizes) {
		t.criterion = s.system.criterion()
	}
	return t
}

// at turns a place into sizes, held between the bounds.
func (s *search) at(x []float64) sizes {
	low, high := s.bounds()
	held := func(k int) float64 { return math.Exp(math.Min(high[k], math.Max(low[k], x[k]))) * s.unit }
	out := sizes{tau: held(0), sigma: held(1)}
	if s.levels {
		out.omega = held(2)
	}
	return out
}

// bounds are those of the logarithms of τ, σ and ω in units.
func (s *search) bounds() (low, high [3]float64) {
	n := float64(len(s.system.smooth))
	least, most := math.Log(leastSize), math.Log(mostSize)
	return [3]float64{least, 0.5 * math.Log(straight/math.Pow(n, 4)), least}, [3]float64{most, most, most}
}
