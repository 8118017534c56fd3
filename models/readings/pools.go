package readings

import (
	"errors"
	"math"
	"slices"

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

// pool gathers the repeatability and the spread between spots from all cells
// that keep clear of the instruments' limits.
func (w *weighing) pool() error {
	w.pools = w.gather()
	first := w.pools
	w.margin = &first
	if clear := w.gather(); clear.repeat.df > 0 {
		w.pools = clear
	} else {
		w.margin = nil
	}
	if w.repeat.df == 0 {
		w.takeStated()
	}
	if w.repeat.df == 0 && w.repeatedAtLimit() {
		return errors.New("every zero and every fixed spot with two readings or more stands at the floor or the ceiling of its instrument, so nothing tells how well readings repeat, and no standard error can be given; check the floor and the ceiling in the table of instruments, or place the instrument at least twice on some spots whose density lies between them")
	}
	if w.repeat.df == 0 {
		return errors.New("no page and no zero has two readings by one observer with one instrument on one day, so nothing tells how well readings repeat, and no standard error can be given; place the instrument at least twice on the zero or the fixed spot of some pages, and log each placing as its own row")
	}
	w.share = make([]float64, len(w.log.Instruments))
	for i, in := range w.log.Instruments {
		w.share[i] = roundingShare(w.repeat.sd(), in.Resolution)
	}
	w.drift.settle(w.log, w.repeat)
	return nil
}

// takeStated takes the stated error of readings that all come from elsewhere in the place
// of a repeatability, as known.
func (w *weighing) takeStated() {
	sum, n := 0.0, 0
	for _, p := range w.kept {
		sd := w.log.Instruments[p.Instrument].StatedSD
		if sd == 0 {
			return
		}
		sum, n = sum+sd*sd, n+1
	}
	const known = 1_000_000 // degrees of freedom
	w.stated = true
	w.repeat = pool{squares: sum / float64(n) * known, df: known}
}

// repeatedAtLimit tells whether spots were read again only at a limit.
func (w *weighing) repeatedAtLimit() bool {
	found := false
	runs(w.kept, sameCell, func(cell []placed) {
		atLimit := slices.ContainsFunc(cell, func(p placed) bool { return p.Limit != Measured })
		found = found || (atLimit && len(cell) > 1 && cell[0].Spot != darkestSpot)
	})
	return found
}

// pools hold what the cells of a log scatter.
type pools struct {
	onPage, onZero pool // repeatability, by target
	repeat         pool // both
	singles        pool // spots of a page, logged one by one
	searches       pool // repeated searches for the darkest spot, in units of the variance of the largest
}

// clearance is how many standard deviations the mean of a cell must keep from
// a limit. Cells that meet a limit are no measure of scatter, and to pool only
// those of their neighbours that happen not to would make it look too small.
const clearance = 3

// gather pools the cells that [weighing.clear] lets through.
func (w *weighing) gather() pools {
	var p pools
	runs(w.kept, sameCell, func(cell []placed) {
		if cell[0].Spot != darkestSpot {
			p.like(cell).add(w.clear(cell), 1)
			return
		}
		runs(cell, sameTried, func(searches []placed) {
			scale := 1.0
			if n := searches[0].Tried; n > 1 {
				scale = w.spots.of(n).variance
			}
			p.like(searches).add(w.clear(searches), scale)
		})
	})
	p.repeat.join(p.onPage)
	p.repeat.join(p.onZero)
	return p
}

// like gives the pool that cells such as this one go into.
func (p *pools) like(cell []placed) *pool {
	switch {
	case cell[0].Target == OnZero:
		return &p.onZero
	case cell[0].Spot == Fixed:
		return &p.onPage
	case cell[0].Tried > 1:
		return &p.searches
	}
	return &p.singles
}

// clear gives the values of a cell that meets no limit and, once a first pool
// tells how far readings scatter, keeps clear of the limits; else none. The values hold
// until those of another cell are asked for.
func (w *weighing) clear(cell []placed) []float64 {
	if w.log.Instruments[cell[0].Instrument].StatedSD > 0 {
		return nil // stated, not told by the log
	}
	values := w.values[:0]
	mean := 0.0
	for i := range cell {
		p := &cell[i]
		if p.Limit != Measured {
			return nil
		}
		values = append(values, p.value)
		mean += p.Density / float64(len(cell))
	}
	w.values = values
	if w.margin == nil {
		return values
	}
	if scatter := w.margin.like(cell); scatter.df > 0 {
		in, margin := w.log.Instruments[cell[0].Instrument], clearance*scatter.sd()
		if mean-margin < in.Floor || mean+margin > in.Ceiling {
			return nil
		}
	}
	return values
}
