package sparse

// A Sensitivity holds C = M⁻¹Λ'Z'R⁻¹[X y] (effects × (p+1) by rows), M the random
// effects' own block, from which the conditional modes and every derivative of
// X'V⁻¹X follow.
type Sensitivity struct {
	t  *Factor
	at []int     // offset of each node's k × (p+1) rows
	c  []float64 // by node, rows of p+1
}

// Sensitivity solves for C by substitution backwards through the factor.
func (t *Factor) Sensitivity() *Sensitivity {
	s, f := t.s, &t.s.front
	v := &Sensitivity{t: t, at: make([]int, s.nodes)}
	for j := range s.nodes {
		v.at[j] = s.column[j] * s.Root
	}
	v.c = make([]float64, s.column[s.nodes]*s.Root)
	for front := len(f.w) - 1; front >= 0; front-- {
		w, height := int(f.w[front]), int(f.height[front])
		panel := t.l[f.at[front]:]
		own := v.c[v.at[f.first[front]]:][:w*s.Root]
		for i := range s.Root {
			for c := range w {
				own[c*s.Root+i] = panel[(height+i)*w+c]
			}
		}
		for k, e := range f.effects(front) {
			later := v.c[int(e)*s.Root:][:s.Root]
			for c, l := range panel[(w+k)*w:][:w] {
				for i, x := range later {
					own[c*s.Root+i] -= l * x
				}
			}
		}
		for c := w - 1; c >= 0; c-- {
			for i := range s.Root {
				x := own[c*s.Root+i]
				for k := c + 1; k < w; k++ {
					x -= panel[k*w+c] * own[k*s.Root+i]
				}
				own[c*s.Root+i] = x / panel[c*w+c]
			}
		}
	}
	return v
}

// FixedSlopes gives, for each term, k × k sums over its groups: entry a·k+b is
// the p × p matrix D such that the derivative of X'V⁻¹X by Λ[a,b] is D + D'.
func (v *Sensitivity) FixedSlopes() [][][]float64 {
	s := v.t.s
	p := s.P
	// −Σ over groups of H[a]'·N[b], where N = (−C; I) and H = A·T·N, both
	// restricted to one group's rows
	sums := make([][][]float64, len(s.terms))
	for f := range sums {
		k := s.terms[f].Columns
		sums[f] = make([][]float64, k*k)
		for e := range sums[f] {
			sums[f][e] = make([]float64, p*p)
		}
	}
	h := v.Products()
	for j := range s.nodes {
		k := int(s.width[j])
		for a := range k {
			ha := h[v.at[j]+a*s.Root:][:p]
			for b := range k {
				nb := v.c[v.at[j]+b*s.Root:][:p]
				sum := sums[s.term[j]][a*k+b]
				for x, hv := range ha {
					for y, nv := range nb {
						sum[x*p+y] -= hv * nv
					}
				}
			}
		}
	}
	return sums
}

// Products gives the random rows of A·T·N, N = (−C; I), in the layout of C: Z'V⁻¹
// times [X y].
func (v *Sensitivity) Products() []float64 {
	t := v.t
	s := t.s
	r := s.Root
	scaled := v.Effects() // the random rows of T·N, but for their sign
	for i := range scaled {
		scaled[i] = -scaled[i]
	}
	out := make([]float64, len(v.c))
	addRows := func(to []float64, block []float64, m, k int, from []float64, transposed bool) {
		for a := range m {
			for c := range k {
				if transposed {
					for i := range r {
						to[c*r+i] += block[a*k+c] * from[a*r+i]
					}
					continue
				}
				for i := range r {
					to[a*r+i] += block[a*k+c] * from[c*r+i]
				}
			}
		}
	}
	for j := range s.nodes {
		k := int(s.width[j])
		panel := t.Cross.values[s.start[j]:]
		own := out[v.at[j]:]
		addRows(own, panel, k, k, scaled[v.at[j]:], false)
		for b := s.ptr[j]; b < s.ptr[j+1]; b++ {
			i := s.nbr[b]
			m := int(s.width[i])
			block := panel[int(s.row[b])*k:]
			addRows(out[v.at[i]:], block, m, k, scaled[v.at[j]:], false)
			addRows(own, block, m, k, scaled[v.at[i]:], true)
		}
		tail := panel[int(s.tail[j])*k:]
		for a := range r {
			for c := range k {
				own[c*r+a] += tail[a*k+c]
			}
		}
	}
	return out
}

// Rows gives X − ZΛC (n × p by rows), the fixed effects' columns less what the
// random effects make of them: V⁻¹X is R⁻¹ times it.
func (v *Sensitivity) Rows() []float64 {
	s := v.t.s
	p := s.P
	out := make([]float64, s.N*p)
	copy(out, s.fixed)
	effects := v.Effects()
	for i := range s.N {
		row := out[i*p : (i+1)*p]
		for f := range s.members {
			j := s.node(f, i)
			if j < 0 {
				continue
			}
			for b, values := range s.members[f].Columns {
				z := 1.0
				if values != nil {
					z = values[i]
				}
				for c, x := range effects[v.at[j]+b*s.Root:][:p] {
					row[c] -= z * x
				}
			}
		}
	}
	return out
}

// Effects gives ΛC in the layout of C: in the columns of X the random effects'
// answer to a unit of each fixed effect, in the outcome's column that to the
// outcome.
func (v *Sensitivity) Effects() []float64 {
	s := v.t.s
	r := s.Root
	out := make([]float64, len(v.c))
	for j := range s.nodes {
		k := int(s.width[j])
		lambda := v.t.Lambda[s.term[j]]
		for a := range k {
			to := out[v.at[j]+a*r:][:r]
			for b := range a + 1 {
				for i, x := range v.c[v.at[j]+b*r:][:r] {
					to[i] += lambda[a*k+b] * x
				}
			}
		}
	}
	return out
}
