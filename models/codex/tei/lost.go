package tei

import (
	"regexp"
	"strconv"
	"strings"

	"thumbed/models/codex"
	"thumbed/models/codex/catalogue"
)

// Words for the loss of leaves in English, German and French records (common
// practice, no source).
var (
	reLoss = regexp.MustCompile(`(?i)\b(?:wanting|wants|missing|lost|loss|gone|lacking|lacks|lack|excised|removed|cut out|torn out|fehl(?:t|en)|verloren|manquent?|perdus?)\b`)
	reUnit = regexp.MustCompile(`(?i)(?:\b(\p{L}+|\d+)(?: (?:more|original|single|whole|text))? )?\b(leaf|leaves|folios?|fol|bifolium|bifolia|quires?|blatt|blätter|lagen?|feuillets?)\b`)
	reSpot = regexp.MustCompile(`(?i)\b(?:(\p{L}+) )?(after|before|nach|vor|après|avant) (?:le |les |the )?(?:fols?|foll|folios?|folio|ff?|leaf|leaves|bll?|pp?)?\.? ?(\d+[a-z]?(?:(?:,? ?(?:and|und|et|&) ?|, ?)\d+[a-z]?)*)`)
	reEnds = regexp.MustCompile(`(?i)\bat (?:the )?(?:(beginning)(?: and (?:at )?(?:the )?(end))?|(end)|(both ends))\b`)
	reEach = regexp.MustCompile(`\d+`)
	rePart = regexp.MustCompile(`[.;|]\s+(?:\p{Lu}|\(|\d)|[;|]`)
	reNone = regexp.MustCompile(`(?i)\b(?:no|not|without|kein\w*|aucun) (?:\p{L}+ ){0,2}(?:leaf|leaves|folios?|loss|lost|missing|text)|\b(?:rubrics?|headings?|initials?|titles?|capitals?|catchwords?|numbers) (?:is|are|was|were) (?:missing|lost|lacking|wanting)`)
)

// counts are words for numbers of leaves; those that tell none count one at least.
var counts = map[string]int{"a": 1, "an": 1, "one": 1, "single": 1, "two": 2, "tow": 2, "three": 3, "four": 4, "five": 5, "six": 6, "seven": 7, "eight": 8, "nine": 9, "ten": 10, "twelve": 12,
	"ein": 1, "eine": 1, "zwei": 2, "drei": 3, "vier": 4, "un": 1, "deux": 2, "trois": 3, "quatre": 4, "first": 1, "second": 1, "third": 1, "fourth": 1, "fifth": 1, "sixth": 1, "seventh": 1, "eighth": 1}

// gone reads what is said of lost leaves and where they were, such as: two leaves
// are gone after fol. 224; leaves are wanting after foll. 2, 14, and 18.
func (r *reader) gone(text string, line int) {
	from := 0
	for _, end := range append(rePart.FindAllStringIndex(text, -1), []int{len(text), len(text)}) {
		if end[0] > from && !abbreviated(text[:end[0]]) || end[0] == len(text) {
			r.goneIn(text[from:end[0]], line)
			from = end[0]
		}
	}
}

// abbreviated tells whether a text ends in a word for leaf or page that is cut
// short, and not a sentence.
func abbreviated(text string) bool { return reCutShort.MatchString(text) }

var reCutShort = regexp.MustCompile(`(?i)\b(?:fols?|foll|ff?|bll?|pp?|ca|c|cf|e\. ?g|i\. ?e|z\. ?b)$`)

func (r *reader) goneIn(sentence string, line int) {
	unit := reUnit.FindStringSubmatch(sentence)
	if unit == nil || !reLoss.MatchString(sentence) || reNone.MatchString(sentence) {
		return
	}
	n, least := howMany(unit)
	at := catalogue.Statement{Text: strings.Trim(sentence, " .;|"), Line: line}
	for _, found := range reSpot.FindAllStringSubmatchIndex(sentence, -1) {
		spot := reSpot.FindStringSubmatch(sentence[found[0]:found[1]])
		here, unsure := n, least
		if units := reUnit.FindAllStringSubmatch(sentence[:found[0]], -1); units != nil {
			here, unsure = howMany(units[len(units)-1]) // those named last: ten quires are lost, and four leaves after fol. 54
		}
		if stated, ok := counts[strings.ToLower(spot[1])]; ok && !strings.Contains("first second third fourth fifth sixth seventh eighth", strings.ToLower(spot[1])) {
			here, unsure = stated, false
		}
		before := strings.Contains("before vor avant", strings.ToLower(spot[2]))
		for _, number := range reEach.FindAllString(spot[3], -1) {
			folio, _ := strconv.Atoi(number) // figures only
			if folio > 0 && folio < 100000 {
				r.lost = append(r.lost, catalogue.Gap{Statement: at, After: codex.Folio{Number: folio}, Before: before, Leaves: here, Least: unsure})
			}
		}
	}
	for _, spot := range reEnds.FindAllStringSubmatch(sentence, -1) {
		if spot[1]+spot[4] != "" {
			r.lost = append(r.lost, catalogue.Gap{Statement: at, Leaves: n, Least: least})
		}
		if spot[2]+spot[3]+spot[4] != "" {
			r.lost = append(r.lost, catalogue.Gap{Statement: at, AtEnd: true, Leaves: n, Least: least})
		}
	}
}

// howMany reads how many leaves there were; least where there may be more.
func howMany(unit []string) (n int, least bool) {
	number, what := strings.ToLower(unit[1]), strings.ToLower(unit[2])
	n, told := counts[number]
	if stated, err := strconv.Atoi(number); err == nil {
		n, told = stated, true
	}
	switch {
	case strings.HasPrefix(what, "quire") || strings.HasPrefix(what, "lage"):
		return 1, true
	case strings.HasPrefix(what, "bifoli") && told:
		return 2 * n, false
	case told:
		return n, false
	case what == "leaf" || what == "folio" || what == "blatt" || what == "feuillet":
		return 1, false
	}
	return 1, true
}

// reBlankPages finds pages that are said to be blank: Fols. 85v, 87r, 308–310
// blank.
var reBlankPages = regexp.MustCompile(`(?i)(?:^|[.;] )\(?((?:foll|fols?|ff?|bll?)\.? ?[\dixlrv ,–—-]+(?:and [\drv]+)?) ?(?:is |are )?(?:originally )?(?:(?:un)?ruled,? (?:but |otherwise |and )?)?(?:blank|leer)\b`)

// blankIn reads which pages are said to be blank.
func (r *reader) blankIn(text string) {
	for _, found := range reBlankPages.FindAllStringSubmatch(text, -1) {
		if l, ok := catalogue.ParseLocus(strings.ReplaceAll(found[1], " and ", ", ")); ok && !l.Paged {
			r.blank = append(r.blank, l.Ranges...)
		}
	}
}
