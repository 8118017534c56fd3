package tei

import (
	"cmp"
	"regexp"
	"strings"

	"thumbed/models/codex/catalogue"
)

// Words for pictures in the type of a decoNote, or in its text where it has no
// type, in five languages (common practice, no source). Historiated initials
// are pictures.
var (
	rePicture = regexp.MustCompile(`(?i)miniat|pictur|illustr|histori|portrait|drawing|zeichnung|dessin|disegno|\bbild|peinture|\bfigure|figür|scene|szene|vignette|painting|\bimage|sketch`)
	reOther   = regexp.MustCompile(`(?i)border|bordure|rand|decorat|initial|line.?fill|rubric|capital|frame|margin|penwork|fleuron|flourish|ḥarag|\bharag|head.?piece|tail.?piece|diagram|(?:illuminated|decorated) headings?\b|unv?wān|\bun[vw]an|sar-?la[uw]|shamsa`)
)

// reFilling finds what fills a page: a picture, where it is not said to be ornament.
var (
	reFilling       = regexp.MustCompile(`(?i)full.?page|ganzseit|pleine page`)
	reFillsOrnament = regexp.MustCompile(`(?i)(?:full.?page|ganzseit\w*|pleine page),? (?:[\p{L}-]+ ){0,3}?(?:illuminations?|initial\w*|frames?|borders?|ornament\w*|decorat\w*|panels?|letters?|tables?|kanontafeln|rahmen|stops)\b`)
)

// pictured tells whether a text names a picture.
func pictured(text string) bool {
	return rePicture.MatchString(text) || reFilling.MatchString(reFillsOrnament.ReplaceAllString(text, ""))
}

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
			case n.is("decoDesc") && child.is("p", "ab", "summary", "list"):
				found = append(found, r.untyped(child)...)
			case !child.is("bindingDesc"):
				gather(child, item, kind)
			}
		}
	}
	gather(desc, nil, "")
	return append(found, r.elsewhere(desc)...)
}

// untyped reads what is said of the decoration outside its notes: the pictures in it that
// have a place.
func (r *reader) untyped(n *node) []*catalogue.Picture {
	r.unread = nil
	pictures := r.paragraph(n.spelt(), "", "")
	r.account.Left = append(r.account.Left, r.unread...)
	return pictures
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
	case kind == "bibliography":
		r.account.Leave(note.line, "the decoration “"+catalogue.Short(whole, 60)+"”", "a reference to literature, for which there is no table")
		return nil
	case strings.Contains(note.attr("ana"), "pigment"):
		r.account.Leave(note.line, "the decoration “"+catalogue.Short(note.attr("n")+" "+whole, 60)+"”", "an analysis of pigments, for which there is no table")
		return nil
	}
	var pictures []*catalogue.Picture
	r.unread = nil
	before := ""
	for _, paragraph := range note.paragraphs() {
		pictures = append(pictures, r.paragraph(paragraph, kind, before)...)
		before = subject(paragraph.words("locus", "locusGrp"))
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

// paragraphs are the pieces of a note: its paragraphs and lists, and what stands beside
// them, or else the note itself.
func (n *node) paragraphs() []*node {
	if len(n.children("p", "ab")) == 0 {
		return []*node{n}
	}
	var out []*node
	beside := *n
	beside.nodes = nil
	for _, child := range n.nodes {
		if child.is("p", "ab", "list") {
			out = append(out, child)
		} else {
			beside.nodes = append(beside.nodes, child)
		}
	}
	if beside.words() != "" {
		out = append([]*node{&beside}, out...)
	}
	return out
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
	picture := &catalogue.Picture{Line: line, Decoration: decorationOf(kind, whole, words), Full: reFull.MatchString(kind+" "+whole+" "+words) && !reAbove.MatchString(whole+" "+words)}
	if found := reOpened.FindStringSubmatch(words); found != nil {
		picture.Opens = found[1]
	}
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

// reHistoriatedAll finds initials that all have pictures: four seven-line historiated
// initials; reAnInitialFirst one of them.
var (
	reHistoriatedAll = regexp.MustCompile(`(?i)^(?:[\p{L}\d-]+,? ){0,5}?historiated initials?\b`)
	reAnInitialFirst = regexp.MustCompile(`(?i)^(?:[^.:;]{0,60}[.:;] )?(?:[\p{L}\d-]+ )?initial\b`)
)

// reSomeHistoriated finds initials of which only some have pictures: historiated and
// decorated initials; reInitialAlone one of which no picture is told: 8-line D (Ps. 39).
var (
	reSomeHistoriated = regexp.MustCompile(`(?i)\b(?:decorated|other|foliate|inhabited) (?:and|or) historiated|\bhistoriated (?:and|or) (?:decorated|other|foliate|inhabited)`)
	reInitialAlone    = regexp.MustCompile(`^[ ,;.:]*(?:\d+-line )?\p{Lu}?(?:\(\p{Ll}+\))? ?(?:\((?:Ps\.? ?)?\d{0,3}\))?[ ,;.:]*$`)
)

// paragraph reads the pictures of a paragraph that have a place: each item of a
// list in it, or else each place with the words that follow it where there are
// any, or all of them with the words of the paragraph. A list by itself is about what the
// paragraph before it is.
func (r *reader) paragraph(n *node, kind, before string) []*catalogue.Picture {
	whole := subject(n.words("locus", "locusGrp", "list"))
	if n.is("list") {
		whole = before
	}
	if whole == "" {
		whole = subject(n.words("locus", "locusGrp"))
	}
	parts := []*node{n}
	if n.find("list") != nil || n.is("list") {
		n = n.glossed()
		parts = nil
		n.each(func(item *node) { parts = append(parts, item) }, "item")
		if beside := n.without("list"); !n.is("list") && (len(parts) == 0 || reMention.MatchString(beside.words())) {
			parts = append(parts, beside)
		}
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
		if part.compared || reSpaceFor.MatchString(part.words) {
			continue
		}
		kind, whole := kind, whole
		if words := part.words; part.lead != "" && !rePicture.MatchString(kind) && !reHistoriated.MatchString(kind) {
			if ofPicture(part.lead) {
				kind = ""
			}
			if whole = subject(part.lead); !strings.HasPrefix(words, "(") {
				part.words = whole
			}
		}
		picture := made(part.locus.line, kind, whole, part.words)
		if reSomeHistoriated.MatchString(whole) && (part.shared || reInitialAlone.MatchString(part.words)) {
			picture.Subject, picture.Decoration = "", "initial"
		}
		r.await(picture.What(), []*node{part.locus}, &picture.Loci)
		pictures = append(pictures, picture)
	}
	if pictures != nil {
		return pictures
	}
	return r.inProse(n, kind, whole)
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
		words, text = found[2]+found[3]+found[4], " ("+found[1]+")"
	}
	if strings.Count(words, "(") > strings.Count(words, ")") {
		words += ")"
	}
	return words + text
}

// reOpens finds the text that a picture opens in front of what the picture shows: Lauds.
// Visitation; (Matins): the Annunciation; Prime (initial D(eus)) Nativity.
var reOpens = regexp.MustCompile(`^\(?((?:(?:Hours|Office) of [^.;:()]{3,60}|(?:Seven )?Penitential Psalms|(?:Gospel )?(?:Pericopes|Lessons|Sequences)|` + hour + `)(?:, ` + hour + `)?)(?:[.:)] (\p{Lu}.+)|\)?: ?(.+)| \(initial [^()]*(?:\([^()]*\))?[^()]*\) (.+))$`)

// reOpened finds it behind what the picture shows.
var reOpened = regexp.MustCompile(`\(([^()]{4,80})\)[ .]*$`)

const hour = `(?:Matins|Lauds|Prime|Terce|Sext|Nones?|Vespers|Compline)`

// reFull finds pictures that fill a page, which the text that they open stands behind;
// reAbove those that have lines of it below them.
var (
	reFull  = regexp.MustCompile(`(?i)\b(?:full.?page|whole.?page)|ganzseitig|pleine page`)
	reAbove = regexp.MustCompile(`(?i)\blines? of text\b|\b(?:half|quarter).?page|\b(?:large|small|smaller) miniatures`)
)

// reHeaded finds a note with a heading that says it is about pictures.
var reHeaded = regexp.MustCompile(`^(?i:illustrations?|miniatures?|pictures?|paintings?):`)

// reBand finds ornament that some records call a miniature by its type.
var reBand = regexp.MustCompile(`(?i)^(?:an? )?ornamental (?:band|frame|border|motif)`)

// reIlluminated finds illumination of a whole page of text, which is no picture.
var reIlluminated = regexp.MustCompile(`(?i)^(?:an? )?(?:double )?full.page illuminations? with the beginning|^(?:\d+ |an? )?illuminations?\W*$`)

// decorationOf gives the kind of decoration that is no picture; empty for a
// picture. Its own words tell before those of the whole paragraph.
func decorationOf(kind, whole, words string) string {
	switch {
	case reBand.MatchString(words):
		return "ornamental band"
	case reIlluminated.MatchString(words):
		return "illumination"
	case rePicture.MatchString(kind) || reHeaded.MatchString(whole) && !reOther.MatchString(words):
		return ""
	case !reScribbled.MatchString(kind) && (aboutPictures(words) || aboutPictures(whole) && !reOther.MatchString(words)):
		return ""
	case kind == "" && reHistoriatedAll.MatchString(whole) && (reAnInitialFirst.MatchString(words) || !reOther.MatchString(words)):
		return ""
	case kind != "":
		return kind
	}
	for _, text := range []string{reWhereOnPage.ReplaceAllString(words, ""), whole} {
		picture, other := rePicture.FindStringIndex(text), reOther.FindStringIndex(text)
		switch {
		case picture == nil && pictured(text):
			return ""
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
	lead  string // the words in front of it that govern it: two miniatures on folios

	shared   bool // the words are those of the next place
	compared bool // it is only what something is compared with, or where it begins or ends
}

// parted gives the loci of a note with the words after each, and those in front of it that
// govern it. Words before the first are those of all that follow it directly.
func parted(note *node) []part {
	var parts []part
	front := ""
	var walk func(*node)
	walk = func(n *node) {
		if n.name == "locus" {
			parts = append(parts, part{locus: n})
			return
		}
		if last := len(parts) - 1; last >= 0 {
			parts[last].words += n.text
		} else {
			front += n.text
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
		parts[i].lead, parts[i].compared = governing(front, parts[:i]), reComparing.MatchString(front)
		whole := words
		if reMidSentence.MatchString(front) {
			words = sentences(words)[0]
		}
		front, parts[i].words = whole, reLeading.ReplaceAllString(words, "")
	}
	behind(parts)
	// Places in a row, 13r, 25v and 31r, share the words of the last of them.
	for i := len(parts) - 2; i >= 0; i-- {
		if strings.Trim(parts[i].words, " .,;&") == "" || parts[i].words == "and" {
			parts[i].words, parts[i].shared = parts[i+1].words, true
		}
	}
	return parts
}

// governing are the words that govern a place behind them: those that lead up to it and
// name decoration, or those of the place before it where they only join the two.
func governing(front string, before []part) string {
	front = strings.TrimRight(reLeafWords.ReplaceAllString(strings.Join(strings.Fields(front), " "), ""), " ") + " "
	clause := nearestClause(front)
	switch {
	case strings.HasSuffix(front, ": "): // a list, of what is said in front of it
		return ""
	case len(before) > 0 && strings.Trim(reInside.ReplaceAllString(front, ""), " ,;&") == "" || reJoins.MatchString(front):
		if len(before) > 0 {
			return before[len(before)-1].lead
		}
	case reLedUp.MatchString(front) && named(clause) && !reNotNow.MatchString(front):
		return clause
	}
	return ""
}

// What leads up to a place where nothing is said to stand; a place in the middle of a
// sentence, which that sentence alone is about; and space that was left for a picture.
var (
	reComparing   = regexp.MustCompile(`(?i)\b(?:see|cf|compare|like|than|from|until|till|up to|facing|opposite|before|after|between|vgl|voir)\.? ?(?:(?:fols?|foll|folios?|ff?|bll?)\.? ?)?$`)
	reMidSentence = regexp.MustCompile(`\p{L},? ?$`)
	reSpaceFor    = regexp.MustCompile(`^(?i:\W*(?:the |an? )?(?:blank |empty )?spaces?\b)`)
)

// Words for leaf in front of a place, and what only joins it to the one before.
var (
	reLeafWords = regexp.MustCompile(`(?i)\b(?:fols?|foll|folios?|ff?|bll?)\.? ?$`)
	reJoins     = regexp.MustCompile(`^ ?(?:\([^()]*\))?[ ,;]*(?:and|und|et|&)(?: (?:on|at|auf|sur))? $`)
)

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
