package readings

import (
	"math"
	"slices"
)

// addError works out the standard error and its degrees of freedom.
func (w *weighing) addError(out *Wear, entries []entry, e estimate, sat []weighted) {
	anew := 0.0
	for _, s := range sat {
		anew += s.weight * s.weight * w.shared.placing
	}
	var repeat, spot, search, excess float64
	var rounding sideSums
	var drift driftGradients
	for i := range entries {
		en, derivative := &entries[i], e.derivative[i]
		of := e.share[i] / en.variance
		spot += of * en.spot
		search += of * en.search
		repeat += of * (en.variance - en.share - en.spot - en.search)
		shared := en.share
		if e.limit != Measured && e.share[i] == 0 && derivative != 0 { // the bound itself is known to the last digit shown
			step := w.log.Instruments[en.instrument].Resolution
			shared = step * step / 12
		}
		rounding.add(en, derivative*math.Sqrt(shared))
		excess += derivative * en.excess
		if en.line >= 0 {
			drift.add(&w.drift.lines[en.line], en.line, derivative, en.value, en.hour)
		}
	}
	spreadError := excess * excess * w.spots.errorVariance()
	parts := []variancePart{
		{repeat + rounding.variance(), w.repeat.freedom()},
		{search, w.spots.searches.freedom()},
		{spot + spreadError, w.spots.df},
		{drift.variance(w.drift), w.drift.df},
		{anew, w.shared.placingDF},
	}
	out.SE, out.DF = combine(parts)
	for i, line := range drift.lines {
		if w.drift.lines[line].correction == DriftEither {
			out.Shared = append(out.Shared, Loading{Source: len(sourceNames), Level: line, Weight: drift.scales[i]})
		}
	}
}

// A variancePart is a variance with its degrees of freedom.
type variancePart struct{ variance, df float64 }

// combine gives the standard deviation of a sum of independent parts and its
// degrees of freedom by Satterthwaite (1946).
func combine(parts []variancePart) (sd, df float64) {
	total, squares := 0.0, 0.0
	for _, p := range parts {
		if p.variance > 0 {
			total += p.variance
			squares += p.variance * p.variance / p.df
		}
	}
	return math.Sqrt(total), total * total / squares
}

// sideSums adds up the rounding errors that the readings of a side (the
// placings of a block, or its zeros) on one instrument share.
type sideSums struct {
	keys []sideKey
	sums []float64
}

type sideKey struct {
	block, instrument int
	zero              bool
}

func (s *sideSums) add(e *entry, derivative float64) {
	key := sideKey{e.block, e.instrument, e.zero}
	at := slices.Index(s.keys, key)
	if at < 0 {
		at = len(s.keys)
		s.keys, s.sums = append(s.keys, key), append(s.sums, 0)
	}
	s.sums[at] += derivative
}

func (s *sideSums) variance() float64 {
	v := 0.0
	for _, sum := range s.sums {
		v += sum * sum
	}
	return v
}

// driftGradients adds up how a page's wear moves with the lines of the days on
// which it was read.
type driftGradients struct {
	lines                  []int
	levels, slopes, scales []float64
}

func (p *driftGradients) add(line *driftLine, index int, derivative, value, hour float64) {
	at := slices.Index(p.lines, index)
	if at < 0 {
		at = len(p.lines)
		p.lines, p.levels, p.slopes, p.scales = append(p.lines, index), append(p.levels, 0), append(p.slopes, 0), append(p.scales, 0)
	}
	level, slope, scale := line.gradient(value, hour)
	p.levels[at] += derivative * level
	p.slopes[at] += derivative * slope
	p.scales[at] += derivative * scale
}

func (p *driftGradients) variance(t driftTable) float64 {
	v := 0.0
	for i, at := range p.lines {
		v += t.lines[at].variance(p.levels[i], p.slopes[i], t.variance)
	}
	return v
}
