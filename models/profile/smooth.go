package profile

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat"

	"thumbed/models/readings"
)

// The smoother is Whittaker's (1923, Proc. Edinburgh Math. Soc. 41, 63–75;
// Eilers 2003, Anal. Chem. 75, 3631–3636) read as a mixed model (Ruppert, Wand
// and Carroll 2003, section 4.9), with a random level for each text beside it.
// Along the grid of all positions of the book, lost ones too, the smooth z has
// independent normal second differences of variance σ², its straight line being
// free. Page i at position p(i), in the text g(i), reads
//
//	y_i = z_p(i) + v_g(i) + u_i + e_i,   v_g ~ N(0, ω²),   u_i ~ N(0, τ²),   e_i ~ N(0, s_i²),
//
// with levels v of the texts, scatter τ between pages and the known error s_i of
// measuring. σ², ω² and τ² are those of the greatest restricted likelihood. What
// is wanted is the expectation z + v and its variance (system.go).
//
// Where the likelihood is greatest at ω = 0 the curve is the smooth by itself,
// with the level solving (σ²W + D'D) z = σ²W y: W is the diagonal of
// 1/(τ² + s_i²) at measured positions and D the second differences.
//
// Pages at an instrument's limit enter by their own likelihood (limit.go); the
// restricted likelihood is then Laplace's approximation to it (Wood 2011,
// J. R. Stat. Soc. B 73, 3–36, section 2), which is exact without them.

// A point is one page on the smoother's grid.
type point struct {
	at       int     // place on the grid, from 0
	value    float64 // density; the bound where limit is set
	variance float64 // of measuring
	limit    readings.Limit
}

// A smoothed is the smoother at its best sizes.
type smoothed struct {
	level    []float64 // expectation of a page, one a grid place
	variance []float64 // of level
	bend     float64   // σ, standard deviation of second differences
	scatter  float64   // τ; 0 where at its lower bound
	between  float64   // ω; 0 where the texts have no levels of their own
	edf      float64
	logLik   float64 // restricted
}

// smooth fits the expectation along a grid of places, each in the group given
// for it, or in none (−1). Groups of which no place is measured have a level
// that is known only to be one of those of the book.
func smooth(points []point, groups []int) (*smoothed, error) {
	n := len(groups)
	if n < 3 {
		return nil, fmt.Errorf("a curve needs a book of at least 3 pages; this one has %d: leave it out", n)
	}
	line, points := takeLine(points)
	unit := spread(points)
	sys, err := fit(points, groups, unit)
	if err != nil {
		return nil, err
	}
	out := &smoothed{bend: sys.sigma, scatter: sys.tau, between: sys.omega, logLik: -0.5 * sys.criterion()}
	if sys.tau <= justAbove*leastSize*unit {
		out.scatter = 0
	}
	out.variance = sys.variances()
	for i := range points {
		out.edf += sys.weight[i] * out.variance[points[i].at]
	}
	out.level = make([]float64, n)
	for i := range out.level {
		out.level[i] = sys.mean(i) + line.at(i)
	}
	return out, nil
}

// A straightLine is a + b × place.
type straightLine struct{ a, b float64 }

func (l straightLine) at(place int) float64 { return l.a + l.b*float64(place) }

// takeLine takes the least-squares line of the values off all points. The
// penalty does not see a straight line, so the fit is the same; the rest is
// small, and the band equations keep their digits.
func takeLine(points []point) (straightLine, []point) {
	var x, y []float64
	for _, p := range points {
		if p.limit == readings.Measured {
			x, y = append(x, float64(p.at)), append(y, p.value)
		}
	}
	var line straightLine
	line.a, line.b = stat.LinearRegression(x, y, nil, false)
	rest := make([]point, len(points))
	for i, p := range points {
		rest[i] = p
		rest[i].value -= line.at(p.at)
	}
	return line, rest
}

// spread is the size of the values about their line, the unit of the search;
// where they do not differ it is the error of measuring, or a ten-thousandth
// density, below any instrument's last digit.
func spread(points []point) float64 {
	sum, errors, n := 0.0, 0.0, 0.0
	for _, p := range points {
		if p.limit == readings.Measured {
			sum += p.value * p.value
			errors += p.variance
			n++
		}
	}
	return math.Max(1e-4, math.Sqrt(math.Max(sum/n, errors/n*1e-2)))
}
