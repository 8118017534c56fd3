package generalised

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"

	"thumbed/models/mixed"
	"thumbed/models/sparse"
	"thumbed/models/wording"
)

// Residuals are randomised quantile residuals of the used rows, the random effects at
// their modes: the standard normal quantiles of a point drawn evenly between the
// distribution's value below the outcome and at it (Dunn and Smyth 1996, Journal of
// Computational and Graphical Statistics 5, 236–244). They are standard normal where
// the model holds.
func (f *Fit) Residuals(seed uint64) []float64 {
	random := rand.New(rand.NewPCG(seed, 1))
	return residuals(f.outcomes(), f.distributions(0), random)
}

// outcomes are those of the used rows.
func (f *Fit) outcomes() []float64 {
	lay := f.d.lay
	if len(lay.OutcomeLevels) == 0 {
		return lay.Outcome
	}
	out := make([]float64, len(lay.Codes))
	for i, c := range lay.Codes {
		out[i] = float64(c)
	}
	return out
}

// residuals are those of outcomes of which distribution is given.
func residuals(outcome []float64, distribution func(i int, y float64) (below, at float64), random *rand.Rand) []float64 {
	out := make([]float64, len(outcome))
	for i, y := range outcome {
		low, high := distribution(i, y)
		v := low + random.Float64()*(high-low)
		out[i] = distuv.UnitNormal.Quantile(math.Min(math.Max(v, 1e-12), 1-1e-12))
	}
	return out
}

// distributions is distribution for each used row, the random effects at their modes.
// Of the outcomes from 0 to known, which many draws have, it is computed once.
func (f *Fit) distributions(known int) func(i int, y float64) (below, at float64) {
	d := f.d
	rows, predictors := f.linear(nil, true)
	of := func(i int, y float64) (below, at float64) {
		return d.distribution(predictors[int(d.of[i])*d.width:][:d.width], rows[i], y, i)
	}
	if known == 0 {
		return of
	}
	once := make([][2]float64, len(rows)*known)
	for i := range rows {
		for y := range known {
			below, at := of(i, float64(y))
			once[i*known+y] = [2]float64{below, at}
		}
	}
	return func(i int, y float64) (below, at float64) {
		if k := int(y); float64(k) == y && k < known {
			return once[i*known+k][0], once[i*known+k][1]
		}
		return of(i, y)
	}
}

// distribution is the probability of outcomes below y, and of those at or below it.
func (d *design) distribution(predictors []float64, r, y float64, i int) (below, at float64) {
	switch k := d.kind.(type) {
	case yesNo:
		trials := 1.0
		if d.lay.Trials != nil {
			trials = d.lay.Trials[i]
		}
		b := distuv.Binomial{N: trials, P: k.link.at(predictors[0] + r).F}
		return b.CDF(y - 1), b.CDF(y)
	case grades:
		if y > 0 {
			below = k.link.at(predictors[int(y)-1] - r).F
		}
		if at = 1; y < k.last {
			at = k.link.at(predictors[int(y)] - r).F
		}
		return below, at
	case counts:
		pi := 0.0
		if k.inflated {
			pi, _ = logisticShares(predictors[d.width-1])
		}
		mu := math.Exp(predictors[0] + r)
		cdf := func(y float64) float64 {
			if y < 0 {
				return 0
			}
			if !k.negative {
				return pi + (1-pi)*distuv.Poisson{Lambda: mu}.CDF(y)
			}
			size := math.Exp(predictors[1])
			return pi + (1-pi)*distuv.Beta{Alpha: size, Beta: y + 1}.CDF(size/(size+mu))
		}
		return cdf(y - 1), cdf(y)
	}
	return 0, 1
}

// mostKnown is the largest outcome of which a diagnosis computes every row's distribution
// before it draws.
const mostKnown = 20

// drawnSets is how many data sets a diagnosis draws from the fit.
const drawnSets = 199

// oddShare is the share of drawn sets beyond which the data count as unlike them.
const oddShare = 0.01

// Diagnosis says in sentences in what the data are unlike what the model would give:
// the largest distance of the randomised quantile residuals' distribution from the
// normal one, their spread, and, for counts, the number of zeros, each against 199 data
// sets drawn from the fit at its modes. It is empty where nothing is odd. The sets are
// not fitted anew, which makes it slow to find fault.
func (f *Fit) Diagnosis(seed uint64) []string {
	if f.N < 20 {
		return nil
	}
	observed := f.outcomes()
	distribution := f.distributions(int(min(slices.Max(observed), mostKnown)) + 1)
	measure := func(outcome []float64, random *rand.Rand) (v [3]float64) {
		residuals := residuals(outcome, distribution, random)
		for _, r := range residuals {
			v[1] += r * r / float64(len(residuals))
		}
		slices.Sort(residuals)
		for k, r := range residuals {
			F := distuv.UnitNormal.CDF(r)
			v[0] = math.Max(v[0], math.Max(F-float64(k)/float64(len(residuals)), float64(k+1)/float64(len(residuals))-F))
		}
		for _, y := range outcome {
			if y == 0 {
				v[2]++
			}
		}
		return v
	}
	own := measure(observed, rand.New(rand.NewPCG(seed, 0)))
	drawn := make([][3]float64, drawnSets)
	sparse.InParallel(drawnSets, func(i int) {
		random := rand.New(rand.NewPCG(seed, uint64(i+1)))
		drawn[i] = measure(f.draw(random, true), random)
	})
	// the shares of the sets, the data among them, that are at least as high and at
	// least as low
	shares := func(k int) (above, below, mean float64) {
		above, below = 1, 1
		for _, v := range drawn {
			if v[k] >= own[k] {
				above++
			}
			if v[k] <= own[k] {
				below++
			}
			mean += v[k] / drawnSets
		}
		return above / (drawnSets + 1), below / (drawnSets + 1), mean
	}
	var out []string
	if above, _, mean := shares(1); above <= oddShare {
		remedy := "some feature or group that matters is left out, or rows that are one occasion count as several"
		if k, ok := f.d.kind.(counts); ok && !k.negative {
			remedy = `take spread = "negative binomial", or add a random term by row`
		}
		out = append(out, fmt.Sprintf("The rows spread more than the model gives: their residuals' variance is %s, where sets drawn from the model have %s on average and at most one in a hundred have as much. "+
			"Standard errors are then too small: %s.", wording.Fixed(own[1], 2), wording.Fixed(mean, 2), remedy))
	}
	if _, ok := f.d.kind.(counts); ok {
		above, below, mean := shares(2)
		switch {
		case above <= oddShare && own[2] > mean:
			remedy := "look whether rows where nothing could be found are among them, or allow for them with zero_inflation"
			out = append(out, fmt.Sprintf("There are more zeros than the model gives: %s, where sets drawn from it have %s on average; %s.", wording.Whole(int(own[2])), wording.Fixed(mean, 0), remedy))
		case below <= oddShare && own[2] < mean:
			out = append(out, fmt.Sprintf("There are fewer zeros than the model gives: %s, where sets drawn from it have %s on average. Were rows left out because nothing was found?", wording.Whole(int(own[2])), wording.Fixed(mean, 0)))
		}
	}
	if above, _, _ := shares(0); above <= oddShare && len(out) == 0 {
		words := "The distribution of the outcome is not what the model gives: its randomised quantile residuals lie farther from a normal distribution than in all but one in a hundred sets drawn from the model."
		switch f.model.Kind {
		case mixed.Grades:
			words += " Let terms differ by threshold (by_threshold), or take another link."
		default:
			words += " Take another link, or look for a feature that is left out."
		}
		out = append(out, words)
	}
	return out
}
