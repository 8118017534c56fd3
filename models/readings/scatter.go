package readings

import (
	"fmt"

	"gonum.org/v1/gonum/stat/distuv"
)

// oddity is the level of the tests that point out what does not fit: 1 %, at
// which ISO 5725-2:1994 (7.3.2.1) calls a value an outlier.
const oddity = 0.01

// exceeds is the one-sided p of the F test that a variance is no larger than
// another, each with its degrees of freedom.
func exceeds(variance, df, other, otherDF float64) float64 {
	if df <= 0 || otherDF <= 0 || other <= 0 {
		return 1
	}
	return distuv.F{D1: df, D2: otherDF}.Survival(variance / other)
}

// outlying names the cells of the repeatability that scatter more than all the
// others together: Cochran's test (ISO 5725-2:1994, 7.3.3) in the form for
// cells of unequal size, an F test of each cell against the rest at a level
// divided by the number of cells ('t Lam 2010, Analytica Chimica Acta 659,
// 68–84). They stay in the pool.
func (w *weighing) outlying() []string {
	var names []string
	runs(w.kept, sameCell, func(cell []placed) {
		if cell[0].Spot == darkestSpot {
			return
		}
		var own pool
		own.add(w.clear(cell), 1)
		if own.cells == 0 {
			return
		}
		rest := pool{squares: w.repeat.squares - own.squares, df: w.repeat.df - own.df}
		if own.variance() > rest.variance() &&
			exceeds(own.variance(), own.freedom(), rest.variance(), rest.freedom()) < oddity/float64(w.repeat.cells) {
			r := cell[0].Reading
			names = append(names, fmt.Sprintf("%s (%s, %s)", w.log.books[r.Book].PageCalled(w.log.pageLabel(r.Book, r.Page)), r.Target, r.Day))
		}
	})
	return names
}
