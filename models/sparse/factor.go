package sparse

import (
	"math"
)

// A Factor holds the numbers of the normal equations at one setting of the
// covariance factors Λ: the Cholesky factor of
//
//	⎡ Λ'Z'R⁻¹ZΛ + I   Λ'Z'R⁻¹[X y] ⎤
//	⎣ [X y]'R⁻¹ZΛ     [X y]'R⁻¹[X y] ⎦
//
// (Bates, Mächler, Bolker and Walker 2015, equations 17 to 26) and those blocks
// of its inverse that the factor's shape covers. All is refilled in place;
// nothing is allocated after NewFactor. It serves one goroutine.
type Factor struct {
	// Lambda are the covariance factors, one a term, k × k by rows, lower
	// triangles: set them before Factorise.
	Lambda [][]float64
	// Cross is what is factored; factors may share one.
	Cross *Cross

	// RootL is the root's triangle after Factorise, root × root by rows: that of
	// X'V⁻¹X (first p rows), of X'V⁻¹y (row p) and the root of the sum of squares,
	// V = ZΛΛ'Z' + R.
	RootL     []float64
	LogRandom float64 // log det (Λ'Z'R⁻¹ZΛ + I)
	LogFixed  float64 // log det X'V⁻¹X
	Squares   float64 // the penalised weighted residual sum of squares

	// RootInverse is what Invert starts from, root × root by rows.
	RootInverse []float64
	// Slopes are what FillSlopes fills, one a term, k × k by rows.
	Slopes [][]float64

	s      *System
	l      []float64 // the panels of the factor
	inv    []float64 // the same panels of the inverse, own blocks full
	pivots float64   // the product of those not yet in LogRandom

	space  workspace
	spaces chan workspace // of the workers on a level of fronts
	below  []float64      // scratch: rows below a large triangle, square
	small  []float64      // scratch: one block and its product
	square []float64      // scratch: the triangle of the broadest large front
}

// A workspace is one worker's scratch.
type workspace struct {
	tall []float64 // rows below a triangle × columns, three times
	line []float64 // one row below a triangle
}

func newWorkspace(s *System) workspace {
	return workspace{tall: make([]float64, 3*s.front.tall), line: make([]float64, s.front.widest)}
}

// NewFactor makes room for a factor of a cross-product, its covariance factors
// zero.
func (s *System) NewFactor(c *Cross) *Factor {
	t := &Factor{s: s, Cross: c,
		l: make([]float64, s.front.size), inv: make([]float64, s.front.size),
		RootL: make([]float64, s.Root*s.Root), RootInverse: make([]float64, s.Root*s.Root),
		below: make([]float64, s.front.spread*s.front.spread),
		space: newWorkspace(s),
	}
	widest := s.Root
	for _, f := range s.terms {
		t.Lambda = append(t.Lambda, make([]float64, f.Columns*f.Columns))
		t.Slopes = append(t.Slopes, make([]float64, f.Columns*f.Columns))
		widest = max(widest, f.Columns)
	}
	t.small = make([]float64, 2*widest*widest)
	if s.front.broad >= blocked {
		t.square = make([]float64, s.front.broad*s.front.broad)
	}
	return t
}

// Factorise fills the factor for the present Lambda and cross-product. It tells
// whether the random effects' own block was positive definite. Where the root is
// not, as with an outcome of zeros, Squares is no number; [Factor.Solve] and an
// inverse started from zero serve none the less.
func (t *Factor) Factorise() bool {
	s, f := t.s, &t.s.front
	clear(t.l)
	for j := range s.nodes {
		t.assemble(j)
	}
	copy(t.RootL, t.Cross.root)
	t.LogRandom, t.pivots = 0, 1
	for k := range f.w {
		if !t.reduce(k) {
			return false
		}
		t.passOn(k)
	}
	t.LogRandom += 2 * math.Log(t.pivots)
	t.finish()
	return true
}

// finish factors the root once all updates have arrived.
func (t *Factor) finish() {
	r := t.s.Root
	t.LogFixed, t.Squares = 0, math.NaN()
	if !cholesky(t.RootL, r, r, r) {
		return
	}
	for j := range t.s.P {
		t.LogFixed += 2 * math.Log(t.RootL[j*r+j])
	}
	last := t.RootL[r*r-1]
	t.Squares = last * last
}

// assemble adds node j's blocks, scaled by Λ on both sides, to its panel.
func (t *Factor) assemble(j int) {
	s, f := t.s, &t.s.front
	front := f.of[j]
	w, col := int(f.w[front]), int(f.col[j])
	panel := t.l[f.at[front]:]
	own := t.lambdaOf(j)
	k := own.k
	a := t.Cross.values[s.start[j]:]
	if k == 1 {
		t.assembleOne(j, own.numbers[0], a, panel, w, col)
		return
	}
	t.sandwich(panel[col*w+col:], w, own, a, own)
	for i := range k {
		panel[(col+i)*w+col+i]++
	}
	for b := s.ptr[j]; b < s.ptr[j+1]; b++ {
		i := s.nbr[b]
		t.sandwich(panel[int(f.into[b])*w+col:], w, t.lambdaOf(int(i)), a[int(s.row[b])*k:], own)
	}
	tail := a[int(s.tail[j])*k:]
	for i := range s.Root {
		own.after(panel[(int(f.height[front])+i)*w+col:], tail[i*k:])
	}
}

// assembleOne is assemble for a node of one column.
func (t *Factor) assembleOne(j int, theta float64, a, panel []float64, w, col int) {
	s, f := t.s, &t.s.front
	panel[col*w+col] = theta*theta*a[0] + 1
	for b := s.ptr[j]; b < s.ptr[j+1]; b++ {
		i := s.nbr[b]
		block := a[s.row[b]:]
		other := t.lambdaOf(int(i))
		to := panel[int(f.into[b])*w+col:]
		k := int(s.width[i])
		if k == 1 {
			to[0] = theta * other.numbers[0] * block[0]
			continue
		}
		for r := range k {
			sum := 0.0
			for d := r; d < other.last(r); d++ {
				sum += other.numbers[d*k+r] * block[d]
			}
			to[r*w] = theta * sum
		}
	}
	tail := a[s.tail[j]:]
	to := panel[int(f.height[f.of[j]])*w+col:]
	for i := range s.Root {
		to[i*w] = theta * tail[i]
	}
}

// sandwich writes left'·block·right into out, stride w; block is m × k.
func (t *Factor) sandwich(out []float64, w int, left triangle, block []float64, right triangle) {
	half, m, k := t.small, left.k, right.k
	for a := range m {
		right.after(half[a*k:], block[a*k:])
	}
	for a := range m {
		for c := range k {
			sum := 0.0
			for d := a; d < left.last(a); d++ {
				sum += left.numbers[d*m+a] * half[d*k+c]
			}
			out[a*w+c] = sum
		}
	}
}

// blocked is the number of columns from which a front is worth the overhead of
// blocked linear algebra.
const blocked = 48

// reduce factors a front's own triangle and divides the rows below by it.
func (t *Factor) reduce(front int) bool {
	s, f := t.s, &t.s.front
	w := int(f.w[front])
	rows := int(f.height[front]) + s.Root
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
func (t *Factor) countPivot(d float64) {
	t.pivots *= d
	if t.pivots > 1e200 || t.pivots < 1e-200 || d > 1e100 {
		t.LogRandom += 2 * math.Log(t.pivots)
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
