package sparse

// Adjoint writes T·H·T' into out, H the blocks that Invert left, in the shape
// of the cross-product A: the derivative of the criterion by A.
func (t *Factor) Adjoint(out *Cross) {
	s, f := t.s, &t.s.front
	for j := range s.nodes {
		front := f.of[j]
		w, col := int(f.w[front]), int(f.col[j])
		inv := t.inv[f.at[front]:]
		own := t.lambdaOf(j)
		k := own.k
		to := out.values[s.start[j]:]
		t.surround(to, own, inv[col*w+col:], w, own)
		for b := s.ptr[j]; b < s.ptr[j+1]; b++ {
			i := s.nbr[b]
			t.surround(to[int(s.row[b])*k:], t.lambdaOf(int(i)), inv[int(f.into[b])*w+col:], w, own)
		}
		tail := to[int(s.tail[j])*k:]
		h := inv[int(f.height[front])*w+col:]
		for r := range s.Root {
			own.afterTransposed(tail[r*k:], h[r*w:])
		}
	}
	copy(out.root, t.RootInverse)
}

// surround writes left·h·right' into out by rows; h is m × k with stride w.
func (t *Factor) surround(out []float64, left triangle, h []float64, w int, right triangle) {
	half, m, k := t.small, left.k, right.k
	for a := range m {
		right.afterTransposed(half[a*k:], h[a*w:])
	}
	for a := range m {
		for c := range k {
			sum := 0.0
			for d := left.first(a); d < a+1; d++ {
				sum += left.numbers[a*m+d] * half[d*k+c]
			}
			out[a*k+c] = sum
		}
	}
}
