package sparse

// FillSlopes fills Slopes with, for each factor, the k × k sum over its groups of the
// diagonal blocks of H·T'·A, H the blocks that Invert left, T the covariance
// factors, A the cross-product. The derivative of log det and of the penalised
// sum of squares by Λ[a,b] is then twice the sum's entry [b,a]: with B the
// matrix that factorise factors, dB = dT'AT + T'A dT, so that tr(H dB) =
// 2 tr(H T'A dT). It stays exact where a variance is zero.
func (t *Factor) FillSlopes() {
	for _, g := range t.Slopes {
		clear(g)
	}
	for j := range t.s.nodes {
		t.slopesOf(j)
	}
}

func (t *Factor) slopesOf(j int) {
	s, f := t.s, &t.s.front
	front := f.of[j]
	w, col := int(f.w[front]), int(f.col[j])
	inv := t.inv[f.at[front]:]
	fj := s.term[j]
	own, grad := t.lambdaOf(j), t.Slopes[fj]
	k := own.k
	a := t.Cross.values[s.start[j]:]
	if k == 1 {
		t.slopesOfOne(j, own.numbers[0], grad, a, inv, w, col)
		return
	}
	t.addSlope(grad, inv[col*w+col:], w, own, a, own)
	for b := s.ptr[j]; b < s.ptr[j+1]; b++ {
		i := s.nbr[b]
		fi := s.term[i]
		other := t.lambdaOf(int(i))
		block := a[int(s.row[b])*k:]
		h := inv[int(f.into[b])*w+col:]
		t.addSlope(grad, h, w, other, block, own)
		t.addSlopeAcross(t.Slopes[fi], h, w, own, block, other)
	}
	tail := a[int(s.tail[j])*k:]
	h := inv[int(f.height[front])*w+col:]
	for r := range s.Root {
		for c := range k {
			v := h[r*w+c]
			for d := own.first(c); d < own.last(c); d++ {
				grad[c*k+d] += v * tail[r*k+d]
			}
		}
	}
}

// slopesOfOne is slopesOf for a node of one column.
func (t *Factor) slopesOfOne(j int, theta float64, grad, a, inv []float64, w, col int) {
	s, f := t.s, &t.s.front
	sum := inv[col*w+col] * theta * a[0]
	for b := s.ptr[j]; b < s.ptr[j+1]; b++ {
		i := s.nbr[b]
		fi := s.term[i]
		other, gi := t.lambdaOf(int(i)), t.Slopes[fi]
		block := a[s.row[b]:]
		h := inv[int(f.into[b])*w+col:]
		k := int(s.width[i])
		if k == 1 {
			product := h[0] * block[0]
			sum += product * other.numbers[0]
			gi[0] += product * theta
			continue
		}
		for c := range k {
			hc := h[c*w]
			for d := other.first(c); d < other.last(c); d++ {
				gi[c*k+d] += hc * theta * block[d]
			}
		}
		for c := range k {
			scaled := 0.0
			for d := c; d < other.last(c); d++ {
				scaled += other.numbers[d*k+c] * block[d]
			}
			sum += h[c*w] * scaled
		}
	}
	tail := a[s.tail[j]:]
	h := inv[int(f.height[f.of[j]])*w+col:]
	for r := range s.Root {
		sum += h[r*w] * tail[r]
	}
	grad[0] += sum
}

// addSlope adds h'·left'·block to grad, the slopes of a term whose covariance factor is
// own (k × k): h is m × k with stride w, left the covariance factor of the block's rows,
// block m × k.
func (t *Factor) addSlope(grad, h []float64, w int, left triangle, block []float64, own triangle) {
	m, k := left.k, own.k
	for a := range m {
		for d := range k {
			scaled := 0.0
			for e := a; e < left.last(a); e++ {
				scaled += left.numbers[e*m+a] * block[e*k+d]
			}
			if own.scaled {
				grad[d*k+d] += h[a*w+d] * scaled
				continue
			}
			for c := range k {
				grad[c*k+d] += h[a*w+c] * scaled
			}
		}
	}
}

// addSlopeAcross adds h·right'·block' to grad, the slopes of a term whose covariance
// factor is own (m × m): h is m × k with stride w, right the covariance factor of the
// block's columns, block m × k.
func (t *Factor) addSlopeAcross(grad, h []float64, w int, right triangle, block []float64, own triangle) {
	m, k := own.k, right.k
	for a := range m {
		for c := range k {
			scaled := 0.0
			for e := right.first(c); e < c+1; e++ {
				scaled += h[a*w+e] * right.numbers[c*k+e]
			}
			if own.scaled {
				grad[a*m+a] += scaled * block[a*k+c]
				continue
			}
			for d := range m {
				grad[a*m+d] += scaled * block[d*k+c]
			}
		}
	}
}
