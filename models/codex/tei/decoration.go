package tei

import (
	"cmp"
	"regexp"
	"slices"
	"strings"

	"thumbed/models/codex"
	"thumbed/models/codex/catalogue"
)

// Words for pictures in the type of a decoNote, or in its text where it has no
// type, in five languages (common practice, no source). Historiated initials
// are pictures.
var (
	rePicture = regexp.MustCompile(`(?i)miniat|pictur|illustr|histori|full.?page|ganzseit|pleine page|portrait|drawing|zeichnung|dessin|disegno|\bbild|peinture|figur|scene|szene|vignette|painting|\bimage`)
	reOther   = regexp.MustCompile(`(?i)border|bordure|rand|decorat|initial|line.?fill|rubric|capital|frame|margin|penwork|fleuron|flourish|ḥarag|\bharag|head.?piece|tail.?piece|diagram`)
)

// reLoose finds types of a decoNote that say nothing of what there is.
var reLoose = regexp.MustCompile(`(?i)^(?:|other|decoration|deco|illuminations?|ornament(?:ation)?|general|misc\w*|note)$`)

// pictures reads the notes on decoration, wherever in the description they
// stand.
func (r *reader) pictures(desc *node) []*catalogue.Picture {
	var found []*catalogue.Picture
	var gather func(n *node, item []*node, kind string)
	gather = func(n *node, item []*node, kind string) {
		heading := kind // the kind of a note that only leads up to those behind it
		for _, child := range n.nodes {
			switch {
			case child.is("msItem", "msItemStruct"):
				gather(child, child.children("locus"), "")
			case child.is("decoNote") && child.find("decoNote") == nil:
				found = append(found, r.note(child, item, heading)...)
				if own := kindOf(child); own != "" {
					heading = kind
					if child.find("locus") == nil && strings.HasSuffix(child.words(), ":") {
						heading = own
					}
				}
			case child.is("decoNote"): // what it holds is of its kind
				gather(child, item, kindOf(child))
			case !child.is("bindingDesc"):
				gather(child, item, kind)
			}
		}
	}
	gather(desc, nil, "")
	return append(found, r.elsewhere(desc)...)
}

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
	rePictured  = regexp.MustCompile(`(?i)\b(?:drawings?|miniatures?|pictures?|illustrations?|paintings?)\b(?:[^.;]|etc\.){0,60}?(?:\bon\b|[,:(]) ?(?:fols?|foll|ff?)\.? ?\d`)
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

// kindOf is the kind that a note on decoration names in its type.
func kindOf(note *node) string {
	if kind := strings.TrimSpace(note.attr("type") + " " + note.attr("subtype")); !reLoose.MatchString(kind) {
		return kind
	}
	return ""
}

// note reads one note, paragraph by paragraph, where item is the place of the
// text that it is about, and around the kind of the note that it stands in.
func (r *reader) note(note *node, item []*node, around string) []*catalogue.Picture {
	kind := cmp.Or(kindOf(note), around)
	note = note.spelt()
	whole := subject(note.words("locus", "locusGrp"))
	switch {
	case reUndecorated.MatchString(kind) || reUndecorated.MatchString(whole):
		r.account.Use(note.line, "the decoration “"+catalogue.Short(whole+kind, 60)+"”", "there is none")
		return nil
	case strings.Contains(note.attr("ana"), "pigment"):
		r.account.Leave(note.line, "the decoration “"+catalogue.Short(note.attr("n")+" "+whole, 60)+"”", "an analysis of pigments, for which there is no table")
		return nil
	}
	paragraphs := note.children("p", "ab")
	if len(paragraphs) == 0 {
		paragraphs = []*node{note}
	}
	var pictures []*catalogue.Picture
	r.unread = nil
	for _, paragraph := range paragraphs {
		pictures = append(pictures, r.paragraph(paragraph, kind)...)
	}
	r.account.Left = append(r.account.Left, r.unread...)
	switch {
	case pictures != nil || r.unread != nil || whole == "":
		return pictures
	case len(item) == 1:
		picture := made(note.line, kind, whole, whole)
		if l, ok := parseLocus(item[0]); ok && l.OnePage() {
			r.await(picture.What(), item, &picture.Loci)
		}
		return []*catalogue.Picture{picture}
	}
	return []*catalogue.Picture{made(note.line, kind, whole, whole)} // without a place: it is left
}

// reUndecorated finds notes that there is no decoration.
var reUndecorated = regexp.MustCompile(`^(?i:none|no decoration|not decorated|undecorated|keine?)\b\.?$`)

// made is a picture or other decoration, told by the kind of its note, or where
// that has none by its own words, or by those of the whole paragraph. A picture in
// an initial is both.
func made(line int, kind, whole, words string) *catalogue.Picture {
	if words = subject(words); words == "" {
		words = whole
	}
	picture := &catalogue.Picture{Line: line, Decoration: decorationOf(kind, whole, words)}
	if each := reEachSide.FindStringSubmatch(words); each != nil {
		picture.Each = strings.ToLower(each[1])
	}
	if picture.Decoration == "" || reHistoriated.MatchString(kind) || reHistoriated.MatchString(words) && !reMany.MatchString(words) {
		picture.Subject = catalogue.Short(cmp.Or(words, kind), 200)
		if picture.Decoration == "" && reInitial.MatchString(kind+" "+words) {
			picture.Decoration = "historiated initial"
		}
	}
	return picture
}

// reEachSide finds that every recto, or every verso, of some leaves has it.
var reEachSide = regexp.MustCompile(`(?i)\b(?:each|every) (recto|verso)\b`)

// Words for initials with a picture in them, and for more than one of them, which
// may stand anywhere.
var (
	reHistoriated = regexp.MustCompile(`(?i)histori(?:at|ée|ert)|figur\w*.?initial|bildinitial|histinit`)
	reInitial     = regexp.MustCompile(`(?i)(?:histori|figur|bild)\w*.?init|histinit`)
	reMany        = regexp.MustCompile(`(?i)throughout|passim|initials`)
)

// paragraph reads the pictures of a paragraph that have a place: each item of a
// list in it, or else each place with the words that follow it where there are
// any, or all of them with the words of the paragraph.
func (r *reader) paragraph(n *node, kind string) []*catalogue.Picture {
	whole := subject(n.words("locus", "locusGrp", "list"))
	if whole == "" {
		whole = subject(n.words("locus", "locusGrp"))
	}
	parts := []*node{n}
	if n.find("list") != nil {
		parts = nil
		n.each(func(item *node) { parts = append(parts, item) }, "item")
	}
	var pictures []*catalogue.Picture
	for _, part := range parts {
		pictures = append(pictures, r.places(part, kind, whole)...)
	}
	return pictures
}

// places reads the pictures of a piece of prose that have a place.
func (r *reader) places(n *node, kind, whole string) []*catalogue.Picture {
	var pictures []*catalogue.Picture
	for _, part := range parted(n) {
		picture := made(part.locus.line, kind, whole, part.words)
		r.await(picture.What(), []*node{part.locus}, &picture.Loci)
		pictures = append(pictures, picture)
	}
	if pictures != nil {
		return pictures
	}
	return r.inProse(n, kind, whole)
}

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
	for _, piece := range pieces(n.words()) {
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
			if l, _, ok := trailingLocus(head); ok { // Hours of the Virgin, fol. 28r: Annunciation
				add(l, words)
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
	reNotNow = regexp.MustCompile(`(?i)\b(?:see|cf|compare|like|similar|lost|missing|wanting|wants|removed|excised|cut out|stolen|spaces?|room|offsets?|never|no|not|without|before|after|between|facing|opposite|from|descri\w*|inscri\w*|identif\w*|captions?|sign(?:s|ed|ing)|dated)\b`)
	reInside = regexp.MustCompile(`\(([^()]*\p{L}{3}[^()]*)\)`)
)

// named reads the places in the middle of a sentence about pictures, one after the
// other: full-page miniatures, fols. 31v (Crucifixion), 38v (Nativity); a miniature of
// the Crucifixion on p. 149 with figures in ink. Only pages are taken, and openings, no
// leaves.
func named(piece, kind string) []mention {
	for _, led := range reLedUp.FindAllStringSubmatchIndex(piece, -1) {
		before := piece[:led[0]]
		picture := rePicture.MatchString(before) || rePicture.MatchString(kind) && !reOther.MatchString(before)
		if picture && !reNotNow.MatchString(reAside.ReplaceAllString(before, "")) {
			return listedIn(before, piece[led[2]:])
		}
	}
	return nil
}

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
var reCut = regexp.MustCompile(`(?:[;.:] ?\(?|\) ?|\()(?:\d{1,2}\) )?(?:(?i:fols?|foll|ff?|bll?)\. ?\[?\d|\d{1,4}[rv]\b)|;`)

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

// reTrailing are the marks and words that parted the places which were taken
// out of a text.
var reTrailing = regexp.MustCompile(`(?:^[ .,:;()–-]+|(?:[ .,:;&()–-]|\band\b|\bund\b|\bet\b|\bin\b|\bon\b|\bat\b|\bauf\b|\bsur\b)+$)`)

// subject is a text without what led up to places in it, and with the scene before the
// text that it opens: Annunciation (Hours of the Virgin, Matins).
func subject(words string) string {
	words = reTrailing.ReplaceAllString(words, "")
	text := ""
	if found := reOpens.FindStringSubmatch(words); found != nil {
		words, text = found[2], " ("+found[1]+")"
	}
	if strings.Count(words, "(") > strings.Count(words, ")") {
		words += ")"
	}
	return words + text
}

// reOpens finds the text that a picture opens in front of what the picture shows.
var reOpens = regexp.MustCompile(`^((?:(?:Hours|Office) of [^.;:()]{3,60}|(?:Seven )?Penitential Psalms|(?:Gospel )?(?:Pericopes|Lessons|Sequences)|(?:Matins|Lauds|Prime|Terce|Sext|None|Vespers|Compline))(?:, (?:Matins|Lauds|Prime|Terce|Sext|None|Vespers|Compline))?)[.:)] (\p{Lu}.+)$`)

// reHeaded finds a note with a heading that says it is about pictures.
var reHeaded = regexp.MustCompile(`^(?i:illustrations?|miniatures?|pictures?|paintings?):`)

// reBand finds ornament that some records call a miniature by its type.
var reBand = regexp.MustCompile(`(?i)^(?:an? )?ornamental (?:band|frame|border|motif)`)

// decorationOf gives the kind of decoration that is no picture; empty for a
// picture. Its own words tell before those of the whole paragraph.
func decorationOf(kind, whole, words string) string {
	switch {
	case reBand.MatchString(words):
		return "ornamental band"
	case rePicture.MatchString(kind) || reHeaded.MatchString(whole) && !reOther.MatchString(words):
		return ""
	case kind != "":
		return kind
	}
	for _, text := range []string{words, whole} {
		picture, other := rePicture.FindStringIndex(text), reOther.FindStringIndex(text)
		switch {
		case picture != nil && (other == nil || picture[0] <= other[0] || reHistoriated.MatchString(text)):
			return ""
		case other != nil:
			return strings.ToLower(text[other[0]:other[1]])
		}
	}
	return "decoration"
}

// reLeading are words that lead up to the next place.
var reLeading = regexp.MustCompile(`(?i)(?:^|[ ,;.(])(?:and|on|folios|folio|fols|fol|foll|ff|f|bll|bl|cc|c)\.?$`)

// A part is a locus in a note and the words from it to the next.
type part struct {
	locus *node
	words string
}

// parted gives the loci of a note with the words after each. Words before the
// first are those of all that follow it directly.
func parted(note *node) []part {
	var parts []part
	var walk func(*node)
	walk = func(n *node) {
		if n.name == "locus" {
			parts = append(parts, part{locus: n})
			return
		}
		if last := len(parts) - 1; last >= 0 {
			parts[last].words += n.text
		}
		for _, child := range n.nodes {
			walk(child)
		}
		if last := len(parts) - 1; last >= 0 && n.is(blocks...) {
			parts[last].words += " "
		}
	}
	walk(note)
	for i := range parts {
		words := strings.Join(strings.Fields(parts[i].words), " ")
		parts[i].words = reLeading.ReplaceAllString(words, "")
	}
	behind(parts)
	// Places in a row, 13r, 25v and 31r, share the words of the last of them.
	for i := len(parts) - 2; i >= 0; i-- {
		if strings.Trim(parts[i].words, " .,;&") == "" || parts[i].words == "and" {
			parts[i].words = parts[i+1].words
		}
	}
	return parts
}

// reClause finds the last words in front of a place that is told behind them.
var reClause = regexp.MustCompile(`(?:^|[,;:.] ?)(?:and |with )*([^,;:.]*[\p{L})])$`)

// behind gives places in a row what is said in front of them, where a comma follows each:
// a frog (fol. 7r), a squirrel (fol. 26r), and a snail (fol. 34r), among others.
func behind(parts []part) {
	clause := func(i int) string {
		if i < 1 || !strings.HasPrefix(parts[i].words, ",") {
			return ""
		}
		if found := reClause.FindStringSubmatch(parts[i-1].words); found != nil {
			_, last, cut := strings.Cut(found[1], "including ")
			if !cut {
				last = found[1]
			}
			return last
		}
		return ""
	}
	own := make([]string, len(parts)+1)
	for i := range parts {
		own[i] = clause(i)
	}
	for i := range parts {
		if own[i] != "" && (own[i+1] != "" || i > 0 && own[i-1] != "") { // one alone tells too little
			parts[i].words = own[i]
		}
	}
}

// reName finds the name in a reference that has it behind a number, as catalogues of
// Ethiopic books do: PRS4585Georgeo, AT1031VirginAndChild.
var reName = regexp.MustCompile(`^#?[A-Z]{2,4}\d+(\p{L}{3,})$`)

// reWords parts the words of such a name.
var reWords = regexp.MustCompile(`(\p{Ll})(\p{Lu})`)

// spelt is n with the names written out that stand only in references.
func (n *node) spelt() *node {
	out := *n
	out.nodes = nil
	for _, child := range n.nodes {
		child = child.spelt()
		if child.is("ref", "persName", "placeName", "term") && child.words() == "" {
			if name := reName.FindStringSubmatch(cmp.Or(child.attr("ref"), child.attr("corresp"))); name != nil {
				child.text = reWords.ReplaceAllString(name[1], "$1 $2")
			}
		}
		out.nodes = append(out.nodes, child)
	}
	return &out
}
