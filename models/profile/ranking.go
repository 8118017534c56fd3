package profile

import (
	"cmp"
	"maps"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"

	"thumbed/models/codex"
	"thumbed/models/readings"
	"thumbed/models/student"
)

// leastRanked is the number of measured pages from which a section of which
// others are unmeasured is ranked: fewer say next to nothing of the rest.
const leastRanked = 4

// A Ranking orders the sections of a book by their wear per page.
type Ranking struct {
	Order  []Area // from the most worn to the least
	Alike  []Area // in the same order: those beside the first that may be the most worn
	Sparse []Area // in the order of the book: too few of their pages measured, not ranked
	// P is against that another section than the first may be the most worn, all
	// comparisons taken together; 1 where there is nothing to compare.
	P float64
}

// unasked is the chance of a false claim that is usual for a profile by itself.
const unasked = 0.05

// Rank orders the sections. A section is Alike unless some other is more worn: may it
// be the best (Hsu 1984, Ann. Stat. 12, 1136–1144)? By Tukey's and Kramer's comparisons
// of all pairs (Kramer 1956, Biometrics 12, 307–310), the chance that any section is
// left out that is worn as much as every other is at most Level.
//
// What a text's pages scatter by, and quires, days, observers and instruments differ
// by, is in the standard errors (texts.go): the same text read again in another part
// of the book would not be worn alike to the last digit either.
func (p *Profile) Rank() Ranking {
	r := p.order()
	if len(r.Order) < 2 {
		return r
	}
	r.P = 0
	for _, a := range r.Order[1:] {
		chance := beyondRange(len(r.Order), p.below(a, r.Order[0]))
		if !(chance <= p.level()) {
			r.Alike = append(r.Alike, a)
		}
		r.P = math.Max(r.P, chance)
	}
	return r
}

// leastCommon is the share of two texts' measurements that has to be by the same (of one
// day, by one observer, with one instrument) for their wear to be set against each other
// where nobody knows what these differ by (common practice, no source).
const leastCommon = 0.5

// Divided are the sources of errors, of those of unknown spread, that divide a book's most
// worn text from another: less than half of what was measured of the two is by the same,
// so that the text may come first by who measured it, when or with what. [Of] needs no such
// rule: its ranking compares texts inside each of these alone.
func (p *Profile) Divided(b *codex.Book, wear []readings.Wear, shared []readings.Source) []string {
	ranked := p.order().Order
	if len(ranked) < 2 {
		return nil
	}
	var out []string
	for k, source := range shared {
		if source.Known {
			continue
		}
		parts := map[int]map[int]float64{} // of each section's pages, with each level
		for s, section := range b.Sections {
			parts[s] = partsOf(wear, p.Book, section.Pages, k)
		}
		first := parts[ranked[0].Section]
		if slices.ContainsFunc(ranked[1:], func(a Area) bool {
			common := 0.0
			for _, level := range slices.Sorted(maps.Keys(first)) {
				common += math.Min(first[level], parts[a.Section][level])
			}
			return common < leastCommon
		}) {
			out = append(out, source.By)
		}
	}
	return out
}

// partsOf is how much of the wear of some pages each level of a source has, 1 in sum.
func partsOf(wear []readings.Wear, book int, pages []int, source int) map[int]float64 {
	out, n := map[int]float64{}, 0.0
	for i := range wear {
		if wear[i].Book != book || !slices.Contains(pages, wear[i].Page) {
			continue
		}
		n++
		for _, load := range wear[i].Shared {
			if load.Source == source {
				out[load.Level] += load.Weight
			}
		}
	}
	for level := range out {
		out[level] /= n
	}
	return out
}

// beyondRange is the chance that among k alike estimates any two differ as far as
// one given pair does with the one-sided probability p: that of the range of k
// normal values (Hochberg and Tamhane 1987, appendix 1, equation 2.4), on the reach
// that p has by itself.
func beyondRange(k int, p float64) float64 {
	switch {
	case !(p > 0):
		return 0
	case p >= 0.5:
		return 1
	}
	reach := -math.Sqrt2 * distuv.UnitNormal.Quantile(p)
	const steps = 400
	from, to := -8.0, 8+reach
	width, sum := (to-from)/steps, 0.0
	for i := range steps + 1 { // Simpson's rule
		x := from + width*float64(i)
		weight := float64(2 + 2*(i%2))
		if i == 0 || i == steps {
			weight = 1
		}
		outside := distuv.UnitNormal.CDF(-x) + distuv.UnitNormal.CDF(x-reach) // of one value, where the largest is x
		sum += weight * distuv.UnitNormal.Prob(x) * -math.Expm1(float64(k-1)*math.Log1p(-math.Min(outside, 1-1e-16)))
	}
	return math.Min(1, math.Max(0, float64(k)*sum*width/3-float64(k-1)))
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

// below is the chance that a section reads as far below another as it does where it is
// not; 1 where that cannot be told.
func (p *Profile) below(a, first Area) float64 {
	if p.beaten != nil {
		if chance, known := p.beaten[a.Section]; known {
			return chance
		}
		return 1
	}
	se := math.Hypot(first.PerPageSE, a.PerPageSE)
	if !(se > 0) {
		return 1
	}
	return student.CDF(-(first.PerPage-a.PerPage)/se, min(first.DF, a.DF))
}
