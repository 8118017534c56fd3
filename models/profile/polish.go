package profile

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// The simplex stops somewhere near the minimum, and the last bit of a sum decides
// where. Newton's method takes over from there, so that the sizes are the same to
// the digits that anybody sees on every processor.
const (
	apart      = 0.03 // in the logarithm of a size: least distance between the places that derivatives are taken from
	mostApart  = 0.5  // greatest; see widths
	within     = 0.5  // by how much −2 log likelihood rises over twice that distance, where both allow it
	polished   = 1e-5 // of the logarithms of all sizes, at the last step; what is left is a thousandth of it
	mostPolish = 12
	longest    = 0.5  // step
	flat       = 1e-6 // in −2 log likelihood: where a size at its lower bound does as well as this, it is there
)

// polish goes from a place near a minimum to the minimum. Where Newton's steps
// lead nowhere the place stays what it was.
func (s *search) polish(from evaluation) evaluation {
	low, _ := s.bounds()
	free := make([]bool, len(from.x))
	for k := range free {
		free[k] = from.x[k] > low[k]+math.Log(justAbove)
	}
	to := s.newton(from, free)
	for k := range free {
		if !free[k] {
			continue
		}
		x := slices.Clone(to.x)
		x[k] = low[k]
		if at := s.try(x); at.criterion <= to.criterion+flat {
			free[k] = false
			to = s.newton(at, free)
		}
	}
	return to
}

// newton goes to the minimum over the free sizes; the others are at their lower
// bounds.
func (s *search) newton(from evaluation, free []bool) evaluation {
	low, high := s.bounds()
	var over []int
	x := slices.Clone(from.x)
	for k := range x {
		if free[k] {
			over = append(over, k)
		} else {
			x[k] = low[k]
		}
	}
	at := s.try(x)
	width := s.widths(at, over)
	for range mostPolish {
		step, ok := s.newtonStep(at, over, width)
		if !ok {
			return at
		}
		x, long := slices.Clone(at.x), 0.0
		for i, k := range over {
			x[k] = math.Max(low[k], math.Min(high[k], x[k]-step[i]))
			long = math.Max(long, math.Abs(step[i]))
		}
		next := s.try(x)
		if !(next.criterion <= at.criterion+flat) {
			return at
		}
		at = next
		if long < polished {
			return at
		}
	}
	return at
}

// widths are the distances between the places that derivatives are taken from, one a
// size. Where the sizes are so small that the curve is nearly straight, rounding moves
// the criterion by some 1e-7, and over a flat stretch it would decide where the slope
// is nothing: there they are far apart, as far as the bounds leave room.
func (s *search) widths(at evaluation, over []int) []float64 {
	low, high := s.bounds()
	out := make([]float64, len(over))
	for i, k := range over {
		beside := func(by float64) float64 {
			x := slices.Clone(at.x)
			x[k] += by
			return s.try(x).criterion
		}
		bend := (beside(apart) - 2*at.criterion + beside(-apart)) / (apart * apart)
		out[i] = math.Max(apart, math.Min(mostApart, within/math.Sqrt(math.Max(bend, within*within))))
		out[i] = math.Max(apart, math.Min(out[i], 0.5*math.Min(at.x[k]-low[k], high[k]-at.x[k])))
	}
	return out
}

// newtonStep is the inverse of the second derivatives times the slope, by central
// differences of second and of fourth order (Abramowitz and Stegun 1964, table
// 25.2); not ok where the criterion does not bend upwards.
func (s *search) newtonStep(at evaluation, over []int, width []float64) (step []float64, ok bool) {
	n := len(over)
	if n == 0 {
		return nil, false
	}
	beside := func(i int, by float64, j int, also float64) float64 {
		x := slices.Clone(at.x)
		x[over[i]] += by
		x[over[j]] += also
		return s.try(x).criterion
	}
	slope := mat.NewVecDense(n, nil)
	bend := mat.NewSymDense(n, nil)
	for i, h := range width {
		up, down := beside(i, h, i, 0), beside(i, -h, i, 0)
		wide := beside(i, 2*h, i, 0) - beside(i, -2*h, i, 0)
		slope.SetVec(i, (8*(up-down)-wide)/(12*h))
		bend.SetSym(i, i, (up-2*at.criterion+down)/(h*h))
		for j, g := range width[:i] {
			cross := beside(i, h, j, g) - beside(i, h, j, -g) - beside(i, -h, j, g) + beside(i, -h, j, -g)
			bend.SetSym(i, j, cross/(4*h*g))
		}
	}
	var factor mat.Cholesky
	if !factor.Factorize(bend) {
		return nil, false
	}
	var out mat.VecDense
	if factor.SolveVecTo(&out, slope) != nil {
		return nil, false
	}
	step = slices.Clone(out.RawVector().Data)
	if length := mat.Norm(&out, 2); length > longest {
		for i := range step {
			step[i] *= longest / length
		}
	}
	return step, true
}
