package codex

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"
)

// A Gathering is one member of a collation formula: a quire as it was made,
// with what was lost from it and added to it; or leaves in no quire, as
// flyleaves are.
type Gathering struct {
	Label string // of the quire; empty for leaves in no quire
	// Leaves is of how many the quire was made: two for each sheet, lost ones
	// counted, and two for half-sheets in place of a sheet. Leaves added to it
	// do not count. For leaves in no quire it is all of them.
	Leaves     int
	Wants      []int // places, from 1 among those Leaves, of the lost ones
	Cancelled  []int // places, likewise, of leaves cut out when the book was made
	Singletons []int // places, likewise, of half-sheets
	Added      []Addition
	Flyleaves  bool // leaves in no quire, all of them labelled as flyleaves
	// Lacking and Extra are how many leaves a formula takes off and puts on
	// without telling which; 0 in the formula of a [Book].
	Lacking, Extra int
	// Remarks are what a catalogue adds in words that are not understood.
	Remarks []string
}

// An Addition is one leaf or more added to a quire at one place.
type Addition struct {
	After  int // the place of the leaf before, among the quire's Leaves; 0 in front of all
	Leaves int
	Labels []Folio // of the leaves that have one
	Lost   int     // how many of them are lost
}

// A Formula is the collation of a book, gathering by gathering.
type Formula []Gathering

// Collation is the statement of the book's quires as codicologists write it,
// such as “1–3⁸ 4⁸⁻¹ (wants 3) 5¹⁰”; empty where no quire is known. See
// [Formula.String].
func (b *Book) Collation() string {
	if len(b.Quires) == 0 {
		return ""
	}
	return b.Formula().String()
}

// Formula gives the collation of the book as it is now known. Singletons that
// stand opposite each other count as half-sheets of the quire, others as
// added.
func (b *Book) Formula() Formula {
	var formula Formula
	for i := 0; i < len(b.Leaves); {
		end := i + 1
		for end < len(b.Leaves) && b.Leaves[end].Quire == b.Leaves[i].Quire {
			end++
		}
		if q := b.Leaves[i].Quire; q >= 0 {
			formula = append(formula, b.quireGathering(b.Quires[q]))
		} else {
			formula = append(formula, b.looseGathering(b.Leaves[i:end]))
		}
		i = end
	}
	return formula
}

func (b *Book) looseGathering(leaves []Leaf) Gathering {
	g := Gathering{Leaves: len(leaves), Flyleaves: true}
	for i := range leaves {
		g.Flyleaves = g.Flyleaves && (leaves[i].Label.Roman || leaves[i].Label.IsZero())
		if leaves[i].State == Lost {
			g.Wants = append(g.Wants, i+1)
		}
	}
	return g
}

func (b *Book) quireGathering(q Quire) Gathering {
	g := Gathering{Label: q.Label}
	places := b.places(q)
	counted := halfSheets(places) || !slices.ContainsFunc(places, func(p place) bool { return !p.single })
	for _, p := range places {
		switch {
		case p.single && !counted && p.leaf >= 0:
			g.add(&b.Leaves[p.leaf])
			continue
		case p.single && !counted:
			continue // a leaf that was put in and cut out again
		}
		g.Leaves++
		if p.single {
			g.Singletons = append(g.Singletons, g.Leaves)
		}
		switch {
		case p.leaf < 0:
			g.Cancelled = append(g.Cancelled, g.Leaves)
		case b.Leaves[p.leaf].State == Lost:
			g.Wants = append(g.Wants, g.Leaves)
		}
	}
	if g.ofOneLeaf() {
		g.Singletons = []int{1}
	}
	return g
}

// add counts a leaf as added at the place reached.
func (g *Gathering) add(leaf *Leaf) {
	if last := len(g.Added) - 1; last < 0 || g.Added[last].After != g.Leaves {
		g.Added = append(g.Added, Addition{After: g.Leaves})
	}
	a := &g.Added[len(g.Added)-1]
	a.Leaves++
	if !leaf.Label.IsZero() {
		a.Labels = append(a.Labels, leaf.Label)
	}
	if leaf.State == Lost {
		a.Lost++
	}
}

// String writes the formula: the quire's label, raised the number of its
// leaves with those lost taken off and those added put on, and in brackets
// which they are; like quires that follow on one another are joined, 1–3⁸;
// flyleaves are counted in roman numerals, ii. Leaves are named by their place
// in the quire as it was made, added ones by the place they come after and
// their folio. The raised number, “wants”, “are singletons” and “+1 leaf
// after” are those of N. R. Ker, Catalogue of Manuscripts Containing
// Anglo-Saxon (1957), p. xxii; that the sums stand raised too (8−1) is common
// practice, no source.
func (f Formula) String() string {
	letters := f.alphabet()
	var parts []string
	for i := 0; i < len(f); {
		run := letters.reached(f.alike(i))
		label := f[i].Label
		if run > 1 {
			label += "–" + f[i+run-1].Label
		}
		parts = append(parts, f[i].written(label))
		i += run
	}
	return strings.Join(parts, " ")
}

// alphabet is that of the quires' signatures.
func (f Formula) alphabet() alphabet {
	named := ""
	for _, g := range f {
		if utf8.RuneCountInString(g.Label) == 1 {
			named += strings.ToLower(g.Label)
		}
	}
	return alphabetOf(named)
}

// alike are the labels of gathering i and of those after it that have as many
// leaves and are whole like it.
func (f Formula) alike(i int) []string {
	labels := []string{f[i].Label}
	for k := i + 1; k < len(f) && f[i].plain() && f[k].plain() && f[k].Leaves == f[i].Leaves; k++ {
		labels = append(labels, f[k].Label)
	}
	return labels
}

// written is the gathering under a label.
func (g Gathering) written(label string) string {
	switch {
	case g.Flyleaves:
		label = roman(g.Leaves)
	case g.Label == "":
		label = fmt.Sprintf("[%d leaves in no known quire]", g.Leaves)
	default:
		label += raised(g.sum())
	}
	if notes := g.notes(); len(notes) > 0 {
		label += " (" + strings.Join(notes, "; ") + ")"
	}
	return label
}

// sum is the number of leaves with those lost and added: 8-1+2.
func (g Gathering) sum() string {
	sum := strconv.Itoa(g.Leaves)
	if lost := len(g.Wants) + len(g.Cancelled) + g.Lacking; lost > 0 {
		sum += fmt.Sprintf("-%d", lost)
	}
	if added := g.added(); added > 0 {
		sum += fmt.Sprintf("+%d", added)
	}
	return sum
}

// added is the number of leaves added.
func (g Gathering) added() int {
	n := g.Extra
	for _, a := range g.Added {
		n += a.Leaves
	}
	return n
}

func (g Gathering) notes() []string {
	var notes []string
	if len(g.Wants) > 0 {
		notes = append(notes, "wants "+runs(g.Wants))
	}
	if len(g.Cancelled) > 0 {
		notes = append(notes, runs(g.Cancelled)+" cancelled")
	}
	switch {
	case len(g.Singletons) == 0 || g.ofOneLeaf():
	case len(g.Singletons) == 1:
		notes = append(notes, runs(g.Singletons)+" is a singleton")
	default:
		notes = append(notes, runs(g.Singletons)+" are singletons")
	}
	for _, a := range g.Added {
		notes = append(notes, a.String())
	}
	return append(notes, g.Remarks...)
}

// String names the added leaves and where they stand: +1 leaf after 5, f. 21.
func (a Addition) String() string {
	text := fmt.Sprintf("+%d leaves", a.Leaves)
	if a.Leaves == 1 {
		text = "+1 leaf"
	}
	if a.After == 0 {
		text += " before 1"
	} else {
		text += fmt.Sprintf(" after %d", a.After)
	}
	for i, label := range a.Labels {
		switch {
		case i > 0:
			text += ", "
		case len(a.Labels) == 1:
			text += ", f. "
		default:
			text += ", ff. "
		}
		text += label.String()
	}
	switch {
	case a.Lost == 0:
	case a.Lost == a.Leaves:
		text += ", now lost"
	default:
		text += fmt.Sprintf(", %d now lost", a.Lost)
	}
	return text
}

func (g Gathering) plain() bool {
	return g.Label != "" && len(g.Wants)+len(g.Cancelled)+g.Lacking == 0 && g.added() == 0 && (len(g.Singletons) == 0 || g.ofOneLeaf()) && len(g.Remarks) == 0
}

// ofOneLeaf tells whether the quire is one leaf by itself, which has no other
// half.
func (g Gathering) ofOneLeaf() bool {
	return g.Label != "" && g.Leaves == 1 && g.Lacking == 0 && g.added() == 0
}

var raise = strings.NewReplacer("0", "⁰", "1", "¹", "2", "²", "3", "³", "4", "⁴", "5", "⁵", "6", "⁶", "7", "⁷", "8", "⁸", "9", "⁹", "-", "⁻", "+", "⁺")

func raised(text string) string { return raise.Replace(text) }

// runs writes ascending numbers with neighbours joined: 3, 5–7 and 9.
func runs(numbers []int) string {
	var parts []string
	for i := 0; i < len(numbers); {
		end := i + 1
		for end < len(numbers) && numbers[end] == numbers[end-1]+1 {
			end++
		}
		part := strconv.Itoa(numbers[i])
		switch end - i {
		case 1:
		case 2:
			parts = append(parts, part)
			part = strconv.Itoa(numbers[end-1])
		default:
			part += "–" + strconv.Itoa(numbers[end-1])
		}
		parts = append(parts, part)
		i = end
	}
	if last := len(parts) - 1; last > 0 {
		return strings.Join(parts[:last], ", ") + " and " + parts[last]
	}
	return parts[0]
}
