package mixed

import (
	"errors"
	"math"
	"slices"
)

// A Spread is a contrast as it would be, did some random terms vary by so much.
type Spread struct {
	Weight   float64 // of all Spreads, which sum to 1
	Estimate float64
	SE       float64
}

// ContrastOver gives a contrast for several standard deviations of random terms that
// came out as zero, each with the weight that the likelihood gives it (the posterior
// with an even prior on the standard deviation: Gelman 2006, Bayesian Anal. 1, 515–534,
// section 3.2): at zero the likelihood has no more to fall, so that its curvature
// there does not tell how much they may vary. Several terms have the same standard
// deviation, and the other variances are held. Weights are as in [Fit.Contrast]; each
// of terms is a random term and one of its own terms by their places in [Fit.Random].
func (f *Fit) ContrastOver(weights map[string]float64, terms [][2]int) ([]Spread, error) {
	w, err := f.contrastWeights("the contrast", weights)
	if err != nil {
		return nil, err
	}
	var places []int
	for _, term := range terms {
		place := f.parameterOf(term)
		if place < 0 {
			return nil, errors.New("the model has no such random term")
		}
		places = append(places, place)
	}
	d := f.newDeletion(nil)
	at := func(v float64) float64 {
		phi := slices.Clone(f.phi)
		for _, place := range places {
			phi[place] = v
		}
		return d.l.criterion(phi)
	}
	base, all := at(0), 0.0
	unit := worseByOne(at, base)
	var out []Spread
	for k, step := range spreadSteps {
		value := at(step * unit)
		if math.IsInf(value, 1) {
			continue
		}
		width := spreadSteps[min(k+1, len(spreadSteps)-1)] - spreadSteps[max(k-1, 0)]
		s := Spread{Weight: width * math.Exp(-(value-base)/2), Estimate: inner(w, d.moveOf(d.change())), SE: d.length(w)}
		all += s.Weight
		out = append(out, s)
	}
	for k := range out {
		out[k].Weight /= all
	}
	return out, nil
}

// spreadSteps are the values tried, in units of that by which the criterion is 1 worse
// than at zero.
var spreadSteps = []float64{0, 0.7, 1.5, 2.5, 4, 7, 12}

// worseByOne looks for that unit by halving.
func worseByOne(at func(v float64) float64, base float64) float64 {
	low, high := 1e-3, 0.1
	for high < 100 && at(high) <= base+1 {
		low, high = high, 3*high
	}
	for range 5 {
		if middle := math.Sqrt(low * high); at(middle) > base+1 {
			high = middle
		} else {
			low = middle
		}
	}
	return high
}

// length is the standard error of a weighted sum of fixed effects where the likelihood
// stands.
func (d *deletion) length(weights []float64) float64 {
	p := d.l.s.p
	row, inverse := d.f.d.fixed.toBasis(weights), make([]float64, p*p)
	d.l.trial.FixedCovariance(inverse)
	return d.l.sigma() * d.f.d.fixed.scale * math.Sqrt(quadratic(row, inverse))
}

// parameterOf is the place among the variance parameters of a random term's own term;
// −1 where there is none.
func (f *Fit) parameterOf(term [2]int) int {
	return slices.IndexFunc(f.like.parameters, func(p parameter) bool {
		for _, v := range f.d.factors[p.factor].blocks {
			if v.random == term[0] && slices.Contains(p.entries, [2]int{v.first + term[1], v.first + term[1]}) {
				return true
			}
		}
		return false
	})
}
