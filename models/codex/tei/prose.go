package tei

import (
	"cmp"
	"regexp"
	"slices"
	"strings"

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
				mentions = append(mentions, slices.DeleteFunc(governed(sentence, ""), func(m mention) bool { return !ofPicture(m.words) })...)
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
	ornamental := func(l catalogue.Locus, words string) {
		ornament := &catalogue.Picture{Line: n.line, Decoration: decorationOf("", "", words)}
		r.hold(pending{line: n.line, what: ornament.What(), locus: l, into: &ornament.Loci})
		pictures = append(pictures, ornament)
	}
	before, carried := "", false // what was said before, and whether a place was read in it
	for _, piece := range pieces(reUnspaced.ReplaceAllString(n.words(), "$1, $2")) {
		if l, words, ok := catalogue.LeadingLocus(piece); ok {
			words = strings.TrimLeft(words, ":,.)–— ")
			switch clause := nearestClause(before); {
			case piece[0] != '(' || pictured(words) || strings.HasSuffix(before, ":"):
			case words == "" && ornament(clause) && !reHistoriated.MatchString(kind+whole):
				ornamental(l, clause) // in brackets behind it
				continue
			case kind == "" && before != "" && !named(words) && !named(before) && !carried:
				continue // behind what is no decoration
			}
			if clause := nearestClause(before); piece[0] == '(' && kind == "" && named(clause) && (reGoesOn.MatchString(words) || rePlain.MatchString(words)) {
				add(l, clause) // in brackets behind it, where the sentence goes on
				before, carried = strings.TrimPrefix(words, "and "), true
				continue
			}
			words = cmp.Or(words, before)
			add(l, words)
			for _, n := range bracketed(words, kind+" "+whole) {
				add(n.locus, n.words)
			}
			before, carried = words, true
			continue
		}
		before, carried = piece, false
		for _, sentence := range sentences(piece) {
			mentions := inSentence(sentence, kind, whole)
			for _, m := range mentions {
				add(m.locus, m.words)
			}
			if mentions == nil && reMention.MatchString(sentence) {
				r.unread = append(r.unread, catalogue.Entry{Line: n.line, What: "the decoration “" + catalogue.Short(strings.TrimSpace(sentence), 120) + "”", Words: "it names leaves in the middle of a sentence, which is not read; enter it in pages.csv"})
			}
		}
	}
	return pictures
}

// inSentence reads the places of a sentence that does not begin with one: at its end, in
// front of a colon, in brackets or in its middle.
func inSentence(sentence, kind, whole string) []mention {
	if l, words, ok := trailingLocus(sentence); ok {
		return []mention{{l, words}}
	}
	if head, words, found := strings.Cut(sentence, ": "); found {
		if l, text, ok := trailingLocus(head); ok { // Hours of the Virgin, fol. 28r: Annunciation
			return []mention{{l, text + ": " + words}}
		}
	}
	return append(bracketed(sentence, kind+" "+whole), governed(sentence, kind)...)
}

// reBracketed finds a page at the end of what is said in brackets: John (pointing to the
// text, fol. 85r).
var reBracketed = regexp.MustCompile(`\(([^()]*?\p{L}{3}[^()]*?),? ((?:fols?|ff?|bll?)\. ?\d{1,4} ?[rv])\)`)

// bracketed reads the pages of pictures that are each told in brackets.
func bracketed(piece, kind string) []mention {
	var out []mention
	historiated := reHistoriated.MatchString(kind)
	if !historiated && !rePicture.MatchString(kind) {
		return nil
	}
	for _, at := range reBracketed.FindAllStringSubmatchIndex(piece, -1) {
		words := piece[at[2]:at[3]]
		if l, ok := catalogue.ParseLocus(piece[at[4]:at[5]]); ok && !reNotNow.MatchString(words) && (historiated || !ornament(nearestClause(piece[:at[0]]))) {
			out = append(out, mention{l, words})
		}
	}
	return out
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

// reGoesOn finds that a sentence goes on behind a place in brackets: a headpiece (f. 1v),
// and two paintings (ff. 2v-3r), with gold.
var reGoesOn = regexp.MustCompile(`^(?:and|or) (?:two|three|four|a|an|the|\d+|\p{L}+s)\b`)

// rePlain finds words that name nothing and only say how a thing is: with gold; unfinished.
var rePlain = regexp.MustCompile(`^(?:with|in|on|by|un|all|both|each)\b?[^:]{0,40}$`)

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
