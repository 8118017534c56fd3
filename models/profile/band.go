package profile

import (
	"math"

	"gonum.org/v1/gonum/blas"
	"gonum.org/v1/gonum/blas/blas64"
	"gonum.org/v1/gonum/lapack/lapack64"

	"thumbed/models/readings"
)

// width is the number of diagonals above the main one in D'D.
const width = 2

// A system is the smoother's equations for one set of points, refilled at
// every trial of the smoothing and the scatter.
type system struct {
	n      int
	points []point
	limits bool // some points are only bounds

	sigma, tau float64
	level      []float64 // n
	weight     []float64 // one a point: curvature of its log likelihood
	slope      []float64 // one a point: slope of its log likelihood
	logp       float64   // of all points
	diagonal   []float64 // n: σ²W
	right      []float64 // n: right-hand side
	factor     blas64.TriangularBand
}

func newSystem(points []point, n int) *system {
	s := &system{n: n, points: points}
	s.level = make([]float64, n)
	s.weight = make([]float64, len(points))
	s.slope = make([]float64, len(points))
	s.diagonal = make([]float64, n)
	s.right = make([]float64, n)
	s.factor = blas64.TriangularBand{Uplo: blas.Upper, Diag: blas.NonUnit, N: n, K: width, Stride: width + 1, Data: make([]float64, n*(width+1))}
	for _, p := range points {
		s.limits = s.limits || p.limit != readings.Measured
	}
	return s
}

// Newton's steps stop where no level moves by more than this part of a page's
// standard deviation.
const (
	settled    = 1e-9
	mostNewton = 60
)

// solve finds the level of greatest penalised likelihood at the given scatter
// and bend, by Newton's method: one step where every page is a number. It
// reports whether it succeeded.
func (s *system) solve(tau, sigma float64) bool {
	s.tau, s.sigma = tau, sigma
	s.start()
	for range mostNewton {
		s.fill()
		if !s.factorise() {
			return false
		}
		moved := s.step()
		if !s.limits {
			return true
		}
		if moved < settled*tau {
			s.evaluate()
			s.fill()
			return s.factorise()
		}
		s.evaluate()
	}
	return false
}

// start takes every bound as a number at first.
func (s *system) start() {
	clear(s.level)
	for i, p := range s.points {
		v := s.tau*s.tau + p.variance
		s.weight[i], s.slope[i] = 1/v, p.value/v
	}
}

// evaluate takes each point's log likelihood, slope and curvature at the
// present level.
func (s *system) evaluate() {
	s.logp = 0
	for i, p := range s.points {
		logp, slope, curvature := support(p, s.level[p.at], s.tau*s.tau+p.variance)
		s.logp += logp
		s.slope[i], s.weight[i] = slope, curvature
	}
}

// fill writes σ²W + D'D into the band, row by row from the diagonal.
func (s *system) fill() {
	clear(s.diagonal)
	for i, p := range s.points {
		s.diagonal[p.at] += s.sigma * s.sigma * s.weight[i]
	}
	data := s.factor.Data
	for i := range s.n {
		row := data[i*(width+1):]
		row[0], row[1], row[2] = s.diagonal[i], 0, 0
	}
	for i := range s.n - 2 { // the difference z_i − 2 z_i+1 + z_i+2
		data[i*3] += 1
		data[i*3+1] -= 2
		data[i*3+2] += 1
		data[(i+1)*3] += 4
		data[(i+1)*3+1] -= 2
		data[(i+2)*3] += 1
	}
}

// factorise replaces the band by its Cholesky factor.
func (s *system) factorise() bool {
	t, ok := lapack64.Pbtrf(blas64.SymmetricBand{Uplo: blas.Upper, N: s.n, K: width, Data: s.factor.Data, Stride: width + 1})
	s.factor = t
	return ok
}

// step moves the level to the solution of the present equations and gives the
// greatest move.
func (s *system) step() float64 {
	right := s.right
	clear(right)
	for i, p := range s.points {
		right[p.at] += s.sigma * s.sigma * (s.weight[i]*s.level[p.at] + s.slope[i])
	}
	lapack64.Pbtrs(s.factor, blas64.General{Rows: s.n, Cols: 1, Stride: 1, Data: right})
	moved := 0.0
	for i, z := range right {
		moved = math.Max(moved, math.Abs(z-s.level[i]))
	}
	copy(s.level, right)
	return moved
}

// criterion is −2 log restricted likelihood at the level last solved for:
//
//	−2 Σ log p_i + z'D'Dz/σ² + log|σ²W + D'D| − 2 log σ² − 2 log 2π
//
// With the straight line written as 1 and the position, log|X'X| of the line
// cancels log|DD'| of the prior, so this is the usual restricted likelihood of
// the mixed model (n − 2 times log 2π in all).
func (s *system) criterion() float64 {
	s.evaluate()
	rough := 0.0
	for i := range s.n - 2 {
		d := s.level[i] - 2*s.level[i+1] + s.level[i+2]
		rough += d * d
	}
	logDet := 0.0
	for i := range s.n {
		logDet += 2 * math.Log(s.factor.Data[i*(width+1)])
	}
	return -2*s.logp + rough/(s.sigma*s.sigma) + logDet - 4*math.Log(s.sigma) - 2*math.Log(2*math.Pi)
}

// inverseDiagonal is the diagonal of σ²(σ²W + D'D)⁻¹, the variance of the
// level, from the central bands of the inverse in one backward pass
// (Hutchinson and de Hoog 1985, Numer. Math. 47, 99–106).
func (s *system) inverseDiagonal() []float64 {
	out := make([]float64, s.n)
	var d1, d2, o1 float64 // inverse at (i+1,i+1), (i+2,i+2), (i+1,i+2)
	for i := s.n - 1; i >= 0; i-- {
		row := s.factor.Data[i*(width+1):]
		pivot := row[0] * row[0]
		var u1, u2 float64
		if i+1 < s.n {
			u1 = row[1] / row[0]
		}
		if i+2 < s.n {
			u2 = row[2] / row[0]
		}
		next := -u1*d1 - u2*o1   // (i, i+1)
		second := -u1*o1 - u2*d2 // (i, i+2)
		here := 1/pivot - u1*next - u2*second
		out[i] = s.sigma * s.sigma * here
		d1, d2, o1 = here, d1, next
	}
	return out
}
