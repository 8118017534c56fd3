package codex

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"unicode"
)

// Bounds of what is read as a formula: no quire is thicker and no book has more
// quires.
const (
	mostQuireLeaves = 200
	mostQuires      = 2000
)

const (
	formulaExpected = "a collation formula"
	formulaExample  = "write it such as 1–3⁸ 4⁸⁻¹ (wants 3) 5¹⁰, flyleaves as ii"
)

// ParseFormula reads a collation formula as [Formula.String] prints it, and as
// catalogues write it:
//
//   - the number of leaves raised (1⁸), after a caret (1^8), in brackets behind
//     the quire (1(8), 1 (8)) or before it ((8)1), after a full stop or a colon
//     (1.8, 1:8), and after a label of letters (IV8, A8);
//   - quires labelled by numbers, roman numerals, or signatures in the alphabet of
//     23 letters or with the j, u or w that the formula names, doubled too (aa, Bb,
//     2C, ²A), and by the signs * † ¶ § π χ, where χ1 is a single leaf;
//   - like quires joined by a hyphen or a dash, 1–3⁸, 3⁸–9⁸, A–2B⁸; quires of two
//     sizes by turns, A–F⁸/⁴; quires parted by spaces, commas, semicolons or plus;
//   - leaves lost and added in the raised sum, 2⁸⁻¹ 3¹⁰⁺², or in brackets after the
//     number still there, 11⁴ (6 − 2);
//   - which they are in words after it, in brackets or not: wants 3 and 6; (−b3);
//     lacks 4, after f. 31; wants one leaf after f. 31; (8 cancelled); (±A3), a leaf
//     cancelled and another in its place; (A4+1); 3 and 6 are singletons; (+1 leaf
//     after 5), (+1 leaf inserted after 5, f. 21);
//   - flyleaves as a small roman numeral alone: ii; or joined by a plus, ii + 1⁸;
//     leaves of which no quire is told between them, ii + 120 + i;
//   - by sheets, as catalogues in German do: 4 IV³² + (IV−1)³⁹; in words, 4
//     quaternions.
//
// Folios that are stated, (ff. 7–62), (through f. 82), and a total, = 96 leaves,
// must be those that the quires come to. Other words in brackets are kept as
// remarks.
//
// Sources: N. R. Ker, Catalogue of Manuscripts Containing Anglo-Saxon (1957), p.
// xxii, for wants, singletons and added leaves; F. Bowers, Principles of
// Bibliographical Description (1949), chapter 5, for signatures, π and χ, and
// leaves taken off and put on by their signature (from memory).
//
// The error is a [*LabelError] whose remedy names the part that could not be
// read, or that may be read in two ways.
func ParseFormula(text string) (Formula, error) {
	plain, total := splitTotal(lowered(text))
	plain = strings.Trim(plain, betweenMembers)
	f, sheets := bySheets(plain)
	if f.gatherings == nil && sheets == "" {
		p := &formulaReader{rest: rejoined(plain), alphabet: alphabetOf(lettersNamed(plain))}
		if p.all(); p.why != "" {
			sheets = p.why
		}
		f = p.foliated
	}
	if sheets == "" {
		sheets = f.disagreement(total)
	}
	if sheets != "" {
		return nil, &LabelError{Value: text, Expected: formulaExpected, Remedy: sheets}
	}
	return f.gatherings, nil
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

// lowered is a formula with raised figures brought down behind a caret, with
// plain hyphens and spaces, and without a format (4°:) before it.
func lowered(text string) string {
	text = strings.NewReplacer("⁽", "", "⁾", "", "^{", "^", "}", "", "ᐟ", "/", "⁄", "/").Replace(text)
	var b strings.Builder
	up := false
	for _, r := range text {
		if unicode.IsSpace(r) {
			r = ' '
		}
		plain := lower(r)
		if plain != 0 && !up {
			b.WriteByte('^')
		}
		if up = plain != 0 || up && r == '/'; plain != 0 {
			b.WriteByte(plain)
			continue
		}
		b.WriteRune(r)
	}
	text = reFormat.ReplaceAllString(reDashes.ReplaceAllString(b.String(), "-"), "")
	text = reBefore.ReplaceAllString(text, "$1$3^$2")
	return reSupplied.ReplaceAllString(text, "$1$2")
}

var (
	reDashes = regexp.MustCompile(`[-–—−‐‑‒]+`)
	// reFormat is the format of a printed book, in front of its collation.
	reFormat = regexp.MustCompile(`^ *\d+°:? `)
	// reBefore is a number of leaves in brackets before the quires that have it.
	reBefore = regexp.MustCompile(`(^|[ ,;])\((\d+)\) ?(\d+(?:-\d+)?)(?:\b|$)`)
	// reSupplied is a quire label that the cataloguer supplied, in brackets.
	reSupplied = regexp.MustCompile(`\[(\p{L}+|\d+)\]( ?\^)`)
	// reJoined are flyleaves at either end that a plus joins to the quires.
	reJoined = regexp.MustCompile(`^([ivxl]+) \+ | \+ ([ivxl]+)$`)
	// reUnquired is a number of leaves in no quire, joined to flyleaves.
	reUnquired = regexp.MustCompile(`^((?:[ivxl]+ \+ )?)(\d+)((?: \+ [ivxl]+)?)$`)
	// reTotal is a number of all leaves at the end.
	reTotal = regexp.MustCompile(`[,;]? ?= ?(\d+)(?: ?(?:leaves|lvs\.?|ll\.?|ff?\.?|fols?\.?))?$`)
)

// splitTotal takes the number of all leaves off the end of a formula; 0 where
// there is none.
func splitTotal(text string) (string, int) {
	text = strings.TrimRight(text, " .;,")
	match := reTotal.FindStringSubmatchIndex(text)
	if match == nil {
		return text, 0
	}
	return text[:match[0]], atoi(text[match[2]:match[3]])
}

// rejoined writes flyleaves joined by a plus, and leaves in no quire, as members
// of a formula.
func rejoined(text string) string {
	if match := reUnquired.FindStringSubmatch(text); match != nil && match[1]+match[3] != "" {
		text = fmt.Sprintf("%s[%s leaves in no known quire]%s", match[1], match[2], match[3])
	}
	return reJoined.ReplaceAllString(text, "$1 $2")
}

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

// reNamed is a single letter j, u or w in the place of a quire's label.
var reNamed = regexp.MustCompile(`(?:^|[ ,;+-])(?:\^?\d)?([juwvJUWV])(?: ?[\^(.:-]|\d)`)

// lettersNamed are those letters among j, u, v and w that a formula names as
// signatures.
func lettersNamed(text string) string {
	named := ""
	for _, match := range reNamed.FindAllStringSubmatch(text, -1) {
		named += strings.ToLower(match[1])
	}
	return named
}

// A formulaReader reads the members of a formula from the front of the text.
type formulaReader struct {
	foliated
	rest     string
	alphabet alphabet
	why      string // why it cannot be read; empty while it can
}

// betweenMembers are the signs that part members, and mean nothing at either end.
const betweenMembers = " ,;+."

// all reads all members.
func (p *formulaReader) all() {
	for p.why == "" {
		p.rest = strings.TrimLeft(p.rest, betweenMembers)
		if p.rest == "" {
			break
		}
		at := p.rest
		if !p.member() || len(p.gatherings) > mostQuires {
			if p.why == "" {
				p.why = "cannot be read there; " + formulaExample
			}
			p.why = fmt.Sprintf("“%s” %s", firstRunes(at, 24), p.why)
		}
	}
	if p.why == "" && p.gatherings == nil {
		p.why = formulaExample
	}
}

const labelForm = `(?:\^\d)?(?:[1-9]\d?(?:[A-Za-z]\b|[*†‡¶§πχ])|[*†‡¶§]+|\p{L}+|\d+)`

// The parts of a member, each read from the front of the text.
var (
	reSpan     = regexp.MustCompile(`^(` + labelForm + `)(?: ?- ?(` + labelForm + `))?`)
	reLast     = regexp.MustCompile(`^ ?- ?(` + labelForm + `)`)
	reBrackets = regexp.MustCompile(`^ ?\(([^()]*)\)`)
	// reLoose is how leaves in no known quire print.
	reLoose = regexp.MustCompile(`^\[(\d+) leaves in no known quire\]`)
)

// sumForm is a number of leaves, or two of them by turns, with those taken off
// and put on: 8-1+2, 8/4.
const sumForm = `(\d+(?:/\d+)*)(?:-(\d+))?(?:\+(\d+))?`

// The ways to write a number of leaves after a label: raised, in brackets, after
// a full stop or a colon; and at once after a label of letters.
var (
	reCounts = []*regexp.Regexp{
		regexp.MustCompile(`^ ?\^ ?` + sumForm), regexp.MustCompile(`^[.:] ?` + sumForm),
		regexp.MustCompile(`^ ?\( *` + strings.NewReplacer("-", " ?- ?", `\+`, ` ?\+ ?`).Replace(sumForm) + `(?:[,;] ?([^()]*))?\)`),
	}
	reAtOnce = regexp.MustCompile(`^` + sumForm)
	// reAnother begins another number of leaves: what seemed taken off is the label
	// that it belongs to, as in 3^8-9^8.
	reAnother = regexp.MustCompile(`^(?: ?\^| ?\(\d+\)|[.:]\d)`)
)

// A count is a number of leaves, or several by turns, and how many are taken off
// and put on.
type count struct {
	sizes          []int
	lacking, extra int
	plain          bool // written at once after the label
}

// count reads a number of leaves from the front; letters tells that it may
// follow at once.
func (p *formulaReader) count(letters bool) (count, bool) {
	forms := reCounts
	if letters {
		forms = append(slices.Clip(forms), reAtOnce)
	}
	for k, form := range forms {
		match := form.FindStringSubmatch(p.rest)
		if match == nil {
			continue
		}
		after := p.rest[len(match[0]):]
		if match[2] != "" && match[3] == "" && reAnother.MatchString(after) {
			match[2], after = "", p.rest[strings.LastIndex(match[0], "-"):]
		}
		if len(match) > 4 && match[4] != "" {
			after = "(" + match[4] + ")" + after
		}
		p.rest = after
		c := count{lacking: atoi(match[2]), extra: atoi(match[3]), plain: k == len(reCounts)}
		for size := range strings.SplitSeq(match[1], "/") {
			c.sizes = append(c.sizes, atoi(size))
		}
		return c, true
	}
	return count{}, false
}

// member reads one member of the formula: a quire, a run of like quires, or
// leaves in none.
func (p *formulaReader) member() bool {
	if loose := reLoose.FindStringSubmatch(p.rest); loose != nil {
		if atoi(loose[1]) > lastArabic {
			p.why = "has more leaves than a book can"
			return false
		}
		p.rest = p.rest[len(loose[0]):]
		return p.add([]string{""}, count{sizes: []int{atoi(loose[1])}}, false)
	}
	span := reSpan.FindStringSubmatch(p.rest)
	if span == nil {
		return false
	}
	first, last := span[1], span[2]
	p.rest = p.rest[len(span[0]):]
	end := first
	if last != "" {
		end = last
	}
	c, counted := p.count(atoiOnly(end) < 0)
	switch {
	case !counted:
		if last != "" || fromRoman(first) == 0 {
			return false
		}
		return p.add([]string{""}, count{sizes: []int{fromRoman(first)}}, true)
	case c.plain && c.sizes[0] > 1 && c.sizes[0]%2 != 0 && fromRoman(strings.ToLower(end)) == 0:
		p.why = fmt.Sprintf("names a leaf, or a quire of %d leaves; write the number of leaves after a caret: %s^%d", c.sizes[0], end, c.sizes[0])
		return false
	}
	if last == "" && !c.plain || last == "" && len(c.sizes) == 1 {
		last = p.secondLabel(c)
	}
	labels := []string{written(first)}
	if last != "" {
		if labels = p.alphabet.between(labels[0], written(last)); labels == nil {
			return false
		}
		labels[0], labels[len(labels)-1] = written(first), written(last)
	}
	return len(c.sizes) <= len(labels) && p.add(labels, c, false)
}

// written is a label with its raised mark raised again.
func written(label string) string {
	if rest, marked := strings.CutPrefix(label, "^"); marked {
		return raised(rest[:1]) + rest[1:]
	}
	return label
}

// secondLabel reads the end of a run that has the number of leaves at both ends,
// 3⁸–9⁸; empty where there is none.
func (p *formulaReader) secondLabel(c count) string {
	match := reLast.FindStringSubmatch(p.rest)
	if match == nil {
		return ""
	}
	next := formulaReader{rest: p.rest[len(match[0]):]}
	if other, ok := next.count(atoiOnly(match[1]) < 0); !ok || !slices.Equal(other.sizes, c.sizes) || other.lacking+other.extra+c.lacking+c.extra > 0 {
		return ""
	}
	p.rest = next.rest
	return match[1]
}

// add adds the gatherings of one member, with the notes that follow it.
func (p *formulaReader) add(labels []string, c count, flyleaves bool) bool {
	notes := p.notes()
	first := len(p.gatherings)
	run := make([]Gathering, len(labels))
	for i, label := range labels {
		run[i] = Gathering{Label: label, Leaves: c.sizes[i%len(c.sizes)], Flyleaves: flyleaves}
	}
	if len(labels) == 1 && c.lacking+c.extra == 0 {
		notes = run[0].sumInBrackets(&c, notes)
	}
	for i := range run {
		g := &run[i]
		if g.Leaves < 1 || g.Leaves > mostQuireLeaves && g.Label != "" || c.lacking > g.Leaves || c.extra > mostQuireLeaves {
			return false
		}
	}
	p.gatherings = append(p.gatherings, run...)
	n := noteReader{foliated: &p.foliated, first: first, sum: c, run: p.gatherings[first:], why: &p.why}
	if !n.read(notes) {
		return false
	}
	for i := range n.run {
		if !n.run[i].settle(c) {
			return false
		}
	}
	return true
}

var reSum = regexp.MustCompile(`^(\d+)(?: ?- ?(\d+))?(?: ?\+ ?(\d+))?$`)

// sumInBrackets takes a sum out of the notes that comes to the number of leaves
// raised before it: 11⁴ (6 − 2), a quire of 6 of which 4 are still there.
func (g *Gathering) sumInBrackets(c *count, notes []string) []string {
	if len(notes) == 0 {
		return notes
	}
	sum := reSum.FindStringSubmatch(notes[0])
	if sum == nil || sum[2]+sum[3] == "" || atoi(sum[1])-atoi(sum[2])+atoi(sum[3]) != g.Leaves {
		return notes
	}
	g.Leaves, c.lacking, c.extra = atoi(sum[1]), atoi(sum[2]), atoi(sum[3])
	return notes[1:]
}

// settle takes the leaves that are named off those that are only counted, and
// tells whether the two agree and the places are places of the quire.
func (g *Gathering) settle(sum count) bool {
	named := len(g.Wants) + len(g.Cancelled) + g.Lacking
	if sum.lacking > 0 && named > sum.lacking || named > g.Leaves {
		return false
	}
	g.Lacking += max(0, sum.lacking-named)
	put := g.added()
	if sum.extra > 0 && put > sum.extra {
		return false
	}
	g.Extra += max(0, sum.extra-put)
	if g.ofOneLeaf() {
		g.Singletons = []int{1}
	}
	if len(g.Cancelled) > 0 && (g.Label == "" || len(g.Cancelled)+g.Lacking >= g.Leaves+put) {
		return false
	}
	gone := slices.Concat(g.Wants, g.Cancelled)
	for _, places := range [][]int{gone, g.Singletons} {
		slices.Sort(places)
		if len(places) > 0 && (places[0] < 1 || places[len(places)-1] > g.Leaves) || len(slices.Compact(slices.Clone(places))) != len(places) {
			return false
		}
	}
	slices.Sort(g.Wants)
	slices.Sort(g.Cancelled)
	slices.SortStableFunc(g.Added, func(a, b Addition) int { return a.After - b.After })
	return len(g.Added) == 0 || g.Added[len(g.Added)-1].After <= g.Leaves
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
