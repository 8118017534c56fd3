package traces

import (
	"errors"
	"fmt"
	"hash/fnv"
	"math"
	"math/rand/v2"

	"gonum.org/v1/gonum/mat"

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

// An Extrapolated is an estimate with its standard error.
type Extrapolated struct{ Estimate, SE float64 }

// Extrapolate allows for the error of measuring of a feature by simulation and
// extrapolation (Cook and Stefanski 1994, Journal of the American Statistical Association
// 89, 1314–1328; Carroll, Ruppert, Stefanski and Crainiceanu 2006, Measurement error in
// nonlinear models, chapter 5): error is added to the feature in several sizes, the model
// fitted to each, and what comes of the estimates followed back by a parabola to where
// there is no error; their variances likewise, those between the simulations taken off.
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
	k := len(first)
	at := []float64{0}
	estimates, variances := make([][]float64, k), make([][]float64, k)
	for j, e := range first {
		estimates[j], variances[j] = []float64{e.Estimate}, []float64{e.SE * e.SE}
	}
	for _, lambda := range simulated {
		sum, square, own := make([]float64, k), make([]float64, k), make([]float64, k)
		n := 0.0
		for draw := range simulations {
			scale := math.Sqrt(lambda)
			if draw%2 == 1 {
				scale = -scale
			}
			fitted, err := fit(withError(rows, column, se, scale, uint64(draw/2)))
			if err != nil {
				continue
			}
			n++
			for j, e := range fitted {
				sum[j] += e.Estimate
				square[j] += e.Estimate * e.Estimate
				own[j] += e.SE * e.SE
			}
		}
		if n < fewestSucceed {
			return nil, errors.New("with more error added to it the model cannot be fitted often enough")
		}
		at = append(at, lambda)
		for j := range k {
			mean := sum[j] / n
			estimates[j] = append(estimates[j], mean)
			variances[j] = append(variances[j], own[j]/n-max(0, square[j]/n-mean*mean))
		}
	}
	out := make([]Extrapolated, k)
	for j := range out {
		variance := parabola(at, variances[j], -1)
		if !(variance > 0) {
			return nil, errors.New("the variance extrapolates below zero: the error is too large to be allowed for so")
		}
		out[j] = Extrapolated{parabola(at, estimates[j], -1), math.Sqrt(variance)}
	}
	return out, nil
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
