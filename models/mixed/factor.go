package mixed

import (
	"math"
	"runtime"

	"gonum.org/v1/gonum/blas"
	"gonum.org/v1/gonum/blas/blas64"
	"gonum.org/v1/gonum/floats"
)

// A trial holds the numbers of one trial of the variance parameters: the
// covariance factors Λ, the Cholesky factor of
//
//	⎡ Λ'Z'R⁻¹ZΛ + I   Λ'Z'R⁻¹[X y] ⎤
//	⎣ [X y]'R⁻¹ZΛ     [X y]'R⁻¹[X y] ⎦
//
// (Bates, Mächler, Bolker and Walker 2015, equations 17 to 26) and, for the
// gradient, those blocks of its inverse that the factor's shape covers. All is
// refilled in place; nothing is allocated after newTrial.
type trial struct {
	s      *system
	cross  *cross
	lambda [][]float64 // per factor, k × k by rows, lower triangle

	l       []float64 // the panels of the factor
	inv     []float64 // the same panels of the inverse, own blocks full
	rootL   []float64 // the root's triangle, root × root by rows
	rootInv []float64

	logRandom float64 // log det (Λ'Z'R⁻¹ZΛ + I)
	pivots    float64 // the product of those not yet in logRandom
	logFixed  float64 // log det of the fixed effects' Schur complement
	pwrss     float64 // the penalised weighted residual sum of squares

	space  workspace
	spaces chan workspace // of the workers on a level of fronts
	below  []float64      // scratch: rows below a large triangle, square
	small  []float64      // scratch: one block and its product
	square []float64      // scratch: the triangle of the broadest large front
	grad   [][]float64
}

// A workspace is one worker's scratch.
type workspace struct {
	tall []float64 // rows below a triangle × columns, three times
	line []float64 // one row below a triangle
}

func newWorkspace(s *system) workspace {
	return workspace{tall: make([]float64, 3*s.front.tall), line: make([]float64, s.front.widest)}
}

func newTrial(s *system, c *cross) *trial {
	t := &trial{s: s, cross: c,
		l: make([]float64, s.front.size), inv: make([]float64, s.front.size),
		rootL: make([]float64, s.root*s.root), rootInv: make([]float64, s.root*s.root),
		below: make([]float64, s.front.spread*s.front.spread),
		space: newWorkspace(s),
	}
	widest := s.root
	for _, f := range s.factors {
		t.lambda = append(t.lambda, make([]float64, f.k*f.k))
		t.grad = append(t.grad, make([]float64, f.k*f.k))
		widest = max(widest, f.k)
	}
	t.small = make([]float64, 2*widest*widest)
	if s.front.broad >= blocked {
		t.square = make([]float64, s.front.broad*s.front.broad)
	}
	return t
}

// factorise fills the factor for the present lambda and cross-product. It
// tells whether the matrix was positive definite.
func (t *trial) factorise() bool {
	s, f := t.s, &t.s.front
	clear(t.l)
	for j := range s.nodes {
		t.assemble(j)
	}
	copy(t.rootL, t.cross.root)
	t.logRandom, t.pivots = 0, 1
	for k := range f.w {
		if !t.reduce(k) {
			return false
		}
		t.passOn(k)
	}
	return t.finish()
}

// finish factors the root once all updates have arrived.
func (t *trial) finish() bool {
	r := t.s.root
	if !cholesky(t.rootL, r, r, r) {
		return false
	}
	t.logRandom += 2 * math.Log(t.pivots)
	t.logFixed = 0
	for j := range t.s.p {
		t.logFixed += 2 * math.Log(t.rootL[j*r+j])
	}
	last := t.rootL[r*r-1]
	t.pwrss = last * last
	return true
}

// assemble adds node j's blocks, scaled by Λ on both sides, to its panel.
func (t *trial) assemble(j int) {
	s, f := t.s, &t.s.front
	front := f.of[j]
	w, col := int(f.w[front]), int(f.col[j])
	panel := t.l[f.at[front]:]
	own := t.lambda[s.factor[j]]
	k := int(s.width[j])
	a := t.cross.values[s.start[j]:]
	if k == 1 {
		t.assembleOne(j, own[0], a, panel, w, col)
		return
	}
	t.sandwich(panel[col*w+col:], w, own, k, a, own, k)
	for i := range k {
		panel[(col+i)*w+col+i]++
	}
	for b := s.ptr[j]; b < s.ptr[j+1]; b++ {
		i := s.nbr[b]
		t.sandwich(panel[int(f.into[b])*w+col:], w, t.lambda[s.factor[i]], int(s.width[i]), a[int(s.row[b])*k:], own, k)
	}
	tail := a[int(s.tail[j])*k:]
	for i := range s.root {
		row := panel[(int(f.height[front])+i)*w+col:]
		for c := range k {
			sum := 0.0
			for d := c; d < k; d++ {
				sum += tail[i*k+d] * own[d*k+c]
			}
			row[c] = sum
		}
	}
}

// assembleOne is assemble for a node of one column.
func (t *trial) assembleOne(j int, theta float64, a, panel []float64, w, col int) {
	s, f := t.s, &t.s.front
	panel[col*w+col] = theta*theta*a[0] + 1
	for b := s.ptr[j]; b < s.ptr[j+1]; b++ {
		i := s.nbr[b]
		block := a[s.row[b]:]
		other := t.lambda[s.factor[i]]
		to := panel[int(f.into[b])*w+col:]
		k := int(s.width[i])
		if k == 1 {
			to[0] = theta * other[0] * block[0]
			continue
		}
		for r := range k {
			sum := 0.0
			for d := r; d < k; d++ {
				sum += other[d*k+r] * block[d]
			}
			to[r*w] = theta * sum
		}
	}
	tail := a[s.tail[j]:]
	to := panel[int(f.height[f.of[j]])*w+col:]
	for i := range s.root {
		to[i*w] = theta * tail[i]
	}
}

// sandwich writes left'·block·right into out, stride w; left is m × m, right
// k × k, both lower triangles, block m × k.
func (t *trial) sandwich(out []float64, w int, left []float64, m int, block, right []float64, k int) {
	half := t.small
	for a := range m {
		for c := range k {
			sum := 0.0
			for d := c; d < k; d++ {
				sum += block[a*k+d] * right[d*k+c]
			}
			half[a*k+c] = sum
		}
	}
	for a := range m {
		for c := range k {
			sum := 0.0
			for d := a; d < m; d++ {
				sum += left[d*m+a] * half[d*k+c]
			}
			out[a*w+c] = sum
		}
	}
}

// blocked is the number of columns from which a front is worth the overhead of
// blocked linear algebra.
const blocked = 48

// reduce factors a front's own triangle and divides the rows below by it.
func (t *trial) reduce(front int) bool {
	s, f := t.s, &t.s.front
	w := int(f.w[front])
	rows := int(f.height[front]) + s.root
	panel := t.l[f.at[front] : f.at[front]+rows*w]
	switch {
	case w == 1:
		d := panel[0]
		if !(d > 0) {
			return false
		}
		d = math.Sqrt(d)
		panel[0] = d
		inverse := 1 / d
		for i := 1; i < rows; i++ {
			panel[i] *= inverse
		}
	case w < blocked:
		if !cholesky(panel, rows, w, w) {
			return false
		}
	default:
		if !choleskyLarge(panel, rows, w, w) {
			return false
		}
	}
	for i := range w {
		t.countPivot(panel[i*w+i])
	}
	return true
}

// countPivot takes a pivot into the log determinant: pivots are multiplied
// together until the product nears the end of its range, since a logarithm costs
// more than a small front's whole reduction.
func (t *trial) countPivot(d float64) {
	t.pivots *= d
	if t.pivots > 1e200 || t.pivots < 1e-200 || d > 1e100 {
		t.logRandom += 2 * math.Log(t.pivots)
		t.pivots = 1
	}
}

// cholesky factors the n × n triangle at the top of a panel of rows × n, stride
// w, in place, and divides the rows below by it. It tells whether the triangle
// was positive definite.
func cholesky(panel []float64, rows, n, w int) bool {
	for j := range n {
		top := panel[j*w : j*w+n]
		d := top[j]
		for k := range j {
			d -= top[k] * top[k]
		}
		if !(d > 0) {
			return false
		}
		d = math.Sqrt(d)
		top[j] = d
		inverse := 1 / d
		for i := j + 1; i < rows; i++ {
			row := panel[i*w : i*w+j+1]
			sum := row[j]
			for k := range j {
				sum -= row[k] * top[k]
			}
			row[j] = sum * inverse
		}
	}
	return true
}

// passOn takes the products of a front's rows below its triangle out of the
// later fronts and the root.
func (t *trial) passOn(front int) {
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
	for _, r := range f.runs[f.runPtr[front]:f.runPtr[front+1]] {
		tw := int(f.w[r.target])
		target := t.l[f.at[r.target]:]
		rel := f.rel[r.rel:]
		from, to := int(r.from), int(r.to)
		cols := rel[:to-from]
		for i := from; i < m+s.root; i++ {
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

// subtractScaled takes v·x out of the entries of out that cols names.
func subtractScaled(out []float64, cols []int32, v float64, x []float64) {
	x = x[:len(cols)]
	for k, c := range cols {
		out[c] -= v * x[k]
	}
}

// longEnough is the number of rows below from which a front of several columns
// is worth turning over, so that its products run along contiguous numbers.
const longEnough = 16

// passOnRows is passOn for fronts of some columns: each row's products with the
// rows before it are made as sums of contiguous columns and handed out at once.
func (t *trial) passOnRows(front int, panel []float64, w, m int) {
	s, f := t.s, &t.s.front
	size := m + s.root
	columns := t.space.tall[:w*size]
	transpose(panel, size, w, columns)
	for _, r := range f.runs[f.runPtr[front]:f.runPtr[front+1]] {
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
func (t *trial) passOnToRoot(rows []float64, w int) {
	for a := range t.s.root {
		left := rows[a*w : (a+1)*w]
		for b := range a + 1 {
			t.rootL[a*t.s.root+b] -= inner(left, rows[b*w:(b+1)*w])
		}
	}
}

// passOnLarge is passOn by one matrix product.
func (t *trial) passOnLarge(front int, panel []float64, w, m int) {
	s, f := t.s, &t.s.front
	size := m + s.root
	product := t.below[:size*size]
	blas64.Syrk(blas.NoTrans, 1, blas64.General{Rows: size, Cols: w, Stride: w, Data: panel}, 0,
		blas64.Symmetric{Uplo: blas.Lower, N: size, Stride: size, Data: product})
	for _, r := range f.runs[f.runPtr[front]:f.runPtr[front+1]] {
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

// invert fills the blocks of the inverse that the factor's shape covers, from
// the last front to the first (Takahashi, Fagan and Chin 1973), starting from
// what stands in rootInv: the root's block of the inverse, or any other matrix
// in its place. Started from K, the blocks are those of
//
//	⎡ M⁻¹ + CKC'  −CK ⎤
//	⎣ −KC'          K ⎦
//
// with M the random effects' own block and C = M⁻¹Λ'Z'R⁻¹[X y]. Started from
// zero it is the inverse of M alone; from (X'V⁻¹X)⁻¹ that of the equations with
// the fixed effects; and with κ·(β,−1)(β,−1)' added it carries κ times the
// products of the conditional modes along.
func (t *trial) invert() {
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
func (t *trial) invertTogether(fronts []int32) {
	if t.spaces == nil {
		workers := runtime.GOMAXPROCS(0)
		t.spaces = make(chan workspace, workers)
		for range workers {
			t.spaces <- newWorkspace(t.s)
		}
	}
	inParallel((len(fronts)+handful-1)/handful, func(i int) {
		space := <-t.spaces
		for _, front := range fronts[i*handful : min((i+1)*handful, len(fronts))] {
			t.invertFront(int(front), space)
		}
		t.spaces <- space
	})
}

func (t *trial) invertFront(front int, space workspace) {
	s, f := t.s, &t.s.front
	w := int(f.w[front])
	height := int(f.height[front])
	m := height - w + s.root
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
func (t *trial) timesBelow(front, m, w int, y, z []float64) {
	s, f := t.s, &t.s.front
	z = z[:m*w]
	clear(z)
	later := m - s.root
	for _, r := range f.runs[f.runPtr[front]:f.runPtr[front+1]] {
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
	for a := range s.root {
		to := z[(later+a)*w : (later+a+1)*w]
		for b, v := range t.rootInv[a*s.root : (a+1)*s.root] {
			for c, u := range y[(later+b)*w : (later+b+1)*w] {
				to[c] += v * u
			}
		}
	}
}

// timesBelowRows is timesBelow for fronts of some columns: y and z are turned
// over, and each row of the inverse is gathered once and meets them along
// contiguous numbers.
func (t *trial) timesBelowRows(front, m, w int, y, z []float64, space workspace) {
	s, f := t.s, &t.s.front
	later := m - s.root
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
	for _, r := range f.runs[f.runPtr[front]:f.runPtr[front+1]] {
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
	for a := range s.root {
		meet(later+a, later, t.rootInv[a*s.root:a*s.root+a+1])
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
func (t *trial) gather(front, m int) {
	s, f := t.s, &t.s.front
	below := t.below
	later := m - s.root
	for _, r := range f.runs[f.runPtr[front]:f.runPtr[front+1]] {
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
	for a := range s.root {
		copy(below[(later+a)*m+later:(later+a)*m+m], t.rootInv[a*s.root:(a+1)*s.root])
	}
}
