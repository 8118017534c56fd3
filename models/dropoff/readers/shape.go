package readers

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat"
)

// A Shape is a reader's curve over k offices relative to its own mean.
type Shape struct {
	Name   string
	Values []float64 // k, with mean 1
	// Covariance is that of the errors of Values, k × k and of rank k−1 at most;
	// nil where the values are known.
	Covariance *mat.SymDense
}

// unclear is the largest relative standard error of a mean that a curve is
// divided by. The error of the division is of the order of its square, 6 in 100
// here, beside what is kept of it.
const unclear = 0.25

// ShapeOf gives the shape of a curve: wear of k offices (density) with the
// covariance of their errors. The covariance of the shape is that of the first
// order (the delta method): with w the wear and m its mean, the shape w/m has the
// derivatives (I − (w/m)1'/k)/m.
//
// The error is a sentence: the curve's own mean is not clearly above nothing.
func ShapeOf(name string, wear []float64, covariance mat.Symmetric) (Shape, error) {
	k := len(wear)
	if k < 2 || covariance.SymmetricDim() != k {
		return Shape{}, fmt.Errorf("a curve of %d offices with errors of %d has no shape: give two offices or more, with the errors of each", k, covariance.SymmetricDim())
	}
	mean := stat.Mean(wear, nil)
	ones := mat.NewVecDense(k, nil)
	for i := range k {
		ones.SetVec(i, 1/float64(k))
	}
	se := math.Sqrt(mat.Inner(ones, covariance, ones))
	if !(se <= unclear*mean) || math.IsNaN(se) {
		return Shape{}, fmt.Errorf("its wear over these offices is hardly above nothing (mean %.3g, standard error %.2g), so that it has no shape: measure more of its pages", mean, se)
	}
	s := Shape{Name: name, Values: append([]float64(nil), wear...)}
	floats.Scale(1/mean, s.Values)
	derivative := mat.NewDense(k, k, nil)
	for i := range k {
		for j := range k {
			derivative.Set(i, j, -s.Values[i]/float64(k)/mean)
		}
		derivative.Set(i, i, derivative.At(i, i)+1/mean)
	}
	var half, whole mat.Dense
	half.Mul(derivative, covariance)
	whole.Mul(&half, derivative.T())
	s.Covariance = symmetric(&whole)
	return s, nil
}

// symmetric is a square matrix that is symmetric but for rounding.
func symmetric(m *mat.Dense) *mat.SymDense {
	n, _ := m.Dims()
	s := mat.NewSymDense(n, nil)
	for i := range n {
		for j := i; j < n; j++ {
			s.SetSym(i, j, (m.At(i, j)+m.At(j, i))/2)
		}
	}
	return s
}

// root is the symmetric root R of s, R R' = s, what is negative in s by rounding
// or by subtraction taken as nothing; nil for nil. Of all roots it is the one that
// does not hang on the signs of eigenvectors, which rounding chooses.
func root(s mat.Symmetric) *mat.Dense {
	n := s.SymmetricDim()
	out := mat.NewDense(n, n, nil)
	var eigen mat.EigenSym
	if !eigen.Factorize(s, true) {
		return out // of no finite matrix; callers have checked
	}
	var vectors, sized mat.Dense
	eigen.VectorsTo(&vectors)
	sized.CloneFrom(&vectors)
	for j, value := range eigen.Values(nil) {
		size := math.Sqrt(math.Max(value, 0))
		for i := range n {
			sized.Set(i, j, size*sized.At(i, j))
		}
	}
	out.Mul(&sized, vectors.T())
	return out
}
