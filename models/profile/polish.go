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
	apart      = 0.03 // in the logarithm of a size: between the places that derivatives are taken from, wide enough that rounding is nothing beside the differences
	polished   = 1e-7 // of the logarithms of all sizes, at the last step; what is left is of its square
	mostPolish = 12
	longest    = 0.5  // step
	flat       = 1e-6 // in −2 log likelihood: where a size at its lower bound does as well as this, it is there
)

// polish goes from a place near a minimum to the minimum. Where Newton's steps
// lead nowhere the place stays what it was.
func (s *search) polish(from trial) trial {
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
func (s *search) newton(from trial, free []bool) trial {
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
	for range mostPolish {
		step, ok := s.newtonStep(at, over)
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

// newtonStep is the inverse of the second derivatives times the slope, by central
// differences of second and of fourth order (Abramowitz and Stegun 1964, table
// 25.2); not ok where the criterion does not bend upwards.
func (s *search) newtonStep(at trial, over []int) (step []float64, ok bool) {
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
	for i := range n {
		up, down := beside(i, apart, i, 0), beside(i, -apart, i, 0)
		wide := beside(i, 2*apart, i, 0) - beside(i, -2*apart, i, 0)
		slope.SetVec(i, (8*(up-down)-wide)/(12*apart))
		bend.SetSym(i, i, (up-2*at.criterion+down)/(apart*apart))
		for j := range i {
			cross := beside(i, apart, j, apart) - beside(i, apart, j, -apart) - beside(i, -apart, j, apart) + beside(i, -apart, j, -apart)
			bend.SetSym(i, j, cross/(4*apart*apart))
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
