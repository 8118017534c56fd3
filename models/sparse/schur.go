package sparse

import (
	"gonum.org/v1/gonum/blas"
	"gonum.org/v1/gonum/blas/blas64"
	"gonum.org/v1/gonum/floats"
)

// passOn takes the products of a front's rows below its triangle out of the
// later fronts and the root.
func (t *Factor) passOn(front int) {
	s, f := t.s, &t.s.front
	w := int(f.w[front])
	m := int(f.height[front]) - w
	panel := t.l[f.at[front]+w*w:] // the rows below the triangle
	switch {
	case w >= blocked && m > 0:
		t.passOnLarge(front, panel, w, m)
		return
	case w > 1 && m >= longEnough:
		t.passOnRows(front, panel, w, m)
		return
	}
	for _, r := range f.stretches[f.stretchPtr[front]:f.stretchPtr[front+1]] {
		tw := int(f.w[r.target])
		target := t.l[f.at[r.target]:]
		rel := f.rel[r.rel:]
		from, to := int(r.from), int(r.to)
		cols := rel[:to-from]
		for i := from; i < m+s.Root; i++ {
			row := f.rowIn(r, i, m)
			last := min(i+1, to) - from
			if w == 1 {
				subtractScaled(target[row*tw:], cols[:last], panel[i], panel[from:])
				continue
			}
			own := panel[i*w : (i+1)*w]
			out := target[row*tw:]
			for k, c := range cols[:last] {
				out[c] -= inner(own, panel[(from+k)*w:(from+k+1)*w])
			}
		}
	}
	t.passOnToRoot(panel[m*w:], w)
}

// subtractScaled takes v·x out of the entries of out that cols names in rising order.
func subtractScaled(out []float64, cols []int32, v float64, x []float64) {
	n := len(cols)
	x = x[:n]
	if n >= 6 && int(cols[n-1]-cols[0]) == n-1 { // they follow one another
		floats.AddScaled(out[cols[0]:][:n], -v, x)
		return
	}
	for k, c := range cols {
		out[c] -= v * x[k]
	}
}

// longEnough is the number of rows below from which a front of several columns
// is worth turning over, so that its products run along contiguous numbers.
const longEnough = 16

// passOnRows is passOn for fronts of some columns: each row's products with the
// rows before it are made as sums of contiguous columns and handed out at once.
func (t *Factor) passOnRows(front int, panel []float64, w, m int) {
	s, f := t.s, &t.s.front
	size := m + s.Root
	columns := t.space.tall[:w*size]
	transpose(panel, size, w, columns)
	for _, r := range f.stretches[f.stretchPtr[front]:f.stretchPtr[front+1]] {
		tw := int(f.w[r.target])
		target := t.l[f.at[r.target]:]
		rel := f.rel[r.rel:]
		from, to := int(r.from), int(r.to)
		for i := from; i < size; i++ {
			row := f.rowIn(r, i, m)
			products := t.space.line[:min(i+1, to)-from]
			floats.ScaleTo(products, columns[i], columns[from:from+len(products)])
			for c := size; c < w*size; c += size {
				floats.AddScaled(products, columns[c+i], columns[c+from:c+from+len(products)])
			}
			subtractScaled(target[row*tw:], rel[:len(products)], 1, products)
		}
	}
	t.passOnToRoot(panel[m*w:], w)
}

// transpose writes n rows of w numbers as w rows of n.
func transpose(rows []float64, n, w int, out []float64) {
	for i := range n {
		for c, v := range rows[i*w : (i+1)*w] {
			out[c*n+i] = v
		}
	}
}

// passOnToRoot takes the products of a front's root rows out of the root.
func (t *Factor) passOnToRoot(rows []float64, w int) {
	for a := range t.s.Root {
		left := rows[a*w : (a+1)*w]
		for b := range a + 1 {
			t.RootL[a*t.s.Root+b] -= inner(left, rows[b*w:(b+1)*w])
		}
	}
}

// passOnLarge is passOn by one matrix product.
func (t *Factor) passOnLarge(front int, panel []float64, w, m int) {
	s, f := t.s, &t.s.front
	size := m + s.Root
	product := t.below[:size*size]
	blas64.Syrk(blas.NoTrans, 1, blas64.General{Rows: size, Cols: w, Stride: w, Data: panel}, 0,
		blas64.Symmetric{Uplo: blas.Lower, N: size, Stride: size, Data: product})
	for _, r := range f.stretches[f.stretchPtr[front]:f.stretchPtr[front+1]] {
		tw := int(f.w[r.target])
		target := t.l[f.at[r.target]:]
		rel := f.rel[r.rel:]
		from, to := int(r.from), int(r.to)
		for i := from; i < size; i++ {
			row := f.rowIn(r, i, m)
			last := min(i+1, to) - from
			subtractScaled(target[row*tw:], rel[:last], 1, product[i*size+from:])
		}
	}
	t.passOnToRoot(panel[m*w:], w)
}
