package readings

import (
	"fmt"
	"math"
	"slices"
	"sort"

	"thumbed/models/wording"
)

// A spotPlan is how the spots on the pages were chosen, and what their spread
// does to the darkest of them.
//
// If the single readings on the spots of a page are normal with standard
// deviation σ, the darkest of n exceeds their mean by σ e_n on average, e_n
// being the expectation of the largest of n standard normal values (see
// [Largest]). Pages on which different numbers were tried are brought to the
// study's commonest number m by taking off σ (e_n − e_m).
type spotPlan struct {
	singles, searches pool // see pools

	usual     map[int]Spot // the commoner kind of spot of each book
	mixed     bool         // both kinds are used in the study
	reference int          // commonest number of spots tried; 0 where none was searched
	unequal   bool         // different numbers were tried
	spread    float64
	df        float64 // of spread; NaN where spread is
	logged    int     // spots that tell the spread
	given     bool    // the spread is the study's
	offered   float64 // what the study gives, needed or not; 0 for nothing
	largest   map[int]moments
}

// moments are the mean and variance of the largest of some number.
type moments struct{ mean, variance float64 }

func (s *spotPlan) of(n int) moments {
	if m, known := s.largest[n]; known {
		return m
	}
	if s.largest == nil {
		s.largest = map[int]moments{}
	}
	mean, variance := Largest(n)
	s.largest[n] = moments{mean, variance}
	return s.largest[n]
}

// sameTried holds together the searches of a sitting with the same number of
// spots tried; those with one are spots logged one by one.
func sameTried(a, b *Reading) bool { return a.Tried == b.Tried }

// tried is the number of spots that a run of searches (see sameTried) had
// each: where they were logged one by one, the run is one search.
func tried(searches []placed) int {
	if searches[0].Tried == 1 {
		return len(searches)
	}
	return searches[0].Tried
}

// settle finds the commonest number of spots and their spread: from the log
// where spots were logged one by one, else as the study gives it. It fails
// where different numbers were tried and neither tells.
func (s *spotPlan) settle(kept []placed, found pools, given float64) error {
	s.singles, s.searches, s.offered = found.singles, found.searches, given
	numbers := map[int]int{}
	fixed := map[int]int{} // cells by book, less those of the other kind
	kinds := map[Spot]bool{}
	runs(kept, sameCell, func(cell []placed) {
		if cell[0].Target != OnPage {
			return
		}
		kinds[cell[0].Spot] = true
		if cell[0].Spot == Fixed {
			fixed[cell[0].Book]++
			return
		}
		fixed[cell[0].Book]--
		runs(cell, sameTried, func(searches []placed) { numbers[tried(searches)]++ })
	})
	s.usual, s.mixed, s.unequal = map[int]Spot{}, len(kinds) > 1, len(numbers) > 1
	for book, surplus := range fixed {
		s.usual[book] = Fixed
		if surplus < 0 {
			s.usual[book] = darkestSpot
		}
	}
	for n, times := range numbers {
		if times > numbers[s.reference] || times == numbers[s.reference] && n < s.reference {
			s.reference = n
		}
	}
	s.spread, s.df = math.NaN(), math.NaN()
	switch {
	case len(numbers) == 0:
	case s.singles.df > 0:
		s.spread, s.df, s.logged = s.singles.sd(), s.singles.freedom(), s.singles.df+s.singles.cells
	case given > 0:
		s.spread, s.df, s.given = given, math.Inf(1), true
	case s.unequal:
		return unequalError(numbers)
	}
	return nil
}

func unequalError(numbers map[int]int) error {
	var tried []int
	for n := range numbers {
		tried = append(tried, n)
	}
	sort.Ints(tried)
	words := make([]string, 0, len(tried))
	for _, n := range tried {
		words = append(words, fmt.Sprint(n))
	}
	return fmt.Errorf("different numbers of spots were tried in search of the darkest (%s), and the darkest of many is darker than the darkest of few, but nothing tells how much the spots of a page differ; log the spots of some pages one by one (each its own row, spot darkest, tried 1), or give the spread between spots as spot_spread under [measuring] in the study file", wording.List(words))
}

// errorVariance is the variance of the spread as estimated, σ²/2ν.
func (s *spotPlan) errorVariance() float64 {
	if math.IsNaN(s.spread) || math.IsInf(s.df, 1) {
		return 0
	}
	return s.spread * s.spread / (2 * s.df)
}

// kindOf chooses which placings of a page count: those of its only kind of
// spot or, with both, of its book's commoner kind. It is empty without
// placings; others counts the placings left out.
func (s *spotPlan) kindOf(readings []placed) (kind Spot, others int) {
	fixed, darkest := 0, 0
	for i := range readings {
		switch {
		case readings[i].Target != OnPage:
		case readings[i].Spot == Fixed:
			fixed++
		default:
			darkest++
		}
	}
	switch usual := s.usual[readings[0].Book]; {
	case fixed > 0 && (darkest == 0 || usual == Fixed):
		return Fixed, darkest
	case darkest > 0:
		return darkestSpot, fixed
	}
	return "", 0
}

// entry makes one entry of the searches of a sitting with the same number of
// spots. repeat is the repeatability variance and share what rounding adds.
//
// The variance of one search is σ² v_n, v_n being that of the largest of n.
// Repeated searches of a sitting may have been made afresh or on the same
// spots: what they scatter among themselves averages out, and what remains of
// σ² v_n does not.
func (s *spotPlan) entry(searches []placed, repeat, share float64) entry {
	n := tried(searches)
	e := entry{rows: len(searches), share: share}
	for _, p := range searches {
		e.hour += p.Hour / float64(len(searches))
		if p.Limit != Measured {
			e.limits++
		}
	}
	whole, known := repeat, !math.IsNaN(s.spread)
	if known {
		whole = math.Max(s.spread*s.spread, repeat) * s.of(n).variance
		if n != s.reference {
			e.excess = s.of(n).mean - s.of(s.reference).mean
		}
	}
	if searches[0].Tried == 1 {
		darkest := slices.MaxFunc(searches, compareDarkness)
		e.hour = darkest.Hour
		e.datum = datum{value: darkest.value, limit: darkest.Limit, variance: whole}
	} else {
		e.datum = s.average(searches, whole, known, &e)
	}
	if known {
		e.spot = e.variance - e.search
		e.value -= e.excess * s.spread
		e.excess = -e.excess
	}
	e.variance += share
	return e
}

// compareDarkness orders single spots: one at the ceiling is darker than any.
func compareDarkness(a, b placed) int {
	rank := map[Limit]int{Below: 0, Measured: 1, Above: 2}
	if c := rank[a.Limit] - rank[b.Limit]; c != 0 {
		return c
	}
	switch {
	case a.value < b.value:
		return -1
	case a.value > b.value:
		return 1
	}
	return 0
}

// limitOf is the limit of a mean: none where a value has none, else above where
// any is.
func limitOf(side []datum) Limit {
	limit := Below
	for _, d := range side {
		switch d.limit {
		case Measured:
			return Measured
		case Above:
			limit = Above
		}
	}
	return limit
}

// average is the mean of repeated searches; it sets e.search to the part of
// the variance that their own scatter tells.
func (s *spotPlan) average(searches []placed, whole float64, known bool, e *entry) datum {
	within := whole
	if s.searches.df > 0 {
		within = s.searches.variance() * s.of(searches[0].Tried).variance
		if !known {
			whole = within
		}
	}
	within = math.Max(within, 1e-12) // identical searches still have rounding, added by the caller
	side := make([]datum, len(searches))
	for i, p := range searches {
		side[i] = datum{value: p.value, variance: within, limit: p.Limit}
	}
	limit := limitOf(side)
	mean, _, shares := sideMean(side)
	own := 0.0
	for _, share := range shares {
		own += share
	}
	if limit != Measured { // a bound stands once, however often it was met
		own = within
	}
	if s.searches.df > 0 {
		e.search = own
	}
	return datum{value: mean, limit: limit, variance: own + math.Max(0, whole-within)}
}
