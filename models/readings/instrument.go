package readings

import "math"

// An Instrument is one reflection densitometer and its reference tile.
type Instrument struct {
	ID         string
	Floor      float64 // density; values at or below are limits
	Ceiling    float64 // density; values at or above are limits
	Resolution float64 // the last digit shown, a density
	Tile       float64 // certified density of its reference tile; NaN where none
	// StatedSD is the standard deviation of one reading where these come from elsewhere, as
	// their source states it; 0 for an instrument whose log tells.
	StatedSD    float64
	ConvertedTo string // id of the instrument to whose scale its readings are converted; empty: none

	line int // of its row
}

// nearly is the density within which a value counts as standing exactly at a
// floor, a ceiling or a step of the scale: far below any densitometer's last
// digit, far above the rounding of decimal fractions.
const nearly = 1e-9

// Limit tells whether a density shown by the instrument is a number, or only
// says that the page is at most as dark as its floor or at least as dark as
// its ceiling.
func (in Instrument) Limit(density float64) Limit {
	switch {
	case density <= in.Floor+nearly:
		return Below
	case density >= in.Ceiling-nearly:
		return Above
	}
	return Measured
}

// Shows tells whether the instrument can show this density at all.
func (in Instrument) Shows(density float64) bool {
	return density >= in.Floor-nearly && density <= in.Ceiling+nearly
}

// OnScale tells whether the density is a whole number of the instrument's
// steps.
func (in Instrument) OnScale(density float64) bool {
	steps := density / in.Resolution
	return math.Abs(steps-math.Round(steps))*in.Resolution < nearly
}
