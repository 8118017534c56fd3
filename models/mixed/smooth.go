package mixed

import (
	"fmt"
	"math"
	"slices"
	"thumbed/models/student"

	"gonum.org/v1/gonum/mat"
	"thumbed/models/wording"
)

// A Smooth is a curve along a column: the straight line is a fixed effect, and
// the bends around it are random effects of one variance, so that the data
// decide how much the curve bends. It is a cubic B-spline on equal steps with a
// penalty on second differences (Eilers and Marx 1996) in its mixed-model form
// (Currie and Durbán 2002).
type Smooth struct {
	Column string `toml:"column" json:"column" required:"true"` // column of numbers along which the curve runs
	// By names groups each of which has bends of its own, of one variance; none
	// makes one curve for all rows.
	By []string `toml:"by,omitempty" json:"by,omitempty"` // columns that name groups, each with bends of its own; without them there is one curve for all rows
	// Bends is the number of random coefficients of a curve; 0 chooses 18, or
	// fewer where the column has few different values.
	Bends int `toml:"bends,omitempty" json:"bends,omitempty"` // number of random coefficients of a curve; 0: 18, or fewer where the column has few values
}

// A SmoothFit is a smooth as estimated.
type SmoothFit struct {
	Column string   `json:"column"`       // column along which the curve runs
	By     []string `json:"by,omitempty"` // columns that name groups with bends of their own
	Bends  int      `json:"bends"`        // number of random coefficients of a curve
	// SD is the standard deviation of the bends' coefficients; zero makes the
	// curve a straight line.
	SD float64 `json:"sd" unit:"of the outcome"` // standard deviation of the bends' coefficients; zero makes the curve a straight line
	// Effective is the curve's degrees of freedom beyond the straight line, all
	// groups together.
	Effective float64 `json:"effective"` // degrees of freedom of the curve beyond the straight line, all groups together
}

const (
	usualBends = 18
	fewBends   = 3
	mostBends  = 200
	cubic      = 3
)

// A spline is the basis of a smooth over the range of its column.
type spline struct {
	low, high float64
	size      int        // B-splines
	toSplines *mat.Dense // size × (size−2): B-spline coefficients of the random coefficients
}

// newSpline makes the basis with this number of random coefficients. The map is
// D'(DD')⁻¹ with D the second differences: coefficients of variance one then
// have the penalty |Dβ|² as their log density.
func newSpline(low, high float64, bends int) *spline {
	s := &spline{low: low, high: high, size: bends + 2}
	d := mat.NewDense(bends, s.size, nil)
	for i := range bends {
		d.Set(i, i, 1)
		d.Set(i, i+1, -2)
		d.Set(i, i+2, 1)
	}
	var product, inverse mat.Dense
	product.Mul(d, d.T())
	if err := inverse.Inverse(&product); err != nil {
		// DD' is a fixed banded matrix, well conditioned for the sizes allowed
		panic(fmt.Sprintf("mixed: second differences of %d B-splines: %v", s.size, err))
	}
	s.toSplines = mat.NewDense(s.size, bends, nil)
	s.toSplines.Mul(d.T(), &inverse)
	return s
}

// at writes the random coefficients' basis functions at x into out.
func (s *spline) at(x float64, out []float64) {
	clear(out)
	var basis [cubic + 1]float64
	first := s.basis(x, &basis)
	for k, v := range basis {
		for c := range out {
			out[c] += v * s.toSplines.At(first+k, c)
		}
	}
}

// basis gives the four cubic B-splines that are not zero at x and the first of
// them (de Boor 1978, chapter X). Beyond the range the end pieces go on.
func (s *spline) basis(x float64, out *[cubic + 1]float64) int {
	pieces := s.size - cubic
	place := (x - s.low) / (s.high - s.low) * float64(pieces)
	piece := min(max(int(math.Floor(place)), 0), pieces-1)
	u := place - float64(piece)
	v := 1 - u
	out[0] = v * v * v / 6
	out[1] = (3*u*u*u - 6*u*u + 4) / 6
	out[2] = (3*v*v*v - 6*v*v + 4) / 6
	out[3] = u * u * u / 6
	return piece
}

// readSmooths adds the smooths' bends to the factors.
func (l *layer) readSmooths(d *design) {
	for k, m := range l.model.Smooth {
		values := l.values(m.Column)
		distinct := slices.Clone(values)
		slices.Sort(distinct)
		distinct = slices.Compact(distinct)
		bends := m.Bends
		if bends == 0 {
			bends = min(usualBends, len(distinct)-3)
		}
		if bends < fewBends || bends > mostBends || bends > len(distinct)-2 {
			l.problem(m.Column, fmt.Sprintf("%d bends over %d different values", bends, len(distinct)),
				fmt.Sprintf("from %d to %d bends, and at least two more different values than bends", fewBends, mostBends),
				"give fewer bends, or name the column in fixed instead")
			continue
		}
		fac := factor{smooth: k, x: values, spline: newSpline(distinct[0], distinct[len(distinct)-1], bends), by: m.By, k: bends,
			blocks: []varying{{random: -1, size: bends, shared: true}}}
		if len(m.By) > 0 {
			g := l.grouped(m.By...)
			fac.groups, fac.code = g.groups, g.code
		} else {
			fac.groups, fac.code = []string{"all rows"}, make([]int32, d.n)
		}
		row := make([]float64, bends)
		for c := range bends {
			fac.z = append(fac.z, column{name: fmt.Sprintf("bend %d of %s", c+1, m.Column), values: make([]float64, d.n)})
		}
		for i, x := range values {
			fac.spline.at(x, row)
			for c, v := range row {
				fac.z[c].values[i] = v
			}
		}
		d.factors = append(d.factors, fac)
	}
}

// describeSmooths gives every smooth as estimated.
func (f *Fit) describeSmooths(unit float64) {
	if len(f.model.Smooth) == 0 {
		return
	}
	f.like.criterion(f.phi)
	f.like.trial.StartInverse(true, 0)
	f.like.trial.Invert()
	f.Smooth = make([]SmoothFit, len(f.model.Smooth))
	for k := range f.d.factors {
		if fac := &f.d.factors[k]; fac.spline != nil {
			f.Smooth[fac.smooth] = f.describeSmooth(k, unit)
		}
	}
	for _, s := range f.Smooth {
		if s.SD == 0 {
			f.Boundary = append(f.Boundary, "bends of "+s.Column)
			f.Notes = append(f.Notes, fmt.Sprintf("The curve along %s is estimated as a straight line: the data show no bends beyond what the residual explains. A straight line in its place gives the same answers.", s.Column))
		}
	}
}

// describeSmooth gives a smooth's spread and effective degrees of freedom: the
// trace of I less the inverse's diagonal blocks (Ruppert, Wand and Carroll 2003,
// section 3.13). The trial's inverse must have been filled with the fixed
// effects counted.
func (f *Fit) describeSmooth(k int, unit float64) SmoothFit {
	fac := &f.d.factors[k]
	t := f.like.trial
	m := f.model.Smooth[fac.smooth]
	out := SmoothFit{Column: m.Column, By: m.By, Bends: fac.k, SD: math.Abs(t.Lambda[k][0]) * unit / fac.units[0]}
	for g := range fac.groups {
		block, _, w := t.InverseOf(k, g)
		for a := range fac.k {
			out.Effective += 1 - block[a*w+a]
		}
	}
	return out
}

// A CurvePoint is a smooth at one value of its column.
type CurvePoint struct {
	At       float64 `json:"at"`
	Estimate float64 `json:"estimate"` // on the model's scale, less the curve's mean over the rows
	SE       float64 `json:"se"`       // standard error, the variance parameters held
	Low      float64 `json:"low"`      // 95 % interval
	High     float64 `json:"high"`
}

// Curve gives the estimated curve of the model's smooth number k (from 0) at
// values of its column, straight line and bends together, as a departure from
// its own mean over the rows used; group is the group whose bends are wanted
// where the smooth has groups, and empty otherwise. Intervals are the Bayesian
// ones of Wahba (1983) and Nychka (1988), which cover the truth on average
// along the curve. It fails where there is no such smooth or group.
func (f *Fit) Curve(k int, group string, at []float64) ([]CurvePoint, error) {
	if k < 0 || k >= len(f.model.Smooth) {
		return nil, fmt.Errorf("the model has %s, counted from 0; there is no number %d: name one that it has", wording.Plain(len(f.model.Smooth), "smooth", "smooths"), k)
	}
	which := slices.IndexFunc(f.d.factors, func(fac factor) bool { return fac.spline != nil && fac.smooth == k })
	fac := &f.d.factors[which]
	g := 0
	if len(fac.by) > 0 {
		if g = slices.Index(fac.groups, group); g < 0 {
			return nil, fmt.Errorf("the smooth of %s has no group %q: name one of its groups", f.model.Smooth[k].Column, group)
		}
	}
	joint := f.jointNode(which, g)
	line := slices.Index(f.d.fixed.names, f.model.Smooth[k].Column)
	center := fac.curveCenter(g)
	weights := make([]float64, fac.k+f.d.fixed.p)
	row := make([]float64, fac.k)
	df := float64(f.N - f.d.fixed.p)
	half := student.Half(0.95, df)
	mean := fac.meanPlace(g)
	var out []CurvePoint
	for _, v := range at {
		clear(weights)
		fac.spline.at(v, row)
		for c := range row {
			weights[c] = row[c]/fac.units[c] - center[c]
		}
		weights[fac.k+line] = v - mean
		point := CurvePoint{At: v}
		point.Estimate, point.SE = joint.combine(weights)
		point.Low, point.High = point.Estimate-half*point.SE, point.Estimate+half*point.SE
		out = append(out, point)
	}
	return out, nil
}

// meanPlace is the mean of a smooth's column over the rows of a group.
func (fac *factor) meanPlace(g int) float64 {
	sum, rows := 0.0, 0.0
	for i, code := range fac.code {
		if int(code) == g {
			sum += fac.x[i]
			rows++
		}
	}
	return sum / rows
}

// curveCenter is the mean of a smooth's columns over the rows of a group.
func (fac *factor) curveCenter(g int) []float64 {
	out := make([]float64, fac.k)
	rows := 0.0
	for i, code := range fac.code {
		if int(code) != g {
			continue
		}
		rows++
		for c := range out {
			out[c] += fac.z[c].values[i]
		}
	}
	for c := range out {
		out[c] /= rows
	}
	return out
}
