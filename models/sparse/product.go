package sparse

import "gonum.org/v1/gonum/floats"

// A Cross is the cross-product of [Z X y] under the rows' weights or
// correlation: the nodes' panels, and the root's block (root × root by rows, both
// triangles).
type Cross struct {
	s      *System
	values []float64
	root   []float64

	z     [][]float64 // scratch: a row of each member's columns
	fixed []float64   // scratch: a row of [X y]
	times []float64   // scratch: that times the root's block
}

// NewCross makes room for a cross-product. It serves one goroutine where it is
// filled or asked; factors may share one that stands.
func (s *System) NewCross() *Cross {
	c := &Cross{s: s, values: make([]float64, s.values), root: make([]float64, s.Root*s.Root), fixed: make([]float64, s.Root), times: make([]float64, s.Root)}
	for _, m := range s.members {
		c.z = append(c.z, make([]float64, len(m.Columns)))
	}
	return c
}

// Fill makes the cross-product of independent rows, weights being the inverses
// of their variances (nil: all one) and y the outcome.
func (c *Cross) Fill(weights, y []float64) {
	s := c.s
	c.Clear()
	for i := range s.N {
		w := 1.0
		if weights != nil {
			w = weights[i]
		}
		s.fixedRow(i, y, c.fixed)
		for a, va := range c.fixed {
			floats.AddScaled(c.root[a*s.Root:][:a+1], w*va, c.fixed[:a+1])
		}
		for f := range s.members {
			j := s.node(f, i)
			if j < 0 {
				continue
			}
			s.memberRow(f, i, c.z[f])
			c.addSelf(j, w, c.z[f], c.fixed)
			for e := range f {
				if k := s.node(e, i); k >= 0 {
					c.addPair(s.pairs[pair(e, f)][i], k, j, w, c.z[e], c.z[f])
				}
			}
		}
	}
	mirror(c.root, s.Root)
}

// Clear makes every number of the cross-product zero.
func (c *Cross) Clear() {
	clear(c.values)
	clear(c.root)
}

// FillOutcome makes the outcome's rows of a cross-product of independent rows of
// weight one anew.
func (c *Cross) FillOutcome(y []float64) {
	s := c.s
	for j := range s.nodes {
		k := int(s.width[j])
		clear(c.values[s.start[j]+(int(s.tail[j])+s.P)*k:][:k])
	}
	for f := range s.members {
		for k, values := range s.members[f].Columns {
			c.fillOutcomeOf(f, k, values, y)
		}
	}
	last := c.root[s.P*s.Root:][:s.Root]
	clear(last)
	for i, v := range y {
		for a, q := range s.fixed[i*s.P : (i+1)*s.P] {
			last[a] += v * q
		}
		last[s.P] += v * v
	}
	for a, v := range last[:s.P] {
		c.root[a*s.Root+s.P] = v
	}
}

// fillOutcomeOf adds the products of column k of member f with the outcome.
func (c *Cross) fillOutcomeOf(f, k int, values, y []float64) {
	m := &c.s.members[f]
	at := c.s.outcome[m.Term]
	for i, v := range y {
		if m.Code[i] < 0 {
			continue
		}
		if values != nil {
			v *= values[i]
		}
		c.values[at[m.Code[i]]+k] += v
	}
}

// Group gives the diagonal block of a term's group (k × k by rows) and its
// products with the outcome (k).
func (c *Cross) Group(term, group int) (block, outcome []float64) {
	s := c.s
	j := s.place[s.base[term]+group]
	k := int(s.width[j])
	panel := c.values[s.start[j]:]
	return panel[:k*k], panel[(int(s.tail[j])+s.P)*k:][:k]
}

// Form is the quadratic form x'Cx of row i of [Z X y] in a matrix of the
// cross-product's shape.
func (c *Cross) Form(i int, y []float64) float64 {
	s := c.s
	s.fixedRow(i, y, c.fixed)
	sum := 0.0
	r := s.Root
	clear(c.times)
	for a, v := range c.fixed { // the root's block is symmetric: by rows, which can be done several numbers at once
		floats.AddScaled(c.times, v, c.root[a*r:(a+1)*r])
	}
	sum = inner(c.fixed, c.times)
	for f := range s.members {
		j := s.node(f, i)
		if j < 0 {
			continue
		}
		z := c.z[f]
		s.memberRow(f, i, z)
		k := len(z)
		panel := c.values[s.start[j]:]
		for a, v := range z {
			if v != 0 {
				sum += v * inner(panel[a*k:(a+1)*k], z)
			}
		}
		tail := panel[int(s.tail[j])*k:]
		if k == 1 {
			for a, v := range c.fixed {
				sum += 2 * v * (tail[a] * z[0])
			}
		} else {
			for a, v := range c.fixed {
				sum += 2 * v * inner(tail[a*k:(a+1)*k], z)
			}
		}
		for e := range f {
			at := s.node(e, i)
			if at < 0 {
				continue
			}
			zi, zj := c.z[e], z
			if at < j {
				zi, zj = zj, zi
			}
			block := c.values[s.pairs[pair(e, f)][i]:]
			for a, v := range zi {
				sum += 2 * v * inner(block[a*len(zj):(a+1)*len(zj)], zj)
			}
		}
	}
	return sum
}

// Collect writes [Z X y]'v into out (effects + p + 1 numbers), v being one number
// a row, every stride-th of values; the outcome's own stays zero.
func (s *System) Collect(values []float64, stride int, out []float64) {
	clear(out)
	for i := range s.N {
		v := values[i*stride]
		for a, q := range s.fixed[i*s.P : (i+1)*s.P] {
			out[s.Effects+a] += v * q
		}
		for f := range s.members {
			j := s.node(f, i)
			if j < 0 {
				continue
			}
			at := s.column[j]
			for k, z := range s.members[f].Columns {
				if z == nil {
					out[at+k] += v
					continue
				}
				out[at+k] += v * z[i]
			}
		}
	}
}

// fixedRow is row i of [X y].
func (s *System) fixedRow(i int, y, out []float64) {
	copy(out, s.fixed[i*s.P:(i+1)*s.P])
	out[s.P] = y[i]
}

// memberRow is row i of member f's columns.
func (s *System) memberRow(f, i int, out []float64) {
	for k, values := range s.members[f].Columns {
		out[k] = 1
		if values != nil {
			out[k] = values[i]
		}
	}
}

// Predicted is row i's value from fixed effects beta and random effects.
func (s *System) Predicted(i int, beta, effects []float64) float64 {
	sum := inner(beta, s.fixed[i*s.P:(i+1)*s.P])
	for f := range s.members {
		j := s.node(f, i)
		if j < 0 {
			continue
		}
		at := s.column[j]
		for k, values := range s.members[f].Columns {
			v := effects[at+k]
			if values != nil {
				v *= values[i]
			}
			sum += v
		}
	}
	return sum
}

// addSelf adds a row to a node's diagonal block and its root rows.
func (c *Cross) addSelf(j int32, w float64, z, fixed []float64) {
	k := len(z)
	panel := c.values[c.s.start[j]:]
	for a, va := range z {
		if va == 0 {
			continue // of many columns, such as days, a row has few
		}
		wa := w * va
		for b, vb := range z {
			panel[a*k+b] += wa * vb
		}
	}
	tail := panel[int(c.s.tail[j])*k:]
	if k == 1 {
		for a, va := range fixed {
			tail[a] += w * va * z[0]
		}
		return
	}
	for a, va := range fixed {
		wa := w * va
		for b, vb := range z {
			tail[a*k+b] += wa * vb
		}
	}
}

// addPair adds a row to the block of two nodes.
func (c *Cross) addPair(at, i, j int32, w float64, zi, zj []float64) {
	if i < j {
		i, j, zi, zj = j, i, zj, zi
	}
	k := len(zj)
	block := c.values[at:]
	for a, va := range zi {
		wa := w * va
		for b, vb := range zj {
			block[a*k+b] += wa * vb
		}
	}
}

// mirror copies the lower triangle of an n × n block to the upper.
func mirror(m []float64, n int) {
	for i := range n {
		for j := range i {
			m[j*n+i] = m[i*n+j]
		}
	}
}

// inner is the inner product of a with as many numbers of b.
func inner(a, b []float64) float64 {
	b = b[:len(a)]
	sum := 0.0
	for i, v := range a {
		sum += v * b[i]
	}
	return sum
}
