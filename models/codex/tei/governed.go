package tei

import (
	"regexp"
	"strings"

	"thumbed/models/codex/catalogue"
)

// A mention is a place in the middle of a sentence and the words on what stands there.
type mention struct {
	locus catalogue.Locus
	words string
}

// How a place stands in a sentence: what leads up to it, and what says that nothing stands
// there now, or that the place is another book's or only compared.
var (
	rePlace  = regexp.MustCompile(`(?:^|[ (,:;])((?i:fols?|foll|folios?|ff?|bll?|pp?)\.? ?(?:\[?\d|[ivxl]+[rv ]\b)|\d{1,4}[rv]\b)`)
	reLedUp  = regexp.MustCompile(`(?i)(?:\b(?:on|at|auf|sur|op|namely,?|including|viz\.?,?|(?:e\. ?g|i\. ?e|z\. ?b)\.,?)|\b` + onPage + ` (?:of|in)|\bin|[:,;(]) ?$`)
	reNotNow = regexp.MustCompile(`(?i)\b(?:see|cf|compare|like|similar|lost|missing|wanting|wants|removed|excised|cut out|stolen|spaces?|room|offsets?|never|no\b[^.]|not|without (?:miniat|pict|illus)|facing|opposite|from (?:fols?|folios?|ff?|pp?|this|that|an?|another|the (?:same|manuscript|book|volume))|descri\w*|inscri\w*|identif\w*|captions?|sign(?:s|ed|ing)|dated|formerly|instructions?|reproduc\w*|plates?)(?:\b|[^\p{L}]|$)`)
	reInside = regexp.MustCompile(`\(([^()]*\p{L}{3}[^()]*)\)`)
)

// onPage is words for parts of a page.
const onPage = `(?:margins?|borders?|foot|head|top|bottom|corner|half|side|recto|verso|part)`

// governed reads the places in the middle of a sentence about decoration, each with the
// words that govern it: those in front of it since the last place, or those that it had
// where they name nothing (full-page miniatures, fols. 31v (Crucifixion), 38v (Nativity);
// a drawing on fol. 3r and a historiated initial, fol. 5v), or those behind it where only
// its part of the page stands in front (in the margin of fol. 86v is a drawing). Only pages
// are taken, and openings, no leaves.
func governed(sentence, kind string) []mention {
	var out []mention
	words, from := "", 0 // the words that govern the next place; where the last list of places ended
	for _, at := range rePlace.FindAllStringSubmatchIndex(sentence, -1) {
		if at[2] < from {
			continue
		}
		before := sentence[from:at[2]]
		listed, rest := listedIn(before, sentence[at[2]:])
		clause := nearestClause(before)
		switch {
		case rePicture.MatchString(kind) && ornament(clause):
			words = "" // ornament in a note on pictures
		case reOnPage.MatchString(strings.TrimSpace(sentence[:at[2]])):
			words = reCopula.ReplaceAllString(rest, "")
		case named(before):
			words = clause
		case !reLedUp.MatchString(before) || words == "" && !rePicture.MatchString(kind):
			words = ""
		case words == "":
			words = before
		}
		words = reLedUp.ReplaceAllString(reOnPageLast.ReplaceAllString(words, ""), "")
		if words == "" || !reLedUp.MatchString(before) && !endsOnPicture(before) || reNotNow.MatchString(reAside.ReplaceAllString(before, "")) || reOtherBook.MatchString(before) {
			words = ""
			continue
		}
		for i := range listed {
			if listed[i].words == strings.TrimSpace(before) {
				listed[i].words = strings.TrimSpace(words)
			}
		}
		if len(listed) > 0 {
			out, from = append(out, listed...), len(sentence)-len(rest)
		}
	}
	return out
}

// nearestClause is the last part of a text, between commas and other marks, that names
// decoration: 57 paintings including a double frontispiece, of a headpiece (f. 15v), and 57
// paintings.
func nearestClause(text string) string {
	from := 0
	for _, at := range reClauseEnd.FindAllStringIndex(text, -1) {
		if named(text[at[1]:]) {
			from = at[1]
		}
	}
	return text[from:]
}

// named tells whether a text names a picture or other decoration; ornament, whether only
// the latter.
func named(text string) bool { return pictured(text) || ornament(text) }

func ornament(text string) bool {
	return !pictured(text) && reOther.MatchString(reWhereOnPage.ReplaceAllString(text, ""))
}

var reClauseEnd = regexp.MustCompile(`[,;:)(] (?:(?:and|or|with|but) )?|\. `)

// reOtherBook finds the shelfmark or the keeper of another book in front of a place in it.
var reOtherBook = regexp.MustCompile(`\b(?:MSS?\.? ?(?:\p{Lu}|\p{Ll}+\.? ?\d|\d)|BnF|BL|Library|Museum|Biblioth|[Cc]od\. )`)

// Words of a part of the page in front of its place, and what joins what stands there.
var (
	reOnPage     = regexp.MustCompile(`^(?i:in|on|at) the (?:\p{L}+ )?` + onPage + `(?: (?:of|on|at))?,?$`)
	reOnPageLast = regexp.MustCompile(`(?: (?:is|are))? (?i:in|on|at) the (?:\p{L}+ )?` + onPage + ` (?:of|on|at|in) ?$`)
	reCopula     = regexp.MustCompile(`^[ ,]*(?:(?:there )?(?:is|are|has|have)(?: been)?(?: drawn| painted| sketched)?(?: in (?:red|black|brown)? ?ink)? )?`)
)

// endsOnPicture tells whether a word for a picture stands directly in front of a place: a
// coloured drawing fol. 35v.
func endsOnPicture(before string) bool { return rePictureLast.MatchString(before) }

var rePictureLast = regexp.MustCompile(`(?i)\b(?:` + pictureNouns + `)\)? $`)

// pictureNouns are nouns for pictures that nothing else is called by.
const pictureNouns = `miniatures?|drawings?|pictures?|illustrations?|paintings?|portraits?|sketch(?:es)?`

// reSubject finds the first noun for a picture in what is said of decoration, with the words
// in front of it.
var reSubject = regexp.MustCompile(`(?i)^((?:[\p{L}\d-]+,? ){0,5}?)(?:[\p{L}]+-)?(?:` + pictureNouns + `)\b`)

// reNoSubject finds words in front of such a noun which make another one the subject:
// initials with drawings, spaces for miniatures; and what says that there is none.
var reNoSubject = regexp.MustCompile(`(?i)\b(?:of|for|with|in|on|by|to|from|under|around|round|surrounding|enclosing|containing|that|which|see|cf|no|not|never|spaces?|captions?|titles?|frames?|borders?|initials?)\b`)

// aboutPictures tells whether a text has a picture for its subject: a small square
// miniature of the author; not decorated, only a drawing.
func aboutPictures(words string) bool {
	if at := reExcept.FindStringIndex(words); at != nil {
		words = words[at[1]:]
	}
	if _, rest, ok := catalogue.LeadingLocus(words); ok {
		words = rest
	}
	found := reSubject.FindStringSubmatch(strings.TrimLeft(words, " ,:;"))
	return found != nil && !reNoSubject.MatchString(found[1]) && !reScribbled.MatchString(words)
}

// reExcept finds what parts an exception from a text that says that there is nothing.
var reExcept = regexp.MustCompile(`(?i)^(?:not decorated|no decoration|undecorated)\b,? ?(?:but|except|apart from|other than|only|save)?(?: for)? ?`)

// ofPicture tells whether words name a picture before any other decoration.
func ofPicture(words string) bool {
	return pictured(words) && decorationOf("", "", words) == ""
}

// reWhereOnPage finds where on its page a thing stands, which is no decoration: in the
// lower border, a portrait.
var reWhereOnPage = regexp.MustCompile(`(?i)\b(?:in|on|at|within|inside) (?:the |an? )?(?:\p{L}+ )?(?:borders?|margins?|frames?|initials?)\b`)

// sentences parts a text where one sentence ends and another begins.
func sentences(text string) []string {
	var out []string
	from := 0
	for _, at := range reSentence.FindAllStringSubmatchIndex(text, -1) {
		if end := at[3]; !reAbbreviated.MatchString(text[from:end]) {
			out, from = append(out, text[from:end]), at[4]
		}
	}
	return append(out, text[from:])
}

// reAbbreviated finds a word cut short, whose full stop ends no sentence (common practice,
// no source).
var reAbbreviated = regexp.MustCompile(`(?i)(?:\b(?:sts?|ss|fols?|foll|ff?|bll?|pp?|cf|ca?|no|nos|art|vol|pl|pls|cod|ms|mss|bibl|esp|incl|ed|see|i\. ?e|e\. ?g|z\. ?b)|[^\p{L}\d)]\p{L}|\b[ivxlc]+)\.$`)

// reNumberAlone finds the next page of a list without a word for leaf: 38 b, 41a, and 50r.
var reNumberAlone = regexp.MustCompile(`^\d{1,4} ?[abrv]\b`)

// listedIn reads a list of places, the words before it being those of each that has none
// of its own.
func listedIn(before, rest string) (out []mention, behind string) {
	for {
		at := strings.TrimLeft(rest, ",;:) &")
		if at = strings.TrimPrefix(at, "and "); reNumberAlone.MatchString(at) {
			at = "fol. " + at
		}
		l, behind, ok := catalogue.LeadingLocus(at)
		if !ok {
			return out, rest
		}
		words := strings.TrimSpace(before)
		if inside := reInside.FindStringSubmatch(at[:len(at)-len(behind)]); inside != nil {
			words = inside[1]
		} else if inside := reInside.FindStringSubmatchIndex(behind); inside != nil && inside[0] == 0 {
			words, behind = behind[inside[2]:inside[3]], behind[inside[1]:]
		}
		out, rest = append(out, mention{l, words}), behind
	}
}
