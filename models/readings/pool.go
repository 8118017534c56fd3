package readings

import (
	"math"

	"gonum.org/v1/gonum/stat"
)

// A pool gathers the scatter inside cells: groups of values that differ by
// measuring error alone.
type pool struct {
	squares float64 // sum of squares about the cells' own means, density²
	df      int     // values less cells
	cells   int     // cells with two values or more
}

// add puts in a cell; its squares are divided by scale. A cell of one value
// says nothing.
func (p *pool) add(values []float64, scale float64) {
	if len(values) < 2 {
		return
	}
	mean := stat.Mean(values, nil)
	for _, v := range values {
		p.squares += (v - mean) * (v - mean) / scale
	}
	p.df += len(values) - 1
	p.cells++
}

// join puts in all of another pool.
func (p *pool) join(q pool) {
	p.squares += q.squares
	p.df += q.df
	p.cells += q.cells
}

// variance is the pooled variance, density²; NaN where no cell has two values.
func (p *pool) variance() float64 {
	if p.df == 0 {
		return math.NaN()
	}
	return p.squares / float64(p.df)
}

func (p *pool) sd() float64 { return math.Sqrt(p.variance()) }

// freedom is the degrees of freedom as a number.
func (p *pool) freedom() float64 { return float64(p.df) }
