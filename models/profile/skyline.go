package profile

import "math"

// A skyline is a symmetric positive definite matrix of which each row of the
// lower triangle is kept from its first entry that need not be zero to the
// diagonal. Its factors LDL', L with a diagonal of ones, have the same skyline
// (Jennings 1966, Computer J. 9, 281–285; George and Liu 1981, Computer Solution
// of Large Sparse Positive Definite Systems, chapter 4). The gonum libraries
// have bands but no envelopes, and the smoother's equations are a band with a
// few long rows between.
type skyline struct {
	first   []int     // of each row, the column of its first entry
	offset  []int     // entry (r, c) is data[offset[r]+c]
	data    []float64 // the matrix; once factorised, L under the diagonal
	inverse []float64 // of D; once factorised
}

// newSkyline makes room for a matrix whose rows begin at the given columns.
func newSkyline(first []int) *skyline {
	e := &skyline{first: first, offset: make([]int, len(first))}
	size := 0
	for r, c := range first {
		e.offset[r] = size - c
		size += r - c + 1
	}
	e.data, e.inverse = make([]float64, size), make([]float64, len(first))
	return e
}

// row is one row, to be indexed by columns from its first to r.
func (e *skyline) row(r int) []float64 { return e.data[e.offset[r] : e.offset[r]+r+1] }

// add adds to the entry of two unknowns, in either order.
func (e *skyline) add(i, j int, v float64) {
	if i < j {
		i, j = j, i
	}
	e.data[e.offset[i]+j] += v
}

// factorise replaces the matrix by its factors, row by row, and gives the
// logarithm of its determinant. It reports whether the matrix was positive
// definite.
func (e *skyline) factorise() (logDet float64, ok bool) {
	product := newProduct()
	for r, first := range e.first {
		row := e.row(r)
		for c := first + 1; c < r; c++ {
			other := e.row(c)
			for k := max(first, e.first[c]); k < c; k++ {
				row[c] -= row[k] * other[k]
			}
		}
		pivot := row[r]
		for c := first; c < r; c++ {
			l := row[c] * e.inverse[c]
			pivot -= row[c] * l
			row[c] = l
		}
		if !(pivot > 0) || math.IsInf(pivot, 1) {
			return 0, false
		}
		e.inverse[r] = 1 / pivot
		product.times(pivot)
	}
	return product.log(), true
}

// solve replaces the right-hand side by the solution, by the factors.
func (e *skyline) solve(right []float64) {
	for r, first := range e.first {
		row := e.row(r)
		v := right[r]
		for c := first; c < r; c++ {
			v -= row[c] * right[c]
		}
		right[r] = v
	}
	for r, inverse := range e.inverse {
		right[r] *= inverse
	}
	for r := len(e.first) - 1; r >= 0; r-- {
		row := e.row(r)
		v := right[r]
		for c := e.first[r]; c < r; c++ {
			right[c] -= row[c] * v
		}
	}
}

// invert gives the entries of the inverse that lie in the skyline, from the
// factors, the last column first (Takahashi, Fagan and Chin 1973, 8th PICA
// Conference, 63–69; Erisman and Tinney 1975, Comm. ACM 18, 177–179): from L'Z =
// D⁻¹L⁻¹, which is lower triangular,
//
//	z_ij = (i = j) / d_i − Σ_k>i l_ki z_kj,   j ≥ i,
//
// where every z_kj that is needed lies in the skyline itself.
func (e *skyline) invert() *skyline {
	below := make([][]int, len(e.first)) // of each column, the rows under the diagonal that reach it
	for r, first := range e.first {
		for c := first; c < r; c++ {
			below[c] = append(below[c], r)
		}
	}
	inv := newSkyline(e.first)
	for i := len(e.first) - 1; i >= 0; i-- {
		here := e.inverse[i]
		for _, j := range below[i] {
			sum := 0.0
			for _, k := range below[i] {
				sum += e.at(k, i) * inv.at(max(k, j), min(k, j))
			}
			inv.add(j, i, -sum)
			here += e.at(j, i) * sum
		}
		inv.add(i, i, here)
	}
	return inv
}

// at is the entry of row r and column c ≤ r, which must lie in the skyline.
func (e *skyline) at(r, c int) float64 { return e.data[e.offset[r]+c] }

// A product multiplies positive numbers whose logarithm alone is wanted: one
// logarithm for many factors.
type product struct {
	mantissa float64
	exponent int
}

func newProduct() product { return product{mantissa: 1} }

func (p *product) times(v float64) {
	p.mantissa *= v
	if p.mantissa < 1e-100 || p.mantissa > 1e100 {
		p.rescale()
	}
}

func (p *product) rescale() {
	mantissa, exponent := math.Frexp(p.mantissa)
	p.mantissa, p.exponent = mantissa, p.exponent+exponent
}

func (p *product) log() float64 { return math.Log(p.mantissa) + float64(p.exponent)*math.Ln2 }
