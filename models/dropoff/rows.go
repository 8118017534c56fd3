package dropoff

import (
	"math"

	"gonum.org/v1/gonum/stat"
)

// rows are the rows of a series as quadratics in the level, in units of the
// noise's variance. A segment's misfit to a level is the quadratic of its
// first row on its own and those of the others given the row before each:
// with independent noise the two are the same. Noise is taken to begin afresh
// with each segment.
type rows struct {
	n     int
	first []quadratic // of row i (from 1) on its own
	link  []quadratic // of row i given row i−1, both of one level
	sums  []quadratic // of link, rows 1 to i
	// start is what beginning a segment with row i adds to −2 log likelihood
	// beside the misfit: the logarithm of the variance of the row on its own
	// less that of the row given the one before.
	start []float64
	// weight is the sum of the inverse variances of the rows.
	weight float64
	// logs is the sum of the logarithms of the links' variances.
	logs float64
	// centre, the mean, is subtracted from all values first, so that sums of squares
	// stay exact.
	centre    float64
	low, high float64 // smallest and largest value, centre subtracted
}

// newRows makes the rows of a series with the given noise.
func newRows(s Series, v noise) rows { return newSquares(s, v, true) }

// newSquares is newRows, without logarithms where none are asked for.
func newSquares(s Series, v noise, logs bool) rows {
	n := len(s.Values)
	r := rows{n: n, first: make([]quadratic, n+1), sums: make([]quadratic, n+1), start: make([]float64, n+1)}
	low, high := bounds(s.Values)
	r.centre = stat.Mean(s.Values, nil)
	r.low, r.high = low-r.centre, high-r.centre
	for i := 1; i <= n; i++ {
		r.first[i] = square(1, s.Values[i-1]-r.centre, v.variance(i))
		r.weight += r.first[i].a
	}
	r.link = r.first
	if v.rho > 0 {
		r.link = make([]quadratic, n+1)
	}
	for i := 1; i <= n; i++ {
		share, rest := v.link(s, i)
		if v.rho > 0 {
			r.link[i] = r.first[i]
		}
		if share > 0 {
			r.link[i] = square(1-share, s.Values[i-1]-r.centre-share*(s.Values[i-2]-r.centre), rest)
			if logs {
				r.start[i] = math.Log(v.variance(i) / rest)
			}
		}
		if logs {
			r.logs += math.Log(rest)
		}
		r.sums[i] = r.sums[i-1].plus(r.link[i])
	}
	return r
}

// square is (kθ − z)² over a variance, as a quadratic in θ.
func square(k, z, variance float64) quadratic {
	return quadratic{k * k / variance, k * z / variance, z * z / variance}
}

// between sums the links of rows from+1 to to.
func (r *rows) between(from, to int) quadratic { return r.sums[to].minus(r.sums[from]) }

// segment is the misfit of the segment of rows from+1 to to.
func (r *rows) segment(from, to int) quadratic {
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
// segments but the last, and what else it adds to −2 log likelihood.
func (r rows) total(places []int) (misfit, logs float64) {
	from, logs := 0, r.logs
	for _, to := range append(places[:len(places):len(places)], r.n) {
		misfit += r.misfit(from, to)
		logs += r.start[from+1]
		from = to
	}
	return misfit, logs
}

func filled(n int, v float64) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = v
	}
	return out
}

var inf = math.Inf(1)
