package codex

import (
	"fmt"
	"strconv"
	"strings"
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
	counted := b.halfSheets(q.Leaves) || b.allSingletons(q)
	for _, i := range q.Leaves {
		leaf := &b.Leaves[i]
		if leaf.Singleton && !counted {
			g.add(leaf)
			continue
		}
		g.Leaves++
		if leaf.Singleton {
			g.Singletons = append(g.Singletons, g.Leaves)
		}
		if leaf.State == Lost {
			g.Wants = append(g.Wants, g.Leaves)
		}
	}
	return g
}

func (b *Book) allSingletons(q Quire) bool {
	for _, i := range q.Leaves {
		if !b.Leaves[i].Singleton {
			return false
		}
	}
	return true
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
	var parts []string
	for i := 0; i < len(f); {
		end := i + 1
		for end < len(f) && f[end-1].joins(f[end]) {
			end++
		}
		label := f[i].Label
		if end-i > 1 {
			label += "–" + f[end-1].Label
		}
		parts = append(parts, f[i].written(label))
		i = end
	}
	return strings.Join(parts, " ")
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
	if lost := len(g.Wants) + g.Lacking; lost > 0 {
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
	switch len(g.Singletons) {
	case 0:
	case 1:
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

// joins tells whether the next gathering is written together with g: both of
// as many leaves, whole, and the next label following on.
func (g Gathering) joins(next Gathering) bool {
	return g.plain() && next.plain() && g.Leaves == next.Leaves && follows(g.Label, next.Label)
}

func (g Gathering) plain() bool {
	return g.Label != "" && len(g.Wants)+g.Lacking == 0 && g.added() == 0 && len(g.Singletons)+len(g.Remarks) == 0
}

// quireAlphabet has the letters by which quires are signed: i and j, u and v
// are one, and there is no w.
const quireAlphabet = "abcdefghiklmnopqrstvxyz"

// follows tells whether one quire label comes next after another: 2 after 1,
// iii after ii, B after A.
func follows(label, next string) bool {
	if n, err := strconv.Atoi(label); err == nil {
		return next == strconv.Itoa(n+1)
	}
	lower, nextLower := strings.ToLower(label), strings.ToLower(next)
	small := lower == label && nextLower == next
	capital := strings.ToUpper(label) == label && strings.ToUpper(next) == next
	if !small && !capital {
		return false
	}
	if n := fromRoman(lower); n > 0 && n < lastRoman && nextLower == roman(n+1) {
		return true
	}
	at := strings.Index(quireAlphabet, lower)
	return len(lower) == 1 && at >= 0 && at+1 < len(quireAlphabet) && nextLower == quireAlphabet[at+1:at+2]
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
