package catalogue

import (
	"regexp"
	"slices"
	"strconv"
	"strings"

	"thumbed/models/codex"
)

// A Locus is a place as a description writes it.
type Locus struct {
	Ranges []codex.Range
	Paged  bool // in numbers of pages, not of leaves
	sided  bool // with recto or verso written
	bare   bool // with a leaf without its side
}

var (
	rePaged     = regexp.MustCompile(`^(?i:páginas|página|paginas|pagine|pagina|pages|page|pagg|pag|pgs|pg|pp|p|seiten|seite|sida|side|ss|s|blz)\.? ?(\d.*)$`)
	rePages     = regexp.MustCompile(`^(\d{1,5})(?: ?[-–—] ?(\d{1,5}))?$`)
	reBare      = regexp.MustCompile(`\d\]? ?(?:[-–—,;&)]|and\b|et\b|und\b|$)`)
	reSided     = regexp.MustCompile(`[\divxl*\]] ?(?i:[rv]|[ʳᵛ])|(?i:recto|verso)`)
	reSpaces    = regexp.MustCompile(`\s+`)
	reBlankTail = regexp.MustCompile(`[;,] ?(?:(?:fols?|foll|ff?|bll?)\.? ?)?([\divxl]+[rv]{0,2}(?: ?[-–—,] ?\d*[rv]{0,2})*) ?(?:blank|leer)$`)  // 1r–5v; 6r blank
	reQuireOf   = regexp.MustCompile(`^(?:\((?i:quires?|lagen?|part|cahiers?) [^()]*\) |\[[^\[\]]*\b(?i:occup(?:y|ies)|quires?)\b[^\[\]]*\] ?)`) // (quires 11–12) (fols. 66–81v)
)

// besides is what places have besides leaves and sides, or write otherwise than
// [codex.ParseExtent] reads it, in the order in which it is taken off or rewritten.
var besides = []struct {
	over *regexp.Regexp
	by   string
}{
	{regexp.MustCompile(`^(?:Add|Or|MSS?|Ms|Cod|Rich|Harl|Arundel)\b[\p{L}. ]*\d[\d,. ]*, ((?i:fols?|foll|ff?)\b.*)$`), "$1"},                                                 // a shelfmark in front: Add. 7,153, fol. 12
	{regexp.MustCompile(`[‘'](\d+) ?[-–/] ?\d{1,3}[’']|(\d)/\d{1,2}( ?[rv])`), "$1$2$3"},                                                                                      // a leaf with two numbers: 135/6r, ‘135–6’r
	{regexp.MustCompile(`^(?i:incipit) (?:found )?on (?i:folio|fol\.?) (\d+ ?[abrv]?)[.,]? (?:and )?(?i:explicit) (?:found )?on (?i:folio|fol\.?) (\d+ ?[abrv]?)$`), "$1-$2"}, // first and last words
	{reBlankTail, ""}, // blank pages behind it
	{regexp.MustCompile(`(\d[rvab]?)(?: ?[(\[]\p{L}[\p{L} .]{2,}[)\]])$`), "$1"},                                                                            // a word of what stands there: 6v–130r (matn)
	{regexp.MustCompile(`(\d)[(\[](?:i{1,3}|\d)[)\]]([rv])`), "$1$2"},                                                                                       // a number given twice: 302(i)r
	{regexp.MustCompile(`(\d ?[rv]{0,2}(?:[-–]v)?),?(?: in(?: the)?)?(?: \p{L}+)? margins?\b`), "$1"},                                                       // 9v lower margin
	{regexp.MustCompile(`((?:^|,) ?)\((\d+[rv]{0,2})\)`), "$1$2"},                                                                                           // one of a list in brackets: 38, (17rv), 39
	{regexp.MustCompile(`^([ivxl]+)-(r|recto|verso)$`), "$1$2"},                                                                                             // iv-r
	{regexp.MustCompile(`([rv])\(?(?:ecto|erso)\)?`), "$1"},                                                                                                 // ii r(ecto)
	{regexp.MustCompile(`([rv])\.( ?[-–—,;])`), "$1$2"},                                                                                                     // a side cut short: 1r.–2v
	{regexp.MustCompile(`(\d) ([ab])( ?(?:[-–—,;]|to )|$)`), "$1$2$3"},                                                                                      // a letter apart from its number: 28 a
	{regexp.MustCompile(`(\d) ?\([ar]\)\d{0,2}`), "${1}r"},                                                                                                  // the side, and a line, in brackets: f. 110(a)
	{regexp.MustCompile(`(\d) ?\([bv]\)\d{0,2}`), "${1}v"},                                                                                                  // f. 110(b)
	{regexp.MustCompile(`(\d ?[rv]?) ?[(\[]\d{1,4} ?[rv]?(?:[-–—]\d{1,4} ?[rv]?)?[)\]]`), "$1"},                                                             // a second numbering: 2r (31r)
	{regexp.MustCompile(`,? ?\b(?i:lines|line|lin|ll|l|zeile|z)\.? ?\d+(?: ?[-–] ?\d+\b)?|([rv][a-d]?)[:/]\d+|(\d[rvab])\.\d+(?: ?[-–]+ ?\d+\b)?`), "$1$2"}, // lines
	{regexp.MustCompile(`(\d ?[rv])/?[a-d]\d{0,3}\b(?: ?[-–] ?[a-d]\b)?`), "$1"},                                                                            // columns
	{regexp.MustCompile(`(\d[ab]?|[rv]°?) ?(?:\b(?:to|through|bis|tot|au|a|al|hasta|usque ad)|à) ((?i:fols?|foll|ff?|bll?|cc?)\.? ?)?(\[?\d)`), "$1-$3"},    // words between the ends: 13r to fol. 25v
	{regexp.MustCompile(`([-–—] ?)(?i:fols?|foll|ff?|bll?|cc?)\. ?`), "$1"},                                                                                 // a word for leaf again: 13r–fol. 25v
}

// longestLocus is the longest text that is looked at as a place, in bytes.
const longestLocus = 400

// ParseLocus reads a place as catalogues write it, in English, Latin, French,
// German or Italian: fols. 13r–25v; Bl. 13–26; cc. 13r-25v; ff. 13ra, l. 4 –
// 25vb; pp. 3–12. Lines and columns are passed over, and a number cut short at
// the second end (113r–15v) is filled in. See [codex.ParseExtent].
func ParseLocus(text string) (Locus, bool) {
	if len(text) > longestLocus {
		return Locus{}, false
	}
	text = tidy(text)
	if paged := rePaged.FindStringSubmatch(text); paged != nil {
		return parsePages(paged[1])
	}
	whole := text
	for _, b := range besides {
		text = b.over.ReplaceAllString(text, b.by)
	}
	extent, err := codex.ParseExtent(text)
	if err != nil {
		return Locus{}, false
	}
	for i := range extent.Ranges {
		extent.Ranges[i] = filledIn(extent.Ranges[i])
	}
	if last := &extent.Ranges[len(extent.Ranges)-1].To; blankVerso(whole, *last) {
		last.Side = codex.Recto // fols. 4–105; 105v blank
	}
	return Locus{Ranges: extent.Ranges, sided: reSided.MatchString(text), bare: reBare.MatchString(text)}, true
}

// BlankBehind is the blank pages that a place names behind it, such as 6r in 1r–5v; 6r
// blank.
func BlankBehind(text string) []codex.Range {
	found := reBlankTail.FindStringSubmatch(tidy(text))
	if found == nil {
		return nil
	}
	l, _ := ParseLocus("fols. " + found[1])
	return l.Ranges
}

// blankVerso tells whether a place says behind it that the verso of its last leaf is blank.
func blankVerso(text string, last codex.PageLabel) bool {
	found := reBlankTail.FindStringSubmatch(text)
	return found != nil && last.Side == codex.Verso && strings.HasPrefix(found[1], last.String()) && !strings.Contains(text[:len(text)-len(found[0])], last.String())
}

// reQuireAfter finds what is said of leaves in brackets behind their place: (quire 34).
var reQuireAfter = regexp.MustCompile(` \((?i:quires?|flyleaf|flyleaves|fly-leaves|endleaves)\b[^()]*\)$`)

// tidy takes off what stands around a place: brackets, full stops, spaces.
func tidy(text string) string {
	text = strings.TrimSpace(reSpaces.ReplaceAllString(text, " "))
	text = strings.TrimRight(strings.ReplaceAll(strings.ReplaceAll(text, " (?)", ""), "(?)", ""), ".:;, ")
	text = reQuireOf.ReplaceAllString(text, "")
	text = reQuireAfter.ReplaceAllString(text, "")
	if strings.HasPrefix(text, "(") && strings.HasSuffix(text, ")") {
		text = strings.TrimSpace(text[1 : len(text)-1])
	}
	if strings.HasSuffix(text, "]") && !strings.Contains(text, "[") {
		text = text[:len(text)-1] // closed, and never opened
	}
	if strings.HasPrefix(text, "(") && strings.Count(text, "(") > strings.Count(text, ")") {
		text = text[1:]
	}
	return text
}

// filledIn gives a second number that was cut short the figures of the first:
// 113r–15v is 113r–115v.
func filledIn(r codex.Range) codex.Range {
	from, to := r.From.Folio, r.To.Folio
	if from.Roman || to.Roman || from.Suffix != "" || to.Number >= from.Number {
		return r
	}
	first, second := strconv.Itoa(from.Number), strconv.Itoa(to.Number)
	if n, err := strconv.Atoi(first[:len(first)-len(second)] + second); err == nil && n > from.Number {
		r.To.Folio.Number = n
	}
	return r
}

// parsePages reads numbers of pages.
func parsePages(text string) (Locus, bool) {
	l := Locus{Paged: true}
	for _, part := range strings.FieldsFunc(text, func(r rune) bool { return r == ',' || r == ';' }) {
		match := rePages.FindStringSubmatch(strings.TrimSpace(part))
		if match == nil {
			return Locus{}, false
		}
		last := match[2]
		if last == "" {
			last = match[1]
		}
		first, _ := strconv.Atoi(match[1]) // at most five figures
		second, _ := strconv.Atoi(last)
		if first < 1 || second < first {
			return Locus{}, false
		}
		l.Ranges = append(l.Ranges, codex.Range{From: OfPage(first), To: OfPage(second)})
	}
	return l, len(l.Ranges) > 0
}

// String is the place as an extent.
func (l Locus) String() string { return codex.Extent{Ranges: l.Ranges}.String() }

// First is the first page of the place.
func (l Locus) First() Locus {
	l.Ranges = []codex.Range{{From: l.Ranges[0].From, To: l.Ranges[0].From}}
	return l
}

// And is the place with another one after it.
func (l Locus) And(other Locus) Locus {
	return Locus{Ranges: append(l.Ranges[:len(l.Ranges):len(l.Ranges)], other.Ranges...), Paged: l.Paged || other.Paged, sided: l.sided || other.sided, bare: l.bare || other.bare}
}

// Lone tells whether the place is one page or one leaf.
func (l Locus) Lone() bool {
	return len(l.Ranges) == 1 && l.Ranges[0].From.Folio == l.Ranges[0].To.Folio
}

// Vaguer tells whether the place names the leaves of another without the sides, or
// the letters, that the other has.
func (l Locus) Vaguer(other Locus) bool {
	if l.sided || l.Paged || len(l.Ranges) != 1 || len(other.Ranges) != 1 {
		return false
	}
	lettered := other.sided
	for i, folio := range l.Ends() {
		exact := other.Ends()[i]
		if folio.Suffix != "" || folio.Roman || exact.Roman || folio.Number != exact.Number {
			return false
		}
		lettered = lettered || exact.Suffix != ""
	}
	return lettered && !other.Backward()
}

// Backward tells whether a range of the place runs backward by its numbers: 355r–353v,
// 353br–353v.
func (l Locus) Backward() bool {
	for _, r := range l.Ranges {
		from, to := r.From.Folio, r.To.Folio
		from.Supplied, to.Supplied = false, false
		if from.Roman == to.Roman && (to.Number < from.Number || to == from && r.To.Side < r.From.Side || to.Number == from.Number && len(from.Suffix) == 1 && from.Suffix > to.Suffix) {
			return true
		}
	}
	return false
}

// OnePage tells whether the place is a single page.
func (l Locus) OnePage() bool { return len(l.Ranges) == 1 && l.Ranges[0].From == l.Ranges[0].To }

// Ends are the leaves at the ends of the place's ranges.
func (l Locus) Ends() []codex.Folio {
	var ends []codex.Folio
	for _, r := range l.Ranges {
		ends = append(ends, r.From.Folio, r.To.Folio)
	}
	return ends
}

// Sided tells whether the place has a side written, or is in pages, which are sides.
func (l Locus) Sided() bool { return l.sided || l.Paged }

// AllSided tells whether every leaf of the place has its side written.
func (l Locus) AllSided() bool { return l.sided && !l.bare }

// LettersAsSides is the place with the letters a and b read as recto and verso.
func (l Locus) LettersAsSides() Locus {
	sides := map[string]codex.Side{"a": codex.Recto, "b": codex.Verso}
	l.Ranges = slices.Clone(l.Ranges)
	for i := range l.Ranges {
		for _, end := range []*codex.PageLabel{&l.Ranges[i].From, &l.Ranges[i].To} {
			if side, lettered := sides[end.Folio.Suffix]; lettered {
				end.Folio.Suffix, end.Side, l.sided = "", side, true
			}
		}
	}
	return l
}

// OfPage gives the side of a leaf that page n, from 1, of a book numbered by
// pages is: odd pages are rectos. The leaf's number is not on it, so it is
// supplied.
func OfPage(n int) codex.PageLabel {
	side := codex.Recto
	if n%2 == 0 {
		side = codex.Verso
	}
	return codex.PageLabel{Folio: codex.Folio{Number: (n + 1) / 2, Supplied: true}, Side: side}
}

// AsPages reads a place that is written like numbers of leaves, without sides,
// as numbers of pages; false where it has sides or letters.
func (l Locus) AsPages() ([]codex.Range, bool) {
	out := make([]codex.Range, len(l.Ranges))
	for i, r := range l.Ranges {
		from, to := r.From.Folio, r.To.Folio
		if l.sided || from.Roman || to.Roman || from.Suffix+to.Suffix != "" {
			return nil, false
		}
		out[i] = codex.Range{From: OfPage(from.Number), To: OfPage(to.Number)}
	}
	return out, true
}

// reLeading tells whether a text begins with a word for leaf or page and a
// number.
var reLeading = regexp.MustCompile(`^[(\[]?(?:(?i:fols?|foll|folios?|folia|fls?|ff?|bll?|blatt|cc?|hh?|pp?|ss?)\.? ?[\[\divxl]|\d{1,4} ?[rv](?:\b|°))`)

// What may stand before a place at the front of a text: its number in a list, or a word
// such as at.
var (
	reInList = regexp.MustCompile(`^(?:[ivx]{1,5}|\d{1,2}|[a-h])\) `)
	reAt     = regexp.MustCompile(`^(?i:at|on|auf|sur) `)
)

// reOfWhat finds a word in brackets behind a place.
var reOfWhat = regexp.MustCompile(`^\(\p{Lu}\p{L}{2,}\)\W?$`)

// mostLeading is how many words a place at the front of a text may have.
const mostLeading = 12

// LeadingLocus reads a place at the front of a text, such as “ff. 13r–25v
// Hours of the Virgin”, “(Bl. 3v) Kalender” or “(fol. 19r, Obsecro te) The Virgin”,
// and gives the rest of the text.
func LeadingLocus(text string) (l Locus, rest string, ok bool) {
	text = strings.TrimLeft(reSpaces.ReplaceAllString(text, " "), " —–")
	text = reInList.ReplaceAllString(text, "")
	at := reAt.ReplaceAllString(text, "")
	if !reLeading.MatchString(at) {
		return Locus{}, text, false
	}
	words := strings.SplitN(at, " ", mostLeading+1)
	for n := min(mostLeading, len(words)); n > 0; n-- {
		if reOfWhat.MatchString(words[n-1]) {
			continue // (Lauds), which is of what stands there
		}
		place := strings.Join(words[:n], " ")
		l, ok := ParseLocus(place)
		if !ok && (place[0] == '(' || place[0] == '[') {
			l, ok = ParseLocus(place[1:])
		}
		if ok && !l.strays() {
			return l, strings.Join(words[n:], " "), true
		}
	}
	return Locus{}, text, false
}

// strays tells whether letters behind the number of a leaf were read as another
// leaf: fol. 3v, la Trinité.
func (l Locus) strays() bool {
	return slices.ContainsFunc(l.Ends(), func(end codex.Folio) bool {
		return end.Roman && (end.Suffix != "" || !l.Ranges[0].From.Folio.Roman)
	})
}
