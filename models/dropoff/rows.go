package dropoff

import (
	"math"

	"gonum.org/v1/gonum/stat"
)

// rows are the rows of a series as quadratics in the level, in units of the
// noise's variance. A segment's misfit to a level is the quadratic of its
// first row on its own and those of the others given the row before each:
// with independent noise the two are the same.
type rows struct {
	n     int
	first []quadratic // of row i (from 1) on its own
	link  []quadratic // of row i given row i−1, both of one level
	sums  []quadratic // of link, rows 1 to i
	// centre, the mean, is taken off all values first, so that sums of squares
	// stay exact.
	centre    float64
	low, high float64 // smallest and largest value, centre taken off
}

// newRows makes the rows of values with noise of the given standard
// deviations.
func newRows(values, sd []float64) rows {
	n := len(values)
	r := rows{n: n, first: make([]quadratic, n+1), sums: make([]quadratic, n+1)}
	low, high := bounds(values)
	r.centre = stat.Mean(values, nil)
	r.low, r.high = low-r.centre, high-r.centre
	for i, v := range values {
		w, y := 1/(sd[i]*sd[i]), v-r.centre
		r.first[i+1] = quadratic{w, w * y, w * y * y}
		r.sums[i+1] = r.sums[i].plus(r.first[i+1])
	}
	r.link = r.first
	return r
}

// between sums the links of rows from+1 to to.
func (r rows) between(from, to int) quadratic { return r.sums[to].minus(r.sums[from]) }

// segment is the misfit of the segment of rows from+1 to to.
func (r rows) segment(from, to int) quadratic {
	return r.first[from+1].plus(r.between(from+1, to))
}

// misfit is the smallest misfit of the segment of rows from+1 to to, summed
// about the level itself so that nothing cancels.
func (r rows) misfit(from, to int) float64 {
	level := r.segment(from, to).level()
	sum := r.first[from+1].about(level)
	for i := from + 2; i <= to; i++ {
		sum += r.link[i].about(level)
	}
	return sum
}

// about is the misfit of one row to a level: a row's quadratic is a perfect
// square and is taken as one.
func (q quadratic) about(level float64) float64 {
	d := q.a*level - q.b
	return d * d / q.a
}

// total is the misfit of a segmentation, given as the last rows of all its
// segments but the last.
func (r rows) total(places []int) float64 {
	sum, from := 0.0, 0
	for _, to := range places {
		sum += r.misfit(from, to)
		from = to
	}
	return sum + r.misfit(from, r.n)
}

func filled(n int, v float64) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = v
	}
	return out
}

var inf = math.Inf(1)
