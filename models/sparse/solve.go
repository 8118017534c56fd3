package sparse

// StartInverse puts into the root what Invert starts from: the inverse of the
// fixed effects' block where they count (restricted likelihood), and kappa
// times the products of (β, −1).
func (t *Factor) StartInverse(fixed bool, kappa float64) {
	r, p := t.s.Root, t.s.P
	clear(t.RootInverse)
	if fixed {
		inverse := t.small[p*p : 2*p*p]
		t.FixedCovariance(inverse)
		for i := range p {
			copy(t.RootInverse[i*r:i*r+p], inverse[i*p:(i+1)*p])
		}
	}
	v := t.small[:r]
	t.Coefficients(v[:p])
	v[p] = -1
	for a := range r {
		for b := range r {
			t.RootInverse[a*r+b] += kappa * v[a] * v[b]
		}
	}
}

// Coefficients solves for the fixed effects.
func (t *Factor) Coefficients(beta []float64) {
	r, p := t.s.Root, t.s.P
	for j := p - 1; j >= 0; j-- {
		v := t.RootL[p*r+j]
		for k := j + 1; k < p; k++ {
			v -= t.RootL[k*r+j] * beta[k]
		}
		beta[j] = v / t.RootL[j*r+j]
	}
}

// Information is X'V⁻¹X, p × p by rows.
func (t *Factor) Information() []float64 {
	r, p := t.s.Root, t.s.P
	out := make([]float64, p*p)
	for i := range p {
		for j := range p {
			for k := range min(i, j) + 1 {
				out[i*p+j] += t.RootL[i*r+k] * t.RootL[j*r+k]
			}
		}
	}
	return out
}

// FixedCovariance writes (X'V⁻¹X)⁻¹ into out, p × p by rows.
func (t *Factor) FixedCovariance(out []float64) {
	r, p := t.s.Root, t.s.P
	packed := t.small[:p*p]
	for i := range p {
		copy(packed[i*p:(i+1)*p], t.RootL[i*r:i*r+p])
	}
	if p < blocked {
		inverseOfProduct(packed, p, out[:p*p])
		return
	}
	if len(t.square) < p*p {
		t.square = make([]float64, p*p)
	}
	inverseOfProductLarge(packed, p, p, out[:p*p], t.square)
}

// InverseOf is the block of the inverse last filled of one group's random effects
// before Λ (k × k, stride numbers a row), and across its p + 1 root rows, stride
// numbers a row too.
func (t *Factor) InverseOf(term, group int) (own, across []float64, stride int) {
	j := t.s.place[t.s.base[term]+group]
	own, stride = t.s.front.ownBlock(t.inv, j)
	across, _ = t.s.front.rootRows(t.inv, j)
	return own, across, stride
}

// Modes gives the random effects Λu for fixed effects beta, by [System.First].
func (t *Factor) Modes(beta []float64) []float64 {
	u := make([]float64, t.s.Effects)
	t.Spherical(beta, u)
	t.TimesLambda(u)
	return u
}

// Spherical solves for u, the random effects before Λ, given fixed effects beta.
func (t *Factor) Spherical(beta, u []float64) {
	s, f := t.s, &t.s.front
	for front := len(f.w) - 1; front >= 0; front-- {
		w, height := int(f.w[front]), int(f.height[front])
		panel := t.l[f.at[front]:]
		own := u[s.column[f.first[front]]:][:w]
		copy(own, panel[(height+s.P)*w:][:w])
		for i, b := range beta {
			for c, l := range panel[(height+i)*w:][:w] {
				own[c] -= l * b
			}
		}
		t.back(front, u)
	}
}

// Solve replaces v (one number a random effect) by M⁻¹v, M = Λ'Z'R⁻¹ZΛ + I.
func (t *Factor) Solve(v []float64) {
	s, f := t.s, &t.s.front
	for front := range f.w {
		w := int(f.w[front])
		panel := t.l[f.at[front]:]
		own := v[s.column[f.first[front]]:][:w]
		for c := range w {
			own[c] = (own[c] - inner(panel[c*w:c*w+c], own)) / panel[c*w+c]
		}
		for k, e := range f.effects(front) {
			v[e] -= inner(panel[(w+k)*w:(w+k+1)*w], own)
		}
	}
	for front := len(f.w) - 1; front >= 0; front-- {
		t.back(front, v)
	}
}

// back is one front's step of a substitution backwards.
func (t *Factor) back(front int, v []float64) {
	s, f := t.s, &t.s.front
	w := int(f.w[front])
	panel := t.l[f.at[front]:]
	own := v[s.column[f.first[front]]:][:w]
	for k, e := range f.effects(front) {
		for c, l := range panel[(w+k)*w:][:w] {
			own[c] -= l * v[e]
		}
	}
	for c := w - 1; c >= 0; c-- {
		x := own[c] / panel[c*w+c]
		own[c] = x
		for k, l := range panel[c*w : c*w+c] {
			own[k] -= l * x
		}
	}
}

// TimesLambda multiplies the random effects in v by Λ, in place.
func (t *Factor) TimesLambda(v []float64) {
	for j, at := range t.s.column[:t.s.nodes] {
		k := int(t.s.width[j])
		lambda := t.Lambda[t.s.term[j]]
		for a := k - 1; a >= 0; a-- {
			v[at+a] = inner(lambda[a*k:a*k+a+1], v[at:])
		}
	}
}

// CrossTimes writes the cross-product times v into out.
func (t *Factor) CrossTimes(v, out []float64) {
	s := t.s
	clear(out)
	root := s.Effects
	r := s.Root
	for a := range r {
		out[root+a] = inner(t.Cross.root[a*r:(a+1)*r], v[root:])
	}
	for j, at := range s.column[:s.nodes] {
		k := int(s.width[j])
		panel := t.Cross.values[s.start[j]:]
		if k == 1 {
			t.crossTimesOne(j, panel, v, out)
			continue
		}
		own, vj := out[at:at+k], v[at:at+k]
		for a := range k {
			own[a] += inner(panel[a*k:(a+1)*k], vj)
		}
		for b := s.ptr[j]; b < s.ptr[j+1]; b++ {
			i := s.nbr[b]
			timesBoth(panel[int(s.row[b])*k:], k, vj, own, v[s.column[i]:s.column[i+1]], out[s.column[i]:])
		}
		timesBoth(panel[int(s.tail[j])*k:], k, vj, own, v[root:], out[root:])
	}
}

// crossTimesOne is CrossTimes for a node of one column.
func (t *Factor) crossTimesOne(j int, panel, v, out []float64) {
	s := t.s
	x := v[s.column[j]]
	sum := panel[0] * x
	for b := s.ptr[j]; b < s.ptr[j+1]; b++ {
		at := s.column[s.nbr[b]]
		for a := range int(s.width[s.nbr[b]]) {
			m := panel[int(s.row[b])+a]
			sum += m * v[at+a]
			out[at+a] += m * x
		}
	}
	root := s.Effects
	for a, m := range panel[s.tail[j]:][:s.Root] {
		sum += m * v[root+a]
		out[root+a] += m * x
	}
	out[s.column[j]] += sum
}

// timesBoth adds a block (rows of k numbers) times vj to outI, and its transpose
// times vi to outJ.
func timesBoth(block []float64, k int, vj, outJ, vi, outI []float64) {
	for a, x := range vi {
		row := block[a*k : (a+1)*k]
		sum := 0.0
		for c, m := range row {
			sum += m * vj[c]
			outJ[c] += m * x
		}
		outI[a] += sum
	}
}

// Forward replaces v by L⁻¹T'v, L the factor with the fixed effects; the
// outcome's entry becomes zero.
func (t *Factor) Forward(v []float64) {
	s, f := t.s, &t.s.front
	for j, at := range s.column[:s.nodes] {
		k := int(s.width[j])
		lambda := t.Lambda[s.term[j]]
		for a := range k {
			sum := 0.0
			for b := a; b < k; b++ {
				sum += lambda[b*k+a] * v[at+b]
			}
			v[at+a] = sum
		}
	}
	root := v[s.Effects:]
	for front := range f.w {
		w, height := int(f.w[front]), int(f.height[front])
		panel := t.l[f.at[front]:]
		own := v[s.column[f.first[front]]:][:w]
		for c := range w {
			own[c] = (own[c] - inner(panel[c*w:c*w+c], own)) / panel[c*w+c]
		}
		for k, e := range f.effects(front) {
			v[e] -= inner(panel[(w+k)*w:(w+k+1)*w], own)
		}
		for i := range s.P {
			root[i] -= inner(panel[(height+i)*w:(height+i+1)*w], own)
		}
	}
	for i := range s.P {
		root[i] = (root[i] - inner(t.RootL[i*s.Root:i*s.Root+i], root)) / t.RootL[i*s.Root+i]
	}
	root[s.P] = 0
}
