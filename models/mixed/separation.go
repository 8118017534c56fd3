package mixed

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/blas"
	"gonum.org/v1/gonum/blas/blas64"
	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"

	"thumbed/models/wording"
)

// Effects that only bounds speak of. The likelihood of rows that are bounds has
// no maximum, and its integral over the fixed effects no value, exactly where
// there is a direction d of the coefficients along which no row with a value
// moves, x'd = 0, and every bound moves to its open side or stays: the farther
// along d, the more probable all bounds are (for binary outcomes Albert and
// Anderson 1984, Biometrika 71, 1–10, call this complete and quasi-complete
// separation; random effects and correlated errors change nothing in it, since
// they do so given any value of them).

// A drift is what moves each row used along some direction of the coefficients.
type drift struct {
	words string    // what the rows are that it moves: "with picture=yes"
	names []string  // the terms on it
	moves []float64 // n
}

// checkSeparation reports the fixed effects of which only bounds speak, and
// values too few to tell the spread of single rows by.
func (l *layer) checkSeparation(d *design, columns []column) {
	side := d.errors.side()
	if side == nil {
		return
	}
	still := d.fixed.stillDirections(side)
	values := 0
	for _, s := range side {
		if s == exact {
			values++
		}
	}
	told := false
	for _, one := range l.simpleDrifts(columns) {
		if one.separates(side) {
			l.tellSeparation(one, side)
			told = true
		}
	}
	if !told && still != nil {
		if along := d.fixed.openDirection(still, side); along != nil {
			l.tellSeparation(l.describeDrift(d, along), side)
			told = true
		}
	}
	_, lost := dims(still)
	if !told && values-(d.fixed.p-lost) < 1 {
		l.problem(l.model.Outcome, fmt.Sprintf("%d of %d rows are bounds", d.n-values, d.n), "more rows whose outcome is a value than fixed effects",
			"the spread of single rows cannot be estimated from these: ask for fewer effects, or is the limit right?")
	}
}

func dims(m *mat.Dense) (rows, columns int) {
	if m == nil {
		return 0, 0
	}
	return m.Dims()
}

// simpleDrifts are the directions that have a name: every level of a column of
// labels by itself, the baseline too, and every other column of the fixed part.
func (l *layer) simpleDrifts(columns []column) []drift {
	var out []drift
	ofLevels := map[string]bool{interceptName: true}
	for _, term := range l.model.Fixed {
		if len(term) != 1 || (l.table.Column(term[0]).IsNumber() && !l.labels[term[0]]) {
			continue
		}
		name := term[0]
		levels, codes := l.levelCodes(name)
		for k, level := range levels {
			moves := make([]float64, len(codes))
			for i, code := range codes {
				if int(code) == k {
					moves[i] = 1
				}
			}
			label := name + "=" + level
			ofLevels[label] = true
			out = append(out, drift{words: "with " + label, names: []string{label}, moves: moves})
		}
	}
	for _, c := range columns {
		if ofLevels[c.name] {
			continue
		}
		words := "in which " + c.name + " is not 0"
		if strings.Contains(c.name, "=") && !slices.ContainsFunc(c.values, func(v float64) bool { return v != 0 && v != 1 }) {
			words = "with " + strings.ReplaceAll(c.name, productSign, " and ")
		}
		out = append(out, drift{words: words, names: []string{c.name}, moves: c.values})
	}
	return out
}

// separates tells whether no row with a value moves, and all bounds that move
// do so to the same of their two sides, open or closed.
func (m drift) separates(side []boundSide) bool {
	way := 0.0
	for i, v := range m.moves {
		if v == 0 {
			continue
		}
		open := v * float64(side[i])
		if open*way < 0 || open == 0 {
			return false
		}
		way = open
	}
	return way != 0
}

// stillTolerance is how little a direction of unit length may move all rows with
// a value together to count as not moving them.
const stillTolerance = 1e-9

// stillDirections are the directions, in the basis Q, along which no row with a
// value moves: p × k with orthonormal columns, nil where there are none.
func (f *fixedPart) stillDirections(side []boundSide) *mat.Dense {
	p := f.p
	rows := make([]float64, 0, len(f.q))
	n := 0
	for i, s := range side {
		if s == exact {
			rows = append(rows, f.q[i*p:(i+1)*p]...)
			n++
		}
	}
	full := triangle(rows, make([]float64, n), n, p)
	r := mat.NewDense(p, p, nil)
	for i := range p {
		for j := range p {
			r.Set(i, j, full[i*(p+1)+j])
		}
	}
	var svd mat.SVD
	if !svd.Factorize(r, mat.SVDThinV) {
		return nil
	}
	moved := 0
	for _, v := range svd.Values(nil) {
		if v > stillTolerance {
			moved++
		}
	}
	if moved == p {
		return nil
	}
	var v mat.Dense
	svd.VTo(&v)
	return mat.DenseCopyOf(v.Slice(0, p, moved, p))
}

// openDirection finds, among the still directions, one along which every bound
// moves to its open side or stays, in the basis Q; nil where there is none.
//
// With a the rows' movements, to their open side positive, it is the gradient
// at the least length of a'y over y ≥ 1: that length is 0 exactly where there
// is no such direction (Stiemke 1915, Mathematische Annalen 76, 340–342), and
// otherwise the conditions for the least length say that no row moves back.
func (f *fixedPart) openDirection(still *mat.Dense, side []boundSide) []float64 {
	p, k := still.Dims()
	var open [][]float64 // of the bounds that move, unit length
	for i, s := range side {
		if s == exact {
			continue
		}
		a := make([]float64, k)
		for j := range k {
			for e := range p {
				a[j] += float64(s) * f.q[i*p+e] * still.At(e, j)
			}
		}
		if length := floats.Norm(a, 2); length > stillTolerance {
			floats.Scale(1/length, a)
			open = append(open, a)
		}
	}
	way := leastSum(open, k)
	if way == nil {
		return nil
	}
	out := mat.NewVecDense(p, nil)
	out.MulVec(still, mat.NewVecDense(k, way))
	return out.RawVector().Data
}

// leastSum is the shortest sum of rows with weights of 1 or more, by the active
// sets of Lawson and Hanson (1974, Solving Least Squares Problems, chapter 23);
// nil where that is no longer than rounding, or the search does not end.
func leastSum(rows [][]float64, k int) []float64 {
	m := len(rows)
	extra := make([]float64, m) // weights beyond 1
	var active []int
	sum := func() []float64 {
		out := make([]float64, k)
		for i, row := range rows {
			floats.AddScaled(out, 1+extra[i], row)
		}
		return out
	}
	tolerance := 1e-9 * float64(m)
	for range 100 + 10*k {
		now := sum()
		if floats.Norm(now, 2) <= tolerance {
			return nil
		}
		back, worst := -1, -1e-9*floats.Norm(now, 2)
		for i, row := range rows {
			if v := floats.Dot(row, now); v < worst && !slices.Contains(active, i) {
				back, worst = i, v
			}
		}
		if back < 0 {
			return now
		}
		active = append(active, back)
		if active = balance(rows, extra, active, k); active == nil {
			return nil
		}
	}
	return nil
}

// balance gives the active rows the extra weights that make the sum shortest,
// taking those out whose weight would fall below 0; nil where they cannot be
// told apart, which is where they sum to nothing.
func balance(rows [][]float64, extra []float64, active []int, k int) []int {
	for len(active) > 0 {
		m, b := mat.NewDense(k, len(active), nil), mat.NewVecDense(k, nil)
		for j, i := range active {
			m.SetCol(j, rows[i])
		}
		for i, row := range rows {
			weight := 1 + extra[i]
			if slices.Contains(active, i) {
				weight = 1
			}
			for e, v := range row {
				b.SetVec(e, b.AtVec(e)-weight*v)
			}
		}
		var x mat.VecDense
		if len(active) > k || x.SolveVec(m, b) != nil {
			return nil
		}
		step := 1.0
		for j, i := range active {
			if v := x.AtVec(j); v < 0 {
				step = math.Min(step, extra[i]/(extra[i]-v))
			}
		}
		var kept []int
		for j, i := range active {
			extra[i] += step * (x.AtVec(j) - extra[i])
			if extra[i] > 1e-14 || (step == 1 && x.AtVec(j) >= 0) {
				kept = append(kept, i)
			} else {
				extra[i] = 0
			}
		}
		if active = kept; step == 1 {
			return active
		}
	}
	return []int{}
}

// describeDrift names a direction given in the basis Q.
func (l *layer) describeDrift(d *design, along []float64) drift {
	f := &d.fixed
	p := f.p
	out := drift{moves: make([]float64, d.n)}
	for i := range out.moves {
		out.moves[i] = floats.Dot(f.q[i*p:(i+1)*p], along)
		if math.Abs(out.moves[i]) < stillTolerance {
			out.moves[i] = 0
		}
	}
	coefficients := slices.Clone(along)
	blas64.Trsv(blas.NoTrans, blas64.Triangular{Uplo: blas.Upper, Diag: blas.NonUnit, N: p, Stride: p, Data: f.r},
		blas64.Vector{N: p, Inc: 1, Data: coefficients})
	for j := range coefficients {
		coefficients[j] *= columnLength(f.r, p, j)
	}
	most := math.Max(floats.Max(coefficients), -floats.Min(coefficients))
	for j, v := range coefficients {
		if math.Abs(v) > 1e-6*most {
			out.names = append(out.names, f.names[j])
		}
	}
	out.words = "that alone tell " + strings.Join(out.names, ", ") + " apart"
	return out
}

// tellSeparation reports a direction of which only bounds speak.
func (l *layer) tellSeparation(m drift, side []boundSide) {
	counts := map[boundSide]int{}
	low, high := math.Inf(1), math.Inf(-1)
	for i, v := range m.moves {
		if v == 0 {
			continue
		}
		counts[side[i]]++
		limit := l.limitOf(i)
		low, high = math.Min(low, limit), math.Max(high, limit)
	}
	n := counts[below] + counts[above]
	where := "beyond their limits"
	switch n {
	case counts[above]:
		where = "at or above their limit"
	case counts[below]:
		where = "at or below their limit"
	}
	limits := fmt.Sprintf("%.3g", low)
	if low < high {
		limits += fmt.Sprintf(" to %.3g", high)
	}
	what := strings.Join(m.names, ", ")
	l.problem(what, fmt.Sprintf("all %s %s", wording.Plain(n, "row is", "rows are"), where),
		"some rows "+m.words+" whose outcome is a value",
		fmt.Sprintf("no row %s was measured within its limit (%s): the data bound the effect of %s on one side only, and no estimate can be given; "+
			"leave it out of the model, or those rows out of the table, or measure such rows with an instrument that reaches farther", m.words, limits, what))
}

// limitOf is the limit that row i of those used lies beyond.
func (l *layer) limitOf(i int) float64 {
	if limit := l.model.Residual.Limit; limit != nil {
		return *limit
	}
	return l.table.Column(l.model.Outcome).Numbers[l.rows[i]]
}

// OpenDirection finds a direction along which rows move to their open side or stay,
// at least one of them moving: side is 1 for a row open upwards, −1 downwards, 0
// for one that must stay. It is nil where there is none. Rows are of one length.
func OpenDirection(rows [][]float64, side []int) []float64 {
	if len(rows) == 0 {
		return nil
	}
	p := len(rows[0])
	f := fixedPart{p: p, q: make([]float64, 0, len(rows)*p)}
	sides := make([]boundSide, len(side))
	units := make([]float64, p) // columns are given one length
	for _, row := range rows {
		for j, v := range row {
			units[j] = math.Hypot(units[j], v)
		}
	}
	for i, row := range rows {
		sides[i] = boundSide(side[i])
		for j, v := range row {
			if units[j] > 0 {
				v /= units[j]
			}
			f.q = append(f.q, v)
		}
	}
	still := f.stillDirections(sides)
	if still == nil {
		return nil
	}
	out := f.openDirection(still, sides)
	for j := range out {
		if units[j] > 0 {
			out[j] /= units[j]
		}
	}
	return out
}
