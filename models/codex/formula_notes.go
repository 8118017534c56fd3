package codex

import (
	"fmt"
	"regexp"
	"slices"
	"strings"
	"unicode"
)

// notes takes the words that follow a member, in brackets and without, as far as
// they are its own.
func (p *formulaReader) notes() []string {
	var notes []string
	for {
		if brackets := reBrackets.FindStringSubmatch(p.rest); brackets != nil {
			for note := range strings.SplitSeq(brackets[1], ";") {
				if note = strings.TrimSpace(note); note != "" {
					notes = append(notes, note)
				}
			}
			p.rest = p.rest[len(brackets[0]):]
			continue
		}
		bare := p.bareNote()
		if bare == "" {
			return notes
		}
		notes = append(notes, bare)
	}
}

// The words of notes. A place is that of a leaf in its quire, in arabic or small
// roman numerals; several are joined by commas, full stops, and, or a dash.
const (
	placeForm  = `(?:\d+|[ivx]+)`
	placesForm = placeForm + `(?:(?:, ?|\.| ?& ?| and | ?- ?)` + placeForm + `)*`
	numberForm = `(?:\d+|an?|one|two|three|four|five|six)`
	wantsForm  = `(?:wants|want|wanting|lacks|lack|lacking|missing)`
	folioForm  = `(?:ff?|fols?|folios?|foll?|Bll?)\.? ?`
)

var (
	reBare     = regexp.MustCompile(`^,? ?(` + wantsForm + ` (?:` + numberForm + ` lea(?:f|ves)|\d+(?:(?:, ?| and | & |-)\d+)*)(?:,? after (?:` + folioForm + `)?\d+[rv]?)?(?:, probably blank)?|\d+(?:(?:, ?| and )\d+)* (?:are singletons|is a singleton|cancelled|canc\.?)|\+ ?` + numberForm + ` lea(?:f|ves) (?:(?:inserted|added) )?after \d+)`)
	reWants    = regexp.MustCompile(`^(?:of \d+,? )?` + wantsForm + `(?: leaf| leaves)? (` + placesForm + `)(?:,? (?:after|following) ` + folioForm + `(\d+)[rv]?)?(?:,? ((?:probably|presumably|perhaps|all)? ?(?:blank|cancelled).*))?$`)
	reWantsOf  = regexp.MustCompile(`^` + wantsForm + ` (` + numberForm + `) lea(?:f|ves)(?:,? after (` + placeForm + `|` + folioForm + `\d+[rv]?))?$`)
	reGone     = regexp.MustCompile(`^(` + placesForm + `)(?: is| are)?(?: now)? (?:wanting|lacking|missing|lost|excised|removed|cut out|cut away|torn out)$`)
	reMinus    = regexp.MustCompile(`^- ?(` + placesForm + `)$`)
	reCancels  = regexp.MustCompile(`^(?:(` + placesForm + `)(?: is| are| was| were)?(?: a)? (?:canc\.?|cancels?|cancell?ed)|cancell?ed (` + placesForm + `))$`)
	reReplaced = regexp.MustCompile(`^(?:±|\+/-) ?(` + placesForm + `)$`)
	reStub     = regexp.MustCompile(`^(` + placesForm + `)(?: is| are)?(?: now)?(?: only)?(?: a)? stubs?(?: only)?$`)
	reSingle   = regexp.MustCompile(`^(` + placesForm + `)(?: is| are)?(?: a)? (?:singletons?|half-sheets?|single leaf|single leaves)$`)
	reAdded    = regexp.MustCompile(`^(?:\+ ?)?(` + numberForm + `) (?:leaf|leaves)(?: inserted| added)?,? (after|before) (` + placeForm + `)(?:, ff?\. ([^;]*?))?(?:,( \d+)? now lost)?$`)
	rePutOn    = regexp.MustCompile(`^\+ ?(` + numberForm + `)( lea(?:f|ves))?$`)
	reSigned   = regexp.MustCompile(`^(\d+) ?\+ ?(?:(?:χ|π|chi|pi)? ?1|(?:χ|π|chi|pi)\.?)$`)
	reFold     = regexp.MustCompile(`^(\d+) ?\+`)
	reFolios   = regexp.MustCompile(`^` + folioForm + `(\d+)[rv]?(?: ?- ?(\d+)[rv]?)?$`)
	reThrough  = regexp.MustCompile(`^(?:through|to|ends? on|bis) ` + folioForm + `(\d+)[rv]?$`)
	// reStructural are words that take leaves away or put them on.
	reStructural = regexp.MustCompile(`^[-+±]|\b` + wantsForm + `\b|\b(?:lost|cancel\w*|canc|added|inserted|singletons?|half-sheets?|stubs?|excised|removed)\b|\d ?[+±]`)
	reWantsWord  = regexp.MustCompile(wantsForm)
	reOfLeaves   = regexp.MustCompile(`\d|\blea(?:f|ves)\b`)
)

// bareNote takes words that stand without brackets. A number of the next
// quire, which a count follows, is not taken with them.
func (p *formulaReader) bareNote() string {
	match := reBare.FindStringSubmatch(p.rest)
	if match == nil {
		return ""
	}
	words, after := match[0], p.rest[len(match[0]):]
	next := formulaReader{rest: after}
	if _, counted := next.count(false); counted || strings.HasPrefix(after, "-") || after != "" && after[0] >= '0' && after[0] <= '9' {
		cut := strings.LastIndexAny(words, ",&")
		if cut <= 1 || !reWantsWord.MatchString(words) {
			return ""
		}
		words = words[:cut]
	}
	p.rest = p.rest[len(words):]
	return strings.TrimLeft(words, ", ")
}

// A noteReader reads the notes of one member: what was lost from its quires, put
// into them, and on which folios they stand.
type noteReader struct {
	*foliated
	first int // the first gathering of the member
	run   []Gathering
	sum   count
	why   *string
	stood int // leaves still there by the folios that a note states; 0 where none does
}

func (n *noteReader) refuse(format string, values ...any) bool {
	*n.why = fmt.Sprintf(format, values...)
	return false
}

// read reads the notes in turn; those that state folios first, since they settle
// what another may mean.
func (n *noteReader) read(notes []string) bool {
	for _, note := range notes {
		if !n.folios(note) {
			continue
		}
		if f := n.stated[len(n.stated)-1]; f.from > 0 && len(n.run) == 1 {
			n.stood = f.to - f.from + 1
		}
	}
	for _, note := range notes {
		if reFolios.MatchString(note) && n.statesFolios(note) || reThrough.MatchString(note) || n.note(note) {
			continue
		}
		if *n.why != "" {
			return false
		}
		parts := strings.Split(note, ",")
		if len(parts) > 1 && n.parts(parts) {
			continue
		}
		switch {
		case *n.why != "":
			return false
		case reSum.MatchString(note):
			return false // a second number of leaves
		case !strings.ContainsFunc(note, unicode.IsLetter):
			return false // figures and signs that nobody can tell the meaning of
		case reStructural.MatchString(note) && reOfLeaves.MatchString(note):
			return n.refuse("cannot be read: “%s”; write it such as (wants 3), (3 cancelled), (+1 leaf after 3), (3 is a singleton)", note)
		}
		last := &n.run[len(n.run)-1]
		last.Remarks = append(last.Remarks, note)
	}
	return true
}

// parts reads a note of several statements parted by commas, where each of them
// is understood.
func (n *noteReader) parts(parts []string) bool {
	was := slices.Clone(n.run)
	for _, part := range parts {
		if part = strings.TrimSpace(part); !n.note(part) && !n.folios(part) {
			copy(n.run, was)
			return false
		}
	}
	return true
}

// statesFolios tells whether a note of folios is a statement of where the quire
// stands, and no remark on one of its leaves.
func (n *noteReader) statesFolios(note string) bool {
	match := reFolios.FindStringSubmatch(note)
	return match != nil && (match[2] != "" || len(n.run) == 1 && n.run[0].Leaves == 1)
}

// folios reads the folios on which the member stands.
func (n *noteReader) folios(note string) bool {
	s := statedFolios{first: n.first, last: n.first + len(n.run) - 1}
	if match := reThrough.FindStringSubmatch(note); match != nil {
		s.to = atoi(match[1])
	} else if n.statesFolios(note) {
		match := reFolios.FindStringSubmatch(note)
		s.from, s.to = atoi(match[1]), atoi(match[1])
		if match[2] != "" {
			s.to = atoi(match[2])
		}
		if short := len(match[1]) - len(match[2]); match[2] != "" && short > 0 {
			s.to = atoi(match[1][:short] + match[2]) // 102–10
		}
	} else {
		return false
	}
	n.stated = append(n.stated, s)
	return true
}

// note reads one note of leaves; false where it is not understood. The leaves of
// a run are those of each of its quires where its sum tells so, and else the note
// must name the quire.
func (n *noteReader) note(text string) bool {
	at, plain := n.named(text)
	if at >= 0 {
		return n.of(at, plain, true)
	}
	probe := noteReader{foliated: &foliated{}, run: []Gathering{{Label: n.run[0].Label, Leaves: n.run[0].Leaves}}, sum: n.sum, why: new(string), stood: n.stood}
	if len(n.run) > 1 && n.sum.lacking+n.sum.extra == 0 && (probe.of(0, text, false) || *probe.why != "") {
		return n.refuse("does not tell of which quire: “%s”; write that quire by itself, such as %s%s (%s)", text, n.run[len(n.run)-1].Label, raised(fmt.Sprint(n.run[0].Leaves)), text)
	}
	for i := range n.run {
		if !n.of(i, text, false) {
			return false
		}
	}
	return true
}

// named finds the quire whose label stands before the places of a note, as in
// (−b3), and gives the note without it.
func (n *noteReader) named(text string) (at int, plain string) {
	for i := range n.run {
		label := n.run[i].Label
		if atoiOnly(label) >= 0 || label == "" || !strings.Contains(text, label) {
			continue
		}
		form := regexp.MustCompile(`(^|[^\p{L}\d])` + regexp.QuoteMeta(label) + `(\d)`)
		if form.MatchString(text) {
			return i, form.ReplaceAllString(text, "$1$2")
		}
	}
	return -1, ""
}

// of reads a note of one quire.
func (n *noteReader) of(at int, text string, signed bool) bool {
	g := &n.run[at]
	if match := reWants.FindStringSubmatch(text); match != nil {
		before := len(g.Wants)
		if !appendPlaces(&g.Wants, match[1]) {
			return false
		}
		if match[3] != "" {
			g.Remarks = append(g.Remarks, match[3])
		}
		if match[2] != "" && len(g.Wants) > before {
			n.stated = append(n.stated, statedFolios{first: n.first + at, last: n.first + at, to: atoi(match[2]), place: slices.Min(g.Wants[before:])})
		}
		return true
	}
	if match := reWantsOf.FindStringSubmatch(text); match != nil {
		return n.wantsOf(at, number(match[1]), match[2])
	}
	if match := reGone.FindStringSubmatch(text); match != nil {
		return appendPlaces(&g.Wants, match[1])
	}
	if match := reMinus.FindStringSubmatch(minusOnce(text)); match != nil {
		return n.minus(g, match[1], signed)
	}
	if match := reCancels.FindStringSubmatch(text); match != nil {
		return appendPlaces(&g.Cancelled, match[1]+match[2])
	}
	if match := reReplaced.FindStringSubmatch(text); match != nil {
		before := len(g.Cancelled)
		if !appendPlaces(&g.Cancelled, match[1]) {
			return false
		}
		for _, place := range g.Cancelled[before:] {
			g.Added = append(g.Added, Addition{After: place, Leaves: 1})
		}
		return true
	}
	if match := reStub.FindStringSubmatch(text); match != nil {
		return appendPlaces(&g.Wants, match[1])
	}
	if match := reSingle.FindStringSubmatch(text); match != nil {
		return appendPlaces(&g.Singletons, match[1])
	}
	return n.puts(g, text, signed)
}

// minusOnce is a note of leaves taken off, with one sign for all of them: −8, −9
// is −8, 9.
func minusOnce(text string) string { return reSigns.ReplaceAllString(text, "$1 ") }

var reSigns = regexp.MustCompile(`([,&]|\band) ?- ?`)

// wantsOf reads that a number of leaves are gone, after a place or a folio
// perhaps.
func (n *noteReader) wantsOf(at, leaves int, after string) bool {
	g := &n.run[at]
	if leaves < 1 || leaves > g.Leaves {
		return false
	}
	if place := placeNumber(after); place > 0 {
		for k := range leaves {
			g.Wants = append(g.Wants, place+1+k)
		}
		return true
	}
	g.Lacking += leaves
	if after != "" {
		n.stated = append(n.stated, statedFolios{first: n.first + at, last: n.first + at, to: atoi(strings.TrimFunc(after, func(r rune) bool { return r < '0' || r > '9' })), gone: leaves})
	}
	return true
}

// minus reads leaves taken off by a sign. A single number without the quire's
// signature is the place of a leaf or a number of leaves; what the raised sum or
// the folios tell decides, or that no quire would be left.
func (n *noteReader) minus(g *Gathering, places string, signed bool) bool {
	k := placeNumber(places)
	switch {
	case signed || k == 0, n.sum.lacking == 1, k >= g.Leaves-1, n.stood == g.Leaves-1 && k > 1:
		return appendPlaces(&g.Wants, places)
	case n.sum.lacking == k, n.stood > 0 && n.stood == g.Leaves-k && k > 1:
		g.Lacking += max(0, k-n.sum.lacking)
		return true
	}
	return n.refuse("may say that leaf %d is wanting or that %s; write %s%s (wants %d), or %s%s where it is not known which",
		k, countedLeaves(k), g.Label, raised(fmt.Sprint(g.Leaves)), k, g.Label, raised(fmt.Sprintf("%d-%d", g.Leaves, k)))
}

func countedLeaves(n int) string {
	if n == 1 {
		return "one leaf is"
	}
	return fmt.Sprintf("%d leaves are", n)
}

// puts reads leaves put into a quire.
func (n *noteReader) puts(g *Gathering, text string, signed bool) bool {
	if match := rePutOn.FindStringSubmatch(text); match != nil {
		if number(match[1]) > 1 && match[2] == "" {
			return n.refuse("may say that leaf %s was added or that %s leaves were; write (+%s leaves), or (+1 leaf after the place before it)", match[1], match[1], match[1])
		}
		g.Extra += number(match[1])
		return g.Extra <= mostQuireLeaves
	}
	if match := reSigned.FindStringSubmatch(text); match != nil && signed {
		g.Added = append(g.Added, Addition{After: atoi(match[1]), Leaves: 1})
		return true
	}
	if signed && reFold.MatchString(text) {
		return n.refuse("puts more than a single leaf into quire %s; enter its leaves in leaves.csv, each with its conjugate", g.Label)
	}
	match := reAdded.FindStringSubmatch(text)
	if match == nil {
		return false
	}
	a := Addition{Leaves: number(match[1]), After: placeNumber(match[3])}
	if match[2] == "before" {
		a.After--
	}
	if match[4] != "" {
		for label := range strings.SplitSeq(match[4], ",") {
			folio, err := ParseFolio(label)
			if err != nil {
				return false
			}
			a.Labels = append(a.Labels, folio)
		}
	}
	if strings.HasSuffix(text, "now lost") {
		a.Lost = a.Leaves
		if match[5] != "" {
			a.Lost = atoi(strings.TrimSpace(match[5]))
		}
	}
	if a.After < 0 || a.Leaves < 1 || a.Leaves > mostQuireLeaves || len(a.Labels) > a.Leaves || a.Lost > a.Leaves {
		return false
	}
	g.Added = append(g.Added, a)
	return true
}

// number reads a number in figures or words.
func number(word string) int {
	switch word {
	case "a", "an":
		return 1
	}
	if at := slices.Index([]string{"one", "two", "three", "four", "five", "six"}, word); at >= 0 {
		return at + 1
	}
	return atoi(word)
}

// placeNumber reads one place; 0 where the text is none.
func placeNumber(text string) int {
	if n := atoiOnly(text); n >= 0 {
		return n
	}
	return fromRoman(text)
}

var placeSeparators = strings.NewReplacer(" and ", ",", " & ", ",", "&", ",", ".", ",", " ", "")

// appendPlaces reads places such as 3, 5-7 and ix.
func appendPlaces(places *[]int, text string) bool {
	for part := range strings.SplitSeq(placeSeparators.Replace(text), ",") {
		first, last, isRange := strings.Cut(part, "-")
		from, to := placeNumber(first), placeNumber(first)
		if isRange {
			to = placeNumber(last)
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
