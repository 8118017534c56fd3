package generalised

import (
	"fmt"
	"strings"

	"thumbed/models/sparse"
	"thumbed/models/table"
)

// A lattice is H = Λ'Z'WZΛ + I of the random effects for one trial of the
// parameters, in the order in which a [random] has them.
type lattice struct {
	factor *sparse.Factor
	form   *sparse.Cross // Λ H⁻¹ Λ' where rows join groups
	place  []int32       // where each random effect stands in the order of elimination
	sorted []float64
	none   []float64 // an outcome of zeros
}

// equations lays the random effects' equations out.
func (r *random) equations(n int, file string, by [][]string) (*sparse.System, error) {
	design := sparse.Design{N: n}
	for f := range r.factors {
		fac := &r.factors[f]
		member := sparse.Member{Term: f, Code: fac.code, Columns: make([][]float64, fac.k)}
		for c := range fac.k {
			if fac.z == nil {
				continue
			}
			member.Columns[c] = make([]float64, n)
			for i := range n {
				member.Columns[c][i] = fac.at(i, c)
			}
		}
		design.Terms = append(design.Terms, sparse.Term{Groups: fac.groups, Columns: fac.k})
		design.Members = append(design.Members, member)
	}
	s := sparse.NewSystem(design)
	if !s.TooLarge() {
		return s, nil
	}
	var sizes []string
	for f, names := range by {
		sizes = append(sizes, fmt.Sprintf("%d groups of %s", r.factors[f].groups, strings.Join(names, " and ")))
	}
	var ps table.Problems
	ps.Add(table.Problem{File: file, Value: strings.Join(sizes, " and "),
		Expected: "random terms whose rows join their groups less thickly: the fit would need more than 6 GB of memory",
		Remedy:   "take out the term whose groups are crossed with the others, or fit each book by itself"})
	return nil, ps.Err()
}

func newLattice(s *sparse.System, r *random) *lattice {
	m := &lattice{factor: s.NewFactor(s.NewCross()), form: s.NewCross(), place: make([]int32, r.q), sorted: make([]float64, r.q), none: make([]float64, s.N)}
	for f := range r.factors {
		fac := &r.factors[f]
		for g := range fac.groups {
			at := s.First(f, g)
			for c := range fac.k {
				m.place[fac.first+g*fac.k+c] = int32(at + c)
			}
		}
	}
	return m
}

// factorise fills H with weights of the rows and factors it; false where it is not
// positive definite.
func (m *lattice) factorise(lambda [][]float64, w []float64) bool {
	m.factor.Cross.FillWeights(w)
	for f, l := range lambda {
		copy(m.factor.Lambda[f], l)
	}
	return m.factor.Factorise()
}

// logDet is log det H.
func (m *lattice) logDet() float64 { return m.factor.LogRandom }

// solve replaces b by H⁻¹b.
func (m *lattice) solve(b []float64) {
	for i, at := range m.place {
		m.sorted[at] = b[i]
	}
	m.factor.Solve(m.sorted)
	for i, at := range m.place {
		b[i] = m.sorted[at]
	}
}

// variances fills h with z'ΛH⁻¹Λ'z for every row, and gives half the derivative of
// log det H by the entries of Λ (k × k, by columns), weights held.
func (m *lattice) variances(h []float64) [][]float64 {
	m.factor.StartInverse(false, 0)
	m.factor.Invert()
	m.factor.Adjoint(m.form)
	m.form.Forms(h)
	m.factor.FillSlopes()
	return m.factor.Slopes
}
