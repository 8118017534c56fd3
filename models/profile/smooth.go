package profile

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/optimize"
	"gonum.org/v1/gonum/stat"

	"thumbed/models/readings"
)

// The smoother is Whittaker's (1923, Proc. Edinburgh Math. Soc. 41, 63–75;
// Eilers 2003, Anal. Chem. 75, 3631–3636) read as a mixed model (Ruppert, Wand
// and Carroll 2003, section 4.9). Along the grid of all positions of the book,
// lost ones too, the level z has independent normal second differences of
// variance σ², its straight line being free. Page i at position p(i) reads
//
//	y_i = z_p(i) + u_i + e_i,   u_i ~ N(0, τ²),   e_i ~ N(0, s_i²),
//
// with scatter τ between pages and the known error s_i of measuring. σ² and τ²
// are those of the greatest restricted likelihood. With W the diagonal of
// 1/(τ² + s_i²) at measured positions and D the second differences, the level
// solves (σ²W + D'D) z = σ²W y and has variance σ²(σ²W + D'D)⁻¹: a band of two
// beside the diagonal, so that the cost is linear in the pages.
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

// A smoothed is the smoother at its best σ and τ.
type smoothed struct {
	level    []float64 // one a grid place
	variance []float64 // of level
	bend     float64   // σ, standard deviation of second differences
	scatter  float64   // τ; 0 where at its lower bound
	edf      float64
	logLik   float64 // restricted
}

// The search for σ and τ runs over their logarithms between bounds, in units
// of the standard deviation of the values about a straight line. At the lower
// bound of σ the level is a straight line to a hundredth of a degree of
// freedom; at that of τ the scatter is a thousandth of the whole.
const (
	leastScatter = 1e-3
	mostScatter  = 10.0
	mostBend     = 10.0
)

// straight is 4.73⁴/100, from the lowest frequency of a free beam: with
// σ² below straight × τ²/n⁴ a curve over n places bends by less than a
// hundredth of a degree of freedom.
const straight = 5.0

// smooth fits the level along a grid of n places.
func smooth(points []point, n int) (*smoothed, error) {
	if n < 3 {
		return nil, fmt.Errorf("a curve needs a book of at least 3 pages; this one has %d: leave it out", n)
	}
	line, points := takeLine(points)
	unit := spread(points)
	sys := newSystem(points, n)
	low := []float64{math.Log(leastScatter), 0.5 * math.Log(straight/math.Pow(float64(n), 4))}
	high := []float64{math.Log(mostScatter), math.Log(mostBend)}
	criterion := func(x []float64) float64 {
		tau, sigma := sizes(x, low, high, unit)
		if !sys.solve(tau, sigma) {
			return math.Inf(1)
		}
		return sys.criterion()
	}
	x, err := search(criterion, low, high)
	if err != nil {
		return nil, err
	}
	tau, sigma := sizes(x, low, high, unit)
	if !sys.solve(tau, sigma) {
		return nil, errors.New("the wear curve could not be computed: its equations are singular; check that the measured pages are spread along the book")
	}
	out := &smoothed{bend: sigma, scatter: tau, logLik: -0.5 * sys.criterion()}
	if tau <= 1.01*leastScatter*unit {
		out.scatter = 0
	}
	out.variance = sys.inverseDiagonal()
	for i := range points {
		out.edf += sys.weight[i] * out.variance[points[i].at]
	}
	out.level = make([]float64, n)
	for i, z := range sys.level {
		out.level[i] = z + line.at(i)
	}
	return out, nil
}

// sizes turns the search's point into τ and σ, held between the bounds.
func sizes(x, low, high []float64, unit float64) (tau, sigma float64) {
	held := func(k int) float64 { return math.Exp(math.Min(high[k], math.Max(low[k], x[k]))) * unit }
	return held(0), held(1)
}

// search minimises the criterion: the best of a coarse grid, for there may be
// two valleys (a smooth curve with much scatter, a rough one with little),
// then the simplex of Nelder and Mead.
func search(criterion func([]float64) float64, low, high []float64) ([]float64, error) {
	best, at := math.Inf(1), []float64{0, 0}
	for _, a := range []float64{0.35, 0.6, 0.75} {
		for _, b := range []float64{0.1, 0.35, 0.55, 0.75} {
			x := []float64{low[0] + a*(high[0]-low[0]), low[1] + b*(high[1]-low[1])}
			if c := criterion(x); c < best {
				best, at = c, x
			}
		}
	}
	if math.IsInf(best, 1) {
		return nil, errors.New("the wear curve could not be computed at any smoothing; check the readings for values far outside the others")
	}
	settings := &optimize.Settings{
		FuncEvaluations: 400,
		Converger:       &optimize.FunctionConverge{Absolute: 1e-7, Iterations: 12},
	}
	result, err := optimize.Minimize(optimize.Problem{Func: criterion}, at, settings, &optimize.NelderMead{SimplexSize: 0.7})
	if err != nil && result == nil {
		return nil, fmt.Errorf("the wear curve's smoothing was not found (%w); measure more pages, or leave this book out", err)
	}
	return result.X, nil
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
