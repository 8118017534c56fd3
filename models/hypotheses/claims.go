package hypotheses

import "thumbed/models/student"

// Interval is the interval of the effect that holds the truth with probability
// 1 − level, by Student's t.
func (a Answer) Interval(level float64) (low, high float64) {
	reach := student.Quantile(1-level/2, a.Effect.DF) * a.Effect.SE
	return a.Effect.Estimate - reach, a.Effect.Estimate + reach
}

// Claims tells what the interval of a level claims by itself, before any
// adjustment: that there is an effect in the asked direction (the whole interval
// lies beyond zero), and that any such effect is too small to matter (the whole
// interval lies short of the smallest that would; never where the question
// states nothing to fall short of). Both may be: an effect too small to matter.
func (a Answer) Claims(level float64) (there, small bool) {
	a.Effect.Low, a.Effect.High = a.Interval(level)
	return a.beyond(0), a.Against != nil && a.shortOfMattering()
}

// At is the answer with its interval at another level and a verdict read from that.
func (a Answer) At(level float64) Answer {
	a.Level = level
	a.settle()
	return a
}
