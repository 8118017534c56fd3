package codex

// A Quire is a gathering of leaves.
type Quire struct {
	Label  string // as the scholar names it
	Leaves []int  // indices into Book.Leaves, in order
}

// halfSheets tells whether the singletons of a quire stand opposite each other,
// leaf for leaf, as two half-sheets do in place of a sheet.
func (b *Book) halfSheets(leaves []int) bool {
	n, found := len(leaves), false
	for i := range leaves[:n/2] {
		first, second := b.Leaves[leaves[i]].Singleton, b.Leaves[leaves[n-1-i]].Singleton
		if first != second {
			return false
		}
		found = found || first
	}
	return found && n%2 == 0
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
	halves := b.halfSheets(q.Leaves)
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
