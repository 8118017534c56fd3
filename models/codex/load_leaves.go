package codex

import (
	"fmt"
	"slices"
)

// A draft is a book whose leaves are being read: what leaves.csv says of each
// leaf and is not settled before all are known.
type draft struct {
	*Book
	rows      *rows
	quire     []string
	conjugate []string
	spoilt    map[int]bool // quires with a problem, in which nothing is paired
}

func (l *loader) loadLeaves(r *rows) {
	drafts := make(map[*Book]*draft, len(l.books))
	for _, b := range l.books {
		b.byLabel = map[Folio]int{}
		drafts[b] = &draft{Book: b, rows: r, spoilt: map[int]bool{}}
	}
	id, label, state := r.column(ColumnBook), r.column(ColumnLeaf), r.column(ColumnState)
	quire, conjugate, recto := r.column(ColumnQuire), r.column(ColumnConjugate), r.column(ColumnRecto)
	for i := range r.Rows() {
		b := l.book(r, i, id(i))
		if b == nil {
			continue
		}
		leaf := Leaf{Row: i, Quire: -1, Conjugate: -1, RectoSide: recto(i)}
		switch state(i) {
		case lostWord:
			leaf.State = Lost
		case cancelledWord:
			leaf.State = cancelled
		}
		drafts[b].add(leaf, label(i), quire(i), conjugate(i))
	}
	for _, b := range l.books {
		if len(b.Leaves) == 0 {
			l.ps.Add(noLeaves(r.File, b.ID))
			continue
		}
		d := drafts[b]
		d.gather()
		d.pair()
		d.checkSkins()
		for _, q := range b.Quires {
			b.setSides(q)
		}
		d.checkLeft()
		b.dropCancelled()
		b.makePages()
	}
}

// add appends a leaf under its label.
func (d *draft) add(leaf Leaf, label, quire, conjugate string) {
	switch folio, err := ParseFolio(label); {
	case leaf.State == cancelled:
		d.checkCancelled(leaf, label, quire)
	case label == "" && leaf.State == Lost:
	case label == "":
		d.rows.fault(leaf.Row, ColumnLeaf, "", "a folio label for every leaf that is still there",
			"give it; a number that is not on the leaf stands in brackets, such as [13]")
	case err != nil:
		d.rows.label(leaf.Row, ColumnLeaf, err)
	default:
		if first, taken := d.byLabel[folio.bare()]; taken {
			d.rows.fault(leaf.Row, ColumnLeaf, label,
				fmt.Sprintf("each label once in a book (%s of book %s has it already)", d.place(first), d.ID),
				"tell the two apart, such as "+repeated(folio)+" for the second")
			break
		}
		leaf.Label = folio
		d.byLabel[folio.bare()] = len(d.Leaves)
	}
	d.Leaves = append(d.Leaves, leaf)
	d.quire = append(d.quire, quire)
	d.conjugate = append(d.conjugate, conjugate)
}

// checkCancelled reports a label or a missing quire of a leaf that was cut out
// when the book was made.
func (d *draft) checkCancelled(leaf Leaf, label, quire string) {
	if label != "" {
		d.rows.fault(leaf.Row, ColumnLeaf, label, "no label for a leaf that was cut out when the book was made",
			"empty the cell; where readers used the leaf and it was lost since, write lost as its state")
	}
	if quire == "" {
		d.rows.fault(leaf.Row, ColumnQuire, quire, "the quire of a cancelled leaf", "enter it, or leave the row out")
	}
}

func repeated(folio Folio) string {
	if folio.Suffix == "" {
		folio.Suffix = "bis"
	} else {
		folio.Suffix = "ter"
	}
	return folio.String()
}

// place names the row of a leaf.
func (d *draft) place(leaf int) string { return d.rows.place(d.Leaves[leaf].Row) }

// name is how messages call a leaf.
func (d *draft) name(leaf int) string {
	if label := d.Leaves[leaf].Label; !label.IsZero() {
		return label.String()
	}
	return "the leaf of " + d.place(leaf)
}

// gather makes the quires of runs of leaves with one quire label.
func (d *draft) gather() {
	byLabel := map[string]int{}
	for i := range d.Leaves {
		label := d.quire[i]
		if label == "" {
			continue
		}
		q, seen := byLabel[label]
		if !seen {
			q = len(d.Quires)
			byLabel[label] = q
			d.Quires = append(d.Quires, Quire{Label: label})
		} else if last := d.Quires[q].Leaves[len(d.Quires[q].Leaves)-1]; last != i-1 && !d.spoilt[q] {
			d.spoilt[q] = true
			d.rows.fault(d.Leaves[i].Row, ColumnQuire, label,
				fmt.Sprintf("the leaves of quire %s of book %s together (%s, before this, is outside it)", label, d.ID, d.place(i-1)),
				"leaves stand in the physical order of the book: move the row, or correct the quire of one of them")
		}
		quire := &d.Quires[q]
		quire.Leaves = append(quire.Leaves, i)
		d.Leaves[i].Quire, d.Leaves[i].Place = q, len(quire.Leaves)
	}
}

// checkLeft reports quires of which every leaf was cancelled.
func (d *draft) checkLeft() {
	for _, q := range d.Quires {
		if !slices.ContainsFunc(q.Leaves, func(i int) bool { return d.Leaves[i].State != cancelled }) {
			d.rows.fault(d.Leaves[q.Leaves[0]].Row, ColumnState, cancelledWord, fmt.Sprintf("a leaf of quire %s of book %s that was not cut out", q.Label, d.ID),
				"leave the quire out, or write lost where readers used its leaves")
		}
	}
}

// pair settles the sheets: first those that are stated, then the others by
// position.
func (d *draft) pair() {
	stated, unknown := d.readConjugates()
	for i := range d.Leaves {
		if mate := stated[i]; mate >= 0 {
			d.joinStated(i, mate, stated)
		}
	}
	for q, quire := range d.Quires {
		if !d.spoilt[q] {
			d.pairRest(quire, unknown)
			d.checkNesting(quire)
		}
	}
}

// pairRest pairs by position the leaves of a quire that no statement has
// settled, unless one of its sheets is said to be unknown.
func (d *draft) pairRest(quire Quire, unknown []bool) {
	var open []int
	for _, leaf := range quire.Leaves {
		if unknown[leaf] {
			return
		}
		if d.Leaves[leaf].Conjugate < 0 && !d.Leaves[leaf].Singleton {
			open = append(open, leaf)
		}
	}
	if len(open) == 1 && len(quire.Leaves) == 1 {
		d.Leaves[open[0]].Singleton = true // a quire of one leaf
		return
	}
	if !d.pairByPosition(open) {
		d.rows.fault(d.Leaves[quire.Leaves[0]].Row, ColumnConjugate, fmt.Sprintf("%d leaves to pair", len(open)),
			fmt.Sprintf("an even number of leaves to pair in quire %s of book %s", quire.Label, d.ID),
			"enter the lost leaf, or write singleton beside the leaf that never had another half, or unknown where that cannot be seen")
	}
}

// checkNesting reports two sheets of a quire that cross.
func (d *draft) checkNesting(quire Quire) {
	if one, other, crossed := d.crossing(quire); crossed {
		d.rows.fault(d.Leaves[other].Row, ColumnConjugate, d.conjugate[other],
			fmt.Sprintf("sheets that lie one inside the other; the sheets of %s and %s in quire %s of book %s cross", d.name(one), d.name(other), quire.Label, d.ID),
			"correct the conjugate of one of them")
	}
}

// readConjugates gives for each leaf the other half that is stated, −1 where
// none is, and whether it is said to be unknown.
func (d *draft) readConjugates() (stated []int, unknown []bool) {
	stated, unknown = make([]int, len(d.Leaves)), make([]bool, len(d.Leaves))
	for i := range d.Leaves {
		stated[i] = -1
		switch word := d.conjugate[i]; word {
		case "":
		case singletonWord:
			d.Leaves[i].Singleton = true
		case unknownWord:
			unknown[i] = true
		default:
			stated[i] = d.findConjugate(i, word)
		}
	}
	return stated, unknown
}

// findConjugate reads the other half stated for leaf i; −1 where it cannot be.
func (d *draft) findConjugate(i int, word string) int {
	row := d.Leaves[i].Row
	spoil := func(expected, remedy string) int {
		d.rows.fault(row, ColumnConjugate, word, expected, remedy)
		if q := d.Leaves[i].Quire; q >= 0 {
			d.spoilt[q] = true
		}
		return -1
	}
	folio, err := ParseFolio(word)
	if err != nil {
		return spoil("a folio label, singleton, unknown or nothing", "name the leaf that is the other half of the sheet, such as 12")
	}
	mate, ok := d.findLeaf(folio)
	switch {
	case !ok:
		remedy := "correct the label"
		if near, ok := d.Nearest(PageLabel{Folio: folio}); ok {
			remedy = "the nearest leaf is " + near.Folio.String()
		}
		return spoil("a leaf of book "+d.ID, remedy)
	case mate == i:
		return spoil("another leaf than this one", "write singleton where the leaf has no other half")
	case d.Leaves[mate].Quire != d.Leaves[i].Quire:
		return spoil(fmt.Sprintf("a leaf of the same quire; %s is in %s and %s in %s", d.name(i), d.quireName(i), d.name(mate), d.quireName(mate)),
			"correct the label, or the quire of one of the two")
	}
	return mate
}

func (d *draft) quireName(leaf int) string {
	if q := d.Leaves[leaf].Quire; q >= 0 {
		return "quire " + d.Quires[q].Label
	}
	return "no quire"
}

// joinStated joins leaf i to the other half that is stated for it, where that
// half does not say otherwise.
func (d *draft) joinStated(i, mate int, stated []int) {
	said := ""
	switch other := d.Leaves[mate].Conjugate; {
	case d.Leaves[mate].Singleton:
		said = singletonWord
	case stated[mate] >= 0 && stated[mate] != i:
		said = "conjugate with " + d.name(stated[mate])
	case other >= 0 && other != i:
		said = "conjugate with " + d.name(other)
	}
	if said == "" {
		d.join(i, mate)
		return
	}
	if q := d.Leaves[i].Quire; q >= 0 {
		d.spoilt[q] = true
	}
	d.rows.fault(d.Leaves[i].Row, ColumnConjugate, d.conjugate[i],
		fmt.Sprintf("a leaf that answers: %s (%s) is %s", d.name(mate), d.place(mate), said),
		"make the two halves name each other, or empty one of the cells")
}

// checkSkins reports stated hair and flesh sides that cannot be.
func (d *draft) checkSkins() {
	for i := range d.Leaves {
		leaf := &d.Leaves[i]
		mate := leaf.Conjugate
		switch {
		case leaf.RectoSide == "":
		case d.Material == "paper":
			d.rows.fault(leaf.Row, ColumnRecto, leaf.RectoSide, "nothing for a book of paper, which has no hair and flesh side",
				"empty the cell, or write parchment as the book's material")
		case mate > i && d.Leaves[mate].RectoSide == leaf.RectoSide:
			d.rows.fault(d.Leaves[mate].Row, ColumnRecto, leaf.RectoSide,
				fmt.Sprintf("%s: the other half of the sheet, %s (%s), has its recto %s, and one skin makes both", opposite(leaf.RectoSide), d.name(i), d.place(i), leaf.RectoSide),
				"look again at both leaves, or correct their conjugates")
		}
	}
}

// makePages gives every leaf its two pages.
func (b *Book) makePages() {
	b.Pages = make([]Page, 0, 2*len(b.Leaves))
	for i := range b.Leaves {
		for _, side := range []Side{Recto, Verso} {
			b.Pages = append(b.Pages, Page{
				Label: PageLabel{b.Leaves[i].Label, side}, Leaf: i, Position: len(b.Pages) + 1,
				Lost: b.Leaves[i].State == Lost, Section: -1, Row: -1,
			})
		}
	}
}
