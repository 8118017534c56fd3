package readings

import "math"

// A Determination is the wear of one page from one sitting.
type Determination struct {
	Wear, SE float64 // density; where Limit is set, of the bound
	Limit    Limit
}

// Determine gives the wear of a page from what the instrument showed in one
// sitting, on the thumbed place and on the zero (densities; at least one of
// each), each with a standard deviation of one placing that is known. It is what
// [Log.Wear] does with such a sitting in a log of many, without drift, which both
// share. ok is false where the readings give not even a bound.
func (in Instrument) Determine(page, zero []float64, pageSD, zeroSD float64) (d Determination, ok bool) {
	data := make([]datum, 0, len(page)+len(zero))
	shared := [2]float64{roundingShare(pageSD, in.Resolution), roundingShare(zeroSD, in.Resolution)}
	for _, v := range page {
		data = append(data, datum{value: v, variance: pageSD*pageSD + shared[0], limit: in.limit(v)})
	}
	for _, v := range zero {
		data = append(data, datum{value: v, variance: zeroSD*zeroSD + shared[1], limit: in.limit(v), zero: true})
	}
	e, ok := solve(data, 1)
	if !ok {
		return Determination{}, false
	}
	variance := 0.0
	sums := [2]float64{}
	for i, d := range data {
		side := 0
		if d.zero {
			side = 1
		}
		rounding := shared[side]
		variance += e.share[i] * (1 - rounding/d.variance) // the part of its own
		if e.limit != Measured && e.share[i] == 0 {        // the bound itself is known to the last digit shown
			rounding = in.Resolution * in.Resolution / 12
		}
		sums[side] += e.pull[i] * math.Sqrt(rounding)
	}
	for _, sum := range sums {
		variance += sum * sum
	}
	return Determination{Wear: e.wear, SE: math.Sqrt(variance), Limit: e.limit}, true
}

// Show gives what the instrument shows of a density: rounded to its last digit,
// and no lower than its floor nor higher than its ceiling.
func (in Instrument) Show(density float64) float64 {
	if in.Resolution > 0 {
		density = math.Round(density/in.Resolution) * in.Resolution
	}
	return math.Min(math.Max(density, in.Floor), in.Ceiling)
}
