package dropoff

import (
	"math"
	"slices"
	"testing"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
)

// dense is generalised least squares of the values on columns with the full
// covariance written out: misfit, logarithm of the determinant of X'V⁻¹X, and
// what it expects.
func (t trial) dense(tb testing.TB, columns ...[]float64) (misfit, logDet float64, fitted []float64) {
	tb.Helper()
	n, p := len(t.s.Values), len(columns)
	var chol mat.Cholesky
	if !chol.Factorize(t.covariance(0, n)) {
		tb.Fatal("the covariance cannot be factorised")
	}
	x := mat.NewDense(n, p, nil)
	for j, column := range columns {
		x.SetCol(j, column)
	}
	y := mat.NewVecDense(n, slices.Clone(t.s.Values))
	var vx, cross mat.Dense
	var vy, b, xy mat.VecDense
	if err := chol.SolveTo(&vx, x); err != nil {
		tb.Fatal(err)
	}
	if err := chol.SolveVecTo(&vy, y); err != nil {
		tb.Fatal(err)
	}
	cross.Mul(x.T(), &vx)
	xy.MulVec(x.T(), &vy)
	if err := b.SolveVec(&cross, &xy); err != nil {
		tb.Fatal(err)
	}
	logDet, _ = mat.LogDet(&cross)
	var fit mat.VecDense
	fit.MulVec(x, &b)
	return mat.Dot(y, &vy) - mat.Dot(&b, &xy), logDet, fit.RawVector().Data
}

// TestLinesAgainstDense holds the line and the best broken line against
// generalised least squares with every break tried. Tolerance 1e-7 of the
// criterion and the fit: the dense equations of nearly collinear columns.
func TestLinesAgainstDense(t *testing.T) {
	for seed := range uint64(trials) {
		x := newTrialOf(seed, 10, 16)
		if x.v.rho > 0 && x.s.SE != nil {
			continue
		}
		q := x.search(t)
		l := newLineup(x.s, x.v, q)
		n := len(x.s.Values)
		one := filled(n, 1)
		at := make([]float64, n)
		for i := range at {
			at[i] = (x.s.Position[i] - x.s.Position[0]) / (x.s.Position[n-1] - x.s.Position[0])
		}
		steady, broken := l.lines()
		misfit, logDet, fitted := x.dense(t, one, at)
		if want := l.score(2, 0, misfit, math.Exp(logDet)); !near(steady.Criterion, want, 1e-7) {
			t.Errorf("seed %d: the line has %v, not %v", seed, steady.Criterion, want)
		}
		if got := l.fitted(steady); floats.Distance(got, fitted, 2) > 1e-7*float64(n) {
			t.Errorf("seed %d: the line is %v, not %v", seed, got, fitted)
		}
		best, bestFit, place := math.Inf(-1), []float64(nil), 0
		for s := leastBent; s <= n-leastBent+1; s++ { // the row of the bend counts on either side
			if !q.free[s] {
				continue
			}
			beyond := make([]float64, n)
			for i := range beyond {
				beyond[i] = max(at[i]-at[s-1], 0) / (at[s-1] * (1 - at[s-1])) // height 1 over the chord
			}
			misfit, logDet, fitted := x.dense(t, one, at, beyond)
			if score := l.score(3, 1, misfit, math.Exp(logDet)); score > best {
				best, bestFit, place = score, fitted, s
			}
		}
		if place == 0 {
			continue
		}
		if !near(broken.Criterion, best, 1e-7) {
			t.Errorf("seed %d: the broken line has %v, not %v after row %d", seed, broken.Criterion, best, place)
			continue
		}
		if got := l.fitted(broken); floats.Distance(got, bestFit, 2) > 1e-6*float64(n) {
			t.Errorf("seed %d: the broken line is %v, not %v", seed, got, bestFit)
		}
	}
}
