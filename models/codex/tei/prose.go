package tei

import (
	"regexp"
	"slices"
	"strings"

	"thumbed/models/codex"
	"thumbed/models/codex/catalogue"
)

// elsewhere reads the pictures that are told outside the notes on decoration, in what is
// said of additions, of texts and of the book's state: rude drawings of birds on foll.
// 38b and 41a; fol. 141v is occupied by a miniature. A page that a note on decoration
// gives a picture has it already.
func (r *reader) elsewhere(desc *node) []*catalogue.Picture {
	var found []*catalogue.Picture
	var gather func(n *node)
	gather = func(n *node) {
		switch {
		case n.is("decoDesc", "decoNote", "bindingDesc", "history", "additional", "incipit", "explicit", "rubric", "colophon"):
			return
		case !n.is("p", "note", "item", "ab", "summary", "condition", "additions") || n.find("p") != nil || n.find("list") != nil || n.find("note") != nil || n.find("msItem") != nil:
			for _, child := range n.nodes {
				gather(child)
			}
			return
		}
		for sentence := range strings.SplitSeq(reSentence.ReplaceAllString(n.words(), "$1\n$2"), "\n") {
			if reNotNow.MatchString(sentence) || reScribbled.MatchString(sentence) {
				continue
			}
			mentions := standing(sentence)
			if rePictured.MatchString(sentence) {
				mentions = append(mentions, named(sentence, "")...)
			}
			for _, m := range mentions {
				picture := &catalogue.Picture{Line: n.line, Subject: catalogue.Short(subject(m.words), 200), InPassing: true}
				r.hold(pending{line: n.line, what: picture.What(), locus: m.locus, into: &picture.Loci})
				found = append(found, picture)
			}
		}
	}
	gather(desc)
	return found
}

// Words for pictures that are told of outside the notes on decoration, in front of their
// places; for what readers scribbled; and where sentences part there.
var (
	rePictured  = regexp.MustCompile(`(?i)\b(?:drawings?|miniatures?|pictures?|illustrations?|paintings?)\b(?:[^.;]|etc\.){0,60}?(?:\bon\b|[,:(]) ?(?:fols?|foll|folios?|ff?)\.? ?\d`)
	reScribbled = regexp.MustCompile(`(?i)\b(?:crude|doodles?|scribbl\w+|exercises?|trials?|pencil|pen and ink by|indicate|study|studies|reproduc\w+)\b`)
	reSentence  = regexp.MustCompile(`([.;]) (\p{Lu})`)
	reStanding  = regexp.MustCompile(`(?i)(?:^|\b(?:on|at|margin) |[,:(] ?)((?:fols?|foll|ff?)\. ?\d{1,4} ?[rvab])\b,? (?:(?:there )?(?:is|are|has|have|bears?|contains?|shows?)(?: occupied by| filled with)? )?(?:an? |the )?(?:[\p{L}-]+ ){0,3}?(?:drawings?|miniatures?|pictures?|illustrations?|paintings?)\b`)
)

// standing reads a page in front of the picture on it: on fol. 15a a drawing of a
// palm-branch; fol. 141v is occupied by a miniature.
func standing(sentence string) []mention {
	var out []mention
	for _, found := range reStanding.FindAllStringSubmatchIndex(sentence, -1) {
		if l, ok := catalogue.ParseLocus(sentence[found[2]:found[3]]); ok {
			out = append(out, mention{l, strings.TrimLeft(sentence[found[3]:], ", ")})
		}
	}
	return out
}

// reUnspaced finds a comma behind a place with no space: 76v,Psalm 80.
var reUnspaced = regexp.MustCompile(`(\d[rvab]?),(\p{L}{3})`)

// inProse reads the pictures whose places stand in words: at the front of a piece
// of the prose (14v: David; fol. 20r, the Visitation), in brackets, or at its end.
func (r *reader) inProse(n *node, kind, whole string) []*catalogue.Picture {
	var pictures []*catalogue.Picture
	add := func(l catalogue.Locus, words string) {
		picture := made(n.line, kind, whole, strings.TrimSpace(words))
		r.hold(pending{line: n.line, what: picture.What(), locus: l, into: &picture.Loci})
		pictures = append(pictures, picture)
	}
	before := ""
	for _, piece := range pieces(reUnspaced.ReplaceAllString(n.words(), "$1, $2")) {
		if l, words, ok := catalogue.LeadingLocus(piece); ok {
			if words = strings.TrimLeft(words, ":,.)–— "); words == "" {
				words = before
			}
			add(l, words)
			for _, n := range bracketed(words, kind+" "+whole) {
				add(n.locus, n.words)
			}
			continue
		}
		before = piece
		if l, words, ok := trailingLocus(piece); ok {
			add(l, words)
			continue
		}
		if head, words, found := strings.Cut(piece, ": "); found {
			if l, text, ok := trailingLocus(head); ok { // Hours of the Virgin, fol. 28r: Annunciation
				add(l, text+": "+words)
				continue
			}
		}
		if named := append(bracketed(piece, kind+" "+whole), named(piece, kind)...); named != nil {
			for _, n := range named {
				add(n.locus, n.words)
			}
			continue
		}
		if reMention.MatchString(piece) {
			r.unread = append(r.unread, catalogue.Entry{Line: n.line, What: "the decoration “" + catalogue.Short(strings.TrimSpace(piece), 120) + "”", Words: "it names leaves in the middle of a sentence, which is not read; enter it in pages.csv"})
		}
	}
	return pictures
}

// A mention is a place in the middle of a sentence and the words on what stands there.
type mention struct {
	locus catalogue.Locus
	words string
}

// Words that lead up to the places of pictures in the middle of a sentence, and those
// that say that none stands there now.
var (
	reLedUp  = regexp.MustCompile(`(?i)(?:\b(?:on|at|auf|sur)|\b(?:e\. ?g|i\. ?e|z\. ?b|viz)\.,?|\bnamely,?|[:,(]) ((?:fols?|foll|folios?|ff?|bll?|pp?)\.? ?\[?\d)`)
	reNotNow = regexp.MustCompile(`(?i)\b(?:see|cf|compare|like|similar|lost|missing|wanting|wants|removed|excised|cut out|stolen|spaces?|room|offsets?|never|no|not|without|before|after|between|facing|opposite|from (?:fols?|folios?|ff?|pp?|this|that|an?|another|the (?:same|manuscript|book|volume))|descri\w*|inscri\w*|identif\w*|captions?|sign(?:s|ed|ing)|dated)\b`)
	reInside = regexp.MustCompile(`\(([^()]*\p{L}{3}[^()]*)\)`)
)

// named reads the places in the middle of a sentence about pictures, one after the
// other: full-page miniatures, fols. 31v (Crucifixion), 38v (Nativity); a miniature of
// the Crucifixion on p. 149 with figures in ink. Only pages are taken, and openings, no
// leaves.
func named(piece, kind string) []mention {
	for _, led := range reLedUp.FindAllStringSubmatchIndex(piece, -1) {
		before := piece[:led[0]]
		picture := rePicture.MatchString(before) || reHistoriated.MatchString(kind) && reAnInitial.MatchString(before) || rePicture.MatchString(kind) && !reOther.MatchString(before)
		if picture && !reNotNow.MatchString(reAside.ReplaceAllString(before, "")) {
			return listedIn(before, piece[led[2]:])
		}
	}
	return nil
}

// reAnInitial finds one initial, which in a note on historiated ones has a picture.
var reAnInitial = regexp.MustCompile(`(?i)\binitial\W*$`)

// reBracketed finds a page at the end of what is said in brackets: John (pointing to the
// text, fol. 85r).
var reBracketed = regexp.MustCompile(`\(([^()]*?\p{L}{3}[^()]*?),? ((?:fols?|ff?|bll?)\. ?\d{1,4} ?[rv])\)`)

// bracketed reads the pages of pictures that are each told in brackets.
func bracketed(piece, kind string) []mention {
	var out []mention
	for _, found := range reBracketed.FindAllStringSubmatch(piece, -1) {
		if l, ok := catalogue.ParseLocus(found[2]); ok && (rePicture.MatchString(kind) || reHistoriated.MatchString(kind)) && !reNotNow.MatchString(found[1]) {
			out = append(out, mention{l, found[1]})
		}
	}
	return out
}

// reLastLettered finds the last of a list of leaves with letters: 38 b, 41 a, and 50 a.
var reLastLettered = regexp.MustCompile(`^\d{1,4} ?[ab]\W*$`)

// listedIn reads a list of places, the words before it being those of each that has none
// of its own.
func listedIn(before, rest string) []mention {
	var out []mention
	for {
		at := strings.TrimLeft(rest, ",;:) &")
		if at = strings.TrimPrefix(at, "and "); reLastLettered.MatchString(at) {
			at = "fol. " + at
		}
		l, behind, ok := catalogue.LeadingLocus(at)
		if !ok {
			return out
		}
		for _, place := range l.Ranges {
			lettered := place.From.Folio == place.To.Folio && strings.Contains("ab", place.From.Folio.Suffix) && place.From.Folio.Suffix != "" // perhaps a side
			if place.From != place.To && !lettered && !opening(place) {
				return out
			}
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

// opening tells whether a place is a verso and the recto that faces it.
func opening(r codex.Range) bool {
	from, to := r.From.Folio, r.To.Folio
	return r.From.Side == codex.Verso && r.To.Side == codex.Recto && to.Number == from.Number+1 && to.Roman == from.Roman
}

// reCut finds where in prose a place begins what is said of it: behind a
// semicolon, a colon, a full stop or a bracket, or in front of a colon.
var reCut = regexp.MustCompile(`(?:[;.:] ?\(?|\) ?|\()(?:\d{1,2}\) )?(?:(?i:fols?|foll|ff?|bll?)\. ?(?:\[?\d|[ivxl]+[rv]\b)|\d{1,4}[rv]\b)|;`)

// pieces parts prose at its semicolons and in front of the places that begin what
// is said of them.
func pieces(words string) []string {
	var out []string
	from := 0
	for _, cut := range reCut.FindAllStringIndex(words, -1) {
		at := cut[0]
		if words[at] != '(' {
			at++ // the mark is of the piece before
		}
		if at > from && !abbreviated(strings.TrimRight(words[from:at], ".")) && !reCompared.MatchString(words[from:at]) {
			out = append(out, words[from:at])
			from = at
		}
	}
	out = append(out, words[from:])
	for i := range out {
		out[i] = strings.Trim(out[i], " ;")
	}
	return slices.DeleteFunc(out, func(piece string) bool { return piece == "" })
}

// reCompared finds what leads up to a place that something is only compared with.
var reCompared = regexp.MustCompile(`(?i)\b(?:see|cf\.?|compare|like|than|as on|similar to|vgl\.?|voir) ?\(?$`)

// reMention finds a leaf that is named in prose.
var reMention = regexp.MustCompile(`(?i)\b(?:fols?|foll|ff?|bll?|cc?|hh?)\.? ?\d`)

// reOn parts words from the places behind them, which a word such as on or a
// mark must lead up to: what is said to be like fol. 12r does not stand there.
var reOn = regexp.MustCompile(`(?i)^([^.;]*?)(?:\b(?:on|auf|sur|at|op)\b|[:(,])\s*((?:ff?|fols?|foll|bl)\b.*)$`)

// trailingLocus reads the places at the end of a text, and the words before
// them; false where anything follows them.
func trailingLocus(text string) (l catalogue.Locus, words string, ok bool) {
	match := reOn.FindStringSubmatch(strings.TrimSpace(text))
	if match == nil {
		return l, "", false
	}
	l, rest, ok := catalogue.LeadingLocus(match[2])
	return l, strings.TrimSpace(match[1]), ok && strings.Trim(rest, " .,)") == ""
}
