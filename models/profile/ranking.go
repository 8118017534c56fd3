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

// confidence with which all sections left out of Alike are less worn than the
// first, together.
const confidence = 0.95

// Rank orders the sections. A section is Alike unless its wear per page is below
// that of the most worn by Student's t on the lesser degrees of freedom of the
// two, one-sided, at 5 % divided by the number of comparisons (comparison with
// the best: Hsu 1981, Ann. Stat. 9, 1026–1034, here by Bonferroni's bound, which
// claims less). That first was chosen as the greatest is allowed for where
// several are about as worn, since each of them is compared.
func (p *Profile) Rank() Ranking {
	r := Ranking{P: 1}
	for _, a := range p.Areas {
		if a.Measured < a.Pages && a.Measured < leastRanked || math.IsNaN(a.PerPage) || math.IsNaN(a.PerPageSE) {
			r.Sparse = append(r.Sparse, a)
			continue
		}
		r.Order = append(r.Order, a)
	}
	slices.SortStableFunc(r.Order, func(a, b Area) int { return cmp.Compare(b.PerPage, a.PerPage) })
	if len(r.Order) < 2 {
		return r
	}
	first, others := r.Order[0], r.Order[1:]
	greatest := 0.0
	for _, a := range others {
		se := math.Hypot(first.PerPageSE, a.PerPageSE)
		p := student.CDF((a.PerPage-first.PerPage)/se, min(first.DF, a.DF))
		if !(p <= (1-confidence)/float64(len(others))) {
			r.Alike = append(r.Alike, a)
		}
		greatest = math.Max(greatest, p)
	}
	r.P = math.Min(1, greatest*float64(len(others)))
	return r
}
