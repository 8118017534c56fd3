package readings

import (
	"math"
)

// A Precision is what the log says of the measuring itself, in the sense of
// ISO 5725-1:1994: standard deviations of density.
type Precision struct {
	// Repeatability is s_r, pooled over cells: readings of one target (the
	// fixed spot or the zero of a page) by one observer with one instrument on
	// one day. Cells with a reading at a limit are left out.
	Repeatability float64
	DF            float64 // degrees of freedom of Repeatability
	Cells         int     // with two readings or more
	// OnPage and OnZero are the repeatability on the thumbed places and on the
	// zeros alone, with their degrees of freedom; NaN with none.
	OnPage, OnZero     float64
	OnPageDF, OnZeroDF float64
	// Reproducibility is s_R, of single determinations by different observers
	// or instruments; NaN where no page was measured by two of them.
	Reproducibility float64
	Between         float64  // s_L, between observers or instruments; NaN likewise
	Levels          int      // pages that two or more of them measured
	Groups          []string // observers with their instruments
	// SpotSpread is the standard deviation between single readings on spots of
	// one page, repeatability included; NaN where not told or needed.
	SpotSpread   float64
	SpotSpreadDF float64 // NaN likewise; +Inf where the study gives the spread
	Spots        int     // spots logged one by one that tell it; 0 where the study gives it
	// TileSD is the standard deviation of tile readings about their day's
	// drift line; NaN without tile readings.
	TileSD, TileDF float64
}

// A determination is the result of one laboratory (in ISO 5725: one observer
// with one instrument) for one level (here: one page).
type determination struct {
	value    float64
	variance float64 // under repeatability
}

// betweenPool gathers, level by level, what the laboratories differ by.
type betweenPool struct {
	excess float64 // Σ p (y − ȳ)² less its expectation under repeatability, p = 1/variance
	weight float64 // Σp − Σp²/Σp
	levels int
}

// add puts in the determinations of a level; one alone says nothing.
func (b *betweenPool) add(level []determination) {
	if len(level) < 2 {
		return
	}
	sum, squares, mean := 0.0, 0.0, 0.0
	for _, d := range level {
		p := 1 / d.variance
		sum += p
		squares += p * p
		mean += p * d.value
	}
	mean /= sum
	for _, d := range level {
		b.excess += (d.value - mean) * (d.value - mean) / d.variance
	}
	b.excess -= float64(len(level) - 1)
	b.weight += sum - squares/sum
	b.levels++
}

// variance is s_L² of ISO 5725-2:1994, 7.4.5.4 (equations 20 to 22): the
// variance of the laboratories' means over that which repeatability explains,
// by the one-way analysis, with 1/variance in the place of the number of
// results so that the zero's own error counts too; pooled over levels. It may
// be negative, which stands for none.
func (b *betweenPool) variance() float64 {
	if b.weight == 0 {
		return math.NaN()
	}
	return b.excess / b.weight
}
