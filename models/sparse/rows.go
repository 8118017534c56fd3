package sparse

// FillWeights makes the random effects' own part of the cross-product, Z'WZ, with
// weights of the rows that may be below zero: what an iteration needs whose weights
// change at every step and whose right side comes from elsewhere.
func (c *Cross) FillWeights(w []float64) {
	s := c.s
	c.Clear()
	for f := range s.members {
		if s.plain(f) {
			start, place := s.start, s.place[s.base[s.members[f].Term]:]
			for i, g := range s.members[f].Code {
				if g >= 0 {
					c.values[start[place[g]]] += w[i]
				}
			}
		} else {
			c.fillOwn(f, w)
		}
		for e := range f {
			if !s.plain(e) || !s.plain(f) {
				c.fillPair(e, f, w)
				continue
			}
			for i, at := range s.pairs[pair(e, f)] {
				if at >= 0 {
					c.values[at] += w[i]
				}
			}
		}
	}
}

// plain tells whether a member has one column of ones alone.
func (s *System) plain(f int) bool {
	return len(s.members[f].Columns) == 1 && s.members[f].Columns[0] == nil
}

// fillOwn adds the rows to the diagonal blocks of a member's groups.
func (c *Cross) fillOwn(f int, w []float64) {
	s, z := c.s, c.z[f]
	k := len(z)
	for i := range s.N {
		j := s.node(f, i)
		if j < 0 {
			continue
		}
		s.memberRow(f, i, z)
		block := c.values[s.start[j]:]
		for a, va := range z {
			wa := w[i] * va
			for b, vb := range z {
				block[a*k+b] += wa * vb
			}
		}
	}
}

// fillPair adds the rows to the blocks of two members' groups.
func (c *Cross) fillPair(e, f int, w []float64) {
	s := c.s
	for i := range s.N {
		j, k := s.node(f, i), s.node(e, i)
		if j < 0 || k < 0 {
			continue
		}
		s.memberRow(e, i, c.z[e])
		s.memberRow(f, i, c.z[f])
		c.addPair(s.pairs[pair(e, f)][i], k, j, w[i], c.z[e], c.z[f])
	}
}

// Forms fills out with the quadratic form z'Cz of every row of Z alone in a matrix
// of the cross-product's shape.
func (c *Cross) Forms(out []float64) {
	s := c.s
	clear(out)
	for f := range s.members {
		if s.plain(f) {
			start, place := s.start, s.place[s.base[s.members[f].Term]:]
			for i, g := range s.members[f].Code {
				if g >= 0 {
					out[i] += c.values[start[place[g]]]
				}
			}
		} else {
			c.formsOwn(f, out)
		}
		for e := range f {
			if !s.plain(e) || !s.plain(f) {
				c.formsPair(e, f, out)
				continue
			}
			for i, at := range s.pairs[pair(e, f)] {
				if at >= 0 {
					out[i] += 2 * c.values[at]
				}
			}
		}
	}
}

func (c *Cross) formsOwn(f int, out []float64) {
	s, z := c.s, c.z[f]
	k := len(z)
	for i := range s.N {
		j := s.node(f, i)
		if j < 0 {
			continue
		}
		s.memberRow(f, i, z)
		block := c.values[s.start[j]:]
		for a, v := range z {
			out[i] += v * inner(z, block[a*k:(a+1)*k])
		}
	}
}

func (c *Cross) formsPair(e, f int, out []float64) {
	s := c.s
	for i := range s.N {
		j, k := s.node(f, i), s.node(e, i)
		if j < 0 || k < 0 {
			continue
		}
		rows, columns := c.z[e], c.z[f]
		s.memberRow(e, i, rows)
		s.memberRow(f, i, columns)
		if k < j { // the earlier node's columns are the block's
			rows, columns = columns, rows
		}
		block := c.values[s.pairs[pair(e, f)][i]:]
		for a, v := range rows {
			out[i] += 2 * v * inner(columns, block[a*len(columns):(a+1)*len(columns)])
		}
	}
}
