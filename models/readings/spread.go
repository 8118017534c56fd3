package readings

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat"
)

// Pages measured again tell how far the wear of one page differs between
// sittings. The wear by sitting s of page p is
//
//	y_ps = wear_p + placing_ps + day + observer + instrument + error_ps
//
// with the page's wear as a fixed effect, an independent normal effect of placing
// the instrument anew, one normal offset for each day, observer and instrument,
// and an error whose variance repeatability gives. The variances are estimated by
// restricted maximum likelihood (Patterson and Thompson 1971, Biometrika 58,
// 545–554), those of the offsets with a gamma penalty of shape 2 on their standard
// deviation, which keeps it off zero where few days tell it (Chung, Rabe-Hesketh,
// Dorie, Gelman and Liu 2013, Psychometrika 78, 685–709); the offsets by their
// expectation given the differences (Henderson 1975, Biometrics 31, 423–447).

// offsetScale is the inverse rate of the penalty's gamma distribution, density: it
// only matters where a spread rests on one or two degrees of freedom (common
// practice, no source: observers and instruments that differ by more are faulty).
const offsetScale = 0.05

// leastSpread is the standard deviation, density, at and below which a spread is
// taken for none.
const leastSpread = 1e-5

// mostLinked is how many days, observers and instruments are estimated together;
// of more, only their spread is estimated, from the days with most pages.
const mostLinked = 200

// A repeatedPage is a page measured in several sittings.
type repeatedPage struct {
	values, variances []float64 // of its wear by each sitting
	levels            [][]int   // by sitting: indices into the offsets, of each source one
}

// A spreadModel is the model of the pages measured again.
type spreadModel struct {
	pages  []repeatedPage
	source []int // of each offset
	// fixed are the stated standard deviations of the placing (first) and the
	// sources; NaN where estimated.
	fixed []float64
	// penalised keeps the spreads of sources off zero.
	penalised bool
	kept      []*spreadSums // see sums
}

// spreadSums are sums over pages at one variance of placing: with D the diagonal of
// variances, M its projection that takes out the pages' wear, Z the offsets'
// incidence.
type spreadSums struct {
	placing            float64 // variance
	logs               float64 // Σ log d + Σ log Σ 1/d
	yMy, yMMy, tM, tMM float64
	zMz, zMMz, zMMMz   *mat.SymDense
	zMy, zMMy          *mat.VecDense

	// for the work on one page
	room      []float64
	offsets   []int        // of the page
	place     []int        // of each offset among those, counted from 1; 0: not among them
	incidence [3][]float64 // by offset of the page: Z' times w, Ww and W²w
}

// sums are those at a variance of the placing. The last few are kept: steps and
// differences along the other spreads ask for them again.
func (m *spreadModel) sums(placing float64) *spreadSums {
	const most = 4
	for _, s := range m.kept {
		if s.placing == placing {
			return s
		}
	}
	s := m.sumsAt(placing)
	m.kept = append(m.kept[max(0, len(m.kept)-most+1):], s)
	return s
}

func (m *spreadModel) sumsAt(placing float64) *spreadSums {
	q := len(m.source)
	s := &spreadSums{placing: placing, zMz: symmetric(q), zMMz: symmetric(q), zMMMz: symmetric(q), zMy: vector(q), zMMy: vector(q), place: make([]int, q)}
	for i := range m.pages {
		s.add(&m.pages[i], placing)
	}
	return s
}

// symmetric is a matrix of zeros, without rows where n is 0.
func symmetric(n int) *mat.SymDense {
	if n == 0 {
		return &mat.SymDense{}
	}
	return mat.NewSymDense(n, nil)
}

// vector is a vector of zeros, empty where n is 0.
func vector(n int) *mat.VecDense {
	if n == 0 {
		return &mat.VecDense{}
	}
	return mat.NewVecDense(n, nil)
}

// add puts in one page. With w the inverse variances, aₖ the sum of their k-th powers and
// W = diag(w), M is W − ww'/a₁, and its powers are a diagonal and products of the vectors
// w, Ww and W²w: the work grows with the square of the page's sittings, not with the cube.
func (s *spreadSums) add(page *repeatedPage, placing float64) {
	n := len(page.values)
	if len(s.room) < 6*n {
		s.room = make([]float64, 6*n)
	}
	used := 0
	take := func() []float64 { used += n; return s.room[used-n : used] }
	// w, Ww and W²w, and their sums
	power, a := [3][]float64{take(), take(), take()}, [3]float64{}
	values := take() // about their mean: what M takes out is taken out before it rounds
	copy(values, page.values)
	floats.AddConst(-stat.Mean(values, nil), values)
	for i, v := range page.variances {
		w := 1 / (v + placing)
		for k, p := 0, w; k < 3; k, p = k+1, p*w {
			power[k][i] = p
			a[k] += p
		}
		s.logs += math.Log(v + placing)
	}
	s.logs += math.Log(a[0])
	s.tM += a[0] - a[1]/a[0]
	s.tMM += a[1] - 2*a[2]/a[0] + a[1]*a[1]/(a[0]*a[0])
	project := func(from []float64) []float64 { // M times a vector
		mean := floats.Dot(power[0], from) / a[0]
		out := take()
		for i, v := range from {
			out[i] = power[0][i] * (v - mean)
		}
		return out
	}
	my := project(values)
	mmy := project(my)
	s.yMy += floats.Dot(values, my)
	s.yMMy += floats.Dot(my, my)

	offsets := s.offsets[:0]
	v := s.incidence
	for p := range v {
		v[p] = v[p][:0]
	}
	zMz, zMMz, zMMMz := s.zMz.RawSymmetric(), s.zMMz.RawSymmetric(), s.zMMMz.RawSymmetric()
	for i, levels := range page.levels {
		for _, b := range levels {
			s.zMy.SetVec(b, s.zMy.AtVec(b)+my[i])
			s.zMMy.SetVec(b, s.zMMy.AtVec(b)+mmy[i])
			k := s.place[b] - 1
			if k < 0 {
				k, offsets = len(offsets), append(offsets, b)
				s.place[b] = len(offsets)
				for p := range v {
					v[p] = append(v[p], 0)
				}
			}
			for p := range v {
				v[p][k] += power[p][i]
			}
			for _, c := range levels {
				if b <= c {
					zMz.Data[b*zMz.Stride+c] += power[0][i]
					zMMz.Data[b*zMMz.Stride+c] += power[1][i]
					zMMMz.Data[b*zMMMz.Stride+c] += power[2][i]
				}
			}
		}
	}
	c, e := a[1]/(a[0]*a[0]), a[2]/(a[0]*a[0])-a[1]*a[1]/(a[0]*a[0]*a[0])
	s.offsets, s.incidence = offsets, v
	for i, b := range offsets {
		s.place[b] = 0
		one, two, three := v[0][i], v[1][i], v[2][i]
		for j, d := range offsets {
			if b > d {
				continue // the upper triangle alone is kept
			}
			ones, across := one*v[0][j], two*v[0][j]+one*v[1][j]
			zMz.Data[b*zMz.Stride+d] -= ones / a[0]
			zMMz.Data[b*zMMz.Stride+d] += c*ones - across/a[0]
			zMMMz.Data[b*zMMMz.Stride+d] += c*across + e*ones - (two*v[1][j]+three*v[0][j]+one*v[2][j])/a[0]
		}
	}
}

// A spreadPoint is the penalised likelihood at some standard deviations, with its
// derivatives along their logarithms, the placing first.
type spreadPoint struct {
	height   float64
	slope    []float64
	expected *mat.SymDense // information
	offsets  *mat.VecDense // expected, given the differences
	left     *mat.SymDense // their covariance, given the differences
}

// at evaluates the likelihood at standard deviations, the placing's first, with its
// information where that is asked for.
func (m *spreadModel) at(sd []float64, informed bool) *spreadPoint {
	s := m.sums(sd[0] * sd[0])
	q, k := len(m.source), len(sd)
	// H = (G⁻¹ + Z'MZ)⁻¹ by way of I + G^½ Z'MZ G^½, which never is singular.
	inner := symmetric(q)
	for i := range q {
		for j := i; j < q; j++ {
			v := sd[1+m.source[i]] * sd[1+m.source[j]] * s.zMz.At(i, j)
			if i == j {
				v++
			}
			inner.SetSym(i, j, v)
		}
	}
	var chol mat.Cholesky
	h := symmetric(q)
	if q > 0 {
		chol.Factorize(inner)
		chol.InverseTo(h)
	}
	for i := range q {
		for j := i; j < q; j++ {
			h.SetSym(i, j, sd[1+m.source[i]]*sd[1+m.source[j]]*h.At(i, j))
		}
	}
	p := &spreadPoint{slope: make([]float64, k), offsets: vector(q), left: h}
	logdet := 0.0
	score := make([]float64, k)
	score[0] = -s.tM/2 + s.yMMy/2
	quadratic := s.yMy
	var ha mat.Dense
	if q > 0 {
		logdet = chol.LogDet()
		p.offsets.MulVec(h, s.zMy)
		quadratic -= mat.Dot(s.zMy, p.offsets)
		zPy := vector(q)
		zPy.MulVec(s.zMz, p.offsets)
		zPy.SubVec(s.zMy, zPy)
		var moved mat.VecDense
		moved.MulVec(s.zMMz, p.offsets)
		score[0] += traceOfProduct(h, s.zMMz)/2 + (mat.Dot(p.offsets, &moved)-2*mat.Dot(p.offsets, s.zMMy))/2
		// products of two symmetric matrices are made entry by entry; of two full ones in blocks
		ha.Mul(mat.DenseCopyOf(h), mat.DenseCopyOf(s.zMz))
		for i := range q {
			own := s.zMz.At(i, i) // of T = Z'PZ = A1 − A1 H A1 the diagonal
			for j := range q {
				own -= s.zMz.At(i, j) * ha.At(j, i)
			}
			score[1+m.source[i]] += (zPy.AtVec(i)*zPy.AtVec(i) - own) / 2
		}
	}
	p.height = -(s.logs + logdet + quadratic) / 2
	for a := range k { // along log σ: d/dψ = 2σ² d/dσ²
		p.slope[a] = 2 * sd[a] * sd[a] * score[a]
	}
	if informed {
		p.expected = m.information(s, h, &ha, sd)
	}
	for a := 1; a < k; a++ {
		if m.penalised && math.IsNaN(m.fixed[a]) {
			p.height += math.Log(sd[a]) - sd[a]/offsetScale
			p.slope[a] += 1 - sd[a]/offsetScale
			if informed {
				p.expected.SetSym(a, a, p.expected.At(a, a)+1)
			}
		}
	}
	return p
}

// information is that of the likelihood along the logarithms of the standard deviations,
// from H and H A1.
func (m *spreadModel) information(s *spreadSums, h *mat.SymDense, ha *mat.Dense, sd []float64) *mat.SymDense {
	q, k := len(m.source), len(sd)
	info := mat.NewSymDense(k, nil)
	info.SetSym(0, 0, s.tMM/2)
	if q > 0 {
		var t, ha2, aha2 mat.Dense
		a1 := mat.DenseCopyOf(s.zMz)
		t.Mul(a1, ha)
		t.Sub(a1, &t)
		ha2.Mul(mat.DenseCopyOf(h), mat.DenseCopyOf(s.zMMz))
		aha2.Mul(a1, &ha2)
		info.SetSym(0, 0, (s.tMM-2*traceOfProduct(h, s.zMMMz)+traceOfProduct(&ha2, &ha2))/2)
		for i := range q {
			a := 1 + m.source[i]
			// of S = Z'PPZ = A2 − A1 H A2 − A2 H A1 + A1 H A2 H A1 the diagonal
			own := s.zMMz.At(i, i) - 2*aha2.At(i, i)
			for j, v := range aha2.RawRowView(i) {
				own += v * ha.At(j, i)
			}
			info.SetSym(0, a, info.At(0, a)+own/2)
			for j := range q {
				if b := 1 + m.source[j]; a <= b {
					info.SetSym(a, b, info.At(a, b)+t.At(i, j)*t.At(i, j)/2)
				}
			}
		}
	}
	for a := range k {
		for b := a; b < k; b++ {
			info.SetSym(a, b, 4*sd[a]*sd[a]*sd[b]*sd[b]*info.At(a, b))
		}
	}
	return info
}

// traceOfProduct is tr(AB).
func traceOfProduct(a, b mat.Matrix) float64 {
	n, _ := a.Dims()
	sum := 0.0
	for i := range n {
		for j := range n {
			sum += a.At(i, j) * b.At(j, i)
		}
	}
	return sum
}

// fit climbs the likelihood by Newton's method along the logarithms of the standard
// deviations, by scoring where that leads nowhere, with halved steps; it gives them, the placing's first.
func (m *spreadModel) fit() ([]float64, *spreadPoint) {
	const (
		most  = 200
		close = 1e-10 // of the logarithms: digits settled beyond those shown
	)
	low, high := math.Log(leastSpread), math.Log(1.0)
	sd := slices.Clone(m.fixed)
	for a := range sd {
		if math.IsNaN(sd[a]) {
			sd[a] = 0.01
		}
	}
	if len(m.pages) == 0 {
		return sd, &spreadPoint{}
	}
	here := m.at(sd, true)
	for range most {
		step := m.step(sd, here, low, high)
		longest := 0.0
		for _, s := range step {
			longest = math.Max(longest, math.Abs(s))
		}
		if longest < close {
			break
		}
		size, moved := math.Min(1, 1/longest), false
		for ; size*longest > close/10; size /= 2 {
			trial := slices.Clone(sd)
			for a := range trial {
				if step[a] != 0 {
					trial[a] = math.Exp(math.Min(high, math.Max(low, math.Log(sd[a])+size*step[a])))
				}
			}
			if there := m.at(trial, true); there.height > here.height-1e-11 { // rounding of its sums
				sd, here, moved = trial, there, true
				break
			}
		}
		if !moved {
			break
		}
	}
	return sd, here
}

// step is the next step, 0 where a standard deviation is stated or stands at an
// end of its range and would leave it.
func (m *spreadModel) step(sd []float64, at *spreadPoint, low, high float64) []float64 {
	var free []int
	for a := range sd {
		logSD := math.Log(sd[a])
		if math.IsNaN(m.fixed[a]) && !(logSD <= low+1e-9 && at.slope[a] < 0) && !(logSD >= high-1e-9 && at.slope[a] > 0) {
			free = append(free, a)
		}
	}
	step := make([]float64, len(sd))
	if len(free) == 0 {
		return step
	}
	slope := mat.NewVecDense(len(free), nil)
	for i, a := range free {
		slope.SetVec(i, at.slope[a])
	}
	for _, info := range []*mat.SymDense{m.curvature(sd, free), part(at.expected, free)} {
		var chol mat.Cholesky
		if !chol.Factorize(info) {
			continue // not at a top: scoring leads there
		}
		var solved mat.VecDense
		if err := chol.SolveVecTo(&solved, slope); err != nil {
			continue
		}
		for i, a := range free {
			step[a] = solved.AtVec(i)
		}
		return step
	}
	for _, a := range free {
		step[a] = at.slope[a]
	}
	return step
}

// curvature is the negative second derivative of the height along the logarithms of
// some standard deviations, by central differences of the slopes.
func (m *spreadModel) curvature(sd []float64, free []int) *mat.SymDense {
	const width = 1e-4 // of the logarithm: the slopes are settled to some 1e-12
	slopes := make([][2][]float64, len(free))
	for i, a := range free {
		for side, sign := range [2]float64{-1, 1} {
			moved := slices.Clone(sd)
			moved[a] *= math.Exp(sign * width)
			slopes[i][side] = m.at(moved, false).slope
		}
	}
	out := mat.NewSymDense(len(free), nil)
	for i, a := range free {
		for j, b := range free[i:] {
			one := (slopes[i][0][b] - slopes[i][1][b]) / (2 * width)
			other := (slopes[i+j][0][a] - slopes[i+j][1][a]) / (2 * width)
			out.SetSym(i, i+j, (one+other)/2)
		}
	}
	return out
}

// part is the block of a matrix at some of its rows.
func part(of *mat.SymDense, at []int) *mat.SymDense {
	out := mat.NewSymDense(len(at), nil)
	for i, a := range at {
		for j, b := range at[i:] {
			out.SetSym(i, i+j, of.At(a, b))
		}
		out.SetSym(i, i, out.At(i, i)*(1+1e-9)+1e-9)
	}
	return out
}

// rank is how many independent differences between offsets of the sources named
// the pages tell.
func (m *spreadModel) rank(sources ...int) int {
	var at []int
	for i, s := range m.source {
		if slices.Contains(sources, s) {
			at = append(at, i)
		}
	}
	if len(at) == 0 {
		return 0
	}
	z := m.sums(1).zMz
	block := mat.NewSymDense(len(at), nil)
	for i, a := range at {
		for j, b := range at {
			block.SetSym(i, j, z.At(a, b))
		}
	}
	var eigen mat.EigenSym
	eigen.Factorize(block, false)
	values := eigen.Values(nil)
	largest, rank := values[len(values)-1], 0
	for _, v := range values {
		if v > 1e-9*math.Max(largest, 1e-300) && v > 0 {
			rank++
		}
	}
	return rank
}
