package profile

import (
	"cmp"
	"math"
	"slices"
	"thumbed/models/student"
)

// leastRanked is the number of measured pages from which a section of which
// others are unmeasured is ranked: fewer say next to nothing of the rest.
const leastRanked = 4

// A Ranking orders the sections of a book by their wear per page.
type Ranking struct {
	Order  []Area // from the most worn to the least
	Alike  []Area // in the same order: those that cannot be told from the most worn
	Sparse []Area // in the order of the book: too few of their pages measured, not ranked
	// P is against that any other section is as worn as the first: the greatest of
	// the comparisons, each times their number; 1 where there is nothing to compare.
	P float64
}

// unasked is the chance, usual for a profile by itself, that a text is set below the
// first without being so.
const unasked = 0.05

// Rank orders the sections. A section is Alike unless its wear per page is below
// that of the most worn by Student's t, one-sided, at Level divided by k(k − 1) for k
// sections ranked: which is first is told by the same pages, so that every two
// sections count as compared (Bonferroni's bound for Tukey's comparisons: Hsu 1996,
// Multiple Comparisons, section 5.1).
//
// What a text's pages scatter by, and quires, days, observers and instruments differ
// by, is in the standard errors (texts.go): the same text read again in another part
// of the book would not be worn alike to the last digit either.
func (p *Profile) Rank() Ranking {
	r := p.order()
	if len(r.Order) < 2 {
		return r
	}
	k, greatest := float64(len(r.Order)), 0.0
	for _, a := range r.Order[1:] {
		chance := p.below(a, r.Order[0])
		if !(chance <= p.level()/(k*(k-1))) {
			r.Alike = append(r.Alike, a)
		}
		greatest = math.Max(greatest, chance)
	}
	r.P = math.Min(1, greatest*k*(k-1))
	return r
}

// order is the ranking without what cannot be told apart.
func (p *Profile) order() Ranking {
	r := Ranking{P: 1}
	for _, a := range p.Areas {
		if a.Measured < a.Pages && a.Measured < leastRanked || math.IsNaN(a.PerPage) || math.IsNaN(a.PerPageSE) {
			r.Sparse = append(r.Sparse, a)
			continue
		}
		r.Order = append(r.Order, a)
	}
	slices.SortStableFunc(r.Order, func(a, b Area) int { return cmp.Compare(b.PerPage, a.PerPage) })
	return r
}

func (p *Profile) level() float64 {
	if p.Level > 0 {
		return p.Level
	}
	return unasked
}

// below is the chance that a section reads as far below the first as it does where it
// is not; 1 where that cannot be told.
func (p *Profile) below(a, first Area) float64 {
	g := gap{first.PerPage - a.PerPage, math.Hypot(first.PerPageSE, a.PerPageSE), min(first.DF, a.DF)}
	if p.gaps != nil {
		g = p.gaps[a.Section]
	}
	if !(g.se > 0) || !(g.df > 0) {
		return 1
	}
	return student.CDF(-g.estimate/g.se, g.df)
}
