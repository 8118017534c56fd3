package readers

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"
)

// A Continuum is how readers differ by degrees: the straight line through their mean
// along which they differ most, once the errors of measuring are taken out.
type Continuum struct {
	Axis  []float64 // one an office: by how much a reader's shape differs there from the mean at place 1
	SD    float64   // of the places that readers have, without their errors
	Share float64   // of all that readers differ by, beyond their errors, that lies along the axis
}

// principal are the axes of a covariance and its sizes along them, the smallest first.
// Rounding does not choose between an axis and its opposite.
func principal(cov *mat.SymDense) (axes [][]float64, sizes []float64) {
	var eigen mat.EigenSym
	if !eigen.Factorize(cov, true) {
		panic("readers: no principal axes of finite points")
	}
	var vectors mat.Dense
	eigen.VectorsTo(&vectors)
	for j := range cov.SymmetricDim() {
		axis := mat.Col(nil, j, &vectors)
		pointed(axis)
		axes = append(axes, axis)
	}
	return axes, eigen.Values(nil)
}

// largestFirst are the principal axes with the largest first, their sizes, and the sum of
// these, what is negative of them taken as nothing.
func largestFirst(cov *mat.SymDense) (axes [][]float64, sizes []float64, total float64) {
	axes, sizes = principal(cov)
	slices.Reverse(axes)
	slices.Reverse(sizes)
	for _, v := range sizes {
		total += math.Max(v, 0)
	}
	return axes, sizes, total
}

// along is the place of a point on an axis through the mean.
func along(point, mean, axis []float64) float64 {
	place := 0.0
	for j, v := range point {
		place += (v - mean[j]) * axis[j]
	}
	return place
}

// pointed gives an axis the direction in which the first of its large coordinates is
// positive: rounding must not choose between an axis and its opposite.
func pointed(axis []float64) {
	large := 0.9 * floats.Norm(axis, math.Inf(1))
	for _, v := range axis {
		if math.Abs(v) >= large {
			if v < 0 {
				floats.Scale(-1, axis)
			}
			return
		}
	}
}

// continuum tells the axis and each reader's place on it, with its interval by the
// errors of the reader's own curve.
func (g *Grouping) continuum(c *cloud, shapes []Shape, between *mat.SymDense) {
	axes, sizes, total := largestFirst(between)
	g.Continuum = &Continuum{Axis: axes[0], SD: math.Sqrt(math.Max(sizes[0], 0))}
	if total > 0 {
		g.Continuum.Share = math.Max(sizes[0], 0) / total
	}
	mean, axis := c.mean(), mat.NewVecDense(c.d, g.Continuum.Axis)
	half := distuv.UnitNormal.Quantile(0.975)
	for i := range g.Members {
		m := &g.Members[i]
		m.Place = along(c.point(i), mean, axes[0])
		se := 0.0
		if shapes[i].Covariance != nil {
			se = math.Sqrt(math.Max(0, mat.Inner(axis, shapes[i].Covariance, axis)))
		}
		m.PlaceLow, m.PlaceHigh = m.Place-half*se, m.Place+half*se
	}
}
