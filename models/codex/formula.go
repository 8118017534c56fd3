package codex

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
)

// Bounds of what is read as a formula: no quire is thicker and no book has more
// quires.
const (
	mostQuireLeaves = 200
	mostQuires      = 2000
)

const formulaExpected = "a collation formula"

// ParseFormula reads a collation formula as [Formula.String] prints it, and as
// catalogues write it:
//
//   - the number of leaves raised (1⁸), after a caret (1^8), in brackets (1(8),
//     1 (8)), after a full stop or a colon (1.8, 1:8), and after a roman label
//     (IV8);
//   - like quires joined by a hyphen or a dash, 1–3⁸; quires parted by spaces,
//     commas or semicolons;
//   - leaves lost and added in the raised sum, 2⁸⁻¹ 3¹⁰⁺²; which they are in
//     words after it, in brackets or not, 2⁸ wants 3 and 6; (-7); 3 and 6 are
//     singletons; (+1 leaf after 5), (+1 leaf inserted after 5, f. 21);
//   - flyleaves as a small roman numeral alone: ii; or joined by a plus, ii + 1⁸;
//   - by sheets, with the folios that runs end on, as catalogues in German do:
//     4 IV³² + (IV−1)³⁹; the folios must be those that the quires come to.
//
// Other words in brackets are kept as remarks. The error is a [*LabelError]
// whose remedy names the part that could not be read.
func ParseFormula(text string) (Formula, error) {
	plain := lowered(text)
	if formula, ok := bySheets(plain); ok {
		return formula, nil
	}
	p := &formulaReader{rest: reJoined.ReplaceAllString(plain, "$1 $2")}
	var formula Formula
	for {
		p.rest = strings.TrimLeft(p.rest, " ,;")
		if p.rest == "" {
			break
		}
		at := p.rest
		run, ok := p.gatherings()
		if !ok || len(formula)+len(run) > mostQuires {
			return nil, &LabelError{Value: text, Expected: formulaExpected,
				Remedy: fmt.Sprintf("“%s” cannot be read there; write it such as 1–3⁸ 4⁸⁻¹ (wants 3) 5¹⁰, flyleaves as ii", firstRunes(at, 24))}
		}
		formula = append(formula, run...)
	}
	if formula == nil {
		return nil, &LabelError{Value: text, Expected: formulaExpected, Remedy: "write it such as 1–3⁸ 4⁸⁻¹ (wants 3) 5¹⁰, flyleaves as ii"}
	}
	return formula, nil
}

func firstRunes(text string, n int) string {
	for at := range text {
		if n == 0 {
			return text[:at] + "…"
		}
		n--
	}
	return text
}

// lowered is a formula with raised figures brought down behind a caret, and
// with plain hyphens and spaces.
func lowered(text string) string {
	text = strings.NewReplacer("\u00a0", " ", "\u2009", " ", "\u202f", " ", "\t", " ", "\n", " ", "\r", " ",
		"⁽", "", "⁾", "", "^{", "^", "}", "").Replace(text)
	var b strings.Builder
	up := false
	for _, r := range text {
		plain := lower(r)
		if plain != 0 && !up {
			b.WriteByte('^')
		}
		if up = plain != 0; up {
			b.WriteByte(plain)
			continue
		}
		b.WriteRune(r)
	}
	return reSupplied.ReplaceAllString(reDashes.ReplaceAllString(b.String(), "-"), "$1$2")
}

var (
	// reSupplied is a quire label that the cataloguer supplied, in brackets.
	reSupplied = regexp.MustCompile(`\[(\p{L}+|\d+)\]( ?\^)`)
	// reJoined are flyleaves at either end that a plus joins to the quires.
	reJoined = regexp.MustCompile(`^([ivxl]+) \+ | \+ ([ivxl]+)$`)
)

// lower gives the plain figure or sign of a raised one; 0 for other letters.
func lower(r rune) byte {
	const figures = "⁰¹²³⁴⁵⁶⁷⁸⁹⁻⁺"
	for i, f := range []rune(figures) {
		if f == r {
			return "0123456789-+"[i]
		}
	}
	return 0
}

type formulaReader struct{ rest string }

var reDashes = regexp.MustCompile(`[-–—−‐‑‒]+`)

// The parts of a formula, each read from the front of the text.
var (
	reSpan     = regexp.MustCompile(`^(\p{L}+|\d+)(?: ?- ?(\p{L}+|\d+))?`)
	reSum      = regexp.MustCompile(`^` + sumForm + `$`)
	reBrackets = regexp.MustCompile(`^ ?\(([^()]*)\)`)
	rePlaces   = `(\d+(?:(?:, ?| and | & |-)\d+)*)`
	reWants    = regexp.MustCompile(`^(?:wants|lacks|lacking|wanting) ` + rePlaces + `$`)
	reMinus    = regexp.MustCompile(`^- ?` + rePlaces + `$`)
	reSingle   = regexp.MustCompile(`^` + rePlaces + ` (?:is a singleton|are singletons)$`)
	reAdded    = regexp.MustCompile(`^\+ ?(\d+) (?:leaf|leaves)(?: inserted| added)? (?:after (\d+)|before 1)(?:, ff?\. ([^;]*?))?(?:,( \d+)? now lost)?$`)
	reBare     = regexp.MustCompile(`^ ?((?:wants|lacks) \d+(?:(?:, ?| and | & |-)\d+)*|\d+(?:(?:, ?| and )\d+)* (?:are singletons|is a singleton))`)
)

// sumForm is a number of leaves with those taken off and put on: 8-1+2.
const sumForm = `(\d+)(?:-(\d+))?(?:\+(\d+))?`

// reCounts are the ways to write it after a label: raised, in brackets, after
// a full stop or a colon.
var reCounts = []*regexp.Regexp{
	regexp.MustCompile(`^ ?\^ ?` + sumForm), regexp.MustCompile(`^ ?\(` + sumForm + `\)`), regexp.MustCompile(`^[.:] ?` + sumForm),
}

// gatherings reads one member of the formula: a quire, a run of like quires,
// or flyleaves.
func (p *formulaReader) gatherings() ([]Gathering, bool) {
	if loose := reLoose.FindStringSubmatch(p.rest); loose != nil {
		p.rest = p.rest[len(loose[0]):]
		return p.described(Gathering{Leaves: atoi(loose[1])})
	}
	span := reSpan.FindStringSubmatch(p.rest)
	if span == nil {
		return nil, false
	}
	first, last := span[1], span[2]
	end := first
	if last != "" {
		end = last
	}
	p.rest = p.rest[len(span[0]):]
	g := Gathering{Label: first}
	switch {
	case p.count(&g):
		return p.run(g, last)
	case fromRoman(strings.ToLower(end)) > 0 && digitsAtFront(p.rest) != "":
		digits := digitsAtFront(p.rest)
		p.rest = p.rest[len(digits):]
		g.Leaves = atoi(digits)
		return p.run(g, last)
	case last == "" && fromRoman(first) > 0:
		return p.described(Gathering{Leaves: fromRoman(first), Flyleaves: true})
	}
	return nil, false
}

func digitsAtFront(text string) string { return text[:span(text, "0123456789")] }

// count reads the number of leaves, with those taken off and put on.
func (p *formulaReader) count(g *Gathering) bool {
	for _, form := range reCounts {
		if match := form.FindStringSubmatch(p.rest); match != nil {
			g.Leaves, g.Lacking, g.Extra = atoi(match[1]), atoi(match[2]), atoi(match[3])
			p.rest = p.rest[len(match[0]):]
			return true
		}
	}
	return false
}

// reLoose is how leaves in no known quire print.
var reLoose = regexp.MustCompile(`^\[(\d+) leaves in no known quire\]`)

// run gives the gathering for each label from its own to the last.
func (p *formulaReader) run(g Gathering, last string) ([]Gathering, bool) {
	if last == "" {
		return p.described(g)
	}
	described, ok := p.described(g)
	if !ok {
		return nil, false
	}
	run := described
	for label := g.Label; label != last; {
		label = nextLabel(label, last)
		if label == "" || len(run) > mostQuires {
			return nil, false
		}
		next := described[0]
		next.Label = label
		run = append(run, next)
	}
	return run, len(run) > 1
}

// nextLabel is the quire label that follows on one, of the kind of last;
// empty where there is none.
func nextLabel(label, last string) string {
	if n, err := strconv.Atoi(label); err == nil {
		return strconv.Itoa(n + 1)
	}
	lower := strings.ToLower(label)
	next := ""
	if at := strings.Index(quireAlphabet, lower); len(lower) == 1 && len(last) == 1 && at >= 0 && at+1 < len(quireAlphabet) {
		next = quireAlphabet[at+1 : at+2]
	}
	if n, to := fromRoman(lower), fromRoman(strings.ToLower(last)); n > 0 && to > n && (next == "" || to-n < 10) {
		next = roman(n + 1)
	}
	if lower != label {
		next = strings.ToUpper(next)
	}
	return next
}

// described reads the words after a gathering's number.
func (p *formulaReader) described(g Gathering) ([]Gathering, bool) {
	if g.Leaves < 1 || g.Leaves > mostQuireLeaves && g.Label != "" || g.Lacking > g.Leaves || g.Extra > mostQuireLeaves {
		return nil, false
	}
	sum := g
	for {
		if brackets := reBrackets.FindStringSubmatch(p.rest); brackets != nil {
			for _, note := range strings.Split(brackets[1], ";") {
				note = strings.TrimSpace(note)
				switch {
				case note == "" || g.note(note):
				case reSum.MatchString(note):
					return nil, false // a second number of leaves
				default:
					g.Remarks = append(g.Remarks, note)
				}
			}
			p.rest = p.rest[len(brackets[0]):]
			continue
		}
		bare := p.bareNote()
		if bare == "" {
			break
		}
		if !g.note(bare) {
			return nil, false
		}
	}
	return []Gathering{g}, g.settle(sum)
}

// bareNote takes words that stand without brackets. A number of the next
// quire, which a count follows, is not taken with them.
func (p *formulaReader) bareNote() string {
	match := reBare.FindStringSubmatch(p.rest)
	if match == nil {
		return ""
	}
	words, after := match[0], p.rest[len(match[0]):]
	next := formulaReader{rest: after}
	if next.count(&Gathering{}) || strings.HasPrefix(after, "-") {
		cut := strings.LastIndexAny(words, ",&")
		if cut < 0 || !strings.Contains(words, "wants") && !strings.Contains(words, "lacks") {
			return ""
		}
		words = words[:cut]
	}
	p.rest = p.rest[len(words):]
	return strings.TrimSpace(words)
}

// settle takes the leaves that are named off those that are only counted, and
// tells whether the two agree and the places are places of the quire.
func (g *Gathering) settle(sum Gathering) bool {
	g.Lacking = max(0, sum.Lacking-len(g.Wants))
	if sum.Lacking > 0 && len(g.Wants) > sum.Lacking {
		return false
	}
	g.Extra = 0
	named := g.added()
	if sum.Extra > 0 && named > sum.Extra {
		return false
	}
	g.Extra = max(0, sum.Extra-named)
	slices.Sort(g.Wants)
	slices.Sort(g.Singletons)
	for _, places := range [][]int{g.Wants, g.Singletons} {
		if len(places) > 0 && (places[0] < 1 || places[len(places)-1] > g.Leaves) || len(slices.Compact(slices.Clone(places))) != len(places) {
			return false
		}
	}
	slices.SortStableFunc(g.Added, func(a, b Addition) int { return a.After - b.After })
	return len(g.Added) == 0 || g.Added[len(g.Added)-1].After <= g.Leaves
}

// note reads one remark of a gathering; false where it is not understood.
func (g *Gathering) note(text string) bool {
	if match := reWants.FindStringSubmatch(text); match != nil {
		return appendPlaces(&g.Wants, match[1])
	}
	if match := reMinus.FindStringSubmatch(text); match != nil {
		return appendPlaces(&g.Wants, match[1])
	}
	if match := reSingle.FindStringSubmatch(text); match != nil {
		return appendPlaces(&g.Singletons, match[1])
	}
	match := reAdded.FindStringSubmatch(text)
	if match == nil {
		return false
	}
	a := Addition{Leaves: atoi(match[1]), After: atoi(match[2])}
	if match[3] != "" {
		for _, label := range strings.Split(match[3], ",") {
			folio, err := ParseFolio(label)
			if err != nil {
				return false
			}
			a.Labels = append(a.Labels, folio)
		}
	}
	if strings.HasSuffix(text, "now lost") {
		a.Lost = a.Leaves
		if match[4] != "" {
			a.Lost = atoi(strings.TrimSpace(match[4]))
		}
	}
	if a.Leaves < 1 || a.Leaves > mostQuireLeaves || len(a.Labels) > a.Leaves || a.Lost > a.Leaves {
		return false
	}
	g.Added = append(g.Added, a)
	return true
}

var placeSeparators = strings.NewReplacer(" and ", ",", " & ", ",", " ", "")

// appendPlaces reads places such as 3, 5-7 and 9.
func appendPlaces(places *[]int, text string) bool {
	for _, part := range strings.Split(placeSeparators.Replace(text), ",") {
		first, last, isRange := strings.Cut(part, "-")
		from, to := atoi(first), atoi(first)
		if isRange {
			to = atoi(last)
		}
		if from < 1 || to < from || to > mostQuireLeaves {
			return false
		}
		for place := from; place <= to; place++ {
			*places = append(*places, place)
		}
	}
	return true
}

// atoi reads digits that a pattern has matched; a number too long for any
// quire is above every bound here, and no digits are 0.
func atoi(digits string) int {
	if digits == "" {
		return 0
	}
	n, err := strconv.Atoi(digits)
	if err != nil {
		return lastArabic + 1
	}
	return n
}
