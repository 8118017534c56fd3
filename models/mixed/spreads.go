package mixed

import (
	"errors"
	"math"
	"slices"
)

// leftOpen is by how much the criterion, twice the negative log likelihood, is worse at the
// middle of what the likelihood of a standard deviation leaves open that is estimated as
// zero: beyond zero it falls off as half a normal density does, half of which lies below
// 0.674 of its standard deviations, and the square of that is this.
const leftOpen = 0.455

// NearZero tells of random terms' own terms, each by its places in [Fit.Random] and there,
// whether the likelihood leaves open that they do not vary at all: it is worse at zero by
// no more than at the middle of what it would leave open were zero its best, the other
// variances held.
func (f *Fit) NearZero(term [2]int) bool {
	place := f.parameterOf(term)
	if place < 0 {
		return false
	}
	d := f.newDeletion(nil)
	phi := slices.Clone(f.phi)
	best := d.l.criterion(phi)
	at := f.like.parameters[place]
	for i, p := range f.like.parameters { // its spread, and its correlations with others
		if p.factor == at.factor && slices.ContainsFunc(p.entries, func(e [2]int) bool { return e[0] == at.entries[0][0] }) {
			phi[i] = 0
		}
	}
	return d.l.criterion(phi) <= best+leftOpen
}

// ContrastOff gives a contrast's estimate and standard error as they would be, did random
// terms at zero or near it vary more: by what the likelihood leaves open there, up to its
// middle ([leftOpen]; limits by the likelihood ratio as by Venzon and Moolgavkar 1988,
// Appl. Stat. 37, 87–94). At zero the likelihood has no more to fall, so that its curvature
// there does not tell how much they may vary. The variances of all of them grow by the
// same, and the others are held. Weights are as in [Fit.Contrast]; terms as in
// [Fit.NearZero].
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
	at := func(more float64) float64 {
		phi := slices.Clone(f.phi)
		for _, place := range places {
			phi[place] = math.Hypot(phi[place], more)
		}
		return d.l.criterion(phi)
	}
	if math.IsInf(at(worse(at, at(0)+leftOpen)), 1) {
		return 0, 0, errors.New("the likelihood cannot be computed there")
	}
	return inner(w, d.moveOf(d.change())), d.length(w), nil
}

// worse looks by halving for where the criterion is as bad as given.
func worse(at func(v float64) float64, bad float64) float64 {
	low, high := 1e-3, 0.1
	for high < 100 && at(high) <= bad {
		low, high = high, 3*high
	}
	for range 5 {
		if middle := math.Sqrt(low * high); at(middle) > bad {
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
