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
	b, precision, misfit := t.squares(tb, columns...)
	logDet, _ = mat.LogDet(precision)
	fitted = make([]float64, len(t.s.Values))
	for j, column := range columns {
		floats.AddScaled(fitted, b.AtVec(j), column)
	}
	return misfit, logDet, fitted
}

// squares are the coefficients, their precision X'V⁻¹X and the misfit.
func (t trial) squares(tb testing.TB, columns ...[]float64) (b *mat.VecDense, precision *mat.Dense, misfit float64) {
	tb.Helper()
	n, p := len(t.s.Values), len(columns)
	var chol mat.Cholesky
	if !chol.Factorize(t.implied()) {
		tb.Fatal("the covariance cannot be factorised")
	}
	x := mat.NewDense(n, p, nil)
	for j, column := range columns {
		x.SetCol(j, column)
	}
	y := mat.NewVecDense(n, slices.Clone(t.s.Values))
	var vx mat.Dense
	var vy, xy mat.VecDense
	if err := chol.SolveTo(&vx, x); err != nil {
		tb.Fatal(err)
	}
	if err := chol.SolveVecTo(&vy, y); err != nil {
		tb.Fatal(err)
	}
	b, precision = &mat.VecDense{}, &mat.Dense{}
	precision.Mul(x.T(), &vx)
	xy.MulVec(x.T(), &vy)
	if err := b.SolveVec(precision, &xy); err != nil {
		tb.Fatal(err)
	}
	return b, precision, mat.Dot(y, &vy) - mat.Dot(b, &xy)
}

// implied is the covariance of all rows: that written out, none across known breaks;
// or with both correlation and standard errors the one of which each row depends on
// the one before alone (Vecchia 1988), as the inverse of the sum of what each row
// adds to the precision.
func (t trial) implied() *mat.SymDense {
	n := len(t.s.Values)
	full := t.covariance(0, n)
	for _, s := range t.o.breaks() {
		for i := range s {
			for j := s; j < n; j++ {
				full.SetSym(i, j, 0)
			}
		}
	}
	if t.v.rho == 0 || t.s.SE == nil {
		return full
	}
	precision := mat.NewDense(n, n, nil)
	for i := range n {
		share, rest := 0.0, full.At(i, i)
		if i > 0 {
			share = full.At(i, i-1) / full.At(i-1, i-1)
			rest -= share * full.At(i, i-1)
			precision.Set(i, i-1, precision.At(i, i-1)-share/rest)
			precision.Set(i-1, i, precision.At(i-1, i)-share/rest)
			precision.Set(i-1, i-1, precision.At(i-1, i-1)+share*share/rest)
		}
		precision.Set(i, i, precision.At(i, i)+1/rest)
	}
	var inverse mat.Dense
	if err := inverse.Inverse(precision); err != nil {
		panic(err)
	}
	out := mat.NewSymDense(n, nil)
	for i := range n {
		for j := range i + 1 {
			out.SetSym(i, j, inverse.At(i, j))
		}
	}
	return out
}

// ruled are the columns of a line with a level of its own between known breaks, and
// of what lies beyond row s, whose height over the chord is 1 (s 0: of none).
func (t trial) ruled(at []float64, s int) [][]float64 {
	n := len(t.s.Values)
	var columns [][]float64
	t.parts(t.o.breaks(), func(from, to int) {
		level := make([]float64, n)
		copy(level[from:to], filled(to-from, 1))
		columns = append(columns, level)
	})
	columns = append(columns, at)
	if s > 0 {
		beyond := make([]float64, n)
		for i := range beyond {
			beyond[i] = max(at[i]-at[s-1], 0) / (at[s-1] * (1 - at[s-1]))
		}
		columns = append(columns, beyond)
	}
	return columns
}

// TestLinesAgainstDense holds the line and the best broken line against
// generalised least squares with every break tried, the level free and the noise
// afresh at known breaks. Tolerance 1e-7 of the criterion and the fit: the dense
// equations of nearly collinear columns.
func TestLinesAgainstDense(t *testing.T) {
	for seed := range uint64(trials) {
		x := newTrialOf(seed, 10, 16)
		q := x.search(t)
		l := newCandidateFits(x.s, x.v, q)
		n := len(x.s.Values)
		at := make([]float64, n)
		for i := range at {
			at[i] = (x.s.Position[i] - x.s.Position[0]) / (x.s.Position[n-1] - x.s.Position[0])
		}
		starts := 0.0
		x.parts(x.o.breaks(), func(from, _ int) { starts += l.start[from+1] })
		steady, broken := l.lines()
		misfit, logDet, fitted := x.dense(t, x.ruled(at, 0)...)
		if want := l.score(1, 0, misfit, logDet+starts); !near(steady.Criterion, want, 1e-7) {
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
			misfit, logDet, fitted := x.dense(t, x.ruled(at, s)...)
			if score := l.score(2, 1, misfit, logDet+starts); score > best {
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
