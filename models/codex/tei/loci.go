package tei

import (
	"regexp"
	"slices"
	"strings"

	"thumbed/models/codex"
	"thumbed/models/codex/catalogue"
)

// A pending place waits until it is known by which numbering, of leaves or of
// pages, the record goes.
type pending struct {
	line   int
	what   string
	locus  catalogue.Locus
	scheme string
	into   *[]codex.Range

	picture bool
}

func (r *reader) hold(p pending) {
	p.picture = strings.HasPrefix(p.what, "the decoration “")
	r.schemes[p.scheme]++
	r.pending = append(r.pending, p)
}

// await reads loci and holds the places that they name for a text or picture. It
// tells whether it left one, and said why.
func (r *reader) await(what string, loci []*node, into *[]codex.Range) (left bool) {
	for _, n := range loci {
		words := n.words()
		l, ok := parseLocus(n)
		if written := n.attr("from") + "–" + n.attr("to"); ok && !l.Lone() && n.attr("to") != "" {
			if first, twice := r.written[words]; twice && first != written {
				if byAttributes, readable := catalogue.ParseLocus(written); readable && !byAttributes.Backward() {
					r.account.Note(n.line, what, "its place is written “%s” as that of a text before it; that of its attributes was taken, %s", words, byAttributes.String())
					l = byAttributes
				}
			}
			r.written[words] = written
		}
		if w, a, differ := disagreeing(n); differ {
			r.account.Infer(n.line, what, "its place is %s by its words and %s by its attributes; the words were taken", w.String(), a.String())
		}
		if ok {
			r.blank = append(r.blank, catalogue.BlankBehind(words)...)
		}
		switch {
		case ok:
			r.hold(pending{line: n.line, what: what, locus: l, scheme: n.attr("scheme"), into: into})
		case words+written(n) != "":
			if l, rest, ok := placeFirst(words); ok {
				r.account.Note(n.line, what, "of its place “%s” the first part was taken, %s; “%s” was left", catalogue.Short(words, 60), l.String(), catalogue.Short(rest, 60))
				r.hold(pending{line: n.line, what: what, locus: l, scheme: n.attr("scheme"), into: into})
				continue
			}
			r.account.Leave(n.line, what, "its place “%s” cannot be read; write it such as ff. 13r–25v", catalogue.Short(strings.TrimSpace(words+" "+written(n)), 60))
			left = true
		}
	}
	return left
}

// written is the place that the attributes of a locus give.
func written(n *node) string {
	return strings.Join(strings.Fields(n.attr("from")+" "+n.attr("to")+" "+n.attr("target")+" "+n.attr("n")), " ")
}

// placed reads the loci of a text, and whether they tell where it ends.
func (r *reader) placed(item *catalogue.Item, loci []*node) {
	item.Told = r.await(item.What(), loci, &item.Loci)
	if len(loci) != 1 {
		return
	}
	n := loci[0]
	from, to, inferred := n.attr("from"), n.attr("to"), strings.HasPrefix(n.attr("type"), "inferred")
	l, ok := parseLocus(n)
	if !ok && from+to == "" {
		l, _, ok = placeFirst(n.words())
	}
	switch {
	case inferred:
		item.By = codex.ByNextText
	case to == "" && reOpen.MatchString(n.words()+from):
		item.Begins, item.RunsOn = true, true
	case ok && l.Lone() && (to == "" || n.words() != "" && !apart(from, to)) && !reRange.MatchString(n.words()):
		// The attributes of some say both ends where the words say one.
		item.Begins, item.RunsOn = true, from != "" && to == "" && n.words() == ""
	}
}

// apart tells whether two ends are pages in their order.
func apart(from, to string) bool {
	l, ok := catalogue.ParseLocus(plain(from) + "–" + plain(to))
	return ok && from != to && !l.Backward()
}

// reRange finds a place that has a last page too, though it is the first.
var reRange = regexp.MustCompile(`\d ?[rv]?[a-d]?°? ?[-–—] ?[\drva-d]|\d ?[rv][ ,]+v\b`)

// reOpen finds a place whose end is left open: 13r–, 13r–(?), 13r ff., 13r sqq.
var reOpen = regexp.MustCompile(`(?i)\d[rv]?°? ?(?:[-–—] ?(?:\(?\?\)?)?|ff\.?|sqq?\.?|et seqq?\.?|et suiv\.?|e segg\.?)\)?$`)

// placeFirst reads a place at the front of a locus, with what else is said in it
// parted off: (fols. 71v–73v, rubric on 71r).
func placeFirst(words string) (l catalogue.Locus, rest string, ok bool) {
	words = strings.Trim(words, "()[] ")
	l, rest, ok = catalogue.LeadingLocus(words)
	at := strings.TrimSpace(words[:len(words)-len(rest)])
	return l, rest, ok && strings.ContainsAny(at[len(at)-1:], ",;:(")
}

// parseLocus reads a locus: its words where they name pages, its attributes from
// and to, its words, or its attributes n and target, which may list several.
func parseLocus(n *node) (catalogue.Locus, bool) {
	words := closed(n.words())
	inWords, readable := catalogue.ParseLocus(words)
	if !readable {
		inWords, readable = catalogue.ParseLocus(reMisspelt.ReplaceAllString(words, "${1}fol. $2"))
	}
	if readable && inWords.Paged {
		return inWords, true
	}
	from, to := plain(n.attr("from")), plain(n.attr("to"))
	if lines := reOnlyLines.FindStringSubmatch(words); lines != nil && lines[1] == from {
		return catalogue.Locus{}, false
	}
	fromTo, ranged := catalogue.ParseLocus(from + "–" + to)
	if ranged && from != "" && to != "" && readable && inWords.Vaguer(fromTo) {
		return fromTo, true
	}
	switch {
	case readable && (from == "" && to == "" || !inWords.Lone() || from == ""):
		return inWords, true
	case from == "" && to == "":
		return byTarget(n)
	case to == "" || to == from:
		if _, _, differ := disagreeing(n); differ {
			return inWords, true
		}
		if l, ok := catalogue.ParseLocus(from); ok {
			return l, true
		}
		return inWords, readable // the attribute is a name of the place
	}
	if ranged && !(readable && fromTo.Backward()) {
		return fromTo, true
	}
	return inWords, readable
}

// disagreeing gives a page by the words of a locus and by its attributes, where they are
// pages of two leaves.
func disagreeing(n *node) (words, attributes catalogue.Locus, differ bool) {
	from, to := plain(n.attr("from")), plain(n.attr("to"))
	words, readable := catalogue.ParseLocus(closed(n.words()))
	attributes, ok := catalogue.ParseLocus(from)
	if !readable || !ok || to != "" && to != from || !words.OnePage() || !attributes.OnePage() || words.Paged {
		return words, attributes, false
	}
	w, a := words.Ranges[0].From.Folio, attributes.Ranges[0].From.Folio
	return words, attributes, w.Number != a.Number && w.Roman == a.Roman && w.Suffix == a.Suffix
}

// reOnlyLines finds lines without a leaf, as records of rolls name them: Lines 1–28.
var reOnlyLines = regexp.MustCompile(`^(?i:lines?|zeilen?) (\d+)(?: ?[-–] ?\d+)?$`)

// reMisspelt finds a slip in a word for leaf, in front of the number of one: fosl. 167r.
var reMisspelt = regexp.MustCompile(`^(\(?)(?:f\p{Ll}{2,4}|bal)\.? ?(\d.*)$`)

// plain is a place in an attribute without the marks of doubt around it.
func plain(place string) string {
	place = reRomanSide.ReplaceAllString(place, "$1$2")
	return strings.TrimSpace(strings.NewReplacer("(erso)", "", "(ecto)", "", "(", "", ")", "", "?", "").Replace(closed(place)))
}

// reRomanSide finds a side behind the number of a flyleaf in an attribute, which never
// holds a range: iii-v.
var reRomanSide = regexp.MustCompile(`^([ivxl]+)-([rv])$`)

// closed is a place without the marks that leave its end open.
func closed(place string) string {
	return reOpen.ReplaceAllStringFunc(place, func(open string) string {
		return strings.TrimRight(open, "-–—(?) fFsqSQ.etuivg")
	})
}

// byTarget reads the places that n or target of a locus list: 7v, #7v #38r.
func byTarget(n *node) (catalogue.Locus, bool) {
	listed := strings.ReplaceAll(n.attr("target"), "#", " ")
	if listed == "" {
		listed = n.attr("n")
	}
	var whole catalogue.Locus
	for _, word := range strings.FieldsFunc(listed, func(c rune) bool { return c == ' ' || c == ',' || c == ';' }) {
		if reLeafWord.MatchString(word) {
			continue
		}
		word = plain(word)
		l, ok := catalogue.ParseLocus(word)
		if !ok || !reNumbered.MatchString(word) {
			return catalogue.Locus{}, false
		}
		whole = whole.And(l)
	}
	return whole, len(whole.Ranges) > 0
}

// reNumbered finds the number of a leaf, which other names that a target may have do
// not begin with.
var reNumbered = regexp.MustCompile(`^(?:\[?\d|[ivxl]+[rv]$)`)

// reLeafWord finds a word for leaf by itself.
var reLeafWord = regexp.MustCompile(`(?i)^(?:fols?|foll|ff?|bll?|cc?)\.?$`)

// settle gives all places to their texts and pictures. A record has one
// numbering here: by pages where it says so or names nothing but pages, and
// otherwise by leaves, in the scheme that most of its loci have.
func (r *reader) settle(byPages bool, record *catalogue.Record) {
	main := r.mainScheme()
	r.settleSides(record)
	pages, leaves := 0, 0
	for _, p := range r.pending {
		if p.locus.Paged {
			pages++
		} else if _, convertible := p.locus.AsPages(); !convertible {
			leaves++
		}
	}
	byPages = (byPages || pages > 0) && leaves == 0 && len(r.pending) > 0
	if byPages {
		r.account.Note(record.Line, "the numbering", "the record names pages: odd pages are taken as the rectos and even ones as the versos of leaves [1], [2] …")
	}
	for _, p := range r.pending {
		ranges := p.locus.Ranges
		if r.bareRecto && p.picture && !p.locus.Paged && !byPages && !reGoneNow.MatchString(p.what) {
			ranges = r.rectos(p)
		}
		switch {
		case p.scheme != "" && p.scheme != main:
			r.account.Leave(p.line, p.what, "its place is in another numbering, %s", p.scheme)
			continue
		case byPages && !p.locus.Paged:
			ranges, _ = p.locus.AsPages()
		case !byPages && p.locus.Paged:
			r.account.Leave(p.line, p.what, "its place is in pages, where the record goes by leaves")
			continue
		}
		if p.picture && p.locus.AllSided() {
			ranges = r.pageByPage(p, ranges)
		}
		*p.into = append(*p.into, ranges...)
	}
}

// rectos are the pages of a picture, in a record that writes v for versos and never r.
func (r *reader) rectos(p pending) []codex.Range {
	out := slices.Clone(p.locus.Ranges)
	for i, place := range out {
		if place.From.Folio == place.To.Folio && place.From != place.To {
			out[i].To = place.From
			r.account.Infer(p.line, p.what, "the record writes v behind the numbers of leaves and never r, so that %s is taken as its recto", place.From.Folio)
		}
	}
	return out
}

// pageByPage parts places of pictures whose sides are told into pages: both sides of a leaf,
// 5r–v, and the few pages that several pictures run over, drawings on fols. 51v–52v.
func (r *reader) pageByPage(p pending, ranges []codex.Range) []codex.Range {
	var out []codex.Range
	for _, place := range ranges {
		from, to := place.From.Folio, place.To.Folio
		pages := 2*(to.Number-from.Number) + int(place.To.Side) - int(place.From.Side) + 1
		plain := from.Roman == to.Roman && from.Suffix+to.Suffix == ""
		switch {
		case from == to && place.From != place.To:
		case plain && 2 < pages && pages <= fewPages && rePictures.MatchString(p.what):
			r.account.Infer(p.line, p.what, "it is several pictures on %s, and one is taken to stand on each of these %d pages", place, pages)
		default:
			out = append(out, place)
			continue
		}
		for at := place.From; ; at.Folio.Number, at.Side = at.Folio.Number+int(at.Side), 1-at.Side {
			out = append(out, codex.Range{From: at, To: at})
			if at == place.To {
				break
			}
		}
	}
	return out
}

// fewPages is over how many pages several pictures may run that are told together.
const fewPages = 4

// rePictures finds several pictures.
var rePictures = regexp.MustCompile(`(?i)\b(?:miniatures|drawings|pictures|illustrations|paintings|portraits|sketches|scenes|(?:histori|figur)\w* initials)\b`)

// reGoneNow finds that what is told of is no longer there.
var reGoneNow = regexp.MustCompile(`(?i)\b(?:removed|lost|missing|excised|cut out|wanting|stolen)\b`)

// settleSides reads a and b behind the numbers of leaves as recto and verso, as
// catalogues of Hebrew and Arabic books write them: where the record writes r or v
// behind no number, and does not list such leaves; or where as leaves they would be more
// than it counts. A letter with a side behind it, 96av, is of a leaf.
func (r *reader) settleSides(record *catalogue.Record) {
	b, last := 0, 0
	sided, both := false, false // both: letters beside sides
	leaves := map[codex.Folio]bool{}
	for _, p := range r.pending {
		for _, end := range p.locus.Ends() {
			if !end.Roman {
				last = max(last, end.Number)
			}
			switch end.Suffix {
			case "":
				continue
			case "a", "b":
			default:
				return // a leaf of its own: 13bis
			}
			leaves[end] = true
			if end.Suffix == "b" {
				b++
			}
			both = both || p.locus.Sided()
		}
		sided = sided || p.locus.Sided()
	}
	c := record.Counts
	tooMany := c.Leaves > 0 && last+len(leaves) > c.All() && last <= c.All()
	if both || b == 0 && len(leaves) < 2 || !(tooMany && b > 0) && (sided || r.sidesWritten || slices.ContainsFunc(record.Labels, func(label codex.Folio) bool { return leaves[label] })) {
		return
	}
	for i, p := range r.pending {
		r.pending[i].locus = p.locus.LettersAsSides()
	}
	why := "since no place has r or v"
	if sided {
		why = "since as leaves of their own they would be more than the record counts"
	}
	r.account.Note(record.Line, "the numbering", "a and b behind the numbers of leaves are taken as recto and verso, %s", why)
}

// mainScheme is the numbering that most loci name; of equals the first in the
// alphabet.
func (r *reader) mainScheme() string {
	main := ""
	for scheme, n := range r.schemes {
		if scheme == "" {
			continue
		}
		if most := r.schemes[main]; main == "" || n > most || n == most && scheme < main {
			main = scheme
		}
	}
	return main
}
