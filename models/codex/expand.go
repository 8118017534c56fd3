package codex

import (
	"fmt"
	"slices"

	"thumbed/models/table"
)

// A StatedLeaf is what one row of leaves.csv says: a leaf in its physical
// place.
type StatedLeaf struct {
	Label     Folio  // the zero Folio for a lost leaf
	Quire     string // empty where the leaf is in none
	Lost      bool
	Cancelled bool   // cut out when the book was made; such a leaf has no label
	Conjugate string // as the column conjugate takes it: a folio label, singleton, unknown or empty
}

// Gone tells that the leaf is no longer in the book: lost, or cancelled.
func (l StatedLeaf) Gone() bool { return l.Lost || l.Cancelled }

// State is the leaf's state as leaves.csv has it; empty for one still there.
func (l StatedLeaf) State() string {
	switch {
	case l.Lost:
		return lostWord
	case l.Cancelled:
		return cancelledWord
	}
	return ""
}

// Leaves gives the leaves that a formula states, in physical order, as
// leaves.csv has them. Leaves still there are numbered 1, 2 … and flyleaves i,
// ii …; a label that the formula gives an added leaf stands, and counting goes
// on from it. Added leaves are taken as singletons. In a quire of which the
// formula tells only how many leaves are lost or added, or that has an odd
// number of leaves to pair, the sheets are unknown, and lost leaves whose place
// is not told are left out. It fails where two quires have one label, or two
// leaves.
func (f Formula) Leaves() ([]StatedLeaf, error) {
	e := expander{quires: map[string]bool{}, labels: map[Folio]bool{}}
	for _, g := range f {
		if g.Label != "" && e.quires[g.Label] {
			return nil, fmt.Errorf("quire %s stands twice in the collation; give each quire a label of its own", g.Label)
		}
		e.quires[g.Label] = true
		e.gathering(g)
	}
	return e.leaves, e.err
}

// Counted is the number of leaves still there that a formula states: flyleaves,
// and all others.
func (f Formula) Counted() (flyleaves, others int) {
	for _, g := range f {
		n := g.Leaves - len(g.Wants) - len(g.Cancelled) - g.Lacking + g.added()
		for _, a := range g.Added {
			n -= a.Lost
		}
		if g.Flyleaves {
			flyleaves += n
		} else {
			others += n
		}
	}
	return flyleaves, others
}

type expander struct {
	leaves      []StatedLeaf
	quires      map[string]bool
	labels      map[Folio]bool
	roman, last int // last number given to a flyleaf and to another leaf
	err         error
}

func (e *expander) gathering(g Gathering) {
	first := len(e.leaves)
	dropped := g.unplaced()
	e.added(g, 0)
	for place := 1; place <= g.Leaves; place++ {
		leaf := StatedLeaf{Quire: g.Label, Lost: slices.Contains(g.Wants, place), Cancelled: slices.Contains(g.Cancelled, place)}
		if slices.Contains(g.Singletons, place) {
			leaf.Conjugate = singletonWord
		}
		if !dropped[place] {
			e.add(leaf, g.Flyleaves, Folio{})
		}
		e.added(g, place)
	}
	for range g.Extra {
		e.add(StatedLeaf{Quire: g.Label}, g.Flyleaves, Folio{})
	}
	if g.Label != "" && (g.Lacking+g.Extra > 0 || (g.Leaves-len(g.Singletons))%2 != 0) {
		for i := first; i < len(e.leaves); i++ {
			if e.leaves[i].Conjugate == "" {
				e.leaves[i].Conjugate = unknownWord
			}
		}
	}
}

// unplaced are places that are left out for leaves that are gone and whose place
// is not told: the last of those still there.
func (g *Gathering) unplaced() map[int]bool {
	places := map[int]bool{}
	for place := g.Leaves; place >= 1 && len(places) < g.Lacking; place-- {
		if !g.gone(place) {
			places[place] = true
		}
	}
	return places
}

// added appends the leaves put in after a place. Which of them are lost a
// formula does not tell; the last are taken.
func (e *expander) added(g Gathering, place int) {
	for _, a := range g.Added {
		if a.After != place {
			continue
		}
		for i := range a.Leaves {
			leaf := StatedLeaf{Quire: g.Label, Lost: i >= a.Leaves-a.Lost}
			if g.Label != "" {
				leaf.Conjugate = singletonWord
			}
			var label Folio
			if i < len(a.Labels) {
				label = a.Labels[i]
			}
			e.add(leaf, g.Flyleaves, label)
		}
	}
}

// add appends a leaf under its label, or under the next number.
func (e *expander) add(leaf StatedLeaf, flyleaf bool, label Folio) {
	counter := &e.last
	if flyleaf || label.Roman {
		counter = &e.roman
	}
	switch {
	case !label.IsZero():
		*counter = label.Number
	case !leaf.Gone():
		*counter++
		label = Folio{Number: *counter, Roman: flyleaf}
	}
	if !label.IsZero() && e.labels[label.bare()] && e.err == nil {
		e.err = fmt.Errorf("leaf %s stands twice in the collation; give each leaf a label of its own", label)
	}
	if label.Roman && label.Number > lastRoman || label.Number > lastArabic {
		e.err = fmt.Errorf("the collation has more leaves than can be numbered; check its numbers")
	}
	e.labels[label.bare()] = true
	leaf.Label = label
	e.leaves = append(e.leaves, leaf)
}

// LeavesTable is the table of leaves, leaves.csv, of one book.
func LeavesTable(book string, leaves []StatedLeaf) *table.Table {
	column := func(of func(StatedLeaf) string) []string {
		cells := make([]string, len(leaves))
		for i, leaf := range leaves {
			cells[i] = of(leaf)
		}
		return cells
	}
	t := &table.Table{}
	add(t, table.Labels(ColumnBook, column(func(StatedLeaf) string { return book })))
	add(t, table.Labels(ColumnLeaf, column(func(l StatedLeaf) string { return l.Label.String() })))
	add(t, table.Labels(ColumnQuire, column(func(l StatedLeaf) string { return l.Quire })))
	add(t, table.Labels(ColumnState, column(StatedLeaf.State)))
	add(t, table.Labels(ColumnConjugate, column(func(l StatedLeaf) string { return l.Conjugate })))
	return t
}
