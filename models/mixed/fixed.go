package mixed

import (
	"fmt"
	"math"
	"strings"

	"gonum.org/v1/gonum/blas"
	"gonum.org/v1/gonum/blas/blas64"
	"gonum.org/v1/gonum/lapack/lapack64"
	"gonum.org/v1/gonum/mat"
)

// A fixedPart holds the fixed effects' model matrix X (n × p) as X = Q·R with
// orthonormal columns Q, and the outcome as its least-squares fit and what is
// left. The likelihood works with Q and the scaled remainder, which keeps every
// digit however large the outcome's mean or unlike the columns' scales are;
// estimates are carried back through R.
type fixedPart struct {
	names []string
	p     int
	q     []float64 // n × p by rows, orthonormal columns
	r     []float64 // p × p by rows, upper triangle: X = Q·R
	beta  []float64 // p: least-squares coefficients of X
	left  []float64 // n: outcome − X·beta, divided by scale
	rss   float64   // residual sum of squares of least squares
	scale float64   // sqrt(rss/(n−p)), the outcome's unit in the likelihood
	logR  float64   // log |det R|
}

// rankTolerance is how small a column may become, against its own length, once
// the columns before it are taken out, before it is called collinear with them.
const rankTolerance = 1e-9

// orthogonalise makes the fixed part of the design, or reports the columns that
// others determine.
func (l *layer) orthogonalise(d *design, columns []column) bool {
	p := len(columns)
	f := &d.fixed
	f.p = p
	f.q = make([]float64, d.n*p)
	for j, c := range columns {
		for i := range d.n {
			f.q[i*p+j] = c.at(i)
		}
	}
	r := triangle(f.q, d.outcome, d.n, p)
	if !l.checkRank(f.names, r, p) {
		return false
	}
	f.solve(r, d.outcome)
	mean, spread := meanAndSpread(d.outcome)
	if math.Sqrt(f.rss) <= 1e-10*(math.Abs(mean)*1e-3+spread)*math.Sqrt(float64(d.n)) {
		if len(d.factors) == 0 && d.errors.plain() && len(d.offsets) == 0 {
			d.notes = append(d.notes, "The fixed effects explain every row without error: standard errors and p are those of rounding and say nothing. Was the outcome computed from these columns?")
			return true
		}
		l.problem(l.model.Outcome, "no remainder", "an outcome that the fixed effects do not reproduce exactly",
			"the fixed effects explain every row without error: was the outcome computed from these columns?")
		return false
	}
	return true
}

// triangle gives the (p+1) × (p+1) upper triangle of the QR decomposition of
// [X y] by rows, by Householder reflections over runs of rows (the tall and
// skinny QR of Demmel, Grigori, Hoemmen and Langou 2012), so that tables of any
// length need one run's memory.
func triangle(x, y []float64, n, p int) []float64 {
	w := p + 1
	run := min(n, max(512, 8*w))
	stack := make([]float64, (w+run)*w)
	tau := make([]float64, w)
	work := []float64{0}
	g := blas64.General{Rows: w + run, Cols: w, Stride: w, Data: stack}
	lapack64.Geqrf(g, tau, work, -1)
	work = make([]float64, int(work[0]))
	top := 0 // rows of the triangle so far
	for from := 0; from < n; from += run {
		rows := min(run, n-from)
		for i := range rows {
			at := (top + i) * w
			copy(stack[at:at+p], x[(from+i)*p:(from+i+1)*p])
			stack[at+p] = y[from+i]
		}
		g.Rows = top + rows
		g.Data = stack[:g.Rows*w]
		lapack64.Geqrf(g, tau[:min(g.Rows, w)], work, len(work))
		top = min(w, g.Rows)
		for i := range top {
			clear(stack[i*w : i*w+min(i, w)])
		}
	}
	out := make([]float64, w*w)
	copy(out, stack[:top*w])
	return out
}

// checkRank reports, by name, every column that the columns before it determine.
// The decision is made by a QR decomposition with column pivoting of the
// triangle, its columns scaled to equal length (Golub and Van Loan 2013,
// section 5.4.2).
func (l *layer) checkRank(names []string, r []float64, p int) bool {
	w := p + 1
	scaled := blas64.General{Rows: p, Cols: p, Stride: p, Data: make([]float64, p*p)}
	empty := false
	for j := range p {
		length := columnLength(r, w, j)
		if length == 0 {
			l.problem(names[j], names[j]+" is zero in every row", "fixed effects that can be told apart", "take it out of fixed, or check its column")
			empty = true
			continue
		}
		for i := range p {
			scaled.Data[i*p+j] = r[i*w+j] / length
		}
	}
	if empty {
		return false
	}
	pivot := make([]int, p)
	for j := range pivot {
		pivot[j] = -1
	}
	pivot[0] = 0 // the intercept stays in front
	tau := make([]float64, p)
	work := []float64{0}
	lapack64.Geqp3(scaled, pivot, tau, work, -1)
	work = make([]float64, int(work[0]))
	lapack64.Geqp3(scaled, pivot, tau, work, len(work))
	rank := 0
	for rank < p && math.Abs(scaled.Data[rank*p+rank]) > rankTolerance {
		rank++
	}
	for j := rank; j < p; j++ {
		l.problem(names[pivot[j]], names[pivot[j]], "fixed effects that can be told apart", collinearWords(names, pivot, scaled, rank, j))
	}
	return rank == p
}

// collinearWords tells which other columns determine the pivoted column j.
func collinearWords(names []string, pivot []int, qr blas64.General, rank, j int) string {
	p := qr.Cols
	weights := make([]float64, rank)
	for i := range weights {
		weights[i] = qr.Data[i*p+j]
	}
	blas64.Trsv(blas.NoTrans, blas64.Triangular{Uplo: blas.Upper, Diag: blas.NonUnit, N: rank, Stride: p, Data: qr.Data},
		blas64.Vector{N: rank, Inc: 1, Data: weights})
	var others []string
	for i, v := range weights {
		if math.Abs(v) > 1e-7 {
			others = append(others, names[pivot[i]])
		}
	}
	return fmt.Sprintf("%s is determined by %s in the rows used: leave out one of these", names[pivot[j]], strings.Join(others, ", "))
}

func columnLength(r []float64, w, j int) float64 {
	sum := 0.0
	for i := 0; i <= j; i++ {
		sum += r[i*w+j] * r[i*w+j]
	}
	return math.Sqrt(sum)
}

// solve carries X over into Q, and the outcome into coefficients and remainder.
func (f *fixedPart) solve(r, y []float64) {
	p, w := f.p, f.p+1
	n := len(y)
	f.r = make([]float64, p*p)
	f.beta = make([]float64, p)
	for i := range p {
		copy(f.r[i*p+i:(i+1)*p], r[i*w+i:i*w+p])
		f.beta[i] = r[i*w+p]
		f.logR += math.Log(math.Abs(r[i*w+i]))
	}
	upper := blas64.Triangular{Uplo: blas.Upper, Diag: blas.NonUnit, N: p, Stride: p, Data: f.r}
	blas64.Trsv(blas.NoTrans, upper, blas64.Vector{N: p, Inc: 1, Data: f.beta})
	f.left = make([]float64, n)
	for i := range n {
		row := f.q[i*p : (i+1)*p]
		fit := 0.0
		for j, v := range row {
			fit += v * f.beta[j]
		}
		f.left[i] = y[i] - fit
		// row of Q: the solution of q·R = x
		for j := range p {
			v := row[j]
			for k := range j {
				v -= row[k] * f.r[k*p+j]
			}
			row[j] = v / f.r[j*p+j]
		}
	}
	f.polish()
	for _, v := range f.left {
		f.rss += v * v
	}
	f.scale = math.Sqrt(f.rss / float64(n-p))
	if f.scale > 0 {
		for i := range f.left {
			f.left[i] /= f.scale
		}
	}
}

// polish takes out of the remainder what rounding left of the columns of Q in
// it, one step of iterative refinement of the least-squares coefficients.
func (f *fixedPart) polish() {
	p := f.p
	step := make([]float64, p)
	for i, e := range f.left {
		for j, v := range f.q[i*p : (i+1)*p] {
			step[j] += v * e
		}
	}
	for i := range f.left {
		for j, v := range f.q[i*p : (i+1)*p] {
			f.left[i] -= v * step[j]
		}
	}
	upper := blas64.Triangular{Uplo: blas.Upper, Diag: blas.NonUnit, N: p, Stride: p, Data: f.r}
	blas64.Trsv(blas.NoTrans, upper, blas64.Vector{N: p, Inc: 1, Data: step})
	for j := range step {
		f.beta[j] += step[j]
	}
}

func meanAndSpread(y []float64) (mean, spread float64) {
	for _, v := range y {
		mean += v
	}
	mean /= float64(len(y))
	for _, v := range y {
		spread += (v - mean) * (v - mean)
	}
	return mean, math.Sqrt(spread / float64(len(y)))
}

// inverseTriangle is R⁻¹. The design was checked for rank, so that it exists.
func (f *fixedPart) inverseTriangle() *mat.TriDense {
	p := f.p
	out := mat.NewTriDense(p, mat.Upper, nil)
	for j := range p {
		out.SetTri(j, j, 1/f.r[j*p+j])
		for i := j - 1; i >= 0; i-- {
			sum := 0.0
			for k := i + 1; k <= j; k++ {
				sum -= f.r[i*p+k] * out.At(k, j)
			}
			out.SetTri(i, j, sum/f.r[i*p+i])
		}
	}
	return out
}
