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
	// Leaves is of how many the quire was made, two to a sheet, lost ones
	// counted and singletons not; in a gathering of singletons alone, and for
	// leaves in no quire, all of them.
	Leaves     int
	Wants      []int // places, from 1 among those Leaves, of the lost ones
	Added      []Addition
	Singletons bool // the gathering has no sheet, only singletons
	Flyleaves  bool // leaves in no quire, all of them labelled as flyleaves
}

// An Addition is a singleton in a quire of sheets.
type Addition struct {
	After int   // the place of the leaf before it, among the quire's Leaves; 0 in front of all
	Label Folio // zero where it is lost and has no label
	Lost  bool
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

// Formula gives the collation of the book as it is now known: a quire's leaves
// are those of its sheets, and a singleton counts as added.
func (b *Book) Formula() Formula {
	var formula Formula
	for i := 0; i < len(b.Leaves); {
		end := i + 1
		for end < len(b.Leaves) && b.Leaves[end].Quire == b.Leaves[i].Quire {
			end++
		}
		formula = append(formula, b.gathering(i, end))
		i = end
	}
	return formula
}

// gathering tells of the leaves from (included) to end (not included), which
// are one quire or in none.
func (b *Book) gathering(from, end int) Gathering {
	g := Gathering{Flyleaves: true, Singletons: true}
	for i := from; i < end; i++ {
		leaf := &b.Leaves[i]
		g.Flyleaves = g.Flyleaves && leaf.Quire < 0 && (leaf.Label.Roman || leaf.Label.IsZero())
		g.Singletons = g.Singletons && leaf.Singleton
	}
	if q := b.Leaves[from].Quire; q >= 0 {
		g.Label = b.Quires[q].Label
	}
	for i := from; i < end; i++ {
		leaf := &b.Leaves[i]
		if leaf.Singleton && !g.Singletons {
			g.Added = append(g.Added, Addition{After: g.Leaves, Label: leaf.Label, Lost: leaf.State == Lost})
			continue
		}
		g.Leaves++
		if leaf.State == Lost {
			g.Wants = append(g.Wants, g.Leaves)
		}
	}
	return g
}

// String writes the formula: the quire's label, raised the number of its
// leaves with those lost taken off and those added put on, and in brackets
// which they are; like quires that follow on one another are joined, 1–3⁸;
// flyleaves are counted in roman numerals, ii. Leaves are named by their place
// in the quire as it was made, added ones by their folio. The raised number
// and “wants” are as N. R. Ker, Medieval Manuscripts in British Libraries
// (1969–92), has them (from memory); that sums stand raised (8−1) is common
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
	var notes []string
	switch {
	case g.Flyleaves:
		label = roman(g.Leaves)
	case label == "":
		label = fmt.Sprintf("[%d leaves in no known quire]", g.Leaves)
	default:
		label += raised(strconv.Itoa(g.Leaves))
		if len(g.Wants) > 0 {
			label += raised(fmt.Sprintf("-%d", len(g.Wants)))
		}
		if len(g.Added) > 0 {
			label += raised(fmt.Sprintf("+%d", len(g.Added)))
		}
	}
	if g.Singletons && g.Label != "" {
		notes = append(notes, "singletons")
	}
	if len(g.Wants) > 0 {
		notes = append(notes, "wants "+runs(g.Wants))
	}
	for _, a := range g.Added {
		notes = append(notes, a.String())
	}
	if len(notes) == 0 {
		return label
	}
	return label + " (" + strings.Join(notes, "; ") + ")"
}

// String names the added leaf and where it stands.
func (a Addition) String() string {
	name := "f. " + a.Label.String()
	if a.Label.IsZero() {
		name = "a leaf"
	}
	place := " added before 1"
	if a.After > 0 {
		place = fmt.Sprintf(" added after %d", a.After)
	}
	if a.Lost {
		place += ", now lost"
	}
	return name + place
}

// joins tells whether the next gathering is written together with g: both of
// as many leaves, whole, and the next label following on.
func (g Gathering) joins(next Gathering) bool {
	return g.plain() && next.plain() && g.Leaves == next.Leaves && follows(g.Label, next.Label)
}

func (g Gathering) plain() bool {
	return g.Label != "" && len(g.Wants) == 0 && len(g.Added) == 0 && !g.Singletons
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
	if (lower == label) != (nextLower == next) {
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

// runs writes ascending numbers with neighbours joined: 3, 5–7.
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
			part += ", " + strconv.Itoa(numbers[end-1])
		default:
			part += "–" + strconv.Itoa(numbers[end-1])
		}
		parts = append(parts, part)
		i = end
	}
	return strings.Join(parts, ", ")
}
