package profile

import (
	"math"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/stat"
)

// A scatter is the variance of the pages about the level of their section, as
// estimated with so many degrees of freedom; 0 of them: not known.
type scatter struct {
	variance float64
	df       float64
}

// A lender is what the sections of a book together tell of their scatter, and
// lends it to each as far as their own estimates agree (Smyth 2004, Stat. Appl.
// Genet. Mol. Biol. 3(1), article 3, section 3): the sections' true variances
// are drawn from s₀²·d₀/χ²(d₀), so that a section's estimate s² on d degrees of
// freedom, relative to s₀², follows F with d and d₀, and its variance given the
// estimate is (d₀s₀² + ds²)/(d₀ + d) on d₀ + d degrees of freedom.
//
// Neither s₀² nor d₀ is known from a dozen sections; both are averaged over,
// each pair by its likelihood (Kass and Steffey 1989, J. Am. Stat. Assoc. 84,
// 717–726). Infinite d₀, all sections alike, is one of the values.
type lender struct {
	alone   scatter // of the only section known; the rest is then empty
	commons []common
}

// A common is one pair of s₀² and d₀ with its share of the likelihood.
type common struct {
	variance, df, share float64
}

// priors are the values of d₀ averaged over.
var priors = []float64{1, 2, 4, 8, 16, 32, 64, math.Inf(1)}

// commonSteps is the number of values of s₀² averaged over.
const commonSteps = 41

// learn makes a lender of the sections' own scatters; those without degrees of
// freedom do not count.
func learn(own []scatter) lender {
	var known []scatter
	for _, s := range own {
		if s.df > 0 {
			known = append(known, s)
		}
	}
	if len(known) == 0 {
		return lender{}
	}
	if len(known) == 1 {
		return lender{alone: known[0]}
	}
	return lender{commons: averagedOver(known)}
}

// averagedOver gives the pairs of s₀² and d₀ with their shares.
func averagedOver(known []scatter) []common {
	least := leastOf(known)
	logs := make([]float64, len(known))
	for i := range known {
		known[i].variance = math.Max(known[i].variance, least)
		logs[i] = math.Log(known[i].variance)
	}
	centre, spread := stat.MeanStdDev(logs, nil)
	var out []common
	var likelihood []float64
	half := 1.5 + 1.5*spread
	for _, d0 := range priors {
		constants := 0.0
		for _, s := range known {
			constants += logConstant(s.df, d0)
		}
		for j := range commonSteps {
			c := common{variance: math.Exp(centre + half*(2*float64(j)/(commonSteps-1)-1)), df: d0}
			out = append(out, c)
			likelihood = append(likelihood, constants+c.logLikelihood(known))
		}
	}
	all := floats.LogSumExp(likelihood)
	for i := range out {
		out[i].share = math.Exp(likelihood[i] - all)
	}
	return out
}

// leastOf is a floor for sections whose pages read all alike, to the last digit
// of the instrument: a thousandth of the mean variance.
func leastOf(known []scatter) float64 {
	sum := 0.0
	for _, s := range known {
		sum += s.variance
	}
	return math.Max(leastVariance, 1e-3*sum/float64(len(known)))
}

// logConstant is the part of the logarithm of a variance's density that depends
// on its degrees of freedom only.
func logConstant(d, d0 float64) float64 {
	if math.IsInf(d0, 1) {
		return d/2*math.Log(d/2) - logGamma(d/2)
	}
	return d/2*math.Log(d/d0) + logGamma((d+d0)/2) - logGamma(d/2) - logGamma(d0/2)
}

func logGamma(x float64) float64 {
	v, _ := math.Lgamma(x)
	return v
}

// logLikelihood is the rest of the logarithm of the density of the sections'
// variances: scaled F, scaled χ² where d₀ is infinite.
func (c common) logLikelihood(known []scatter) float64 {
	sum := 0.0
	for _, s := range known {
		ratio := s.variance / c.variance
		sum += s.df / 2 * math.Log(ratio)
		if math.IsInf(c.df, 1) {
			sum -= s.df / 2 * ratio
		} else {
			sum -= (s.df + c.df) / 2 * math.Log1p(s.df*ratio/c.df)
		}
	}
	return sum
}

// lend gives a section's variance, its own estimate joined to the common ones,
// as one estimate of the same mean and spread of the precision. A section
// without an estimate of its own gets the common one. Where no section has one,
// the degrees of freedom come back 0.
func (l lender) lend(own scatter) scatter {
	if len(l.commons) == 0 {
		return l.alone
	}
	mean, square := 0.0, 0.0 // of the precision
	for _, c := range l.commons {
		precision, spread := 1/c.variance, 0.0
		if !math.IsInf(c.df, 1) {
			d := c.df + own.df
			precision, spread = d/(c.df*c.variance+own.df*own.variance), 2/d
		}
		mean += c.share * precision
		square += c.share * precision * precision * (1 + spread)
	}
	return scatter{variance: 1 / mean, df: 2 / (square/(mean*mean) - 1)}
}
