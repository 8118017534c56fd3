package codex

import "slices"

// A Quire is a gathering of leaves.
type Quire struct {
	Label     string // as the scholar names it
	Leaves    []int  // indices into Book.Leaves, in order
	Cancelled []Cancel
}

// A Cancel is a leaf that was cut out of a quire when the book was made, and of
// which a stub may be left. No reader turned it, so it is no leaf of the book and
// the pages beside it face each other; its sheet keeps its place among the others.
type Cancel struct {
	Before    int  // how many of the quire's Leaves stand before it
	Conjugate int  // index into Book.Leaves of the other half of its sheet, which is a singleton now; −1 where there is none
	Singleton bool // it had no other half
}

// A place is that of one leaf in a quire as it was made.
type place struct {
	leaf   int  // index into Book.Leaves; −1 where the leaf was cancelled
	single bool // the leaf was a singleton from the first
}

// places are those of a quire's leaves, cancelled ones among them.
func (b *Book) places(q Quire) []place {
	var places []place
	halves := map[int]bool{} // leaves whose other half was cancelled
	rest := q.Cancelled
	for _, c := range rest {
		halves[c.Conjugate] = true
	}
	for i := 0; i <= len(q.Leaves); i++ {
		for ; len(rest) > 0 && rest[0].Before == i; rest = rest[1:] {
			places = append(places, place{leaf: -1, single: rest[0].Singleton})
		}
		if i < len(q.Leaves) {
			leaf := q.Leaves[i]
			places = append(places, place{leaf: leaf, single: b.Leaves[leaf].Singleton && !halves[leaf]})
		}
	}
	return places
}

// halfSheets tells whether the singletons of a quire stand opposite each other,
// leaf for leaf, as two half-sheets do in place of a sheet.
func halfSheets(places []place) bool {
	n, found := len(places), false
	for i := range places[:n/2] {
		if places[i].single != places[n-1-i].single {
			return false
		}
		found = found || places[i].single
	}
	return found && n%2 == 0
}

// dropCancelled takes the cancelled leaves out of the book once its sheets and
// sides are settled. What is left of a sheet with them is a singleton.
func (b *Book) dropCancelled() {
	if !slices.ContainsFunc(b.Leaves, func(l Leaf) bool { return l.State == cancelled }) {
		return
	}
	at := make([]int, len(b.Leaves)) // new index of each leaf; −1 where it goes
	var left []Leaf
	for i, leaf := range b.Leaves {
		at[i] = -1
		if leaf.State != cancelled {
			at[i] = len(left)
			left = append(left, leaf)
		}
	}
	for q := range b.Quires {
		quire := &b.Quires[q]
		var leaves []int
		for _, i := range quire.Leaves {
			leaf := b.Leaves[i]
			if at[i] < 0 {
				c := Cancel{Before: len(leaves), Conjugate: -1, Singleton: leaf.Singleton}
				if leaf.Conjugate >= 0 {
					c.Conjugate = at[leaf.Conjugate]
				}
				quire.Cancelled = append(quire.Cancelled, c)
				continue
			}
			leaves = append(leaves, at[i])
			left[at[i]].Place = len(leaves)
		}
		quire.Leaves = leaves
	}
	for i := range left {
		leaf := &left[i]
		if leaf.Conjugate < 0 {
			continue
		}
		leaf.Conjugate = at[leaf.Conjugate]
		leaf.Singleton = leaf.Conjugate < 0
	}
	b.Leaves = left
	for label, i := range b.byLabel {
		b.byLabel[label] = at[i]
	}
}

// pairByPosition joins the leaves of a quire that no statement has settled:
// the first with the last, and so on inward. It does nothing and gives false
// where their number is odd.
func (b *Book) pairByPosition(open []int) bool {
	if len(open)%2 != 0 {
		return false
	}
	for i, leaf := range open[:len(open)/2] {
		b.join(leaf, open[len(open)-1-i])
	}
	return true
}

func (b *Book) join(first, second int) {
	b.Leaves[first].Conjugate, b.Leaves[second].Conjugate = second, first
}

// crossing finds two sheets of a quire that cross, which folded sheets cannot:
// the first leaf of each. Leaves without a known conjugate are passed over.
func (b *Book) crossing(q Quire) (one, other int, found bool) {
	var folds []int // first leaves of the sheets open at this place
	for _, leaf := range q.Leaves {
		mate := b.Leaves[leaf].Conjugate
		switch {
		case mate < 0:
		case mate > leaf:
			folds = append(folds, leaf)
		case len(folds) > 0 && folds[len(folds)-1] == mate:
			folds = folds[:len(folds)-1]
		case len(folds) > 0:
			return mate, folds[len(folds)-1], true
		}
	}
	return 0, 0, false
}

// Hair and flesh, as the tables write them.
const (
	Hair  = "hair"
	Flesh = "flesh"
)

func opposite(side string) string {
	switch side {
	case Hair:
		return Flesh
	case Flesh:
		return Hair
	}
	return ""
}

// setSides gives each leaf of a quire its hair and flesh side by Gregory's
// rule: in every opening hair faces hair or flesh faces flesh (C. R. Gregory,
// "Les cahiers des manuscrits grecs", Comptes rendus de l'Académie des
// Inscriptions et Belles-Lettres, 1885, as handbooks cite it; from memory). So
// the sheets of a quire, from the outermost inward, turn their outer sides
// hair, flesh, hair, and so on. Two half-sheets in place of a sheet count as
// one; a leaf put in does not turn the sheets within it.
//
// A side that is stated for a leaf stands, and its other half follows from it,
// since one skin makes both. Singletons, and leaves of a quire that is not
// wholly known, have a side only where it is stated.
func (b *Book) setSides(q Quire) {
	outer := b.Outer
	if b.unsettled(q) {
		outer = "" // a sheet more or less around a place turns its side
	}
	halves := halfSheets(b.places(q))
	depth := 0 // sheets folded around this place
	for i, leaf := range q.Leaves {
		mate := b.Leaves[leaf].Conjugate
		switch {
		case mate < 0 && !halves:
		case mate < 0 && i < len(q.Leaves)/2:
			depth++
		case mate < leaf: // also the second half-sheet
			depth--
		default:
			b.setSheet(leaf, mate, outer, depth)
			depth++
		}
	}
}

// setSheet gives the two leaves of a sheet their sides, depth sheets inward
// from the outermost.
func (b *Book) setSheet(leaf, mate int, outer string, depth int) {
	if depth%2 == 1 {
		outer = opposite(outer)
	}
	first, second := &b.Leaves[leaf], &b.Leaves[mate]
	switch {
	case first.RectoSide != "":
		second.RectoSide = opposite(first.RectoSide)
	case second.RectoSide != "":
		first.RectoSide = opposite(second.RectoSide)
	default:
		first.RectoSide, second.RectoSide = outer, opposite(outer)
	}
}

// unsettled tells whether a leaf of the quire is neither a known half of a
// sheet nor a singleton.
func (b *Book) unsettled(q Quire) bool {
	for _, leaf := range q.Leaves {
		if b.Leaves[leaf].Conjugate < 0 && !b.Leaves[leaf].Singleton {
			return true
		}
	}
	return false
}

// Skin is the side of the skin that a page (index into Pages) is: "hair" or
// "flesh", empty where not known.
func (b *Book) Skin(page int) string {
	p := &b.Pages[page]
	if p.Label.Side == Verso {
		return opposite(b.Leaves[p.Leaf].RectoSide)
	}
	return b.Leaves[p.Leaf].RectoSide
}
