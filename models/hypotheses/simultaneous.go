package hypotheses

import (
	"math"
	"slices"
	"thumbed/models/student"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"
)

// A joint is the distribution of the t of several contrasts of one fit, all of
// them truly zero: a multivariate t with the correlations of their estimates
// (Hochberg and Tamhane 1987, chapter 2).
type joint struct {
	root  [][]float64 // k × k by rows, lower triangle: its product with its transpose is the correlation
	df    float64     // +Inf: normal
	steps []float64   // of the lattice, one a coordinate
	scale []float64   // what the common error makes of a reach, at each point; nil: normal
}

// newJoint makes it from the correlation of k estimates. The contrasts may have
// degrees of freedom of their own: those of df are the most of them, which shares
// the least of the common error and so errs towards wider intervals.
func newJoint(correlation *mat.SymDense, df float64) *joint {
	if df >= student.Many {
		df = math.Inf(1)
	}
	d := &joint{root: rootOf(correlation), df: df, steps: lattice(correlation.SymmetricDim())}
	if len(d.root) > 1 && !math.IsInf(df, 1) {
		chi := distuv.ChiSquared{K: df}
		d.scale = make([]float64, points)
		for n := range d.scale {
			d.scale[n] = math.Sqrt(chi.Quantile(tent(float64(n+1)*d.steps[0])) / df)
		}
	}
	return d
}

// dependent is the variance below which a contrast follows from those before it.
const dependent = 1e-9

// rootOf is the Cholesky factor of a correlation matrix that may be singular:
// what follows from the rows before has zero on the diagonal.
func rootOf(r *mat.SymDense) [][]float64 {
	k := r.SymmetricDim()
	l := make([][]float64, k)
	for i := range k {
		l[i] = make([]float64, k)
		for j := range i + 1 {
			sum := r.At(i, j)
			for m := range j {
				sum -= l[i][m] * l[j][m]
			}
			switch {
			case i == j && sum > dependent:
				l[i][i] = math.Sqrt(sum)
			case i != j && l[j][j] > 0:
				l[i][j] = sum / l[j][j]
			}
		}
	}
	return l
}

// points of the lattice over which the probability is summed.
const points = 8191

// outside is the chance that any of the contrasts' intervals, each of which alone
// misses with probability level, misses: by the transformation of Genz (1992, J.
// Comput. Graph. Stat. 1, 141–149; for t Genz and Bretz 1999, J. Stat. Comput.
// Simul. 63, 361–378), summed over a lattice of square roots of primes.
func (d *joint) outside(level float64) float64 {
	k := len(d.root)
	switch {
	case level <= 0:
		return 0
	case level >= 1:
		return 1
	case k == 1:
		return level
	}
	reach := student.Quantile(1-level/2, d.df)
	y := make([]float64, k)
	missed := 0.0
	for n := range points {
		at := reach
		if d.scale != nil {
			at *= d.scale[n]
		}
		missed += 1 - d.inside(at, float64(n+1), y)
	}
	return min(1, max(0, missed/points))
}

// inside is the integrand at one point of the lattice.
func (d *joint) inside(reach, point float64, y []float64) float64 {
	all := 1.0
	for i, row := range d.root {
		before := 0.0
		for j := range i {
			before += row[j] * y[j]
		}
		y[i] = 0
		if row[i] == 0 {
			if math.Abs(before) > reach {
				return 0
			}
			continue
		}
		low, high := distuv.UnitNormal.CDF((-reach-before)/row[i]), distuv.UnitNormal.CDF((reach-before)/row[i])
		all *= high - low
		if i+1 < len(d.root) {
			y[i] = distuv.UnitNormal.Quantile(min(1-1e-16, max(1e-300, low+tent(point*d.steps[i+1])*(high-low))))
		}
		if all == 0 {
			return 0
		}
	}
	return all
}

// tent folds the unit interval, which makes a function on it periodic without a
// jump.
func tent(v float64) float64 {
	_, part := math.Modf(v)
	return min(1-1e-15, max(1e-15, math.Abs(2*part-1)))
}

// lattice gives the square roots of the first k primes.
func lattice(k int) []float64 {
	out := make([]float64, 0, k)
	for n := 2; len(out) < k; n++ {
		if prime(n) {
			out = append(out, math.Sqrt(float64(n)))
		}
	}
	return out
}

func prime(n int) bool {
	for d := 2; d*d <= n; d++ {
		if n%d == 0 {
			return false
		}
	}
	return true
}

// each is the level at which every contrast's interval alone may miss for all to
// hold at once but with probability level.
func (d *joint) each(level float64) float64 {
	k := len(d.root)
	if k == 1 {
		return level
	}
	out := level / float64(k) // Bonferroni's, which is never too large
	for range 50 {
		ratio := level / d.outside(out)
		out = min(level, out*ratio)
		if math.Abs(ratio-1) < 1e-9 {
			break
		}
	}
	return out
}

// jointOf is the joint distribution of some answers of one fit.
func jointOf(answers []*Answer) *joint {
	r := mat.NewSymDense(len(answers), nil)
	df := 0.0
	for i, a := range answers {
		df = max(df, a.Effect.DF)
		r.SetSym(i, i, 1)
		for j, b := range answers[:i] {
			r.SetSym(i, j, a.Correlation[b.Question.Words])
		}
	}
	return newJoint(r, df)
}

// correlate gives each of a fit's answers how its estimate is correlated with
// those of the others, from the covariance of the fixed effects named by terms.
func correlate(answers []*Answer, terms []string, covariance *mat.SymDense) {
	weights := make([]*mat.VecDense, len(answers))
	for i, a := range answers {
		weights[i] = mat.NewVecDense(len(terms), nil)
		for term, w := range a.Question.Contrast {
			weights[i].SetVec(slices.Index(terms, term), w)
		}
	}
	inner := func(i, j int) float64 { return mat.Inner(weights[i], covariance, weights[j]) }
	for i, a := range answers {
		a.Correlation = map[string]float64{}
		for j, b := range answers {
			if i != j {
				a.Correlation[b.Question.Words] = min(1, max(-1, inner(i, j)/math.Sqrt(inner(i, i)*inner(j, j))))
			}
		}
	}
}
