package codex

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"
)

// Catalogues in German count a quire by its sheets and not by its leaves: a
// roman numeral is the number of sheets, an arabic one before it how many such
// quires there are, and a raised or bracketed one after it the folio with which
// the run ends, as in 4 IV³² + (IV−1)³⁹ + III⁴⁵; a raised roman numeral counts
// flyleaves, and an arabic numeral in the place of the sheets single leaves (the
// way of A. Chroust, Monumenta palaeographica, 1902–1940; from memory). In (V−1⁸)
// the leaf that is gone stood before the present f. 8 (W. Werner, Die
// mittelalterlichen nichtliturgischen Handschriften des Zisterzienserklosters
// Salem, 2000, on the descriptions).
var reOfSheets = regexp.MustCompile(`^(?:(\d+) ?[.×x*·]? ?)?` + // how many quires
	`(?:([IVX]+)(?: ?- ?(\d+))?|\(([IVX]+)(?: ?- ?(\d+)(?:\^(\d+))?)?(?: ?\+ ?(\d+))?\))` + // their sheets
	`(?: ?\^ ?(\d+|[IVX]+)| ?\((?:` + folioForm + `)?(?:(\d+)[rv]? ?- ?)?(\d+)[rv]?\)|(\d+))?$`) // where they end

// reSecond is what may as well be the signature of a second alphabet.
var reSecond = regexp.MustCompile(`^[1-9]\d?[IVX] ?\^`)

// reSingles are single leaves, and the folio or flyleaf with which they end.
var reSingles = regexp.MustCompile(`^(\d+) ?(?:\^ ?|\()(\d+|[IVX]+)\)?$`)

// reNamedSheets are the names of quires by their sheets, in Latin and as English,
// French and German decline them.
var reNamedSheets = regexp.MustCompile(`(?i)\b(?:(uni|bini|terni|quaterni|quini|quinterni|seni|sexterni|septerni|octoni)(?:on(?:s|es|en)?|o)|(bifoli(?:um|a|o|os)|bifeuillets?))\b`)

var sheetsNamed = map[string]string{"uni": "I", "bini": "II", "terni": "III", "quaterni": "IV", "quini": "V", "quinterni": "V",
	"seni": "VI", "sexterni": "VI", "septerni": "VII", "octoni": "VIII", "": "I"}

// A sheetsReader reads a formula that counts sheets.
type sheetsReader struct {
	foliated
	folio, flyleaf int    // the last so far
	certain        bool   // it is written as no list of quires with roman labels is
	ended          bool   // it states a folio with which a run ends
	why            string // where the folios are not those of the sheets
}

// bySheets reads a formula that counts sheets, whose quires are numbered from 1.
// It gives neither gatherings nor words where the text is none, or may as well be
// labels of quires; words where a folio that it states is not the one that its
// sheets come to.
func bySheets(text string) (foliated, string) {
	text = reNamedSheets.ReplaceAllStringFunc(text, func(name string) string {
		return sheetsNamed[strings.ToLower(reNamedSheets.FindStringSubmatch(name)[1])]
	})
	terms := apartOutside(strings.TrimSpace(text))
	r := sheetsReader{certain: strings.Contains(text, " + ")}
	if len(terms) == 1 && !strings.HasPrefix(text, "(") && digitsAtFront(text) == "" {
		return foliated{}, "" // a quire with a roman label
	}
	ofSheets := false
	for _, term := range terms {
		if match := reOfSheets.FindStringSubmatch(term); match != nil {
			ofSheets = true
			if !r.quires(term, match) {
				return foliated{}, ""
			}
		} else if match := reSingles.FindStringSubmatch(term); match == nil || !r.singles(term, match) {
			return foliated{}, ""
		}
	}
	switch {
	case !ofSheets, !r.certain && (!r.ended || r.why != ""):
		return foliated{}, ""
	case r.why != "":
		return foliated{}, r.why
	}
	return r.foliated, ""
}

// reRaisedSum is a number of leaves with others put on, as in I⁸⁺² II⁸, which is no
// end of one term and beginning of the next.
var reRaisedSum = regexp.MustCompile(`^\d\+\d+(?:[ ,;]|$)`)

// apartOutside parts the terms of a formula at the marks between them that are
// outside brackets.
func apartOutside(text string) []string {
	text = strings.NewReplacer(" und ", " + ", " et ", " + ", " and ", " + ").Replace(text)
	var terms []string
	depth, from := 0, 0
	for i := 0; i < len(text); i++ {
		mark := strings.IndexByte(",;+", text[i]) >= 0 || text[i] == '.' && i+1 < len(text) && text[i+1] == ' '
		mark = mark && (text[i] != '+' || i == 0 || !reRaisedSum.MatchString(text[i-1:]))
		switch {
		case text[i] == '(':
			depth++
		case text[i] == ')':
			depth--
		case mark && depth == 0:
			terms = append(terms, strings.TrimSpace(text[from:i]))
			from = i + 1
		}
	}
	return append(terms, strings.TrimSpace(strings.TrimRight(text[from:], ". ")))
}

// quires adds a run of quires of as many sheets.
func (r *sheetsReader) quires(term string, match []string) bool {
	times := 1
	if match[1] != "" {
		times = atoi(match[1])
	}
	g := Gathering{Leaves: 2 * fromRoman(strings.ToLower(match[2]+match[4])), Lacking: atoi(match[3] + match[5]), Extra: atoi(match[7])}
	if times < 1 || g.Leaves < 1 || g.Leaves > mostQuireLeaves || g.Lacking > g.Leaves || g.Extra > mostQuireLeaves || len(r.gatherings)+times > mostQuires {
		return false
	}
	start, end := match[9], match[8]+match[10]+match[11]
	r.certain = r.certain || match[1] != "" && !reSecond.MatchString(term) || match[3]+match[5]+match[7] != "" || match[4] != ""
	if n := fromRoman(strings.ToLower(end)); n > 0 {
		return times == 1 && r.flyleaves(term, g.Leaves-g.Lacking+g.Extra, n)
	}
	if start != "" && atoi(start) != r.folio+1 {
		r.disagree(term, fmt.Sprintf("begins on f. %d", r.folio+1), start)
	}
	if before := atoi(match[6]); before > 0 {
		if place := before - r.folio; times != 1 || g.Lacking != 1 || place < 1 || place > g.Leaves {
			r.disagree(term, fmt.Sprintf("begins on f. %d", r.folio+1), match[6]+" after a leaf that is gone")
		} else {
			g.Wants, g.Lacking = []int{place}, 0
		}
	}
	for range times {
		g.Label = strconv.Itoa(len(r.gatherings) + 1)
		r.gatherings = append(r.gatherings, g)
	}
	r.folio += times * (g.Leaves - len(g.Wants) - g.Lacking + g.Extra)
	r.ends(term, end, r.folio)
	return true
}

// singles adds single leaves.
func (r *sheetsReader) singles(term string, match []string) bool {
	n := atoi(match[1])
	if n < 1 || n > mostQuireLeaves || len(r.gatherings) >= mostQuires {
		return false
	}
	if to := fromRoman(strings.ToLower(match[2])); to > 0 {
		return r.flyleaves(term, n, to)
	}
	g := Gathering{Label: strconv.Itoa(len(r.gatherings) + 1), Leaves: n}
	for place := range n {
		g.Singletons = append(g.Singletons, place+1)
	}
	r.gatherings = append(r.gatherings, g)
	r.folio += n
	r.ends(term, match[2], r.folio)
	return true
}

// flyleaves adds leaves that are counted in roman numerals.
func (r *sheetsReader) flyleaves(term string, n, to int) bool {
	r.gatherings = append(r.gatherings, Gathering{Leaves: n, Flyleaves: true})
	r.flyleaf += n
	r.ends(term, strings.ToUpper(roman(to)), r.flyleaf)
	return len(r.gatherings) <= mostQuires
}

// mostRoman is the most leaves that a quire with a roman label is taken to have;
// a larger number, or an odd one, is a folio.
const mostRoman = 40

// ends compares the folio with which a run is said to end with that to which its
// leaves come.
func (r *sheetsReader) ends(term, stated string, reached int) {
	if stated == "" {
		return
	}
	said := atoiOnly(stated)
	r.certain = r.certain || said > mostRoman || said > 0 && said%2 != 0
	if said < 0 {
		said = fromRoman(strings.ToLower(stated))
	}
	r.ended = true
	if said != reached {
		r.disagree(term, fmt.Sprintf("ends on f. %d", reached), stated)
	}
}

func (r *sheetsReader) disagree(term, reached, stated string) {
	if r.why == "" {
		r.why = fmt.Sprintf("“%s” %s by its sheets and those before it, each of two leaves, and f. %s is stated; %s", term, reached, stated, foliosRemedy)
	}
}

func digitsAtFront(text string) string { return text[:span(text, "0123456789")] }
