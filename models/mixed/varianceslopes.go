package mixed

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
)

// A varianceSlopes holds what the derivatives of V by its parameters do to the
// fixed effects (Kenward and Roger 1997, section 3, in their notation): V is
// parametrised by the covariances of the random effects, in which it is linear,
// then by the residual's variances and its autocorrelation. All matrices are
// p × p in the basis Q and the outcome's unit of [fixedPart].
type varianceSlopes struct {
	size  int
	p     []*mat.Dense   // −Pᵢ = X'V⁻¹VᵢV⁻¹X
	q     [][]*mat.Dense // Qᵢⱼ = X'V⁻¹VᵢV⁻¹VⱼV⁻¹X, j ≤ i
	r     [][]*mat.Dense // Rᵢⱼ = X'V⁻¹VᵢⱼV⁻¹X, j ≤ i; nil where V is linear
	trace *mat.SymDense  // tr(V⁻¹VᵢV⁻¹Vⱼ)
}

// A covarianceEntry is one parameter of the random effects' covariance: one
// entry of a factor's k × k matrix, or several that share one value.
type covarianceEntry struct {
	factor  int
	entries [][2]int
}

// mostHanging is how many random effects of one component are still worked with
// as a dense matrix.
const mostHanging = 2500

// newVarianceSlopes computes the slopes at the fit's parameters.
func (f *Fit) newVarianceSlopes() (*varianceSlopes, error) {
	s := f.like.s
	entries := s.covarianceEntries()
	cells := f.newCellSlopes()
	v := &varianceSlopes{size: len(entries) + cells.size}
	v.trace = mat.NewSymDense(v.size, nil)
	empty := func() *mat.Dense { return mat.NewDense(s.p, s.p, nil) }
	for i := range v.size {
		v.p = append(v.p, empty())
		v.q = append(v.q, nil)
		v.r = append(v.r, make([]*mat.Dense, i+1))
		for range i + 1 {
			v.q[i] = append(v.q[i], empty())
		}
	}
	lambda := f.absoluteFactors()
	owner := s.owners()
	for _, c := range s.components() {
		local := s.newLocal(c, owner, lambda, cells)
		if local.q > mostHanging {
			return nil, fmt.Errorf("the Kenward–Roger adjustment needs dense matrices as large as the number of random effects that hang together, here %d; it is made for small studies: with this many groups use the fit's own (Satterthwaite) degrees of freedom, which then differ little", local.q)
		}
		if err := local.add(v, entries); err != nil {
			return nil, err
		}
	}
	return v, nil
}

// covarianceEntries lists the parameters of the random effects' covariances.
func (s *system) covarianceEntries() []covarianceEntry {
	var out []covarianceEntry
	for f := range s.factors {
		for _, v := range s.factors[f].blocks {
			if v.shared {
				e := covarianceEntry{factor: f}
				for k := range v.size {
					e.entries = append(e.entries, [2]int{v.first + k, v.first + k})
				}
				out = append(out, e)
				continue
			}
			for a := range v.size {
				for b := range a + 1 {
					if a == b || v.correlated {
						out = append(out, covarianceEntry{factor: f, entries: [][2]int{{v.first + a, v.first + b}}})
					}
				}
			}
		}
	}
	return out
}

// absoluteFactors are σΛ of each factor.
func (f *Fit) absoluteFactors() []*mat.Dense {
	f.like.set(f.phi)
	var out []*mat.Dense
	for k := range f.d.factors {
		size := f.d.factors[k].k
		m := mat.NewDense(size, size, nil)
		for a := range size {
			for b := range a + 1 {
				m.Set(a, b, f.sigma*f.like.trial.Lambda[k][a*size+b])
			}
		}
		out = append(out, m)
	}
	return out
}

// A local is one component with its dense matrices. Columns are those of its
// groups, then the p fixed effects.
type local struct {
	s     *system
	c     component
	at    map[int32]int // first column of each node
	q, p  int
	owner []int // factor of each random effect of the system
	cells *cellSlopes

	cross *mat.Dense     // A = [Z X]'R⁻¹[Z X]
	first []*mat.Dense   // B = [Z X]'R⁻¹RᵣR⁻¹[Z X] for each residual parameter
	pairs [][]*mat.Dense // C = [Z X]'R⁻¹RᵣR⁻¹RₛR⁻¹[Z X], symmetric part, s ≤ r
	curve [][]*mat.Dense // [Z X]'R⁻¹RᵣₛR⁻¹[Z X]; nil where zero
	trace [][]float64    // tr(R⁻¹RᵣR⁻¹Rₛ)
	t     *mat.Dense     // covariance factors of its groups, q × q
}

func (s *system) newLocal(c component, owner []int, lambda []*mat.Dense, cells *cellSlopes) *local {
	l := &local{s: s, c: c, at: map[int32]int{}, p: s.p, cells: cells, owner: owner}
	for _, j := range c.nodes {
		l.at[j] = l.q
		l.q += s.factors[owner[j]].k
	}
	if l.q > mostHanging {
		return l
	}
	if l.q > 0 {
		l.t = mat.NewDense(l.q, l.q, nil)
		for _, j := range c.nodes {
			k := s.factors[owner[j]].k
			l.t.Slice(l.at[j], l.at[j]+k, l.at[j], l.at[j]+k).(*mat.Dense).Copy(lambda[owner[j]])
		}
	}
	l.fill()
	return l
}

// fill gathers the cross-products over the component's rows.
func (l *local) fill() {
	size := l.q + l.p
	empty := func() *mat.Dense { return mat.NewDense(size, size, nil) }
	m := l.cells.size
	l.cross = empty()
	for r := range m {
		l.first = append(l.first, empty())
		l.pairs = append(l.pairs, nil)
		l.curve = append(l.curve, make([]*mat.Dense, r+1))
		l.trace = append(l.trace, make([]float64, r+1))
		for range r + 1 {
			l.pairs[r] = append(l.pairs[r], empty())
		}
	}
	for _, cell := range l.c.cells {
		weights := l.cells.at(cell)
		columns, rows := l.rows(cell)
		addForm(l.cross, columns, rows, weights.inverse)
		for r := range m {
			addForm(l.first[r], columns, rows, weights.first[r])
			for u := range r + 1 {
				addForm(l.pairs[r][u], columns, rows, weights.pairs[r][u])
				l.trace[r][u] += weights.trace[r][u]
				if curve := weights.curve[r][u]; curve != nil {
					if l.curve[r][u] == nil {
						l.curve[r][u] = empty()
					}
					addForm(l.curve[r][u], columns, rows, curve)
				}
			}
		}
	}
}

// rows gives the rows of [Z X] of a cell, in the columns in which they are not
// zero, and which these are.
func (l *local) rows(cell []int32) (columns []int, rows *mat.Dense) {
	s := l.s
	seen := map[int]int{}
	for _, i := range cell {
		for f := range s.factors {
			j := s.node(f, i)
			if _, ok := seen[l.at[j]]; !ok {
				seen[l.at[j]] = len(columns)
				for k := range s.factors[f].k {
					columns = append(columns, l.at[j]+k)
				}
			}
		}
	}
	random := len(columns)
	for k := range l.p {
		columns = append(columns, l.q+k)
	}
	rows = mat.NewDense(len(cell), len(columns), nil)
	for r, i := range cell {
		for f := range s.factors {
			at := seen[l.at[s.node(f, i)]]
			for k, c := range s.factors[f].z {
				rows.Set(r, at+k, c.at(int(i)))
			}
		}
		for k := range l.p {
			rows.Set(r, random+k, s.d.fixed.q[int(i)*l.p+k])
		}
	}
	return columns, rows
}

// addForm adds rows'·weight·rows to the columns of m; a nil weight is zero.
func addForm(m *mat.Dense, columns []int, rows, weight *mat.Dense) {
	if weight == nil {
		return
	}
	n, _ := rows.Dims()
	if n == 1 {
		w := weight.At(0, 0)
		x := rows.RawRowView(0)
		for a, u := range x {
			to := m.RawRowView(columns[a])
			for b, v := range x {
				to[columns[b]] += w * u * v
			}
		}
		return
	}
	var product mat.Dense
	product.Product(rows.T(), weight, rows)
	for a, row := range columns {
		to := m.RawRowView(row)
		for b, v := range product.RawRowView(a) {
			to[columns[b]] += v
		}
	}
}

// A solved is what a component gives of V⁻¹: V⁻¹X = R⁻¹[Z X]·N and
// V⁻¹Z = R⁻¹Z·F.
type solved struct {
	h *mat.Dense // q × q: ΛM⁻¹Λ', so that V⁻¹ = R⁻¹ − R⁻¹Z·h·Z'R⁻¹
	n *mat.Dense // (q+p) × p
	f *mat.Dense // q × q
	s *mat.Dense // q × q: Z'V⁻¹Z
	u *mat.Dense // q × p: Z'V⁻¹X
}

func (l *local) solve() (*solved, error) {
	q, p := l.q, l.p
	out := &solved{n: mat.NewDense(q+p, p, nil)}
	for k := range p {
		out.n.Set(q+k, k, 1)
	}
	if q == 0 {
		return out, nil
	}
	zz, zx := l.cross.Slice(0, q, 0, q), l.cross.Slice(0, q, q, q+p)
	var scaled mat.Dense
	scaled.Product(l.t.T(), zz, l.t)
	m := mat.NewSymDense(q, nil)
	for a := range q {
		for b := range a + 1 {
			m.SetSym(a, b, (scaled.At(a, b)+scaled.At(b, a))/2)
		}
		m.SetSym(a, a, m.At(a, a)+1)
	}
	var chol mat.Cholesky
	if !chol.Factorize(m) {
		return nil, fmt.Errorf("the covariance matrix of the random effects is not positive definite at the estimates, so that no adjustment can be computed: is a column of very unlike size among the random terms?")
	}
	var half mat.Dense
	if err := chol.SolveTo(&half, l.t.T()); err != nil {
		return nil, fmt.Errorf("the covariance matrix of the random effects is too nearly singular for an adjustment (%w): rescale the columns of the random terms", err)
	}
	out.h = mat.NewDense(q, q, nil)
	out.h.Mul(l.t, &half)
	out.f = mat.NewDense(q, q, nil)
	out.f.Mul(out.h, zz)
	out.f.Scale(-1, out.f)
	for a := range q {
		out.f.Set(a, a, out.f.At(a, a)+1)
	}
	out.s = mat.NewDense(q, q, nil)
	out.s.Mul(zz, out.f)
	out.u = mat.NewDense(q, p, nil)
	out.u.Mul(out.f.T(), zx)
	top := out.n.Slice(0, q, 0, p).(*mat.Dense)
	top.Mul(out.h, zx)
	top.Scale(-1, top)
	return out, nil
}

// add adds the component's part to v.
func (l *local) add(v *varianceSlopes, entries []covarianceEntry) error {
	x, err := l.solve()
	if err != nil {
		return err
	}
	l.addRandom(v, entries, x)
	l.addResidual(v, entries, x)
	return nil
}

// addRandom adds what the random effects' covariances do by themselves.
func (l *local) addRandom(v *varianceSlopes, entries []covarianceEntry, x *solved) {
	if l.q == 0 {
		return
	}
	es, eu := make([]*mat.Dense, len(entries)), make([]*mat.Dense, len(entries))
	for i, e := range entries {
		es[i], eu[i] = l.pick(e, x.s), l.pick(e, x.u)
		var form mat.Dense
		form.Mul(x.u.T(), eu[i])
		v.p[i].Add(v.p[i], &form)
		for j := range i + 1 {
			v.trace.SetSym(i, j, v.trace.At(i, j)+traceOfProduct(es[i], es[j]))
			var pair mat.Dense
			pair.Product(eu[i].T(), x.s, eu[j])
			v.q[i][j].Add(v.q[i][j], &pair)
		}
	}
}

// pick multiplies m by the derivative of the random effects' covariance by an
// entry.
func (l *local) pick(e covarianceEntry, m *mat.Dense) *mat.Dense {
	rows, cols := m.Dims()
	out := mat.NewDense(rows, cols, nil)
	for _, j := range l.c.nodes {
		if l.owner[j] != e.factor {
			continue
		}
		for _, at := range e.entries {
			a, b := l.at[j]+at[0], l.at[j]+at[1]
			addTo(out.RawRowView(a), m.RawRowView(b))
			if a != b {
				addTo(out.RawRowView(b), m.RawRowView(a))
			}
		}
	}
	return out
}

func addTo(to, from []float64) {
	for i, v := range from {
		to[i] += v
	}
}

// traceOfProduct is tr(AB).
func traceOfProduct(a, b *mat.Dense) float64 {
	n, _ := a.Dims()
	sum := 0.0
	for i := range n {
		for j, v := range a.RawRowView(i) {
			sum += v * b.At(j, i)
		}
	}
	return sum
}

// addResidual adds what the residual's parameters do, by themselves and
// together with the random effects' covariances.
func (l *local) addResidual(v *varianceSlopes, entries []covarianceEntry, x *solved) {
	q := l.q
	across := make([]*mat.Dense, l.cells.size) // N'B[:,Z]
	bh := make([]*mat.Dense, l.cells.size)     // B[Z,Z]·h
	for r := range l.cells.size {
		i := len(entries) + r
		var bn, form mat.Dense
		bn.Mul(l.first[r], x.n)
		form.Mul(x.n.T(), &bn)
		v.p[i].Add(v.p[i], &form)
		if q > 0 {
			across[r] = mat.DenseCopyOf(bn.Slice(0, q, 0, l.p).T())
			bh[r] = mat.NewDense(q, q, nil)
			bh[r].Mul(l.first[r].Slice(0, q, 0, q), x.h)
			l.addMixed(v, entries, x, r, across[r])
		}
		for u := range r + 1 {
			l.addResidualPair(v, x, len(entries), r, u, across, bh)
		}
	}
}

// addMixed adds the terms of residual parameter r with each covariance.
func (l *local) addMixed(v *varianceSlopes, entries []covarianceEntry, x *solved, r int, across *mat.Dense) {
	i := len(entries) + r
	var form, left mat.Dense
	form.Product(x.f.T(), l.first[r].Slice(0, l.q, 0, l.q), x.f)
	left.Mul(across, x.f)
	for j, e := range entries {
		picked := l.pick(e, &form)
		v.trace.SetSym(i, j, v.trace.At(i, j)+mat.Trace(picked))
		var pair mat.Dense
		pair.Mul(&left, l.pick(e, x.u))
		v.q[i][j].Add(v.q[i][j], &pair)
	}
}

// addResidualPair adds the terms of residual parameters r and u.
func (l *local) addResidualPair(v *varianceSlopes, x *solved, before, r, u int, across, bh []*mat.Dense) {
	i, j := before+r, before+u
	trace := l.trace[r][u]
	var pair mat.Dense
	pair.Product(x.n.T(), l.pairs[r][u], x.n)
	if l.q > 0 {
		trace += traceOfProduct(bh[r], bh[u]) - 2*traceOfProduct(mat.DenseCopyOf(l.pairs[r][u].Slice(0, l.q, 0, l.q)), x.h)
		var less mat.Dense
		less.Product(across[r], x.h, across[u].T())
		pair.Sub(&pair, &less)
	}
	v.trace.SetSym(i, j, v.trace.At(i, j)+trace)
	v.q[i][j].Add(v.q[i][j], &pair)
	if l.curve[r][u] != nil {
		if v.r[i][j] == nil {
			v.r[i][j] = mat.NewDense(l.p, l.p, nil)
		}
		var curve mat.Dense
		curve.Product(x.n.T(), l.curve[r][u], x.n)
		v.r[i][j].Add(v.r[i][j], &curve)
	}
}

// information is the expected information of the restricted likelihood for the
// parameters (Kenward and Roger 1997, equation 5), phi being (X'V⁻¹X)⁻¹.
func (v *varianceSlopes) information(phi *mat.Dense) *mat.SymDense {
	out := mat.NewSymDense(v.size, nil)
	scaled := make([]*mat.Dense, v.size)
	for i := range scaled {
		scaled[i] = new(mat.Dense)
		scaled[i].Mul(phi, v.p[i])
	}
	for i := range v.size {
		for j := range i + 1 {
			out.SetSym(i, j, 0.5*(v.trace.At(i, j)-2*traceOfProduct(phi, v.q[i][j])+traceOfProduct(scaled[i], scaled[j])))
		}
	}
	return out
}

// A cellSlopes gives the residual covariance of a cell of rows and its
// derivatives. Its parameters are the residual's variances, one a level, and
// its autocorrelation at distance unit.
type cellSlopes struct {
	e         *errorPart
	variances []float64 // by level
	near      float64
	size      int
}

func (f *Fit) newCellSlopes() *cellSlopes {
	e := &f.d.errors
	c := &cellSlopes{e: e, variances: []float64{f.sigma * f.sigma}}
	if w := f.like.weighing; w != nil {
		w.state.set(w.parameters, f.phi[len(f.like.parameters):])
		c.near = w.state.near
		c.variances = c.variances[:0]
		for _, ratio := range w.state.ratio {
			c.variances = append(c.variances, math.Pow(f.sigma*w.state.sigma*ratio, 2))
		}
	}
	c.size = len(c.variances)
	if e.gap != nil {
		c.size++
	}
	return c
}

// A cellWeights holds the matrices of one cell of n rows, each n × n, nil where
// zero.
type cellWeights struct {
	inverse *mat.Dense
	first   []*mat.Dense   // R⁻¹RᵣR⁻¹
	pairs   [][]*mat.Dense // R⁻¹RᵣR⁻¹RₛR⁻¹, symmetric part
	curve   [][]*mat.Dense // R⁻¹RᵣₛR⁻¹
	trace   [][]float64
}

func (c *cellSlopes) level(i int32) int {
	if c.e.level == nil {
		return 0
	}
	return int(c.e.level[i])
}

// at computes the weights of a cell.
func (c *cellSlopes) at(cell []int32) *cellWeights {
	n := len(cell)
	cov := c.covariance(cell)
	var inverse mat.Dense
	if err := inverse.Inverse(cov); err != nil {
		// a correlation of one between neighbours: nothing to divide by; the
		// information's pseudo-inverse leaves what is left undetermined out
		inverse = *mat.NewDense(n, n, nil)
	}
	out := &cellWeights{inverse: &inverse}
	var half []*mat.Dense
	for r := range c.size {
		slope := c.slope(cell, r)
		if slope == nil {
			half = append(half, nil)
			out.first = append(out.first, nil)
		} else {
			h, first := new(mat.Dense), new(mat.Dense)
			h.Mul(&inverse, slope)
			first.Mul(h, &inverse)
			half = append(half, h)
			out.first = append(out.first, first)
		}
		out.pairs = append(out.pairs, make([]*mat.Dense, r+1))
		out.curve = append(out.curve, make([]*mat.Dense, r+1))
		out.trace = append(out.trace, make([]float64, r+1))
		for u := range r + 1 {
			if curve := c.curve(cell, r, u); curve != nil {
				out.curve[r][u] = new(mat.Dense)
				out.curve[r][u].Product(&inverse, curve, &inverse)
			}
			if half[r] == nil || half[u] == nil {
				continue
			}
			out.trace[r][u] = traceOfProduct(half[r], half[u])
			one, two := new(mat.Dense), new(mat.Dense)
			one.Mul(half[r], out.first[u])
			two.Mul(half[u], out.first[r])
			one.Add(one, two)
			one.Scale(0.5, one)
			out.pairs[r][u] = one
		}
	}
	return out
}

// build makes a symmetric n × n matrix from what each two rows have, at the
// distance between them.
func (c *cellSlopes) build(cell []int32, entry func(a, b int, distance float64) float64) *mat.Dense {
	out := mat.NewDense(len(cell), len(cell), nil)
	for a := range cell {
		distance := 0.0
		for b := a; b >= 0; b-- {
			v := entry(a, b, distance)
			out.Set(a, b, v)
			out.Set(b, a, v)
			if c.e.gap != nil {
				distance += c.e.gap[cell[b]]
			}
		}
	}
	return out
}

func (c *cellSlopes) covariance(cell []int32) *mat.Dense {
	return c.build(cell, func(a, b int, distance float64) float64 {
		v := c.spread(cell[a], cell[b]) * math.Pow(c.near, distance)
		if a == b && c.e.known != nil {
			v += c.e.known[cell[a]]
		}
		return v
	})
}

// spread is the product of two rows' standard deviations.
func (c *cellSlopes) spread(a, b int32) float64 {
	return math.Sqrt(c.variances[c.level(a)] * c.variances[c.level(b)])
}

// share is the power with which the variance of a level enters the product of
// two rows' standard deviations: 0, ½ or 1.
func (c *cellSlopes) share(a, b int32, level int) float64 {
	out := 0.0
	if c.level(a) == level {
		out += 0.5
	}
	if c.level(b) == level {
		out += 0.5
	}
	return out
}

// slope is the derivative of the cell's covariance by parameter r, nil where
// zero.
func (c *cellSlopes) slope(cell []int32, r int) *mat.Dense {
	if r == len(c.variances) {
		if len(cell) == 1 {
			return nil
		}
		return c.build(cell, func(a, b int, distance float64) float64 {
			if distance == 0 {
				return 0
			}
			return c.spread(cell[a], cell[b]) * distance * math.Pow(c.near, distance-1)
		})
	}
	if len(cell) == 1 && c.level(cell[0]) != r {
		return nil
	}
	return c.build(cell, func(a, b int, distance float64) float64 {
		return c.byVariance(cell[a], cell[b], r) * math.Pow(c.near, distance)
	})
}

// byVariance is the derivative of spread by the variance of a level.
func (c *cellSlopes) byVariance(a, b int32, level int) float64 {
	share := c.share(a, b, level)
	switch share {
	case 0:
		return 0
	case 1:
		return 1
	}
	return share * c.spread(a, b) / c.variances[level]
}

// curve is the second derivative of the cell's covariance by parameters r and
// u, nil where zero.
func (c *cellSlopes) curve(cell []int32, r, u int) *mat.Dense {
	if len(cell) == 1 || c.e.gap == nil {
		return nil
	}
	levels := len(c.variances)
	switch {
	case r == levels && u == levels:
		return c.build(cell, func(a, b int, distance float64) float64 {
			if distance == 0 || distance == 1 {
				return 0
			}
			return c.spread(cell[a], cell[b]) * distance * (distance - 1) * math.Pow(c.near, distance-2)
		})
	case r == levels:
		return c.build(cell, func(a, b int, distance float64) float64 {
			if distance == 0 {
				return 0
			}
			return c.byVariance(cell[a], cell[b], u) * distance * math.Pow(c.near, distance-1)
		})
	case levels == 1:
		return nil
	}
	return c.build(cell, func(a, b int, distance float64) float64 {
		one, two := c.share(cell[a], cell[b], r), c.share(cell[a], cell[b], u)
		if r == u {
			two = one - 1
		}
		return one * two * c.spread(cell[a], cell[b]) / (c.variances[r] * c.variances[u]) * math.Pow(c.near, distance)
	})
}
