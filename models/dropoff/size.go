package dropoff

import (
	"math"

	"thumbed/models/student"
)

// sizeError is the standard error of the difference of two levels and its degrees of
// freedom: their own scatter, and what they share unlike of the errors of days,
// observers and instruments. Where the measuring does not change hands between them,
// both share the same and nothing is added; hands tells whether it does.
func (out *Changes) sizeError(old, new Level, s Series) (se, df float64, hands bool) {
	own := old.SE*old.SE + new.SE*new.SE
	if s.Shared == nil {
		return math.Sqrt(own), out.DF, false
	}
	weights := make([]float64, out.N)
	for i := old.From; i <= old.To; i++ {
		weights[i-1] = -1 / float64(old.To-old.From+1)
	}
	for i := new.From; i <= new.To; i++ {
		weights[i-1] = 1 / float64(new.To-new.From+1)
	}
	shared, sharedDF := s.Shared.of(weights)
	if shared == 0 {
		return math.Sqrt(own), out.DF, false
	}
	se, df = withShared(own, out.DF, shared, sharedDF)
	return se, df, true
}

// leastReported is about how large a change must be, in its standard errors, to be
// reported where one of t of them has the probability none of not being there: 0 where
// it is not reported for its probability. A change is claimed from a probability of
// [doubtful], and told at all from [Likely]. The logarithm of its odds begins at what they
// are beforehand and grows with the square of t.
func leastReported(t, none, beforehand float64) float64 {
	odds := func(none float64) float64 { return math.Log((1-none)/none) - math.Log(beforehand/(1-beforehand)) }
	asked := doubtful
	if 1-none < asked {
		asked = Likely
	}
	if none == 0 || 1-none < asked {
		return 0
	}
	return math.Abs(t) * math.Sqrt(max(odds(1-asked), 0)/odds(none))
}

// reportedInterval is the 95 % interval of a size of which one smaller than least would
// not have been reported. Sizes near that are those that chance made larger, so that the
// interval's end towards zero is the size of which 2½ % of those reported come out as
// large as this one (Zhong and Prentice 2008, Biostatistics 9, 621–634; Weinstein,
// Fithian and Benjamini 2013, J. Am. Stat. Assoc. 108, 165–176), but not beyond zero: of
// a change near the least that can be seen the rows tell no more than its direction. The
// other end is the usual one. Far from least both are.
func reportedInterval(size, se, df, least float64) (low, high float64) {
	const tail = 0.025
	half := student.Half(1-2*tail, df) * se
	if least == 0 || least >= math.Abs(size) {
		return size - half, size + half
	}
	beyond := func(at, truth float64) float64 { return student.CDF((truth-at)/se, df) }
	asLarge := func(truth float64) bool { // too small to come out like this among those reported
		return beyond(math.Abs(size), truth) < tail*(beyond(least, truth)+beyond(least, -truth))
	}
	near := 0.0
	if asLarge(0) {
		near = bisect(0, math.Abs(size), asLarge)
	}
	near = min(near, math.Abs(size)-half)
	if size < 0 {
		return size - half, -near
	}
	return near, size + half
}
