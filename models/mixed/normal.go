package mixed

// A Normal is the matrix Λ'Z'WZΛ + I of a model's random effects, with weights of
// the rows that change from one filling to the next: for engines of outcomes that
// are no measures, which meet it at every step. It is filled, factored and inverted
// (where rows join groups) over one pattern. Vectors hold the random effects factor
// by factor, group by group, column by column. A Normal is one worker's own; Twin
// makes another of the same pattern.
type Normal struct {
	s       *system
	t       *trial
	left    []float64
	sorted  []float64 // scratch: a vector in the order of elimination
	place   []int32   // where each random effect stands in that order
	inverse *placed
}

// placed tells where the blocks of the inverse stand in the factor's panels.
type placed struct {
	own    [][]int32 // by factor and group: offset of the diagonal block
	stride [][]int32
	pairs  [][]int32 // by pair of factors and row: offset of the block …
	across [][]int32 // … its stride, below zero where the first factor's columns are its columns
}

// NewNormal lays factors over n rows. Its error is a [*table.Fault] where the
// factor would not fit into memory.
func NewNormal(file string, factors []Factor, n int) (*Normal, error) {
	d := &design{file: file, n: n}
	for _, f := range factors {
		own := factor{by: f.By, groups: f.Groups, code: f.Code, k: len(f.Z), units: f.Units}
		for _, c := range f.Z {
			own.z = append(own.z, column{name: c.Name, values: c.Values})
		}
		d.factors = append(d.factors, own)
	}
	s := newSystem(d)
	if err := s.checkSize(); err != nil {
		return nil, err
	}
	m := &Normal{s: s, left: make([]float64, n)}
	for f := range s.factors {
		for g := range s.factors[f].groups {
			at := s.column[s.place[s.base[f]+g]]
			for c := range s.factors[f].k {
				m.place = append(m.place, int32(at+c))
			}
		}
	}
	m.inverse = s.placeInverse()
	return m.Twin(), nil
}

// Twin is another of the same pattern.
func (m *Normal) Twin() *Normal {
	twin := *m
	twin.t = newTrial(m.s, m.s.newCross())
	twin.sorted = make([]float64, len(m.place))
	return &twin
}

// placeInverse finds where the blocks of the inverse stand.
func (s *system) placeInverse() *placed {
	out := &placed{own: make([][]int32, len(s.factors)), stride: make([][]int32, len(s.factors))}
	f := &s.front
	for k := range s.factors {
		for g := range s.factors[k].groups {
			j := s.place[s.base[k]+g]
			w, col := f.w[f.of[j]], f.col[j]
			out.own[k] = append(out.own[k], int32(f.at[f.of[j]])+col*w+col)
			out.stride[k] = append(out.stride[k], w)
		}
	}
	if len(s.factors) < 2 {
		return out
	}
	// by the offset of a block among the values: its offset in the panels
	at := make(map[int32]int32, len(s.nbr))
	for j := range s.nodes {
		t := f.of[j]
		for b := s.ptr[j]; b < s.ptr[j+1]; b++ {
			at[int32(s.start[j])+s.row[b]*s.width[j]] = int32(f.at[t]) + f.into[b]*f.w[t] + f.col[j]
		}
	}
	for g := 1; g < len(s.factors); g++ {
		for e := range g {
			from := s.pairs[pair(e, g)]
			pairs, across := make([]int32, s.n), make([]int32, s.n)
			for i, block := range from {
				pairs[i] = at[block]
				first, second := s.node(e, i), s.node(g, i)
				across[i] = f.w[f.of[min(first, second)]]
				if first < second {
					across[i] = -across[i]
				}
			}
			out.pairs = append(out.pairs, pairs)
			out.across = append(out.across, across)
		}
	}
	return out
}

// Fill makes Z'WZ for weights of the rows, which may be below zero.
func (m *Normal) Fill(w []float64) {
	s, c := m.s, m.t.cross
	plain := true
	for f := range s.factors {
		plain = plain && s.factors[f].k == 1 && s.factors[f].z[0].values == nil
	}
	if !plain {
		s.fill(c, w, m.left)
		c.root[0] = 1
		return
	}
	clear(c.values)
	c.root[0] = 1
	for f := range s.factors {
		start := s.start
		place := s.place[s.base[f]:]
		sums := m.sorted[:len(s.factors[f].groups)]
		clear(sums)
		for i, g := range s.factors[f].code {
			sums[g] += w[i]
		}
		for g, v := range sums {
			c.values[start[place[g]]] = v
		}
		for e := range f {
			for i, at := range s.pairs[pair(e, f)] {
				c.values[at] += w[i]
			}
		}
	}
}

// Factorise makes the Cholesky factor of Λ'Z'WZΛ + I, Λ by factor (k × k by rows,
// lower triangles); false where that is not positive definite.
func (m *Normal) Factorise(lambda [][]float64) bool {
	for f, l := range lambda {
		copy(m.t.lambda[f], l)
	}
	return m.t.factorise()
}

// LogDet is the logarithm of the determinant of what was factored.
func (m *Normal) LogDet() float64 { return m.t.logRandom }

// Solve replaces b by the solution of the equations with b on the right.
func (m *Normal) Solve(b []float64) {
	x := m.sorted
	for i, at := range m.place {
		x[at] = b[i]
	}
	m.t.solve(x)
	for i, at := range m.place {
		b[i] = x[at]
	}
}

// solve replaces x, in the order of elimination, by the solution of the random
// effects' own equations.
func (t *trial) solve(x []float64) {
	s, f := t.s, &t.s.front
	for front := range f.w {
		w := int(f.w[front])
		panel := t.l[f.at[front]:]
		own := x[s.column[f.first[front]]:][:w]
		for i := range w {
			own[i] = (own[i] - inner(panel[i*w:i*w+i], own[:i])) / panel[i*w+i]
		}
		for i, e := range f.effects(front) {
			x[e] -= inner(panel[(w+i)*w:(w+i+1)*w], own)
		}
	}
	for front := len(f.w) - 1; front >= 0; front-- {
		w := int(f.w[front])
		panel := t.l[f.at[front]:]
		own := x[s.column[f.first[front]]:][:w]
		for i, e := range f.effects(front) {
			v := x[e]
			for c, l := range panel[(w+i)*w : (w+i+1)*w] {
				own[c] -= l * v
			}
		}
		for i := w - 1; i >= 0; i-- {
			own[i] /= panel[i*w+i]
			for c, l := range panel[i*w : i*w+i] {
				own[c] -= l * own[i]
			}
		}
	}
}

// Invert finds the blocks of the inverse where rows join groups.
func (m *Normal) Invert() {
	clear(m.t.rootInv)
	m.t.invert()
}

// Slopes gives, by factor, half the derivative of the determinant's logarithm by the
// entries of Λ (k × k by rows), weights held; after Invert. The factors' room is
// the Normal's own.
func (m *Normal) Slopes() [][]float64 {
	m.t.slopes()
	for f, g := range m.t.grad {
		transposeSquare(g, m.s.factors[f].k)
	}
	return m.t.grad
}

func transposeSquare(m []float64, n int) {
	for i := range n {
		for j := range i {
			m[i*n+j], m[j*n+i] = m[j*n+i], m[i*n+j]
		}
	}
}

// RowVariances fills h with z'ΛH⁻¹Λ'z for rows from to to, H the matrix that was
// factored; after Invert.
func (m *Normal) RowVariances(from, to int, h []float64) {
	s, p, inv := m.s, m.inverse, m.t.inv
	clear(h[from:to])
	scaled := s.newRow()
	for g := range s.factors {
		G := &s.factors[g]
		lambda := m.t.lambda[g]
		if G.k == 1 && G.z[0].values == nil {
			own, square := p.own[g], lambda[0]*lambda[0]
			for i := from; i < to; i++ {
				h[i] += square * inv[own[G.code[i]]]
			}
		} else {
			for i := from; i < to; i++ {
				m.scaledRow(g, i, scaled[g])
				at, w := int(p.own[g][G.code[i]]), int(p.stride[g][G.code[i]])
				for a, va := range scaled[g] {
					for b, vb := range scaled[g] {
						h[i] += va * vb * inv[at+a*w+b]
					}
				}
			}
		}
		for e := range g {
			m.rowCovariances(e, g, from, to, h, scaled)
		}
	}
}

// rowCovariances adds twice the products of factors e and g.
func (m *Normal) rowCovariances(e, g, from, to int, h []float64, scaled [][]float64) {
	s, inv := m.s, m.t.inv
	E, G := &s.factors[e], &s.factors[g]
	pairs, across := m.inverse.pairs[pair(e, g)], m.inverse.across[pair(e, g)]
	if E.k == 1 && G.k == 1 && E.z[0].values == nil && G.z[0].values == nil {
		twice := 2 * m.t.lambda[e][0] * m.t.lambda[g][0]
		for i := from; i < to; i++ {
			h[i] += twice * inv[pairs[i]]
		}
		return
	}
	for i := from; i < to; i++ {
		m.scaledRow(e, i, scaled[e])
		m.scaledRow(g, i, scaled[g])
		rows, columns, w := scaled[e], scaled[g], int(across[i])
		if w < 0 { // the earlier node's columns are the block's columns
			rows, columns, w = scaled[g], scaled[e], -w
		}
		for a, va := range rows {
			for b, vb := range columns {
				h[i] += 2 * va * vb * inv[int(pairs[i])+a*w+b]
			}
		}
	}
}

// scaledRow writes Λ'z of row i and factor f.
func (m *Normal) scaledRow(f, i int, out []float64) {
	F := &m.s.factors[f]
	lambda := m.t.lambda[f]
	clear(out)
	for a, c := range F.z {
		z := c.at(i)
		for b := range a + 1 {
			out[b] += lambda[a*F.k+b] * z
		}
	}
}
