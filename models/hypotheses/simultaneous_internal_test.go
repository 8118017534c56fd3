package hypotheses

import (
	"math"
	"math/rand/v2"
	"testing"
	"thumbed/models/student"

	"gonum.org/v1/gonum/integrate/quad"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"
)

// equal is k contrasts each two of which have the same correlation.
func equal(k int, rho, df float64) *joint {
	r := mat.NewSymDense(k, nil)
	for i := range k {
		r.SetSym(i, i, 1)
		for j := range i {
			r.SetSym(i, j, rho)
		}
	}
	return newJoint(r, df)
}

// Two-sided 5 % points of the multivariate t with correlations 1/2, for comparing
// several treatments with a control: Dunnett (1964, Biometrics 20, 482–491), table
// II, which carries on that of Dunnett (1955, J. Am. Stat. Assoc. 50, 1096–1121);
// with correlations 0, the studentised maximum modulus: Hochberg and Tamhane
// (1987), appendix, table 7. Both from memory; printed to two or three decimals,
// hence 0.006.
func TestReachAgreesWithPublishedTables(t *testing.T) {
	for _, c := range []struct {
		rho, df float64
		reach   map[int]float64
	}{
		{0.5, 5, map[int]float64{2: 3.03, 3: 3.29, 4: 3.48, 5: 3.62, 9: 3.97}},
		{0.5, 10, map[int]float64{2: 2.57, 3: 2.76, 4: 2.89, 5: 2.99, 9: 3.24}},
		{0.5, 20, map[int]float64{2: 2.38, 3: 2.54, 4: 2.65, 5: 2.73, 9: 2.95}},
		{0.5, math.Inf(1), map[int]float64{2: 2.21, 3: 2.35, 4: 2.44, 5: 2.51, 9: 2.69}},
		{0, 10, map[int]float64{2: 2.61, 3: 2.83, 4: 2.98}},
		{0, math.Inf(1), map[int]float64{2: 2.236, 3: 2.388, 4: 2.491, 5: 2.569}},
	} {
		for k, want := range c.reach {
			d := equal(k, c.rho, c.df)
			if got := student.Quantile(1-d.each(0.05)/2, d.df); math.Abs(got-want) > 0.006 {
				t.Errorf("%d contrasts correlated by %g on %g degrees of freedom: %.4f, printed %.3f", k, c.rho, c.df, got, want)
			}
		}
	}
}

// The probability against one (normal) or two (t) nested integrals, which equal
// correlations allow (Hochberg and Tamhane 1987, appendix 3, equation 1.1a), at
// levels down to those of many fits: within 1 % of it, which moves a 95 % interval's end
// by less than 0.003 of a standard error.
func TestOutsideAgreesWithIntegral(t *testing.T) {
	if testing.Short() {
		t.Skip()
	}
	for _, k := range []int{2, 4, 8} {
		for _, rho := range []float64{0.2, 0.7} {
			for _, df := range []float64{4, math.Inf(1)} {
				for _, level := range []float64{0.03, 0.004} {
					d := equal(k, rho, df)
					got, want := d.outside(level), integrated(k, rho, df, student.Quantile(1-level/2, df))
					if math.Abs(got-want) > 0.01*want {
						t.Errorf("%d contrasts, correlation %g, %g degrees of freedom, level %g: %.6f, by integral %.6f", k, rho, df, level, got, want)
					}
				}
			}
		}
	}
}

func integrated(k int, rho, df, reach float64) float64 {
	normal := distuv.UnitNormal
	given := func(reach float64) float64 {
		return quad.Fixed(func(z float64) float64 {
			in := normal.CDF((reach-math.Sqrt(rho)*z)/math.Sqrt(1-rho)) - normal.CDF((-reach-math.Sqrt(rho)*z)/math.Sqrt(1-rho))
			return (1 - math.Pow(in, float64(k))) * normal.Prob(z)
		}, -9, 9, 100, nil, 1)
	}
	if math.IsInf(df, 1) {
		return given(reach)
	}
	chi := distuv.ChiSquared{K: df}
	return quad.Fixed(func(p float64) float64 { return given(reach * math.Sqrt(chi.Quantile(p)/df)) }, 0, 1, 150, nil, 1)
}

// Whatever the correlations, the level of each lies between Bonferroni's and the
// level of all; contrasts that follow from others cost nothing; and the order of
// contrasts moves it by less than 2 %.
func TestEachIsBetweenBonferroniAndOne(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 7))
	for range 4 {
		k, df := 2+r.IntN(3), 2+58*r.Float64()
		base := mat.NewDense(k, k, nil)
		for i := range k {
			for j := range k {
				base.Set(i, j, 2*r.Float64()-1)
			}
			base.Set(i, i, base.At(i, i)+1)
		}
		var cov mat.SymDense
		cov.SymOuterK(1, base)
		plain, turned, doubled := mat.NewSymDense(k, nil), mat.NewSymDense(k, nil), mat.NewSymDense(k+1, nil)
		for i := range k {
			for j := range i + 1 {
				v := cov.At(i, j) / math.Sqrt(cov.At(i, i)*cov.At(j, j))
				plain.SetSym(i, j, v)
				turned.SetSym(k-1-i, k-1-j, v)
				doubled.SetSym(i, j, v)
			}
		}
		for i := range k {
			doubled.SetSym(i, k, plain.At(i, 0))
		}
		doubled.SetSym(k, k, 1)
		each := newJoint(plain, df).each(0.05)
		if each < 0.05/float64(k) || each > 0.05 {
			t.Errorf("each %g for %d contrasts", each, k)
		}
		if again := newJoint(turned, df).each(0.05); math.Abs(again-each) > 0.02*each {
			t.Errorf("turned round: %g, not %g", again, each)
		}
		if twice := newJoint(doubled, df).each(0.05); math.Abs(twice-each) > 0.02*each {
			t.Errorf("one contrast asked twice: %g, not %g", twice, each)
		}
	}
}
