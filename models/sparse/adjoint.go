package sparse

// Adjoint writes T·H·T' into out, H the blocks that Invert left, in the shape
// of the cross-product A: the derivative of the criterion by A.
func (t *Factor) Adjoint(out *Cross) {
	s, f := t.s, &t.s.front
	for j := range s.nodes {
		front := f.of[j]
		w, col := int(f.w[front]), int(f.col[j])
		inv := t.inv[f.at[front]:]
		own, k := t.Lambda[s.term[j]], int(s.width[j])
		to := out.values[s.start[j]:]
		t.surround(to, own, k, inv[col*w+col:], w, own, k)
		for b := s.ptr[j]; b < s.ptr[j+1]; b++ {
			i := s.nbr[b]
			t.surround(to[int(s.row[b])*k:], t.Lambda[s.term[i]], int(s.width[i]), inv[int(f.into[b])*w+col:], w, own, k)
		}
		tail := to[int(s.tail[j])*k:]
		h := inv[int(f.height[front])*w+col:]
		for r := range s.Root {
			for c := range k {
				sum := 0.0
				for d := range c + 1 {
					sum += h[r*w+d] * own[c*k+d]
				}
				tail[r*k+c] = sum
			}
		}
	}
	copy(out.root, t.RootInverse)
}

// surround writes left·h·right' into out by rows; left is m × m, right k × k,
// both lower triangles, h m × k with stride w.
func (t *Factor) surround(out, left []float64, m int, h []float64, w int, right []float64, k int) {
	half := t.small
	for a := range m {
		for c := range k {
			sum := 0.0
			for d := range c + 1 {
				sum += h[a*w+d] * right[c*k+d]
			}
			half[a*k+c] = sum
		}
	}
	for a := range m {
		for c := range k {
			sum := 0.0
			for d := range a + 1 {
				sum += left[a*m+d] * half[d*k+c]
			}
			out[a*k+c] = sum
		}
	}
}
