package codex

import (
	"fmt"
	"slices"
)

const foliosRemedy = "correct one of the two. Where a number was skipped or stands twice leave the folios out, and name the leaves in leaves.csv"

// A foliated formula is one with the folios that its writer states.
type foliated struct {
	gatherings Formula
	stated     []statedFolios
}

// statedFolios are the folios on which gatherings stand, from the first to the
// last of them: 0 for from where only the end is told. With a place, to is the
// folio before that lost leaf; with leaves gone, these are gone after folio to.
type statedFolios struct {
	first, last int
	from, to    int
	place, gone int
}

// disagreement tells where the folios and the total that a formula states are not
// those that its leaves come to, leaves being numbered one after the other; empty
// where they agree. Leaves that are told to be gone after a folio get their place.
func (f *foliated) disagreement(total int) string {
	e := expander{quires: map[string]bool{}, labels: map[Folio]bool{}}
	starts := make([]int, len(f.gatherings))
	for i := range f.gatherings {
		g := &f.gatherings[i]
		for _, s := range f.stated {
			if s.gone > 0 && s.last == i && !g.loseAfter(s.to-e.last, s.gone) {
				return fmt.Sprintf("quire %s has no leaf %d after which leaves are gone: it begins on leaf %d; correct the folio, or tell the leaf by its place in the quire, such as (wants 3)", g.Label, s.to, e.last+1)
			}
		}
		starts[i] = len(e.leaves)
		e.gathering(*g)
		for _, s := range f.stated {
			if s.last != i || s.gone > 0 {
				continue
			}
			if words := f.compare(s, e.leaves, starts); words != "" {
				return words
			}
		}
	}
	flyleaves, others := f.gatherings.Counted()
	if total > 0 && total != others && total != others+flyleaves {
		return fmt.Sprintf("its quires come to %d leaves, and %d are stated; correct one of the two", others, total)
	}
	return ""
}

// compare tells where stated folios are not those of the leaves, of which
// gathering i begins at starts[i].
func (f *foliated) compare(s statedFolios, leaves []StatedLeaf, starts []int) string {
	name, begins, ends := f.name(s.first, s.last), "begins", "ends"
	if s.first < s.last {
		begins, ends = "begin", "end"
	}
	if s.place > 0 {
		before := starts[s.last] + f.gatherings[s.last].before(s.place)
		if _, last := numbered(leaves[:before]); last != s.to {
			return fmt.Sprintf("leaf %d of %s comes after f. %d by the leaves before it, and f. %d is stated; correct one of the two", s.place, name, last, s.to)
		}
		return ""
	}
	first, last := numbered(leaves[starts[s.first]:])
	switch {
	case s.from > 0 && s.from != first:
		return fmt.Sprintf("%s %s on f. %d by the leaves before, and f. %d is stated; %s", name, begins, first, s.from, foliosRemedy)
	case s.to != last:
		return fmt.Sprintf("%s %s on f. %d by the number of leaves, and f. %d is stated; %s", name, ends, last, s.to, foliosRemedy)
	}
	return ""
}

// numbered are the first and the last number of leaves still there; 0 where none
// has one.
func numbered(leaves []StatedLeaf) (first, last int) {
	for _, leaf := range leaves {
		if leaf.Gone() || leaf.Label.Roman {
			continue
		}
		if first == 0 {
			first = leaf.Label.Number
		}
		last = leaf.Label.Number
	}
	return first, last
}

// name is how messages call gatherings that follow on one another.
func (f *foliated) name(first, last int) string {
	from, to := f.gatherings[first].Label, f.gatherings[last].Label
	switch {
	case from == "":
		return "the leaves in no quire"
	case from == to:
		return "quire " + from
	}
	return "quires " + from + "–" + to
}

// before is how many leaves of the gathering, those gone counted, stand before a
// place.
func (g Gathering) before(place int) int {
	n := place - 1
	for _, a := range g.Added {
		if a.After < place {
			n += a.Leaves
		}
	}
	return n
}

// loseAfter gives leaves of which it is told that they are gone after the k-th
// leaf still there their places; false where the gathering has no such leaf.
func (g *Gathering) loseAfter(k, leaves int) bool {
	place, there := 1, 0
	for ; place <= g.Leaves && there < k; place++ {
		if !g.gone(place) {
			there++
		}
	}
	if k < 0 || there < k || place-1+leaves > g.Leaves {
		return false
	}
	for range leaves {
		g.Wants = append(g.Wants, place)
		place++
	}
	slices.Sort(g.Wants)
	g.Lacking -= leaves
	return len(slices.Compact(slices.Clone(g.Wants))) == len(g.Wants)
}

// gone tells whether a place is that of a leaf lost or cancelled.
func (g *Gathering) gone(place int) bool {
	return slices.Contains(g.Wants, place) || slices.Contains(g.Cancelled, place)
}
