package sparse_test

import (
	"fmt"
	"math"
	"testing"

	"gonum.org/v1/gonum/mat"
	"pgregory.net/rapid"

	"thumbed/models/sparse"
)

// A drawn is a design with its dense matrices: the textbook's way round.
type drawn struct {
	design  sparse.Design
	y       []float64
	weights []float64
	z, x    *mat.Dense
	lambda  *mat.Dense // all random effects, in the order of the terms' groups
	k       []int      // columns by term
	from    []int      // first column of z by term
}

// draw makes a small design: nested and crossed terms, slopes, and rows that
// belong to two groups of one term by weights, or to none.
func draw(t *rapid.T) *drawn {
	n := rapid.IntRange(12, 40).Draw(t, "rows")
	number := func(what string) float64 { return rapid.Float64Range(-2, 2).Draw(t, what) }
	d := &drawn{design: sparse.Design{N: n, P: 2, Fixed: make([]float64, 2*n)}}
	for i := range n {
		d.design.Fixed[2*i], d.design.Fixed[2*i+1] = 1, number("x")
		d.y = append(d.y, number("y"))
		d.weights = append(d.weights, rapid.Float64Range(0.2, 3).Draw(t, "weight"))
	}
	columns := 0
	term := func(groups, k int) int {
		d.design.Terms = append(d.design.Terms, sparse.Term{Groups: groups, Columns: k})
		d.from = append(d.from, columns)
		d.k = append(d.k, k)
		columns += groups * k
		return len(d.design.Terms) - 1
	}
	member := func(f int, code []int32) {
		m := sparse.Member{Term: f, Code: code}
		for k := range d.k[f] {
			if k == 0 {
				m.Columns = append(m.Columns, nil)
				continue
			}
			values := make([]float64, n)
			for i := range values {
				values[i] = number("z")
			}
			m.Columns = append(m.Columns, values)
		}
		d.design.Members = append(d.design.Members, m)
	}
	codes := func(what string, groups int) []int32 {
		out := make([]int32, n)
		for i := range out {
			out[i] = int32(rapid.IntRange(0, groups-1).Draw(t, what))
		}
		return out
	}
	books := rapid.IntRange(2, 5).Draw(t, "books")
	book := codes("book", books)
	member(term(books, rapid.IntRange(1, 3).Draw(t, "slopes")), book)
	if rapid.Bool().Draw(t, "quires") {
		quire := codes("quire", 2)
		for i := range quire {
			quire[i] += 2 * book[i]
		}
		member(term(2*books, 1), quire)
	}
	if rapid.Bool().Draw(t, "readers") {
		member(term(6, rapid.IntRange(1, 2).Draw(t, "reader's slopes")), codes("reader", 6))
	}
	if rapid.Bool().Draw(t, "days") { // two members of one term, the second for some rows
		f := term(4, 1)
		one, two := codes("day", 4), codes("other day", 4)
		share, rest := make([]float64, n), make([]float64, n)
		for i := range n {
			share[i] = 1
			switch {
			case two[i] == one[i]:
				two[i] = -1
			default:
				share[i] = rapid.Float64Range(0.1, 0.9).Draw(t, "share")
			}
			rest[i] = 1 - share[i]
		}
		d.design.Members = append(d.design.Members,
			sparse.Member{Term: f, Code: one, Columns: [][]float64{share}}, sparse.Member{Term: f, Code: two, Columns: [][]float64{rest}})
	}
	if rapid.Bool().Draw(t, "weeks") { // many columns of one spread, few of them in each row
		weeks := rapid.IntRange(2, 6).Draw(t, "number of weeks")
		f := term(1, weeks)
		d.design.Terms[f].Scaled = true
		shares := make([][]float64, weeks)
		for k := range shares {
			shares[k] = make([]float64, n)
		}
		for i := range n {
			for range 2 {
				shares[rapid.IntRange(0, weeks-1).Draw(t, "week")][i] = number("share")
			}
		}
		d.design.Members = append(d.design.Members, sparse.Member{Term: f, Code: make([]int32, n), Columns: shares})
	}
	d.z, d.x = mat.NewDense(n, columns, nil), mat.NewDense(n, 2, d.design.Fixed)
	for _, m := range d.design.Members {
		for i, g := range m.Code {
			for k, values := range m.Columns {
				if g < 0 {
					continue
				}
				v := 1.0
				if values != nil {
					v = values[i]
				}
				d.z.Set(i, d.from[m.Term]+int(g)*d.k[m.Term]+k, v)
			}
		}
	}
	return d
}

// factor makes the factor with Λ drawn, now and then with a variance of zero.
func (d *drawn) factor(t *rapid.T) (*sparse.System, *sparse.Factor) {
	s := sparse.NewSystem(d.design)
	c := s.NewCross()
	c.Fill(d.weights, d.y)
	f := s.NewFactor(c)
	_, columns := d.z.Dims()
	d.lambda = mat.NewDense(columns, columns, nil)
	for term, k := range d.k {
		for a := range k {
			for b := range a + 1 {
				v := rapid.Float64Range(0.1, 1.5).Draw(t, "lambda")
				if rapid.IntRange(0, 8).Draw(t, "zero") == 0 {
					v = 0
				}
				if d.design.Terms[term].Scaled && a+b > 0 {
					if v = 0; a == b {
						v = f.Lambda[term][0]
					}
				}
				f.Lambda[term][a*k+b] = v
				for g := range d.design.Terms[term].Groups {
					at := d.from[term] + g*k
					d.lambda.Set(at+a, at+b, v)
				}
			}
		}
	}
	if !f.Factorise() {
		t.Fatal("not positive definite")
	}
	return s, f
}

// covariance is V = ZΛΛ'Z' + R.
func (d *drawn) covariance() *mat.SymDense {
	n, _ := d.z.Dims()
	var zl, v mat.Dense
	zl.Mul(d.z, d.lambda)
	v.Mul(&zl, zl.T())
	out := mat.NewSymDense(n, nil)
	for i := range n {
		for j := range i + 1 {
			out.SetSym(i, j, v.At(i, j))
		}
		out.SetSym(i, i, out.At(i, i)+1/d.weights[i])
	}
	return out
}

// place is the number of column k of a term's group among the system's effects.
func (d *drawn) place(s *sparse.System, term, group, k int) int { return s.First(term, group) + k }

func near(t *rapid.T, what string, got, want float64) {
	t.Helper()
	if math.Abs(got-want) > 1e-8*(1+math.Abs(want)) {
		t.Fatalf("%s: %.12g, by dense matrices %.12g", what, got, want)
	}
}

// Solution, determinants and sum of squares are those of generalised least
// squares with V = ZΛΛ'Z' + R (Harville 1977), to rounding.
func TestSolutionAgainstDense(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := draw(t)
		s, f := d.factor(t)
		n := d.design.N
		var v mat.Cholesky
		if !v.Factorize(d.covariance()) {
			t.Skip("V is singular to the dense computation")
		}
		var vx, xvx mat.Dense
		if err := v.SolveTo(&vx, d.x); err != nil {
			t.Skip(err.Error())
		}
		xvx.Mul(d.x.T(), &vx)
		y := mat.NewVecDense(n, d.y)
		var xvy, beta, left, solved mat.VecDense
		xvy.MulVec(vx.T(), y)
		if err := beta.SolveVec(&xvx, &xvy); err != nil {
			t.Skip("columns of X alike")
		}
		left.MulVec(d.x, &beta)
		left.SubVec(y, &left)
		if err := v.SolveVecTo(&solved, &left); err != nil {
			t.Skip(err.Error())
		}
		got := make([]float64, 2)
		f.Coefficients(got)
		for k := range got {
			near(t, "fixed effect", got[k], beta.AtVec(k))
		}
		near(t, "sum of squares", f.Squares, mat.Dot(&left, &solved))
		logWeights := 0.0
		for _, w := range d.weights {
			logWeights += math.Log(w)
		}
		near(t, "log det V", f.LogRandom-logWeights, v.LogDet())
		logFixed, _ := mat.LogDet(&xvx)
		near(t, "log det X'V⁻¹X", f.LogFixed, logFixed)
		information := f.Information()
		for i := range 2 {
			for j := range 2 {
				near(t, "X'V⁻¹X", information[2*i+j], xvx.At(i, j))
			}
		}
		collected := make([]float64, s.Effects+s.Root)
		s.Collect(d.y, 1, collected)
		var zy mat.VecDense
		zy.MulVec(d.z.T(), y)
		for term, k := range d.k {
			for e := range k * d.design.Terms[term].Groups {
				near(t, "Z'y", collected[d.place(s, term, e/k, e%k)], zy.AtVec(d.from[term]+e))
			}
		}
		// random effects: ΛΛ'Z'V⁻¹(y − Xβ)
		var effects mat.VecDense
		effects.MulVec(d.z.T(), &solved)
		effects.MulVec(d.lambda.T(), &effects)
		effects.MulVec(d.lambda, &effects)
		modes := f.Modes(got)
		for term, k := range d.k {
			for g := range d.design.Terms[term].Groups {
				for a := range k {
					near(t, "random effect", modes[d.place(s, term, g, a)], effects.AtVec(d.from[term]+g*k+a))
				}
			}
		}
		for i := range n {
			row := mat.Row(nil, i, d.z)
			want := mat.Dot(mat.NewVecDense(len(row), row), &effects) + d.design.Fixed[2*i]*beta.AtVec(0) + d.design.Fixed[2*i+1]*beta.AtVec(1)
			near(t, "predicted", s.Predicted(i, got, modes), want)
		}
		// Z'V⁻¹X, from the sensitivity
		products := f.Sensitivity().Products()
		var zvx mat.Dense
		zvx.Mul(d.z.T(), &vx)
		for term, k := range d.k {
			for g := range d.design.Terms[term].Groups {
				for a := range k {
					for b := range 2 {
						near(t, "Z'V⁻¹X", products[d.place(s, term, g, a)*s.Root+b], zvx.At(d.from[term]+g*k+a, b))
					}
				}
			}
		}
	})
}

// The derivatives of both determinants by Λ, and each row's variance given the
// others' fit, are those of dense matrices: by dV = Z(dΛΛ' + ΛdΛ')Z', tr(P·dV)
// with P what projects the fixed effects out (Harville 1977, section 4), and
// R⁻¹ − P on the diagonal.
func TestInverseAgainstDense(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := draw(t)
		s, f := d.factor(t)
		n := d.design.N
		var v mat.Cholesky
		if !v.Factorize(d.covariance()) {
			t.Skip("V is singular to the dense computation")
		}
		var inverse mat.SymDense
		if err := v.InverseTo(&inverse); err != nil {
			t.Skip(err.Error())
		}
		var vx, xvx, back, less, p mat.Dense
		vx.Mul(&inverse, d.x)
		xvx.Mul(d.x.T(), &vx)
		if err := back.Inverse(&xvx); err != nil {
			t.Skip("columns of X alike")
		}
		less.Product(&vx, &back, vx.T())
		p.Sub(&inverse, &less)

		f.StartInverse(true, 0)
		f.Invert()
		f.FillSlopes()
		var zpz mat.Dense
		zpz.Product(d.z.T(), &p, d.z)
		for term, k := range d.k {
			for a := range k {
				for b := range a + 1 {
					if d.design.Terms[term].Scaled && a != b {
						continue
					}
					want := 0.0 // tr(P·dV) = 2·Σ over groups of (Λ'Z'PZ)[b,a]
					for g := range d.design.Terms[term].Groups {
						at := d.from[term] + g*k
						for c := range k {
							want += 2 * d.lambda.At(at+c, at+b) * zpz.At(at+c, at+a)
						}
					}
					near(t, fmt.Sprintf("derivative by Λ[%d,%d] of term %d", a, b, term), 2*f.Slopes[term][b*k+a], want)
				}
			}
		}
		c := s.NewCross()
		f.Adjoint(c)
		none := make([]float64, n)
		for i := range n {
			w := d.weights[i]
			near(t, "row's diagonal of P", w-w*w*c.Form(i, none), p.At(i, i))
		}
		// P through a forward substitution: |L⁻¹T'Z'R⁻¹v|² = v'(R⁻¹ − P)v for v in R·Z
		_, columns := d.z.Dims()
		for e := range min(columns, 4) {
			var want, wz mat.VecDense
			column := d.z.ColView(e)
			want.MulVec(&p, column)
			wz.CloneFromVec(column)
			for i := range n {
				wz.SetVec(i, d.weights[i]*wz.AtVec(i))
			}
			v := make([]float64, s.Effects+s.Root)
			unit := make([]float64, s.Effects+s.Root)
			for term, k := range d.k {
				if at := e - d.from[term]; at >= 0 && at < k*d.design.Terms[term].Groups {
					unit[d.place(s, term, at/k, at%k)] = 1
				}
			}
			f.CrossTimes(unit, v)
			f.Forward(v)
			sum := 0.0
			for _, x := range v {
				sum += x * x
			}
			near(t, "z'Pz by substitution", mat.Dot(column, &wz)-sum, mat.Dot(column, &want))
		}
	})
}

// Without fixed effects and with an outcome of zeros, as a penalised least squares
// has that keeps its own, M = Λ'Z'WZΛ + I is solved and inverted as dense matrices
// do it.
func TestRandomAloneAgainstDense(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := draw(t)
		d.design.P, d.design.Fixed = 0, nil
		clear(d.y)
		s, f := d.factor(t)
		var wz, m mat.Dense
		wz.Apply(func(i, _ int, v float64) float64 { return math.Sqrt(d.weights[i]) * v }, d.z)
		wz.Mul(&wz, d.lambda)
		m.Mul(wz.T(), &wz)
		_, q := d.z.Dims()
		b := mat.NewVecDense(q, nil)
		v := make([]float64, s.Effects)
		at := make([]int, q)
		for term, k := range d.k {
			for e := range k * d.design.Terms[term].Groups {
				at[d.from[term]+e] = d.place(s, term, e/k, e%k)
			}
		}
		for e := range q {
			m.Set(e, e, m.At(e, e)+1)
			b.SetVec(e, rapid.Float64Range(-1, 1).Draw(t, "b"))
			v[at[e]] = b.AtVec(e)
		}
		logDet, _ := mat.LogDet(&m)
		near(t, "log det", f.LogRandom, logDet)
		var want mat.VecDense
		if err := want.SolveVec(&m, b); err != nil {
			t.Skip(err.Error())
		}
		f.Solve(v)
		for e := range q {
			near(t, "M⁻¹b", v[at[e]], want.AtVec(e))
		}
		f.StartInverse(false, 0)
		f.Invert()
		c := s.NewCross()
		f.Adjoint(c)
		var inverse, form mat.Dense
		if err := inverse.Inverse(&m); err != nil {
			t.Skip(err.Error())
		}
		form.Product(d.z, d.lambda, &inverse, d.lambda.T(), d.z.T())
		for i := range d.design.N {
			near(t, "row's z'ΛM⁻¹Λ'z", c.Form(i, d.y), form.At(i, i))
		}
	})
}

// Runs of correlated rows, whitened beforehand, give the cross-product that
// weights of one give of the whitened rows.
func TestRunsAgainstRows(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := draw(t)
		n := d.design.N
		split := rapid.IntRange(1, n-1).Draw(t, "split")
		runs := [][]int32{nil, nil}
		for i := range n {
			r := 0
			if i >= split {
				r = 1
			}
			runs[r] = append(runs[r], int32(i))
		}
		together := d.design
		together.Runs = runs
		apart, joined := sparse.NewSystem(d.design), sparse.NewSystem(together)
		rows := apart.NewCross()
		rows.Fill(nil, d.y)
		c := joined.NewCross()
		for r := range joined.Runs() {
			members, m := joined.Run(r)
			w := make([]float64, len(members)*m)
			joined.LoadRun(r, d.y, w)
			own := mat.NewDense(len(members), m, w)
			var product mat.Dense
			product.Mul(own.T(), own)
			c.AddRun(r, product.RawMatrix().Data)
		}
		f, g := apart.NewFactor(rows), joined.NewFactor(c)
		for term := range d.k {
			for e := range f.Lambda[term] {
				if k := d.k[term]; e%k <= e/k {
					f.Lambda[term][e], g.Lambda[term][e] = 0.6, 0.6
				}
			}
		}
		if !f.Factorise() || !g.Factorise() {
			t.Fatal("not positive definite")
		}
		near(t, "log det", g.LogRandom, f.LogRandom)
		near(t, "sum of squares", g.Squares, f.Squares)
		for term := range d.k {
			block, outcome := rows.Group(term, 0)
			other, theirs := c.Group(term, 0)
			for e := range block {
				near(t, "diagonal block", other[e], block[e])
			}
			for e := range outcome {
				near(t, "outcome's row", theirs[e], outcome[e])
			}
		}
	})
}
