package mixed

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"thumbed/models/student"

	"gonum.org/v1/gonum/mat"
)

// A JointTest is an F test of several contrasts of fixed effects at once.
type JointTest struct {
	Name   string   `json:"name"`   // the term
	Terms  []string `json:"terms"`  // the fixed effects that are tested to be zero
	F      float64  `json:"f"`      // the F statistic
	NumDF  float64  `json:"num_df"` // degrees of freedom of its numerator
	DF     float64  `json:"df"`     // degrees of freedom of its denominator; 10 million stands for the χ² distribution
	P      float64  `json:"p"`      // p-value
	Method string   `json:"method"` // how the statistic and its degrees of freedom came about
}

// JointTest tests that all contrasts are zero, after the fit's method: that of
// Kenward and Roger, or with Satterthwaite's degrees of freedom as carried to several contrasts by Fai and Cornelius (1996, Journal of
// Statistical Computation and Simulation 54, 363–378). Each contrast weights
// fixed effects by name, as in [Fit.Contrast]. It fails where a name is unknown,
// or where one contrast follows from the others.
func (f *Fit) JointTest(name string, contrasts []map[string]float64) (JointTest, error) {
	if f.kr != nil {
		return f.kr.JointTest(name, contrasts)
	}
	l, out, err := f.jointContrasts(name, contrasts)
	if err != nil {
		return out, err
	}
	rows, p := l.Dims()
	estimate, form := f.statistic(l, f.cov.inverse)
	scaled := mat.NewSymDense(rows, nil)
	for i := range rows {
		for j := range i + 1 {
			scaled.SetSym(i, j, f.sigma*f.sigma*form.At(i, j))
		}
	}
	// independent contrasts: the eigenvectors of the contrasts' covariance
	var eigen mat.EigenSym
	if !eigen.Factorize(scaled, true) {
		return out, fmt.Errorf("the covariance matrix of the contrasts of %s cannot be decomposed: test fewer of them at a time", name)
	}
	var vectors, turned mat.Dense
	eigen.VectorsTo(&vectors)
	turned.Mul(vectors.T(), l)
	sum := 0.0
	var dfs []float64
	for k, variance := range eigen.Values(nil) {
		w := mat.NewVecDense(p, turned.RawRowView(k))
		along := 0.0
		for i, v := range estimate {
			along += vectors.At(i, k) * v
		}
		sum += along * along / variance
		var m mat.VecDense
		m.MulVec(f.cov.inverse, w)
		dfs = append(dfs, f.satterthwaite(m.RawVector().Data, variance))
	}
	out.Method = satterthwaite
	out.NumDF = float64(rows)
	out.F = sum / out.NumDF
	out.DF = matchedDF(dfs)
	out.complete()
	return out, nil
}

// matchedDF are the degrees of freedom of an F distribution whose mean is that
// of the sum of squares of independent t statistics with degrees dfs.
func matchedDF(dfs []float64) float64 {
	if slices.Max(dfs)-slices.Min(dfs) < 1e-8*slices.Max(dfs) {
		return dfs[0]
	}
	mean := 0.0
	for _, v := range dfs {
		if v <= 2 {
			return 2 // the sum has no mean: the least that F needs
		}
		mean += v / (v - 2)
	}
	return 2 * mean / (mean - float64(len(dfs)))
}

// JointTest tests that all contrasts are zero by the scaled F statistic of
// Kenward and Roger (1997), as [Fit.JointTest] does otherwise.
func (k *KenwardRoger) JointTest(name string, contrasts []map[string]float64) (JointTest, error) {
	l, out, err := k.f.jointContrasts(name, contrasts)
	if err != nil {
		return out, err
	}
	estimate, form := k.f.statistic(l, k.adjusted)
	var solved mat.VecDense
	v := mat.NewVecDense(len(estimate), estimate)
	if err := solved.SolveVec(form, v); err != nil && math.IsInf(float64(asCondition(err)), 1) {
		return out, fmt.Errorf("the contrasts of %s are not independent: leave one of them out", name)
	}
	out.Method = ByKenwardRoger
	out.NumDF = float64(len(estimate))
	df, scale := k.degrees(l)
	out.DF = df
	out.F = scale * mat.Dot(v, &solved) / (k.f.sigma * k.f.sigma * out.NumDF)
	out.complete()
	return out, nil
}

func (t *JointTest) complete() {
	t.P = student.FSurvival(t.F, t.NumDF, t.DF)
}

// statistic gives the contrasts' estimates, in the outcome's unit of
// [fixedPart], and L·cov·L'.
func (f *Fit) statistic(l, cov *mat.Dense) ([]float64, *mat.Dense) {
	rows, p := l.Dims()
	beta := make([]float64, p) // coefficients of Q
	for i := range p {
		beta[i] = f.cov.beta[i]
		for j := i; j < p; j++ {
			beta[i] += f.d.fixed.r[i*p+j] * f.d.fixed.beta[j] / f.d.fixed.scale
		}
	}
	estimate := make([]float64, rows)
	for i := range rows {
		estimate[i] = inner(l.RawRowView(i), beta)
	}
	form := new(mat.Dense)
	form.Product(l, cov, l.T())
	return estimate, form
}

// jointContrasts reads contrasts by name into rows in the basis Q.
func (f *Fit) jointContrasts(name string, contrasts []map[string]float64) (*mat.Dense, JointTest, error) {
	out := JointTest{Name: name}
	if len(contrasts) == 0 {
		return nil, out, fmt.Errorf("the test of %s has no contrast: give at least one", name)
	}
	p := f.d.fixed.p
	l := mat.NewDense(len(contrasts), p, nil)
	weighted := make([]bool, p)
	for i, c := range contrasts {
		w, err := f.contrastWeights(name, c)
		if err != nil {
			return nil, out, err
		}
		for j, v := range w {
			weighted[j] = weighted[j] || v != 0
		}
		l.SetRow(i, f.d.fixed.toBasis(w))
	}
	for j, is := range weighted {
		if is {
			out.Terms = append(out.Terms, f.d.fixed.names[j])
		}
	}
	var svd mat.SVD
	if !svd.Factorize(unitRows(l), mat.SVDNone) || len(contrasts) > p || slices.Min(svd.Values(nil)) < 1e-9 {
		return nil, out, fmt.Errorf("the %d contrasts of %s are not independent: one follows from the others; leave it out", len(contrasts), name)
	}
	return l, out, nil
}

// unitRows is a copy with rows of length one.
func unitRows(l *mat.Dense) *mat.Dense {
	out := mat.DenseCopyOf(l)
	rows, _ := l.Dims()
	for i := range rows {
		row := out.RawRowView(i)
		length := math.Sqrt(inner(row, row))
		for j := range row {
			row[j] /= length
		}
	}
	return out
}

// TermTests tests each of the model's fixed terms: whether all of its
// coefficients are zero, the others staying as they are. Where a term is also
// part of a product, the test of the term by itself asks about the product's
// baseline, and the result's name says so.
func (f *Fit) TermTests() ([]JointTest, error) { return f.termTests(f.JointTest) }

// TermTests tests each of the model's fixed terms, as [Fit.TermTests] does.
func (k *KenwardRoger) TermTests() ([]JointTest, error) { return k.f.termTests(k.JointTest) }

func (f *Fit) termTests(test func(string, []map[string]float64) (JointTest, error)) ([]JointTest, error) {
	var out []JointTest
	at := 1
	for _, term := range f.model.Fixed {
		var contrasts []map[string]float64
		for range f.d.columnsOf(term) {
			contrasts = append(contrasts, map[string]float64{f.d.fixed.names[at]: 1})
			at++
		}
		t, err := test(f.model.TestName(term), contrasts)
		if err != nil {
			return nil, err
		}
		out = append(out, t)
	}
	return out, nil
}

// TestName names the joint test of a fixed term. Where it is also part of a product
// the test asks about the product's baseline, and the name says so.
func (m Model) TestName(term Term) string {
	name := strings.Join(term, productSign)
	for _, other := range m.Fixed {
		if len(other) > len(term) && containsAll(other, term) {
			return name + " (where " + strings.Join(without(other, term), " and ") + " is at its baseline or zero)"
		}
	}
	return name
}

// columnsOf is the number of columns that a fixed term has.
func (d *design) columnsOf(term Term) int {
	out := 1
	for _, name := range term {
		if levels, ok := d.levels[name]; ok {
			out *= len(levels) - 1
		}
	}
	return out
}

func containsAll(list, some []string) bool {
	for _, v := range some {
		if !slices.Contains(list, v) {
			return false
		}
	}
	return true
}

func without(list, some []string) []string {
	var out []string
	for _, v := range list {
		if !slices.Contains(some, v) {
			out = append(out, v)
		}
	}
	return out
}
