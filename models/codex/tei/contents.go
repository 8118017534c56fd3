package tei

import (
	"encoding/xml"
	"regexp"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"thumbed/models/codex"
	"thumbed/models/codex/catalogue"
)

// items reads the texts of a description, and those of its physical parts as
// texts of these.
func (r *reader) items(desc *node) []*catalogue.Item {
	var items []*catalogue.Item
	places := r.partPlaces(desc)
	desc.each(func(n *node) {
		if n.is("msItem", "msItemStruct") {
			items = append(items, r.item(n)...)
			return
		}
		part := &catalogue.Item{Line: n.line, Title: "part " + n.attr("n"), Part: true, Children: r.items(n), Told: true}
		if l, ok := places[n]; ok {
			r.hold(pending{line: n.line, what: part.What(), locus: l, into: &part.Loci})
		}
		if len(part.Children) > 0 {
			items = append(items, part)
		}
	}, "msItem", "msItemStruct", "msPart", "msFrag")
	return items
}

// rePartPlace finds the leaves of a part in its name or in what is said of the
// parts together: (fols 1–2); foll. 1, 58; fols 3–63 || fols 64–163.
var rePartPlace = regexp.MustCompile(`(?i)\b(?:foll|fols?|ff|bll?|pp)\.? ?[\divxl\[\]]+ ?[rv]?(?: ?[-–—] ?[\divxl\[\]]*[rv]?)?(?:, \d+(?: ?[-–] ?\d+)?)*`)

// partPlaces finds which leaves the physical parts have: in their own names, or
// listed in what is said of them together where it lists as many.
func (r *reader) partPlaces(desc *node) map[*node]catalogue.Locus {
	places := map[*node]catalogue.Locus{}
	var rest []*node
	for _, part := range desc.children("msPart", "msFrag") {
		name := ""
		for _, n := range part.children("msIdentifier", "head", "altIdentifier") {
			name += " " + n.words()
		}
		if found := rePartPlace.FindString(name); found != "" {
			places[part], _ = catalogue.ParseLocus(found)
			continue
		}
		rest = append(rest, part)
	}
	phys := desc.children("physDesc")
	if len(phys) == 0 {
		return places
	}
	for _, p := range phys[0].children("p") {
		if found := rePartPlace.FindAllString(p.words(), -1); len(found) == len(rest) {
			for i, part := range rest {
				places[part], _ = catalogue.ParseLocus(found[i])
			}
			break
		}
	}
	for part, l := range places {
		if len(l.Ranges) == 0 {
			delete(places, part)
		}
	}
	return places
}

// item reads a text, the texts that it consists of, and those that its title names beside
// it.
func (r *reader) item(n *node) []*catalogue.Item {
	item := &catalogue.Item{Line: n.line, Class: strings.ReplaceAll(n.attr("class")+" "+n.attr("type"), "#", "")}
	text := n.without("msItem", "msItemStruct", "decoNote")
	item.Title, item.ByFirstWords = titleOf(text)
	if incipit := text.find("incipit"); incipit != nil {
		item.Incipit = incipit.words("locus", "note")
	}
	if lang := text.find("textLang"); lang != nil {
		item.Language = languageOf(lang)
	}
	for _, note := range text.children("note", "p", "ab") {
		words := note.words()
		item.Notes = append(item.Notes, catalogue.Statement{Text: words, Line: note.line})
		r.gone(words, note.line)
		r.blankIn(words)
	}
	only := "" // what is said of it, where that is one note
	if len(item.Notes) == 1 {
		only = item.Notes[0].Text
	}
	if (reOccupy.MatchString(only) || reFlyleaves.MatchString(only) || len(item.Notes) > 0 && n.find("incipit") == nil && n.find("rubric") == nil && reBlankLeaves.MatchString(item.Notes[0].Text)) && n.find("msItem") == nil && n.find("title") == nil {
		return nil
	}
	refers := reReference.MatchString(only)
	item.Remark = item.Title == "" && item.Incipit == "" && (refers || len(text.children("locus", "locusGrp")) == 0)
	n.each(func(part *node) { item.Children = append(item.Children, r.item(part)...) }, "msItem", "msItemStruct")
	if item.Children == nil {
		if all := r.beside(text, item); all != nil {
			return all
		}
	}
	if !item.Remark || !refers && !reBlankPages.MatchString(only) {
		r.place(text, item)
	}
	return []*catalogue.Item{item}
}

// reDivided finds that a text is said to be divided, whose divisions are not all told.
var reDivided = regexp.MustCompile(`\bdivided\b`)

// beside reads a text with those that its title names beside it, where they begin behind
// it; nil where it names none.
func (r *reader) beside(text *node, item *catalogue.Item) []*catalogue.Item {
	var own []*node
	for _, child := range text.children("locus", "locusGrp") {
		own = append(own, lociIn(child)...)
	}
	words := ""
	for _, name := range []string{"title", "note", "p", "ab"} {
		if found := text.children(name); words == "" && len(found) > 0 {
			words = found[0].words()
		}
	}
	title, named := catalogue.NamedBeside(words, false)
	last := codex.Folio{}
	if len(own) == 1 {
		if l, ok := parseLocus(own[0]); ok {
			last = l.Ranges[0].From.Folio
		}
		if len(named) > 1 && named[0].Locus.Ranges[0].From.Folio == last {
			named = named[1:] // its own place, told again
		} else {
			title, named = catalogue.NamedBeside(words, true)
		}
	}
	switch {
	case len(own) > 1 || own != nil && (last.IsZero() || len(named) == 0) || own == nil && len(named) < 2 || item.ByFirstWords || reDivided.MatchString(words) || reNoTitle.MatchString(reInBrackets.ReplaceAllString(words, "")):
		return nil
	}
	for _, other := range named {
		at := other.Locus.Ranges[0].From.Folio
		if at.Number < last.Number {
			return nil
		}
		last = at
	}
	all := []*catalogue.Item{item}
	item.Title = title
	if own != nil {
		r.placed(item, own)
	} else {
		item.Begins, item.RunsOn, item.Remark = true, true, false
		r.hold(pending{line: item.Line, what: item.What(), locus: named[0].Locus.First(), into: &item.Loci})
		named = named[1:]
	}
	for _, other := range named {
		next := &catalogue.Item{Line: item.Line, Title: other.Title, Class: item.Class, Language: item.Language, Begins: true, RunsOn: true}
		r.hold(pending{line: item.Line, what: next.What(), locus: other.Locus.First(), into: &next.Loci})
		all = append(all, next)
	}
	return all
}

// reOccupy finds a remark that says which quires the texts around it have.
var reOccupy = regexp.MustCompile(`^\[(?i:items?|texts?) [^\[\]]* occup(?:y|ies) [^\[\]]*\]$`)

// reFlyleaves finds what is said of flyleaves where a text would stand.
var reFlyleaves = regexp.MustCompile(`^(?i:(?:(?:paper|parchment|modern|blank) )*(?:fly|end)-?lea(?:f|ves)\b)`)

// reBlankLeaves finds what is said of blank leaves, or of notes on them, where a text
// would stand.
var reBlankLeaves = regexp.MustCompile(`^(?i:(?:fols?|ff?)\.? [^.;()]{1,40}\bblank\b|on (?:fols?|ff?)\. [^.;()]{1,12} (?:is|are) [^.;()]{0,30}\b(?:pencil|ownership) notes?\b)`)

// reReference finds a remark that only refers to another place of the record.
var reReference = regexp.MustCompile(`(?i)^(?:for (?:this|items? [\w–-]+),? )?see (?:below|above|(?:items?|art\.?|no\.?|part) [\w.]+(?: (?:below|above))?)\W*$`)

// without is n with the elements named left out, wherever they stand in it.
func (n *node) without(names ...string) *node {
	out := *n
	out.nodes = nil
	for _, child := range n.nodes {
		if !child.is(names...) {
			out.nodes = append(out.nodes, child.without(names...))
		}
	}
	return &out
}

// titleOf is what a text is called: its title, or whichever of its heading, its
// rubric, a note that reads like a title, and its first words comes first. Titles
// inside what is said of it are those of other books. It tells whether the first
// words stand in the place of a title.
func titleOf(text *node) (title string, byFirstWords bool) {
	own := text.children("title")
	if len(own) > 1 {
		// The library's own words rather than a translation, where it says so.
		for _, title := range own {
			if kind := title.attr("type"); kind == "desc" || kind == "uniform" || kind == "supplied" {
				own = []*node{title}
				break
			}
		}
	}
	for _, found := range append(own, text.children("head", "rubric", "note", "p", "ab", "incipit")...) {
		if title := found.find("title"); title != nil && found.is("rubric", "p", "ab", "head") && before(found, title) == "" {
			found = title
		}
		_, words, _ := catalogue.LeadingLocus(found.words("locus", "locusGrp", "note", "bibl", "listBibl"))
		words = strings.Trim(words, " .,:;—–")
		if found.is("note", "p", "ab") {
			words = entitled(words)
		}
		if words == "" {
			continue
		}
		return catalogue.Short(words, 120), found.is("incipit")
	}
	for _, title := range own {
		if work := reWork.FindStringSubmatch(title.attr("ref")); work != nil {
			return work[1], false
		}
	}
	if said := text.children("textLang"); len(said) == 1 && len(strings.Fields(said[0].words())) > 1 && !reTongues.MatchString(said[0].words()) {
		return catalogue.Short(strings.Trim(said[0].words(), " .,:;"), 120), false
	}
	if len(text.children("title", "head", "rubric", "note", "p", "ab", "incipit")) > 0 {
		return "", false
	}
	_, words, _ := catalogue.LeadingLocus(text.words("locus", "locusGrp", "textLang", "author"))
	return catalogue.Short(strings.Trim(words, " .,:;"), 120), false
}

// reTongues finds words that name languages and nothing else: Middle French; Latin, with
// some German. The Seven Penitential Psalms are more.
var reTongues = regexp.MustCompile(`^(?:(?:and|with|in|some|partly|mainly|No|linguistic|content|Middle|Old|High|Low|Modern|Early|Church|[\p{Lu}-][\p{L}-]*(?:ish|sh|ese|an|ian|ch|tch|ic|ew|eek|in|iac|çal|man))(?:[ ,;.()?]+|$))+$`)

// reWork finds the work in a reference that names it behind a number, as the
// catalogues of Ethiopic books do: LIT2000Mazmur.
var reWork = regexp.MustCompile(`^#?[A-Z]{2,4}\d+(\p{L}[\p{L}\d]+)`)

// longestTitle is how many words a note may have that reads like a title.
const longestTitle = 14

// entitled gives the part of a note that reads like a title, without the leaves
// named in brackets: few words, the first with a capital letter, up to a mark, that
// are no remark on what is missing or how it is written; empty where there is none.
func entitled(words string) string {
	words = strings.Join(strings.Fields(reInBrackets.ReplaceAllString(words, "")), " ")
	for _, marks := range []string{"", ".;:", ".;:([", ".;:([,"} {
		title := words
		if at := strings.IndexAny(words, marks); marks != "" && at >= 0 {
			title = strings.TrimSpace(words[:at])
		}
		first, _ := utf8.DecodeRuneInString(title)
		if (unicode.IsUpper(first) || unicode.IsLetter(first) && !unicode.IsLower(first)) && len(strings.Fields(title)) <= longestTitle && !strings.Contains(title, ". ") && !reNoTitle.MatchString(title) {
			return title
		}
	}
	return ""
}

// reInBrackets finds leaves that are named in brackets inside a title.
var reInBrackets = regexp.MustCompile(`\((?:fols?|foll|ff?|bll?)\.? ?[^()]*\)`)

// reNoTitle finds notes that are remarks on a text and not its title (common
// practice, no source).
var reNoTitle = regexp.MustCompile(`(?i)\b(?:fols?|ff|foll|lines?|blank|missing|lost|lacking|wants|imperfect\w*|incomplete|ends|begins|see|cf|ed|edited|printed|arranged|added|addition|written|in (?:the )?(?:double|another|\w+ hand)|forms|edition|fragment of|PG|PL|BHG|BHL|CPG|CPL|inc|des|tit|occupy|occupies|at (?:the )?(?:top|head|foot|bottom|beginning|end))\b`)

// place finds where a text stands: in loci of its own, in a locus at the front
// of what is said of it, from that of its incipit to that of its explicit, or
// in words at its front.
func (r *reader) place(text *node, item *catalogue.Item) {
	what := item.What()
	var own []*node
	for _, child := range text.children("locus", "locusGrp") {
		own = append(own, lociIn(child)...)
	}
	own = slices.DeleteFunc(joined(own), func(n *node) bool { return n.words()+written(n) == "" }) // only of images
	if len(own) == 0 {
		own = leading(text)
	}
	if len(own) > 0 {
		r.placed(item, own)
		if item.Begins {
			r.lastWords(text, item)
		}
		return
	}
	words := text.words("rubric", "incipit", "explicit", "finalRubric", "colophon", "quote", "textLang")
	if l, rest, ok := catalogue.LeadingLocus(words); ok && !onLeaves(words, rest) {
		item.Begins = l.Lone()
		r.hold(pending{line: item.Line, what: what, locus: l, into: &item.Loci})
		return
	}
	for _, name := range []string{"title", "head", "p", "note", "ab"} {
		found := text.find(name)
		if found == nil {
			continue
		}
		words := found.words()
		l, rest, ok := catalogue.LeadingLocus(words)
		if ok && onLeaves(words, rest) {
			break
		}
		if ok {
			item.Begins = l.Lone()
			r.hold(pending{line: found.line, what: what, locus: l, into: &item.Loci})
			return
		}
	}
	if len(text.children("title", "head", "rubric", "incipit", "explicit")) == 0 && len(text.children("note")) == 1 {
		if found := reTitledAt.FindStringSubmatch(text.find("note").words()); found != nil {
			if l, ok := catalogue.ParseLocus(found[1]); ok && l.Lone() {
				item.Begins, item.RunsOn, item.Remark = true, true, false
				r.hold(pending{line: item.Line, what: what, locus: l, into: &item.Loci})
				return
			}
		}
	}
	r.fromEnds(text, what, item)
}

// reTitledAt finds a place in brackets behind the few words that name a text: Magnificat
// (fol. 363r); Common of the dedication (fol. 229) and the saints (fol. 231).
var reTitledAt = regexp.MustCompile(`^\p{Lu}[^().;:]{2,80}(?:\([^()]*\) ?)?\(((?:fols?|ff?)\. ?\d[^()]*)\)(?:[^:]|$)`)

// onLeaves tells whether words that begin with a place are a remark on the leaves and
// no text that begins there: fol. ii has the title; f. i a small paper slip; but not: on
// fol. 161v are verses.
func onLeaves(words, rest string) bool {
	return reOnLeaves.MatchString(rest) && !reStandsOn.MatchString(words)
}

var reStandsOn = regexp.MustCompile(`^(?i:on|at|auf|sur)\b`)

var reOnLeaves = regexp.MustCompile(`^[ ,;:.–-]*(?:(?:see|has|have|contains?|is|are|was|were|bears?|belongs?|originally|blank|supplied|missing|lost|conjoint|conjugate)\b|(?:an? |the )?(?:\p{Ll}+ ){0,3}(?:slips?|flyleaf|flyleaves|fly-leaf|fly-leaves|endleaf|endleaves|pastedowns?|bifolium|bifolia|stubs?|cancelled)\b)`)

// joined puts a locus that gives only where a text ends to the one before, which gives
// only where it begins.
func joined(loci []*node) []*node {
	var out []*node
	for _, n := range loci {
		if len(out) > 0 && n.attr("to") != "" && n.attr("from")+n.attr("n")+n.attr("target")+n.words() == "" {
			if begin := out[len(out)-1]; begin.attr("from") != "" && begin.attr("to") == "" {
				whole := *begin
				whole.attrs = append(slices.Clone(begin.attrs), xml.Attr{Name: xml.Name{Local: "to"}, Value: n.attr("to")})
				out[len(out)-1] = &whole
				continue
			}
		}
		out = append(out, n)
	}
	return out
}

// lociIn are the loci of a group, or a locus by itself.
func lociIn(n *node) []*node {
	if n.name == "locus" {
		return []*node{n}
	}
	var loci []*node
	n.each(func(l *node) { loci = append(loci, l) }, "locus")
	return loci
}

// leading gives the loci at the front of the first piece of prose about a text.
// One that comes later may be the place of a detail, and is taken only where it
// is the only one.
func leading(text *node) []*node {
	for _, name := range []string{"title", "head", "p", "note", "ab"} {
		found := text.find(name)
		if found == nil {
			continue
		}
		var loci []*node
		found.each(func(n *node) { loci = append(loci, lociIn(n)...) }, "locus", "locusGrp")
		if len(loci) == 0 {
			continue
		}
		if len(loci) == 1 || before(found, loci[0]) == "" {
			return loci[:1]
		}
	}
	return nil
}

// before is the text in n before an element.
func before(n, stop *node) string {
	var b strings.Builder
	var walk func(*node) bool
	walk = func(n *node) bool {
		if n == stop {
			return false
		}
		b.WriteString(n.text)
		for _, child := range n.nodes {
			if !walk(child) {
				return false
			}
		}
		return true
	}
	walk(n)
	return strings.Trim(b.String(), " \t\r\n([")
}

// fromEnds takes a text to begin on the page of its rubric or incipit, and to end
// on that of its explicit where it is told.
func (r *reader) fromEnds(text *node, what string, item *catalogue.Item) {
	var first *catalogue.Locus
	for _, name := range []string{"rubric", "incipit"} {
		if at := locusIn(text, name); at != nil && first == nil {
			first = at
		}
	}
	if first == nil {
		if last := lastPlaces(text); len(last) > 0 && len(text.children("title", "head", "rubric", "incipit")) == 0 { // nothing but its last words
			r.hold(pending{line: item.Line, what: what, locus: last[0], into: &item.Loci})
			return
		}
		r.lastWords(text, item)
		return
	}
	item.Begins, item.RunsOn = true, true
	r.lastWords(text, item)
	begin := first.First()
	r.hold(pending{line: item.Line, what: what, locus: begin, into: &item.Loci})
}

// lastWords finds where the last words of a text stand.
func (r *reader) lastWords(text *node, item *catalogue.Item) {
	for _, at := range lastPlaces(text) {
		r.hold(pending{line: item.Line, what: item.What(), locus: at, into: &item.Ends})
	}
}

// lastPlaces are the places of the last words of a text.
func lastPlaces(text *node) []catalogue.Locus {
	var places []catalogue.Locus
	for _, name := range []string{"explicit", "finalRubric", "colophon"} {
		if at := locusIn(text, name); at != nil {
			places = append(places, *at)
		}
	}
	return places
}

// locusIn gives the place that the element of a name in the text has.
func locusIn(text *node, name string) *catalogue.Locus {
	found := text.find(name)
	if found == nil {
		return nil
	}
	locus := found.find("locus")
	if locus == nil {
		return nil
	}
	if l, ok := parseLocus(locus); ok {
		return &l
	}
	return nil
}
