package mixed

import (
	"errors"
	"math"
	"slices"
)

// ContrastOff gives a contrast's estimate and standard error as they would be, did random
// terms that came out as zero vary as much as the likelihood leaves open within one
// standard error: their standard deviation is that at which the criterion, twice the
// negative log likelihood, is 1 worse than at zero, the 68 % limit by the likelihood
// ratio (Venzon and Moolgavkar 1988, Appl. Stat. 37, 87–94). At zero the likelihood has no
// more to fall, so that its curvature there does not tell how much they may vary.
// Several terms have the same standard deviation, and the other variances are held.
// Weights are as in [Fit.Contrast]; each of terms is a random term and one of its own
// terms by their places in [Fit.Random].
func (f *Fit) ContrastOff(weights map[string]float64, terms [][2]int) (estimate, se float64, err error) {
	w, err := f.contrastWeights("the contrast", weights)
	if err != nil {
		return 0, 0, err
	}
	var places []int
	for _, term := range terms {
		place := f.parameterOf(term)
		if place < 0 {
			return 0, 0, errors.New("the model has no such random term")
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
	if math.IsInf(at(worseByOne(at, at(0))), 1) {
		return 0, 0, errors.New("the likelihood cannot be computed there")
	}
	return inner(w, d.moveOf(d.change())), d.length(w), nil
}

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
