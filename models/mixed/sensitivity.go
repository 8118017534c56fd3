package mixed

// A sensitivity holds C = M⁻¹Λ'Z'R⁻¹[X y] (q × (p+1)), from which the
// conditional modes and every derivative of X'V⁻¹X follow.
type sensitivity struct {
	t  *trial
	at []int     // offset of each node's k × (p+1) rows
	c  []float64 // by node, rows of p+1
}

// sensitivity solves for C by substitution backwards through the factor.
func (t *trial) sensitivity() *sensitivity {
	s, f := t.s, &t.s.front
	v := &sensitivity{t: t, at: make([]int, s.nodes)}
	for j := range s.nodes {
		v.at[j] = s.column[j] * s.root
	}
	v.c = make([]float64, s.column[s.nodes]*s.root)
	for front := len(f.w) - 1; front >= 0; front-- {
		w, height := int(f.w[front]), int(f.height[front])
		panel := t.l[f.at[front]:]
		own := v.c[v.at[f.first[front]]:][:w*s.root]
		for i := range s.root {
			for c := range w {
				own[c*s.root+i] = panel[(height+i)*w+c]
			}
		}
		for k, e := range f.effects(front) {
			later := v.c[int(e)*s.root:][:s.root]
			for c, l := range panel[(w+k)*w:][:w] {
				for i, x := range later {
					own[c*s.root+i] -= l * x
				}
			}
		}
		for c := w - 1; c >= 0; c-- {
			for i := range s.root {
				x := own[c*s.root+i]
				for k := c + 1; k < w; k++ {
					x -= panel[k*w+c] * own[k*s.root+i]
				}
				own[c*s.root+i] = x / panel[c*w+c]
			}
		}
	}
	return v
}

// fixedSlopes gives, for each parameter of Λ, the derivative of the fixed
// effects' Schur complement X'V⁻¹X (in the basis Q, relative to σ²), p × p by
// rows.
func (v *sensitivity) fixedSlopes(parameters []parameter) [][]float64 {
	t := v.t
	s := t.s
	p := s.p
	// sums[f][a·k+b] = Σ over groups of H[a]'·N[b], where N = (−C; I) and
	// H = A·T·N, both restricted to one group's rows
	sums := make([][][]float64, len(s.factors))
	for f := range sums {
		k := s.factors[f].k
		sums[f] = make([][]float64, k*k)
		for e := range sums[f] {
			sums[f][e] = make([]float64, p*p)
		}
	}
	h := v.products()
	for j := range s.nodes {
		k := int(s.width[j])
		for a := range k {
			ha := h[v.at[j]+a*s.root:][:p]
			for b := range k {
				nb := v.c[v.at[j]+b*s.root:][:p]
				sum := sums[s.factor[j]][a*k+b]
				for x, hv := range ha {
					for y, nv := range nb {
						sum[x*p+y] -= hv * nv
					}
				}
			}
		}
	}
	out := make([][]float64, len(parameters))
	for i, par := range parameters {
		out[i] = make([]float64, p*p)
		k := s.factors[par.factor].k
		for _, e := range par.entries {
			sum := sums[par.factor][e[0]*k+e[1]]
			for x := range p {
				for y := range p {
					out[i][x*p+y] += sum[x*p+y] + sum[y*p+x]
				}
			}
		}
	}
	return out
}

// products gives the random rows of A·T·N, N = (−C; I), in the layout of C.
func (v *sensitivity) products() []float64 {
	t := v.t
	s := t.s
	r := s.root
	scaled := v.effects() // the random rows of T·N, but for their sign
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
		panel := t.cross.values[s.start[j]:]
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

// effects gives ΛC in the layout of C: in the columns of X the random effects'
// answer to a unit of each fixed effect, in the outcome's column that to the
// outcome.
func (v *sensitivity) effects() []float64 {
	s := v.t.s
	r := s.root
	out := make([]float64, len(v.c))
	for j := range s.nodes {
		k := int(s.width[j])
		lambda := v.t.lambda[s.factor[j]]
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

// modes gives the random effects Λu for fixed effects beta (in the basis Q), by
// node, in the unit of the outcome's remainder.
func (t *trial) modes(beta []float64) []float64 {
	u := make([]float64, t.s.column[t.s.nodes])
	t.spherical(beta, u)
	t.timesLambda(u)
	return u
}

// predicted is row i's value from fixed effects beta and random effects by node.
func (s *system) predicted(i int, beta, effects []float64) float64 {
	sum := inner(beta, s.d.fixed.q[i*s.p:(i+1)*s.p])
	for f := range s.factors {
		at := s.column[s.node(f, i)]
		for k, c := range s.factors[f].z {
			sum += c.at(i) * effects[at+k]
		}
	}
	return sum
}
