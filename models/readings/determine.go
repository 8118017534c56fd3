package readings

import "math"

// A Determination is the wear of one page from one sitting.
type Determination struct {
	Wear, SE float64 // density; where Limit is set, of the bound
	Limit    Limit
}

// A Determiner turns what an instrument showed of a page in one sitting into
// the page's wear.
type Determiner struct {
	in          Instrument
	own, shared [2]float64 // variances of one placing, on the page and on the zero: its own, and what rounding adds to all alike
}

// Determiner makes one for placings whose standard deviations as shown, on the
// thumbed place and on the zero, are known.
func (in Instrument) Determiner(pageSD, zeroSD float64) Determiner {
	d := Determiner{in: in}
	for side, sd := range [2]float64{pageSD, zeroSD} {
		d.own[side] = sd * sd
		if in.Resolution > 0 {
			d.shared[side] = roundingShare(sd, in.Resolution)
		}
	}
	return d
}

// Of gives the wear of a page from what was shown (densities; at least one of
// each). It is what [Log.Wear] does with such a sitting in a log of many, without
// drift, which both share. ok is false where the readings give not even a bound.
func (d *Determiner) Of(page, zero []float64) (of Determination, ok bool) {
	data := make([]datum, 0, len(page)+len(zero))
	for _, v := range page {
		data = append(data, datum{value: v, variance: d.own[0] + d.shared[0], limit: d.in.Limit(v)})
	}
	for _, v := range zero {
		data = append(data, datum{value: v, variance: d.own[1] + d.shared[1], limit: d.in.Limit(v), zero: true})
	}
	e, ok := solve(data, 1)
	if !ok {
		return Determination{}, false
	}
	variance := 0.0
	sums := [2]float64{}
	for i, reading := range data {
		side := 0
		if reading.zero {
			side = 1
		}
		rounding := d.shared[side]
		variance += e.share[i] * (1 - rounding/reading.variance) // the part of its own
		if e.limit != Measured && e.share[i] == 0 {              // the bound itself is known to the last digit shown
			rounding = d.in.Resolution * d.in.Resolution / 12
		}
		sums[side] += e.derivative[i] * math.Sqrt(rounding)
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
