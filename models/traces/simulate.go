package traces

import (
	"errors"
	"fmt"
	"hash/fnv"
	"math"
	"math/rand/v2"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat"

	"thumbed/models/codex"
	"thumbed/models/table"
)

// Simulation and extrapolation.
var simulated = []float64{0.5, 1, 1.5, 2} // by how much the variance of the error is enlarged

const (
	simulations   = 20 // at each
	simulateSeed  = 20061201
	fewestSucceed = simulations / 2
)

// An Extrapolated is an estimate with its standard error, and what both were followed back
// from.
type Extrapolated struct {
	Estimate, SE float64
	From         []Enlarged // the first without error added
}

// An Enlarged is what an effect comes to where error is added to a feature.
type Enlarged struct {
	By       float64 `json:"by"`       // by how much the variance of the feature's error is enlarged, in times; 0 as measured
	Fits     int     `json:"fits"`     // fits that it is the mean of
	Estimate float64 `json:"estimate"` // mean of the effect
	Variance float64 `json:"variance"` // mean of the squares of its standard errors
	Between  float64 `json:"between"`  // variance of the effect between these fits
}

// Extrapolate allows for the error of measuring of a feature by simulation and
// extrapolation (Cook and Stefanski 1994, Journal of the American Statistical Association
// 89, 1314–1328; Carroll, Ruppert, Stefanski and Crainiceanu 2006, Measurement error in
// nonlinear models, chapter 5): error is added to the feature in several sizes, the model
// fitted to each, and what comes of the estimates followed back by a parabola to where
// there is no error; their variances likewise, those between the simulations subtracted.
// The error of a page is one in all its rows. Errors are drawn in pairs of opposite sign
// (antithetic variates: Hammersley and Morton 1956, Proceedings of the Cambridge
// Philosophical Society 52, 449–475), and the same in every size, so that few simulations do:
// twenty leave to chance a fifth of what independent errors do (of 14 seeds each, on the
// example of the tests 0.003 and 0.017). column and errors name the feature and its
// standard errors in rows, which has the columns book and page; fit gives the estimates
// of a table like rows. The result is approximate: a parabola corrects for less than all
// of a large error.
func Extrapolate(rows *table.Table, column, errs string, fit func(*table.Table) ([]Extrapolated, error)) ([]Extrapolated, error) {
	value, se := rows.Column(column), rows.Column(errs)
	if value == nil || se == nil || !value.IsNumber() || !se.IsNumber() {
		return nil, fmt.Errorf("%s, and %s with its standard errors, must be columns of numbers", column, errs)
	}
	first, err := fit(rows)
	if err != nil {
		return nil, err
	}
	from := make([][]Enlarged, len(first))
	for j, e := range first {
		from[j] = []Enlarged{{Fits: 1, Estimate: e.Estimate, Variance: e.SE * e.SE}}
	}
	for _, by := range simulated {
		at, err := enlarged(rows, column, se, by, fit)
		if err != nil {
			return nil, err
		}
		for j := range from {
			from[j] = append(from[j], at[j])
		}
	}
	out := make([]Extrapolated, len(first))
	for j := range out {
		if out[j], err = followedBack(from[j]); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// enlarged fits with error added to a feature, its variance enlarged by so many times.
func enlarged(rows *table.Table, column string, se *table.Column, by float64, fit func(*table.Table) ([]Extrapolated, error)) ([]Enlarged, error) {
	var fits [][]Extrapolated
	for draw := range simulations {
		scale := math.Sqrt(by)
		if draw%2 == 1 {
			scale = -scale
		}
		if fitted, err := fit(withError(rows, column, se, scale, uint64(draw/2))); err == nil {
			fits = append(fits, fitted)
		}
	}
	if len(fits) < fewestSucceed {
		return nil, errors.New("with more error added to it the model cannot be fitted often enough")
	}
	out := make([]Enlarged, len(fits[0]))
	for j := range out {
		var effects, variances []float64
		for _, f := range fits {
			effects, variances = append(effects, f[j].Estimate), append(variances, f[j].SE*f[j].SE)
		}
		e := Enlarged{By: by, Fits: len(fits), Variance: stat.Mean(variances, nil)}
		e.Estimate, e.Between = stat.PopMeanVariance(effects, nil)
		out[j] = e
	}
	return out, nil
}

// followedBack takes an effect and its variance, less that between fits, to where there is
// no error.
func followedBack(from []Enlarged) (Extrapolated, error) {
	var by, estimates, variances []float64
	for _, e := range from {
		by, estimates, variances = append(by, e.By), append(estimates, e.Estimate), append(variances, e.Variance-e.Between)
	}
	variance := parabola(by, variances, -1)
	if !(variance > 0) {
		return Extrapolated{}, errors.New("the variance extrapolates below zero: the error is too large to be allowed for so")
	}
	return Extrapolated{parabola(by, estimates, -1), math.Sqrt(variance), from}, nil
}

// withError adds error to a feature, the same in all rows of a page.
func withError(rows *table.Table, column string, se *table.Column, scale float64, draw uint64) *table.Table {
	value, book, page := rows.Column(column), rows.Column(codex.ColumnBook), rows.Column(codex.ColumnPage)
	values := make([]float64, rows.Rows())
	for i := range values {
		h := fnv.New64a()
		h.Write([]byte(book.Label(i) + "\x00" + page.Label(i)))
		z := rand.New(rand.NewPCG(simulateSeed+draw, h.Sum64())).NormFloat64()
		values[i] = value.Number(i) + scale*se.Number(i)*z
	}
	return rows.With(table.Numbers(column, values))
}

// parabola is the value at a place of the parabola of least squares through points.
func parabola(x, y []float64, at float64) float64 {
	design := mat.NewDense(len(x), 3, nil)
	for i, v := range x {
		design.SetRow(i, []float64{1, v, v * v})
	}
	var b mat.VecDense
	if err := b.SolveVec(design, mat.NewVecDense(len(y), y)); err != nil {
		return math.NaN()
	}
	return b.AtVec(0) + b.AtVec(1)*at + b.AtVec(2)*at*at
}
