package sparse

// A triangle is a term's covariance factor: k × k by rows, a lower triangle; where it is
// scaled, nothing stands beside its diagonal.
type triangle struct {
	numbers []float64
	k       int
	scaled  bool
}

// lambdaOf is the covariance factor of node j's term.
func (t *Factor) lambdaOf(j int) triangle {
	f := t.s.term[j]
	return triangle{t.Lambda[f], t.s.terms[f].Columns, t.s.terms[f].Scaled}
}

// last is one more than the last row in which column a is not zero, first the first
// column in which row a is not.
func (m triangle) last(a int) int {
	if m.scaled {
		return a + 1
	}
	return m.k
}

func (m triangle) first(a int) int {
	if m.scaled {
		return a
	}
	return 0
}

// after writes a row of k numbers times the triangle into out.
func (m triangle) after(out, row []float64) {
	for c := range m.k {
		sum := 0.0
		for d := c; d < m.last(c); d++ {
			sum += row[d] * m.numbers[d*m.k+c]
		}
		out[c] = sum
	}
}

// afterTransposed writes a row of k numbers times the triangle's transpose into out.
func (m triangle) afterTransposed(out, row []float64) {
	for c := range m.k {
		sum := 0.0
		for d := m.first(c); d < c+1; d++ {
			sum += row[d] * m.numbers[c*m.k+d]
		}
		out[c] = sum
	}
}
