package profile

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/stat"

	"thumbed/models/readings"
)

// The smoother is Whittaker's (1923, Proc. Edinburgh Math. Soc. 41, 63–75;
// Eilers 2003, Anal. Chem. 75, 3631–3636) read as a mixed model (Ruppert, Wand
// and Carroll 2003, section 4.9), with a random level for each text beside it and
// a fixed effect of a picture.
// Along the grid of all positions of the book, lost ones too, the smooth z has
// independent normal second differences of variance σ², its straight line being
// free. Page i at position p(i), in the text g(i), with a picture (x_i = 1) or
// without one (x_i = 0), reads
//
//	y_i = z_p(i) + v_g(i) + βx_i + u_i + e_i,   v_g ~ N(0, ω²),   u_i ~ N(0, τ²),   e_i ~ N(0, s_i²),
//
// with levels v of the texts, what a picture adds β, scatter τ between pages and
// the known error s_i of measuring. σ², ω² and τ² are those of the greatest
// restricted likelihood. What is wanted is the expectation z + v of a page
// without a picture and its variance (system.go).
//
// Where the likelihood is greatest at ω = 0 and there are no pictures the curve
// is the smooth by itself, with the level solving (σ²W + D'D) z = σ²W y: W is the diagonal of
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
	picture  bool
	shared   []load
}

// pictures is the number of pictures of a point: one or none.
func (p *point) pictures() float64 {
	if p.picture {
		return 1
	}
	return 0
}

// A smoothed is the smoother at its best sizes.
type smoothed struct {
	level     []float64 // expectation of a page without a picture, one a grid place
	variance  []float64 // of level
	page      []float64 // expectation of each point, with its picture where it has one
	spread    []float64 // variance of page
	picture   float64   // what a picture adds; 0 where the points do not tell
	ofPicture float64   // variance of picture
	bend      float64   // σ, standard deviation of second differences
	scatter   float64   // τ; 0 where at its lower bound
	between   float64   // ω; 0 where the texts have no levels of their own
	edf       float64
	logLik    float64 // restricted

	sharedLevel   [][]load // of level, one list a grid place; nil where nothing is shared
	sharedPicture []load   // of picture
}

// smooth fits the expectation along a grid of places, each in the group given
// for it, or in none (−1). Groups of which no place is measured have a level
// that is known only to be one of those of the book. Where not both kinds of
// points, with a picture and without, are among the numbers, what a picture adds
// is not known, and all are taken alike.
func smooth(points []point, groups []int) (*smoothed, error) {
	n := len(groups)
	if n < 3 {
		return nil, fmt.Errorf("a curve needs a book of at least 3 pages; this one has %d: leave it out", n)
	}
	if !tellPictures(points) {
		points = unpictured(points)
	}
	t, points := takeTrend(points)
	unit := spread(points)
	sys, err := fit(points, groups, unit)
	if err != nil {
		return nil, err
	}
	out := &smoothed{bend: sys.sigma, scatter: sys.tau, between: sys.omega, logLik: -0.5 * sys.criterion()}
	if sys.tau <= justAbove*leastSize*unit {
		out.scatter = 0
	}
	sys.share(out)
	u := sys.uncertainty()
	out.variance, out.spread, out.ofPicture = u.level, u.page, u.picture
	out.level, out.page = make([]float64, n), make([]float64, len(points))
	for i := range out.level {
		out.level[i] = sys.mean(i) + t.at(i)
	}
	if sys.picture >= 0 {
		out.picture = sys.unknown[sys.picture] + t.picture
	}
	for i, p := range points {
		out.edf += sys.weight[i] * out.spread[i]
		out.page[i] = out.level[p.at]
		if p.picture {
			out.page[i] += out.picture
		}
	}
	return out, nil
}

// tellPictures reports whether numbers with a picture and without one are among
// the points. Bounds do not tell: were all pages with a picture above an
// instrument's ceiling, the likeliest addition would be infinite. At three
// places and more, pictures on some never lie along a straight line, so the two
// kinds are enough to tell the addition from it.
func tellPictures(points []point) bool {
	with, without := false, false
	for _, p := range points {
		if p.limit == readings.Measured {
			with, without = with || p.picture, without || !p.picture
		}
	}
	return with && without
}

// unpictured takes all points for pages without a picture.
func unpictured(points []point) []point {
	out := slices.Clone(points)
	for i := range out {
		out[i].picture = false
	}
	return out
}

// A trend is a + b × place, and more where there is a picture.
type trend struct{ a, b, picture float64 }

func (t trend) at(place int) float64 { return t.a + t.b*float64(place) }

// takeTrend takes the least-squares line and addition of a picture off all
// points. The penalty sees neither, so the fit is the same; the rest is small,
// and the equations keep their digits. The addition is that of the pictures'
// part free of the line (Frisch and Waugh 1933, Econometrica 1, 387–401).
func takeTrend(points []point) (trend, []point) {
	var x, y, pictures []float64
	for _, p := range points {
		if p.limit == readings.Measured {
			x, y, pictures = append(x, float64(p.at)), append(y, p.value), append(pictures, p.pictures())
		}
	}
	var t trend
	if firstPicture(points) >= 0 {
		free := offLine(x, pictures)
		t.picture = floats.Dot(free, y) / floats.Dot(free, free)
		floats.AddScaled(y, -t.picture, pictures)
	}
	t.a, t.b = stat.LinearRegression(x, y, nil, false)
	rest := make([]point, len(points))
	for i, p := range points {
		rest[i] = p
		rest[i].value -= t.at(p.at) + t.picture*p.pictures()
	}
	return t, rest
}

// offLine is y less its least-squares line in x.
func offLine(x, y []float64) []float64 {
	a, b := stat.LinearRegression(x, y, nil, false)
	out := make([]float64, len(y))
	for i := range y {
		out[i] = y[i] - (a + b*x[i])
	}
	return out
}

// spread is the size of the values about their trend, the unit of the search;
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
