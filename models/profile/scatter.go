package profile

import (
	"math"

	"gonum.org/v1/gonum/optimize"
	"gonum.org/v1/gonum/stat/distuv"
)

// A scatter is the variance of the pages about the level of their section, as
// estimated with so many degrees of freedom; 0 of them: not known.
type scatter struct {
	variance float64
	df       float64
}

// Beyond mostPrior degrees of freedom the sections' variances are taken to be
// one and the same; leastPrior is where they are taken to have nothing in
// common.
const (
	leastPrior = 0.5
	mostPrior  = 200.0
)

// A lender is what the sections of a book together tell of their scatter, and
// lends it to each as far as their own estimates agree (Smyth 2004, Stat. Appl.
// Genet. Mol. Biol. 3(1), article 3, section 3): a section's variance s² on d
// degrees of freedom, relative to a common s₀², follows F with d and d₀ degrees
// of freedom; s₀² and d₀ are those of greatest likelihood over the sections.
type lender struct {
	pooled   scatter
	common   float64 // s₀²
	prior    float64 // d₀
	separate bool    // the sections differ more than chance allows; else d₀ is infinite
}

// learn makes a lender of the sections' own scatters; those without degrees of
// freedom do not count.
func learn(own []scatter) lender {
	var known []scatter
	var sum, df float64
	for _, s := range own {
		if s.df > 0 {
			known = append(known, s)
			sum += s.variance * s.df
			df += s.df
		}
	}
	l := lender{}
	if len(known) == 0 {
		return l
	}
	l.pooled = scatter{variance: sum / df, df: df}
	l.common, l.prior, l.separate = commonScatter(known, l.pooled)
	return l
}

// lend gives a section's moderated variance (d₀s₀² + ds²)/(d₀ + d) on d₀ + d
// degrees of freedom, though never more than all sections have together; the
// pooled one where the sections do not differ more than chance allows. A
// section without an estimate of its own gets the common one. Where no section
// has one, the degrees of freedom come back 0.
func (l lender) lend(own scatter) scatter {
	if !l.separate {
		return l.pooled
	}
	d := l.prior + own.df
	return scatter{variance: (l.prior*l.common + own.df*own.variance) / d, df: math.Min(d, l.pooled.df)}
}

// commonScatter gives s₀² and d₀, and whether the sections differ more than
// chance allows.
func commonScatter(known []scatter, pooled scatter) (common, prior float64, separate bool) {
	if len(known) == 1 || pooled.variance == 0 {
		return 0, 0, false
	}
	minusLog := func(variance, d0 float64) float64 {
		sum := 0.0
		for _, s := range known {
			f := distuv.F{D1: s.df, D2: d0}
			sum -= f.LogProb(s.variance/variance) - math.Log(variance)
		}
		return sum
	}
	held := func(x []float64) (variance, d0 float64) {
		return pooled.variance * math.Exp(x[0]), math.Exp(math.Min(math.Log(mostPrior), math.Max(math.Log(leastPrior), x[1])))
	}
	problem := optimize.Problem{Func: func(x []float64) float64 { return minusLog(held(x)) }}
	settings := &optimize.Settings{
		FuncEvaluations: 200,
		Converger:       &optimize.FunctionConverge{Absolute: 1e-5, Iterations: 12},
	}
	result, err := optimize.Minimize(problem, []float64{-0.1, math.Log(10)}, settings, &optimize.NelderMead{SimplexSize: 0.7})
	if err != nil && result == nil {
		return 0, 0, false
	}
	common, prior = held(result.X)
	return common, prior, prior < 0.9*mostPrior
}
