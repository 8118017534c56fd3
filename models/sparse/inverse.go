package sparse

import (
	"runtime"

	"gonum.org/v1/gonum/blas"
	"gonum.org/v1/gonum/blas/blas64"
	"gonum.org/v1/gonum/floats"
)

// Invert fills the blocks of the inverse that the factor's shape covers, from
// the last front to the first (Takahashi, Fagan and Chin 1973), starting from
// what stands in RootInverse: the root's block of the inverse, or any other matrix
// in its place. Started from K, the blocks are those of
//
//	⎡ M⁻¹ + CKC'  −CK ⎤
//	⎣ −KC'          K ⎦
//
// with M the random effects' own block and C = M⁻¹Λ'Z'R⁻¹[X y]. Started from
// zero it is the inverse of M alone; from (X'V⁻¹X)⁻¹ that of the equations with
// the fixed effects; and with κ·(β,−1)(β,−1)' added it carries κ times the
// products of the conditional modes along.
func (t *Factor) Invert() {
	for _, l := range t.s.front.levels {
		if l.work < sharedWork || l.large {
			for _, front := range l.fronts {
				t.invertFront(int(front), t.space)
			}
			continue
		}
		t.invertTogether(l.fronts)
	}
}

// sharedWork is the work of a level, in multiplications, from which it is shared
// out over the cores, and handful the number of fronts that a core takes at a
// time.
const (
	sharedWork = 50_000
	handful    = 32
)

// invertTogether inverts a level's fronts on all cores: each is computed from
// earlier levels' alone, by the same operations in whichever order they come.
func (t *Factor) invertTogether(fronts []int32) {
	if t.spaces == nil {
		workers := runtime.GOMAXPROCS(0)
		t.spaces = make(chan workspace, workers)
		for range workers {
			t.spaces <- newWorkspace(t.s)
		}
	}
	InParallel((len(fronts)+handful-1)/handful, func(i int) {
		space := <-t.spaces
		for _, front := range fronts[i*handful : min((i+1)*handful, len(fronts))] {
			t.invertFront(int(front), space)
		}
		t.spaces <- space
	})
}

func (t *Factor) invertFront(front int, space workspace) {
	s, f := t.s, &t.s.front
	w := int(f.w[front])
	height := int(f.height[front])
	m := height - w + s.Root
	panel := t.l[f.at[front]:][:(w+m)*w]
	out := t.inv[f.at[front]:][:(w+m)*w]
	if w == 1 {
		inverse := 1 / panel[0]
		l := panel[1 : 1+m]
		z := out[1 : 1+m]
		t.timesBelow(front, m, 1, l, z)
		sum := 0.0
		for i, v := range z {
			z[i] = -inverse * v
			sum += z[i] * l[i]
		}
		out[0] = inverse * (inverse - sum)
		return
	}
	tri := blas64.Triangular{Uplo: blas.Lower, Diag: blas.NonUnit, N: w, Stride: w, Data: panel[:w*w]}
	y := space.tall[:m*w]
	copy(y, panel[w*w:])
	own := out[:w*w]
	if w < blocked {
		solveRight(panel, w, y, m)
		if m >= longEnough {
			t.timesBelowRows(front, m, w, y, out[w*w:], space)
		} else {
			t.timesBelow(front, m, w, y, out[w*w:])
		}
		for i := range out[w*w:] {
			out[w*w+i] = -out[w*w+i]
		}
		inverseOfProduct(panel, w, own)
		for k := range m {
			zk := out[(w+k)*w : (w+k+1)*w]
			for a, u := range y[k*w : (k+1)*w] {
				for c, v := range zk {
					own[a*w+c] -= u * v
				}
			}
		}
		return
	}
	t.gather(front, m)
	below := t.below[:m*m]
	ym := blas64.General{Rows: m, Cols: w, Stride: w, Data: y}
	zm := blas64.General{Rows: m, Cols: w, Stride: w, Data: out[w*w:]}
	blas64.Trsm(blas.Right, blas.NoTrans, 1, tri, ym)
	blas64.Gemm(blas.NoTrans, blas.NoTrans, -1, blas64.General{Rows: m, Cols: m, Stride: m, Data: below}, ym, 0, zm)
	inverseOfProductLarge(panel, w, w, own, t.square)
	blas64.Gemm(blas.Trans, blas.NoTrans, -1, ym, zm, 1, blas64.General{Rows: w, Cols: w, Stride: w, Data: own})
}

// solveRight replaces the m × w rows y by y·L⁻¹, L the w × w lower triangle.
func solveRight(l []float64, w int, y []float64, m int) {
	for i := range m {
		row := y[i*w : (i+1)*w]
		for c := w - 1; c >= 0; c-- {
			v := row[c]
			for k := c + 1; k < w; k++ {
				v -= row[k] * l[k*w+c]
			}
			row[c] = v / l[c*w+c]
		}
	}
}

// inverseOfProduct writes (L·L')⁻¹ into out, L the w × w lower triangle.
func inverseOfProduct(l []float64, w int, out []float64) {
	// columns of L⁻¹ into the lower triangle of out …
	for c := range w {
		out[c*w+c] = 1 / l[c*w+c]
		for i := c + 1; i < w; i++ {
			sum := 0.0
			for k := c; k < i; k++ {
				sum -= l[i*w+k] * out[k*w+c]
			}
			out[i*w+c] = sum / l[i*w+i]
		}
	}
	// … then L⁻ᵀL⁻¹, rows from the top, each used before it is overwritten
	for a := range w {
		for c := range a + 1 {
			sum := 0.0
			for k := a; k < w; k++ {
				sum += out[k*w+a] * out[k*w+c]
			}
			out[a*w+c] = sum
		}
	}
	mirror(out, w)
}

// timesBelow writes the inverse's block among the m rows below a front's
// triangle times y (m × w) into z.
func (t *Factor) timesBelow(front, m, w int, y, z []float64) {
	s, f := t.s, &t.s.front
	z = z[:m*w]
	clear(z)
	later := m - s.Root
	for _, r := range f.stretches[f.stretchPtr[front]:f.stretchPtr[front+1]] {
		tw := int(f.w[r.target])
		source := t.inv[f.at[r.target]:]
		rel := f.rel[r.rel:]
		from, to := int(r.from), int(r.to)
		for i := from; i < m; i++ {
			row := f.rowIn(r, i, later)
			last := min(i, to)
			line := source[row*tw:]
			if w == 1 {
				z[i] += timesSymmetric(line, rel[:last-from], y[i], y[from:], z[from:])
				if i < to {
					z[i] += line[rel[i-from]] * y[i]
				}
				continue
			}
			for k := from; k < last; k++ {
				addBoth(line[rel[k-from]], y[i*w:(i+1)*w], y[k*w:(k+1)*w], z[i*w:(i+1)*w], z[k*w:(k+1)*w])
			}
			if i < to {
				v := line[rel[i-from]]
				for c, u := range y[i*w : (i+1)*w] {
					z[i*w+c] += v * u
				}
			}
		}
	}
	for a := range s.Root {
		to := z[(later+a)*w : (later+a+1)*w]
		for b, v := range t.RootInverse[a*s.Root : (a+1)*s.Root] {
			for c, u := range y[(later+b)*w : (later+b+1)*w] {
				to[c] += v * u
			}
		}
	}
}

// timesBelowRows is timesBelow for fronts of some columns: y and z are turned
// over, and each row of the inverse is gathered once and meets them along
// contiguous numbers.
func (t *Factor) timesBelowRows(front, m, w int, y, z []float64, space workspace) {
	s, f := t.s, &t.s.front
	later := m - s.Root
	columns, products := space.tall[m*w:2*m*w], space.tall[2*m*w:3*m*w]
	transpose(y, m, w, columns)
	clear(products)
	meet := func(i, from int, row []float64) { // row i of the inverse, its columns from on, at most to i
		to := from + len(row)
		apart := min(to, i) - from
		for c := 0; c < w*m; c += m {
			products[c+i] += floats.Dot(row, columns[c+from:c+to])
			floats.AddScaled(products[c+from:c+from+apart], columns[c+i], row[:apart])
		}
	}
	for _, r := range f.stretches[f.stretchPtr[front]:f.stretchPtr[front+1]] {
		tw := int(f.w[r.target])
		source := t.inv[f.at[r.target]:]
		rel := f.rel[r.rel:]
		from, to := int(r.from), int(r.to)
		for i := from; i < m; i++ {
			at := f.rowIn(r, i, later)
			row := space.line[:min(i+1, to)-from]
			pick(source[at*tw:], rel[:len(row)], row)
			meet(i, from, row)
		}
	}
	for a := range s.Root {
		meet(later+a, later, t.RootInverse[a*s.Root:a*s.Root+a+1])
	}
	transpose(products, w, m, z)
}

// pick writes the numbers that cols names into out.
func pick(line []float64, cols []int32, out []float64) {
	out = out[:len(cols)]
	for k, c := range cols {
		out[k] = line[c]
	}
}

// timesSymmetric adds a row of a symmetric matrix, left of its diagonal, times
// yi to z, and returns the row times y.
func timesSymmetric(line []float64, cols []int32, yi float64, y, z []float64) float64 {
	y, z = y[:len(cols)], z[:len(cols)]
	sum := 0.0
	for k, c := range cols {
		v := line[c]
		sum += v * y[k]
		z[k] += v * yi
	}
	return sum
}

// addBoth adds v times each of two rows to the other's product.
func addBoth(v float64, yi, yk, zi, zk []float64) {
	for c, u := range yk {
		zi[c] += v * u
		zk[c] += v * yi[c]
	}
}

// gather collects the inverse's blocks among the rows below a front's triangle
// into the m × m scratch, both triangles.
func (t *Factor) gather(front, m int) {
	s, f := t.s, &t.s.front
	below := t.below
	later := m - s.Root
	for _, r := range f.stretches[f.stretchPtr[front]:f.stretchPtr[front+1]] {
		tw := int(f.w[r.target])
		source := t.inv[f.at[r.target]:]
		rel := f.rel[r.rel:]
		from, to := int(r.from), int(r.to)
		for i := from; i < m; i++ {
			row := f.rowIn(r, i, later)
			line := source[row*tw:]
			for k := from; k < min(i+1, to); k++ {
				value := line[rel[k-from]]
				below[i*m+k] = value
				below[k*m+i] = value
			}
		}
	}
	for a := range s.Root {
		copy(below[(later+a)*m+later:(later+a)*m+m], t.RootInverse[a*s.Root:(a+1)*s.Root])
	}
}
