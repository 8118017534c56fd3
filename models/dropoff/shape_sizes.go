package dropoff

import (
	"math"
	"thumbed/models/student"

	"gonum.org/v1/gonum/stat/distuv"
)

// A Size is one way in which the pieces on either side of a change differ, later
// less earlier or, for a ratio, later over earlier.
//
// Value is that at the place found. The 95 % interval leaves out 2½ % on either
// side of a mixture: over the places that the change may have, the others as
// found, and over the correlation of the noise, each with its probability. In each
// a difference is distributed as Student's t about its least-squares estimate,
// measuring errors and autoregression in its variance; where pieces scatter
// differently with the degrees of freedom of Welch (1947, Biometrika 34, 28–35);
// and a ratio of scatters as that of the mean squares times the root of an F
// variate.
type Size struct {
	// jump: the new line at its first row less the old line carried on to that row;
	// change of slope: by position; difference of means: new level less old level; ratio
	// of scatters: new standard deviation over old
	Of    string  `json:"of" words:"jump / change of slope / difference of means / ratio of scatters"`
	Value float64 `json:"value" unit:"of the values; of the values by position for a slope; none for a ratio"` // the size at the place found
	Low   float64 `json:"low"`                                                                                 // lower end of its 95 % interval, averaged over the place and the correlation of neighbouring rows
	High  float64 `json:"high"`                                                                                // upper end of that interval
}

// What sizes are of.
const (
	jump           = "jump"                // of the line at its first row over the line before it carried on to that row
	slopeChange    = "change of slope"     // of what is expected more from one position to the next
	meanDifference = "difference of means" // of levels
	scatterRatio   = "ratio of scatters"   // of standard deviations of rows about their level
)

// An estimate is a value and how it is spread: as Student's t with df degrees of
// freedom and scale se; or, where df2 is not 0, as value times the root of an F
// variate with df and df2 degrees of freedom.
type estimate struct{ value, se, df, df2 float64 }

// below is the probability of less than x.
func (e estimate) below(x float64) float64 {
	switch {
	case e.df2 > 0 && x <= 0:
		return 0
	case e.df2 > 0:
		ratio := x / e.value
		return distuv.F{D1: e.df, D2: e.df2}.CDF(ratio * ratio)
	case e.se == 0 && x < e.value:
		return 0
	case e.se == 0:
		return 1
	}
	return student.CDF((x-e.value)/e.se, e.df)
}

// quantile is where a share p lies below.
func (e estimate) quantile(p float64) float64 {
	if e.df2 > 0 {
		return e.value * math.Sqrt(distuv.F{D1: e.df, D2: e.df2}.Quantile(p))
	}
	return e.value + e.se*student.Quantile(p, e.df)
}

// A component is an estimate with its weight in a mixture.
type component struct {
	weight float64
	estimate
}

// A mixture is a distribution of estimates.
type mixture []component

// interval is the central one of 95 %, widened where needed to hold a value.
func (m mixture) interval(value float64) (low, high float64) {
	const tail = 0.025
	return min(m.quantile(tail), value), max(m.quantile(1-tail), value)
}

// quantile is where a share p of the mixture lies below: between the least and the
// largest of its components' quantiles.
func (m mixture) quantile(p float64) float64 {
	low, high, total := inf, -inf, 0.0
	for _, c := range m {
		at := c.quantile(p)
		low, high, total = min(low, at), max(high, at), total+c.weight
	}
	if low == high {
		return low
	}
	return bisect(low, high, func(x float64) bool {
		below := 0.0
		for _, c := range m {
			below += c.weight * c.below(x)
		}
		return below < p*total
	})
}
