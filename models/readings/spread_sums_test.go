package readings

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"
)

// TestSumsOfAPage holds the sums of a page against its matrices written out: M = W −
// Wee'W/e'We, its square and its cube, and Z with a column an offset.
func TestSumsOfAPage(t *testing.T) {
	r := rand.New(rand.NewPCG(4, 0))
	m := spreadModel{source: []int{0, 0, 0, 0, 1, 1}}
	page := repeatedPage{levels: [][]int{{0, 4}, {2, 5}, {0, 5}, {3}, {2, 4}}}
	for range page.levels {
		page.values, page.variances = append(page.values, r.Float64()), append(page.variances, 0.1+r.Float64())
	}
	m.pages = []repeatedPage{page}
	const placing = 0.05
	s := m.sums(placing)

	n, q := len(page.values), len(m.source)
	one, z, total := mat.NewDense(n, n, nil), mat.NewDense(n, q, nil), 0.0
	for i, v := range page.variances {
		total += 1 / (v + placing)
		for _, b := range page.levels[i] {
			z.Set(i, b, 1)
		}
	}
	for i, v := range page.variances {
		for j, u := range page.variances {
			one.Set(i, j, -1/(v+placing)/(u+placing)/total)
		}
		one.Set(i, i, one.At(i, i)+1/(v+placing))
	}
	y := mat.NewVecDense(n, page.values)
	near := func(what string, got, want float64) {
		t.Helper()
		if math.Abs(got-want) > 1e-12*(1+math.Abs(want)) {
			t.Errorf("%s is %v, want %v", what, got, want)
		}
	}
	power := mat.DenseCopyOf(one)
	for k, sums := range []struct {
		zz    *mat.SymDense
		zy    *mat.VecDense
		yy, t float64
	}{{s.zMz, s.zMy, s.yMy, s.tM}, {s.zMMz, s.zMMy, s.yMMy, s.tMM}, {zz: s.zMMMz}} {
		if k > 0 {
			power.Mul(mat.DenseCopyOf(power), one)
		}
		var zz mat.Dense
		zz.Product(z.T(), power, z)
		for a := range q {
			for b := range q {
				near("Z'MᵏZ", sums.zz.At(a, b), zz.At(a, b))
			}
		}
		if sums.zy == nil {
			continue
		}
		var zy mat.VecDense
		var py mat.VecDense
		py.MulVec(power, y)
		zy.MulVec(z.T(), &py)
		for a := range q {
			near("Z'Mᵏy", sums.zy.AtVec(a), zy.AtVec(a))
		}
		near("y'Mᵏy", sums.yy, mat.Dot(y, &py))
		near("the trace", sums.t, mat.Trace(power))
	}
}
