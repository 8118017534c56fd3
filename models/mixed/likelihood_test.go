package mixed

import (
	"fmt"
	"math"
	"testing"

	"thumbed/models/table"

	"gonum.org/v1/gonum/mat"
	"pgregory.net/rapid"
)

// drawDesign makes a small random table and a random model for it: crossed and
// nested groups, slopes correlated or not, and any residual structure.
func drawDesign(t *rapid.T) (*design, *table.Table) {
	n := rapid.IntRange(25, 45).Draw(t, "rows")
	normal := func(name string) *table.Column {
		values := make([]float64, n)
		for i := range values {
			values[i] = rapid.Float64Range(-3, 3).Draw(t, name)
		}
		return table.Numbers(name, values)
	}
	label := func(name string, levels int) *table.Column {
		values := make([]string, n)
		for i := range values {
			k := rapid.IntRange(0, levels-1).Draw(t, name)
			if i < levels {
				k = i
			}
			values[i] = fmt.Sprintf("%s%d", name, k)
		}
		return table.Labels(name, values)
	}
	known := make([]float64, n)
	along := make([]float64, n)
	for i := range known {
		known[i] = rapid.Float64Range(0.1, 1).Draw(t, "known")
		along[i] = float64(i) + rapid.Float64Range(0, 0.9).Draw(t, "along")
	}
	day := make([]string, n)
	for i := range day {
		a, b := rapid.IntRange(0, 3).Draw(t, "day"), rapid.IntRange(0, 5).Draw(t, "other day")
		day[i] = fmt.Sprint("day ", a)
		switch {
		case b == 5 && i > 4:
			day[i] = ""
		case b != a && b < 4:
			day[i] = table.WriteShares([]table.Share{{Label: day[i], Weight: 0.625}, {Label: fmt.Sprint("day ", b), Weight: rapid.SampledFrom([]float64{0.375, -0.5}).Draw(t, "weight")}})
		}
		if rapid.IntRange(0, 9).Draw(t, "many days") == 0 {
			day[i] = "day 0 × 0.2 + day 1 × 0.2 + day 2 × 0.2 + day 3 × 0.2 + day 4 × 0.2"
		}
	}
	data, err := table.New(normal("y"), table.Labels("day", day), normal("x"), normal("z"), label("a", 3), label("b", 4), label("book", 4), label("reader", 5),
		label("quire", 2), label("opening", 6), label("sheet", 7), table.Numbers("known", known), table.Numbers("along", along))
	if err != nil {
		t.Fatal(err)
	}
	m := Model{Outcome: "y", Fixed: []Term{{"x"}, {"a"}}}
	if rapid.Bool().Draw(t, "full") {
		m.Estimate = "full"
	}
	choices := []Random{
		{By: []string{"book"}, Terms: []string{"intercept"}},
		{By: []string{"reader"}, Terms: []string{"intercept"}},
		{By: []string{"book", "quire"}, Terms: []string{"intercept"}},
		{By: []string{"opening"}, Terms: []string{"intercept"}},
		{By: []string{"sheet"}, Terms: []string{"x"}},
		{By: []string{"book"}, Terms: []string{"z", "x"}, Correlated: true},
		{By: []string{"reader"}, Terms: []string{"z"}, Correlated: true},
	}
	for k, r := range choices {
		if rapid.Bool().Draw(t, fmt.Sprint("term", k)) {
			m.Random = append(m.Random, r)
		}
	}
	if rapid.Bool().Draw(t, "has known") {
		m.Residual.KnownSD = "known"
	}
	if rapid.Bool().Draw(t, "has offsets") {
		_, spread := meanAndSpread(data.Column("y").Numbers) // much more than it would drown what is compared
		m.Residual.Offsets = []Offset{{By: "day", SD: 0.7 * spread, DF: 5}}
		if rapid.Bool().Draw(t, "has two") {
			m.Residual.Offsets = append(m.Residual.Offsets, Offset{By: "reader", SD: 0.4 * spread})
		}
	}
	if rapid.Bool().Draw(t, "has along") {
		m.Residual.Along, m.Residual.Within = "along", "book"
	}
	if rapid.Bool().Draw(t, "has levels") {
		m.Residual.Levels = "b"
	}
	if rapid.Bool().Draw(t, "has limit") {
		limit := rapid.Float64Range(-1.5, 0.5).Draw(t, "limit")
		m.Residual.Limit = &limit
	}
	d, err := newDesign(m, data)
	if err != nil {
		t.Skip(err.Error())
	}
	return d, data
}

// drawPoint draws variance parameters, now and then one at zero.
func drawPoint(t *rapid.T, l *likelihood) []float64 {
	phi := make([]float64, l.size())
	for i := range phi {
		phi[i] = rapid.Float64Range(-1.5, 1.5).Draw(t, "phi")
		if math.Abs(phi[i]) < 0.05 { // near zero differences meet the line at which entries vanish
			phi[i] = 0.05
		}
		if i < len(l.parameters) && rapid.IntRange(0, 6).Draw(t, "zero") == 0 {
			phi[i] = 0
		}
	}
	return phi
}

// denseCovariance is V by the book, in the unit of the outcome's remainder and
// relative to σ² where that is profiled out: rows × rows.
func denseCovariance(l *likelihood, phi []float64) *mat.SymDense {
	d := l.s.d
	v := mat.NewSymDense(d.n, nil)
	l.set(phi)
	for f := range d.factors {
		fac := &d.factors[f]
		lambda := mat.NewDense(fac.k, fac.k, l.trial.Lambda[f])
		var sigma mat.Dense
		sigma.Mul(lambda, lambda.T())
		for i := range d.n {
			for j := range i + 1 {
				if fac.code[i] != fac.code[j] {
					continue
				}
				sum := v.At(i, j)
				for a := range fac.k {
					for b := range fac.k {
						sum += fac.z[a].at(i) * sigma.At(a, b) * fac.z[b].at(j)
					}
				}
				v.SetSym(i, j, sum)
			}
		}
	}
	addErrors(l, phi, v)
	addOffsets(d, v)
	return v
}

// addOffsets adds what shared errors do to V: SD² times the products of the rows'
// weights, label by label.
func addOffsets(d *design, v *mat.SymDense) {
	for _, o := range d.offsets {
		weights := mat.NewDense(d.n, len(o.groups), nil)
		for _, m := range o.members {
			for i, g := range m.code {
				if g >= 0 {
					weights.Set(i, int(g), m.weight[i])
				}
			}
		}
		v.SymRankK(v, math.Pow(o.SD/d.fixed.scale, 2), weights)
	}
}

func addErrors(l *likelihood, phi []float64, v *mat.SymDense) {
	d := l.s.d
	sd := make([]float64, d.n)
	for i := range sd {
		sd[i] = 1
	}
	near := 0.0
	if l.weighing != nil {
		for k, p := range l.weighing.parameters {
			value := phi[len(l.parameters)+k]
			switch p := p.(type) {
			case sigma:
				for i := range sd {
					sd[i] *= value
				}
			case levelRatio:
				for i := range sd {
					if l.weighing.state.level[i] == p.of {
						sd[i] *= math.Exp(value)
					}
				}
			case nearness:
				near = 1 / (1 + math.Exp(-value))
			}
		}
	}
	at := make([]float64, d.n) // position along
	group := make([]int, d.n)
	for g, run := range d.errors.split() {
		sum := 0.0
		for _, i := range run {
			sum += part[*autoregression](&d.errors).gap[i]
			at[i], group[i] = sum, g
		}
	}
	for i := range d.n {
		for j := range i + 1 {
			switch {
			case i == j:
				own := sd[i] * sd[i]
				if known := part[*knownErrors](&d.errors).values; known != nil {
					own += known[i]
				}
				v.SetSym(i, i, v.At(i, i)+own)
			case d.errors.correlated() && group[i] == group[j]:
				v.SetSym(i, j, v.At(i, j)+sd[i]*sd[j]*math.Pow(near, math.Abs(at[i]-at[j])))
			}
		}
	}
}

// denseCriterion is −2 log likelihood by the textbook's formulas over dense
// matrices (Harville 1977, equations for the full and the restricted
// likelihood), with X itself and the outcome as it stands.
func denseCriterion(l *likelihood, phi []float64) float64 {
	d := l.s.d
	n, p := d.n, d.fixed.p
	v := denseCovariance(l, phi)
	var chol mat.Cholesky
	if !chol.Factorize(v) {
		return math.NaN()
	}
	q := mat.NewDense(n, p, d.fixed.q)
	r := mat.NewDense(p, p, d.fixed.r)
	var x mat.Dense
	x.Mul(q, r)
	y := mat.NewVecDense(n, d.outcome)
	var vx, xvx mat.Dense
	if err := chol.SolveTo(&vx, &x); err != nil {
		return math.NaN()
	}
	xvx.Mul(x.T(), &vx)
	var vy, xvy, beta mat.VecDense
	if err := chol.SolveVecTo(&vy, y); err != nil {
		return math.NaN()
	}
	xvy.MulVec(x.T(), &vy)
	if err := beta.SolveVec(&xvx, &xvy); err != nil {
		return math.NaN()
	}
	var fit, left, solved mat.VecDense
	fit.MulVec(&x, &beta)
	left.SubVec(y, &fit)
	if err := chol.SolveVecTo(&solved, &left); err != nil {
		return math.NaN()
	}
	// V and the remainder are in different units
	unit := d.fixed.scale * d.fixed.scale
	rss := mat.Dot(&left, &solved)
	df := float64(n)
	out := chol.LogDet()
	if !l.full {
		df -= float64(p)
		logDet, _ := mat.LogDet(&xvx)
		out += logDet
	}
	if l.absolute {
		return out + df*math.Log(2*math.Pi*unit) + rss/unit
	}
	return out + df*(1+math.Log(2*math.Pi*rss/df))
}

// TestCriterionAgainstDense: the blocked, profiled criterion equals the
// textbook's, to the rounding of the dense computation.
func TestCriterionAgainstDense(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d, _ := drawDesign(t)
		if d.errors.bounded() {
			t.Skip("bounds have no closed form")
		}
		l := newLikelihood(newSystem(d))
		phi := drawPoint(t, l)
		got, want := l.criterion(phi), denseCriterion(l, phi)
		if math.IsNaN(want) {
			t.Skip("the dense computation fails")
		}
		if math.Abs(got-want) > 1e-8*(1+math.Abs(want)) {
			t.Fatalf("criterion %.12g, dense %.12g; model %+v", got, want, d.model)
		}
	})
}

// TestGradientAgainstDifferences: the analytic gradient equals central
// differences of the criterion, to their own error.
func TestGradientAgainstDifferences(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d, _ := drawDesign(t)
		l := newLikelihood(newSystem(d))
		phi := drawPoint(t, l)
		if math.IsInf(l.criterion(phi), 1) {
			t.Skip("no criterion here")
		}
		g := make([]float64, len(phi))
		l.gradient(l.kappa, g)
		for i := range phi {
			const h = 1e-5
			at := append([]float64(nil), phi...)
			at[i] = phi[i] + h
			up := l.criterion(at)
			at[i] = phi[i] - h
			down := l.criterion(at)
			want := (up - down) / (2 * h)
			if math.Abs(g[i]-want) > 1e-5*(1+math.Abs(want)+largest(g)) {
				t.Fatalf("derivative %d: %.10g, by differences %.10g; model %+v", i, g[i], want, d.model)
			}
		}
	})
}

// TestFixedSlopesAgainstDifferences: the derivatives of X'V⁻¹X equal central
// differences.
func TestFixedSlopesAgainstDifferences(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d, _ := drawDesign(t)
		if d.errors.bounded() {
			t.Skip("with bounds the derivatives are themselves differences")
		}
		l := newLikelihood(newSystem(d))
		phi := drawPoint(t, l)
		schur := func(at []float64) []float64 {
			l.criterion(at)
			return l.trial.Information()
		}
		if math.IsInf(l.criterion(phi), 1) {
			t.Skip("no criterion here")
		}
		v := l.trial.Sensitivity()
		slopes := l.randomSlopes(v)
		if l.weighing != nil {
			slopes = append(slopes, l.weighing.fixedSlopes(v)...)
		}
		for i := range phi {
			differences := func(h float64) []float64 {
				at := append([]float64(nil), phi...)
				at[i] = phi[i] + h
				up := schur(at)
				at[i] = phi[i] - h
				for e, down := range schur(at) {
					up[e] = (up[e] - down) / (2 * h)
				}
				return up
			}
			// How far two steps disagree is how well differences know the derivative.
			double := differences(2e-5)
			for e, want := range differences(1e-5) {
				if math.Abs(slopes[i][e]-want) > 1e-6*(1+math.Abs(want)+largest(slopes[i]))+4*math.Abs(want-double[e]) {
					t.Fatalf("parameter %d, entry %d: %.10g, by differences %.10g; model %+v", i, e, slopes[i][e], want, d.model)
				}
			}
		}
	})
}

// What unwhiten makes of whitened rows is the inverse of their covariance, which
// whitening the identity gives too.
func TestUnwhitenAgainstWhitenedIdentity(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 12).Draw(t, "rows")
		known, e := &knownErrors{column: "se", values: make([]float64, n)}, &autoregression{along: "position", gap: make([]float64, n)}
		rows := make([]int32, n)
		for i := range n {
			rows[i] = int32(i)
			known.values[i] = rapid.Float64Range(0, 2).Draw(t, "known")
			e.gap[i] = rapid.Float64Range(0.1, 3).Draw(t, "gap")
			if i > 0 && rapid.IntRange(0, 3).Draw(t, "same place") == 0 {
				e.gap[i], known.values[i] = 0, known.values[i]+0.1
			}
		}
		e.gap[0] = 0
		e.runs, e.ends = rows, []int32{int32(n)}
		all := &residual{n: n, structures: []structure{known, e}, present: []structure{known, e}}
		state := newResidualState(all)
		state.set(all.parameters(), []float64{rapid.Float64Range(0.1, 2).Draw(t, "spread"), rapid.Float64Range(-2, 2).Draw(t, "nearness")})
		w, carried := make([]float64, n*n), make([]float64, n)
		for i := range n {
			w[i*n+i] = 1
		}
		state.whiten(rows, w, n, carried)
		var want mat.Dense
		root := mat.DenseCopyOf(mat.NewDense(n, n, w))
		want.Mul(root.T(), root)
		diagonal := make([]float64, n)
		state.unwhiten(rows, w, n, carried, diagonal)
		for i := range n {
			if size := want.At(i, i); math.Abs(diagonal[i]-size) > 1e-10*size {
				t.Fatalf("diagonal %d: %g, want %g", i, diagonal[i], size)
			}
			for j := range n {
				if math.Abs(w[i*n+j]-want.At(i, j)) > 1e-10*math.Sqrt(want.At(i, i)*want.At(j, j)) {
					t.Fatalf("%d, %d: %g, want %g", i, j, w[i*n+j], want.At(i, j))
				}
			}
		}
	})
}
