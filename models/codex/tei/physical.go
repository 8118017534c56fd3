package tei

import (
	"cmp"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"thumbed/models/codex"
	"thumbed/models/codex/catalogue"
)

// leaves reads how many leaves there are, of what, and how they are gathered.
func (r *reader) leaves(desc *node, record *catalogue.Record) {
	whole := desc
	parts := desc.children("msPart", "msFrag")
	if own := desc.children("physDesc"); len(own) > 0 {
		whole = own[0]
	} else if len(parts) > 1 {
		whole = &node{line: desc.line} // what the parts have is that of each alone
	}
	r.material(whole, record)
	if record.Material.Text == "" {
		r.material(desc, record)
	}
	if extent := whole.find("extent"); extent != nil {
		record.Counts = countsOf(extent)
	}
	if record.Counts.Leaves == 0 {
		r.partsCounted(parts, record)
	}
	r.countInProse(desc, record)
	if collation := whole.find("collation"); collation != nil && record.Counts.Leaves == 0 {
		if found := reOnlyCounted.FindStringSubmatch(collation.words()); found != nil {
			n, _ := strconv.Atoi(found[1]) // at most five figures
			record.Counts.Leaves = n
			if record.Counts.Paged = found[2] == "pp"; record.Counts.Paged {
				record.Counts.Leaves = (n + 1) / 2
			}
			record.Counts.Statement = catalogue.Statement{Text: found[0], Line: collation.line}
		}
	}
	switch c, what := record.Counts, "the extent “"+catalogue.Short(record.Counts.Text, 60)+"”"; {
	case c.Leaves > 0:
		r.account.Use(c.Line, what, "%s in front, %s, %s at the end",
			catalogue.Count(c.Front, "flyleaf", "flyleaves"), catalogue.Count(c.Leaves, "leaf", "leaves"), catalogue.Count(c.End, "flyleaf", "flyleaves"))
	case c.Text != "":
		r.account.Leave(c.Line, what, "no count of leaves can be read in it")
	}
	if len(parts) > 1 && whole.find("collation") == nil && desc.find("collation") != nil {
		r.account.Leave(desc.line, "the collation", "the book is described in %d parts, each with a collation of its own, which are not put together: enter the quires in leaves.csv", len(parts))
	}
	r.numbers(whole, record)
	r.numbersInShelfmark(record)
	if collation := whole.find("collation"); collation != nil {
		record.Quires = quiresOf(collation)
		if len(record.Quires) == 0 {
			r.quiresByFolios(collation, record)
		}
		collation.each(func(n *node) { r.addCollation(n, record) }, "formula")
		collation.each(func(n *node) { r.addCollation(n, record) }, "p", "ab")
		r.addCollation(collation, record)
	}
}

// reOnlyCounted finds a count of leaves where a collation would stand: Folios: 61 foll.
var reOnlyCounted = regexp.MustCompile(`^(?:Folios: )?(\d{1,5}) ?(foll|fols|ff|leaves|pp)\b`)

// reConsisting finds a count of leaves in what is said of the state of the book.
var reConsisting = regexp.MustCompile(`(?i)\bconsist(?:s|ing) of (\d{1,5}) (?:leaves|folios|leaf)`)

// reItsLeaves finds which leaves of a volume these are, behind their count.
var reItsLeaves = regexp.MustCompile(`(?i)\bconsist(?:s|ing) of \d{1,5} leaves \([^()]*\bfoll?\.? ?(\d{1,4}) ?[-–—] ?(\d{1,4})\)`)

// countInProse reads the count from the condition where the extent tells none.
func (r *reader) countInProse(desc *node, record *catalogue.Record) {
	sum, line, numbers := 0, 0, []string(nil)
	desc.each(func(n *node) {
		if found := reConsisting.FindStringSubmatch(n.words()); found != nil {
			count, _ := strconv.Atoi(found[1]) // at most five figures
			sum, line = sum+count, n.line
			numbers = reItsLeaves.FindStringSubmatch(n.words())
		}
	}, "condition")
	if record.Counts.Leaves == 0 && sum > 0 {
		record.Counts.Leaves, record.Counts.Statement = sum, catalogue.Statement{Text: "consisting of " + strconv.Itoa(sum) + " leaves", Line: line}
		if numbers == nil {
			return
		}
		first, last := ends(numbers[1:])
		if first > 0 && last-first+1 == sum {
			record.Labels = catalogue.Numbered(first, last, false)
			r.account.Use(line, "the leaves “"+strconv.Itoa(first)+"–"+numbers[2]+"”", "the numbers of the leaves")
		}
	}
}

// partsCounted adds up the leaves of a book that is described in parts, where
// each part counts its own.
func (r *reader) partsCounted(parts []*node, record *catalogue.Record) {
	sum := catalogue.Counts{Front: record.Counts.Front, End: record.Counts.End}
	var texts []string
	for _, part := range parts {
		extent := part.find("extent")
		if palimpsest(part) {
			continue // its leaves are those of another part
		}
		if extent == nil {
			return
		}
		c := countsOf(extent)
		if state := part.find("condition"); c.Leaves == 0 && state != nil {
			if found := reConsisting.FindStringSubmatch(state.words()); found != nil {
				c.Leaves, _ = strconv.Atoi(found[1]) // at most five figures
				c.Statement = catalogue.Statement{Text: found[0], Line: state.line}
			}
		}
		if c.Leaves == 0 {
			return
		}
		if sum.Line == 0 {
			sum.Line = c.Line
		}
		sum.Leaves += c.Leaves
		texts = append(texts, c.Text)
	}
	if sum.Leaves == 0 {
		return
	}
	sum.Text = strings.Join(texts, "; ")
	record.Counts = sum
	if len(parts) > 1 {
		r.account.Note(sum.Line, "the leaves", "the book is described in %d parts; their leaves are added up", len(parts))
	}
}

// palimpsest tells whether a part is a text that was scraped off the leaves of
// another.
func palimpsest(part *node) bool {
	words := part.attr("type") + " " + part.attr("form")
	for _, n := range part.children("msIdentifier", "head", "altIdentifier") {
		words += " " + n.words()
	}
	return reUnder.MatchString(words)
}

var reUnder = regexp.MustCompile(`(?i)\b(?:palimpsest|under-?(?:text|writing)|lower (?:text|script|writing)|scriptio inferior|scriptura inferior)`)

// numbered is how statements of foliation list the numbers on the leaves, those of
// flyleaves in front and at the end perhaps beside them: Foliated in pencil: i, 1–126.
var numbered = regexp.MustCompile(`(?i)(?:^|[:;,(] ?|\b(?:as|als) )(?:([ivxl]+)(?: ?[-–] ?([ivxl]+))?(?:,| \+| and| und| et) )?1 ?[-–] ?(\d{1,4})(?:(?:,| \+| and| und| et) ([ivxl]+)(?: ?[-–] ?([ivxl]+))?)?(?:[.;)]|$)`)

// numbers reads the numbers that stand on the leaves, where the record lists
// them and there are as many as it counts leaves and flyleaves.
func (r *reader) numbers(whole *node, record *catalogue.Record) {
	foliation := whole.find("foliation")
	if foliation == nil || record.Counts.Leaves == 0 {
		return
	}
	match := numbered.FindStringSubmatch(foliation.words())
	if match == nil {
		r.numbersListed(foliation, record)
		return
	}
	last, _ := strconv.Atoi(match[3]) // at most four figures
	front := romans(match[1], match[2])
	labels := slices.Concat(front, catalogue.Numbered(1, last, false), romans(match[4], match[5]))
	c := record.Counts
	twice := match[1] != "" && match[4] != "" && slices.Contains(labels[:len(labels)-1], labels[len(labels)-1])
	if twice || len(labels) != c.All() || len(front) == c.Front && last == c.Leaves {
		return // as they would be numbered without it
	}
	record.Labels = labels
	r.account.Use(foliation.line, "the foliation “"+catalogue.Short(foliation.words(), 60)+"”", "the numbers of the flyleaves and leaves")
}

// reList finds a list of the numbers on the leaves: i–iii + 1–58 + 58* + 59–296; 1-70,
// 71a-b, 72.
var (
	reList     = regexp.MustCompile(listedPart + `(?:(?: \+ |, )` + listedPart + `)+`)
	reListPart = regexp.MustCompile(`^([ivxl]+|\d{1,4})([a-z]|\*{1,3})?(?:[-–]([ivxl]+|\d{1,4})?([a-z])?)?$`)
)

const listedPart = `(?:[ivxl]+|\d{1,4})(?:[a-z]|\*{1,3})?(?:[-–](?:[ivxl]+|\d{1,4})?[a-z]?)?`

// numbersListed reads the numbers on the leaves from a list of them that comes to as
// many as the record counts.
func (r *reader) numbersListed(foliation *node, record *catalogue.Record) {
	for _, list := range reList.FindAllString(foliation.words(), -1) {
		var labels []codex.Folio
		for _, part := range strings.FieldsFunc(list, func(r rune) bool { return r == '+' || r == ',' }) {
			labels = append(labels, listedLeaves(strings.TrimSpace(part))...)
		}
		different := map[codex.Folio]bool{}
		for _, label := range labels {
			different[label] = true
		}
		if len(labels) == record.Counts.All() && len(different) == len(labels) {
			record.Labels = labels
			r.account.Use(foliation.line, "the foliation “"+catalogue.Short(list, 60)+"”", "the numbers of the flyleaves and leaves")
			return
		}
	}
}

// listedLeaves are the leaves of one part of a list: i–iii, 58*, 71a-b, 1–93a, 93b–151.
func listedLeaves(part string) []codex.Folio {
	m := reListPart.FindStringSubmatch(part)
	if m == nil {
		return nil
	}
	folio, err := codex.ParseFolio(m[1] + m[2])
	switch {
	case err != nil:
		return nil
	case m[3] != "" && folio.Roman:
		return romans(m[1], m[3])
	case m[3] != "":
		last, err := codex.ParseFolio(m[3] + m[4])
		if err != nil || last.Roman || last.Number <= folio.Number {
			return nil
		}
		between := catalogue.Numbered(folio.Number+1, last.Number-1, false)
		return slices.Concat([]codex.Folio{folio}, between, []codex.Folio{last})
	case m[4] != "" && len(m[2]) == 1 && m[2] < m[4]:
		var out []codex.Folio
		for letter := m[2][0]; letter <= m[4][0]; letter++ {
			if f, err := codex.ParseFolio(m[1] + string(letter)); err == nil {
				out = append(out, f)
			}
		}
		return out
	}
	return []codex.Folio{folio}
}

// reShelfLeaves finds which leaves of a volume are described, at the end of a
// shelfmark: Add MS 14726, foll. 87-128; foll. 118, 123, and 149, lower text.
var reShelfLeaves = regexp.MustCompile(`(?i)\b(?:foll|fols?|ff)\.? ?(\d{1,4}(?: ?[-–—] ?\d{1,4})?(?:(?:, and |, | and )\d{1,4}(?: ?[-–—] ?\d{1,4})?)*)(?:,? (?:upper|lower) text)?$`)

// numbersInShelfmark reads the numbers of the leaves from the shelfmark, where they
// are as many as the record counts, or it counts none.
func (r *reader) numbersInShelfmark(record *catalogue.Record) {
	found := reShelfLeaves.FindStringSubmatch(record.Shelf)
	if found == nil || record.Labels != nil {
		return
	}
	var labels []codex.Folio
	for _, part := range reShelfPart.FindAllStringSubmatch(found[1], -1) {
		first, last := ends([]string{part[1], cmp.Or(part[2], part[1])})
		if first < 1 || first > last || len(labels) > 0 && first <= labels[len(labels)-1].Number {
			return
		}
		labels = append(labels, catalogue.Numbered(first, last, false)...)
	}
	if record.Counts.Leaves != 0 && record.Counts.Leaves != len(labels) || record.Counts.Front+record.Counts.End > 0 {
		return
	}
	record.Labels = labels
	record.Counts.Leaves = len(record.Labels)
	r.account.Use(record.Line, "the leaves “"+found[0]+"”", "the numbers of the leaves, from the shelfmark")
}

var reShelfPart = regexp.MustCompile(`(\d{1,4})(?: ?[-–—] ?(\d{1,4}))?`)

// ends are the two numbers that a pattern found, each of at most four figures.
func ends(found []string) (first, last int) {
	first, _ = strconv.Atoi(found[0])
	last, _ = strconv.Atoi(found[1])
	return first, last
}

// romans are the leaves from one roman number to another, or the one.
func romans(from, to string) []codex.Folio {
	first, err := codex.ParseFolio(from)
	if err != nil {
		return nil
	}
	last, err := codex.ParseFolio(to)
	if err != nil {
		last = first
	}
	return catalogue.Numbered(first.Number, last.Number, true)
}

// reIrregular finds what is said of quires whose leaves do not pair first with last.
var reIrregular = regexp.MustCompile(`(?i)unbalanced|adjusted|added|missing|stub|lost|lack|wants|removed|cancel|singleton|single leaf`)

// quiresOf reads a list of quires, each with a locus from its first leaf to its
// last.
func quiresOf(collation *node) []catalogue.Quire {
	var quires []catalogue.Quire
	collation.each(func(item *node) {
		loci := item.children("locus")
		if len(loci) == 0 {
			return
		}
		l, ok := parseLocus(loci[0])
		if !ok || len(l.Ranges) != 1 || loci[0].attr("from") == "" {
			return
		}
		label := item.attr("n")
		if label == "" {
			label = strconv.Itoa(len(quires) + 1)
		}
		quires = append(quires, catalogue.Quire{Line: item.line, Label: label, From: l.Ranges[0].From.Folio, To: l.Ranges[0].To.Folio, Regular: !reIrregular.MatchString(item.words())})
	}, "item")
	return quires
}

// A quire, or several alike, behind its folios: (fols. 51–56) VI (10−2) missing 4 and 5.
var (
	reByFolios = regexp.MustCompile(`\((?:fols?|ff|pp?)\. ?(\d{1,4}|[ivxl]+)(?: ?[-–] ?(\d{1,4}|[ivxl]+))?\) ([IVXLC]+)(?: ?[-–] ?([IVXLC]+))? \((\d{1,3})((?: ?[-−–+] ?\d{1,2}(?: ?\(\?\))?)*)\)([^|]*)`)
	reLacks    = regexp.MustCompile(`(?i)\b(?:missing|wants|lacks|lacking) (\d{1,2}(?:(?:, | and )\d{1,2})*)`)
	reChange   = regexp.MustCompile(`([-−–+]) ?(\d{1,2})`)
	rePasted   = regexp.MustCompile(`(?i)\bleaf\b[^|]*\b(?:used|serves|now) as\b[^|]*\bpastedown`)
)

// quiresByFolios reads a collation that goes by folios, or by pages, with the leaves
// that its quires lack. Quires that do not come to the folios that they are said to
// have are left, and said to be.
func (r *reader) quiresByFolios(collation *node, record *catalogue.Record) {
	labels := record.Labels
	if labels == nil {
		labels = slices.Concat(catalogue.Numbered(1, record.Counts.Front, true), catalogue.Numbered(1, max(record.Counts.Leaves, 1), false))
	}
	words := collation.words()
	paged := strings.Contains(words, "(pp. ")
	at := func(number string) (first, last int) { // 93 is 93a and 93b where there is no other
		folio, err := codex.ParseFolio(number)
		if n, isNumber := strconv.Atoi(number); isNumber == nil && paged {
			folio = catalogue.OfPage(n).Folio
			folio.Supplied = false
		} else if err != nil {
			return -1, -1
		}
		if i := slices.Index(labels, folio); i >= 0 {
			return i, i
		}
		first, last = -1, -1
		for i, label := range labels {
			if label.Number == folio.Number && label.Roman == folio.Roman {
				if last = i; first < 0 {
					first = i
				}
			}
		}
		return first, last
	}
	var quires []catalogue.Quire
	var gone []catalogue.Gap
	var left []string
	for _, m := range reByFolios.FindAllStringSubmatch(words, -1) {
		from, _ := at(m[1])
		_, to := at(cmp.Or(m[2], m[1]))
		names := romans(m[3], m[4])
		size, _ := strconv.Atoi(m[5]) // at most three figures
		var lacks []string
		if found := reLacks.FindStringSubmatch(m[7]); found != nil {
			lacks = reEach.FindAllString(found[1], -1)
		}
		has := to - from + 1
		text := strings.TrimSpace(m[0])
		pasted := 0
		if rePasted.MatchString(m[7]) {
			pasted = 1
		}
		if from < 0 || !comesTo(has, size, len(names), m[6], len(lacks)+pasted) {
			left = append(left, text)
			continue
		}
		each := has / len(names)
		for k, name := range names {
			quires = append(quires, catalogue.Quire{Line: collation.line, Label: strings.ToUpper(name.String()),
				From: labels[from+k*each], To: labels[from+(k+1)*each-1], Regular: each == size})
		}
		if lacks == nil {
			r.goneIn(m[7], collation.line)
		}
		if strings.Contains(m[7], "no loss") {
			continue
		}
		for k, place := range lacks {
			n, _ := strconv.Atoi(place) // two figures
			if n > size {
				continue
			}
			gap := catalogue.Gap{Statement: catalogue.Statement{Text: text, Line: collation.line}, Leaves: 1, Quire: strings.ToUpper(names[0].String())}
			if before := min(from+n-k-2, to); before >= 0 { // else in front of all
				gap.After = labels[before]
			}
			if last := len(gone) - 1; last >= 0 && gone[last].After == gap.After {
				gone[last].Leaves++ // lost at one place, and told together
				continue
			}
			gone = append(gone, gap)
		}
	}
	if len(quires) < 2 {
		return
	}
	for _, quire := range left {
		r.account.Leave(collation.line, "the collation “"+catalogue.Short(quire, 120)+"”", "it does not come to the leaves that it is said to have; enter them in leaves.csv")
	}
	record.Quires, r.byFolios = quires, true
	r.lost = append(r.lost, gone...)
}

// comesTo tells whether so many quires of a size, changed by leaves added and taken
// away, come to the leaves that they are said to have. The size of one that lacks
// leaves may be what it had once; and of one that was changed the leaves are told,
// whatever was lost or added.
func comesTo(has, size, quires int, changes string, lacks int) bool {
	if changes == "" {
		return quires > 0 && has == quires*size || quires == 1 && lacks > 0 && has == size-lacks
	}
	here := size
	for _, change := range reChange.FindAllStringSubmatch(changes, -1) {
		n, _ := strconv.Atoi(change[2]) // two figures
		if change[1] != "+" {
			n = -n
		}
		here += n
	}
	return quires == 1 && (has == here || 0 < has && has <= max(size, here))
}

func (r *reader) addCollation(n *node, record *catalogue.Record) {
	if text := n.formula(); text != "" {
		record.Collations = append(record.Collations, catalogue.Statement{Text: text, Line: n.line})
	}
}

// material reads what the leaves are made of: the record's own word for it, or
// its code, or the first of its prose.
func (r *reader) material(whole *node, record *catalogue.Record) {
	support := whole.find("supportDesc")
	if support == nil {
		return
	}
	var words []string
	support.each(func(n *node) { words = append(words, n.words()) }, "material")
	r.outer(whole, record)
	record.Material = catalogue.Statement{Text: strings.Join(words, " "), Line: support.line}
	if code := support.attr("material"); code != "" && len(words) == 0 {
		record.Material.Text = code
	}
	if prose := support.find("support"); record.Material.Text == "" && prose != nil {
		record.Material.Text = prose.words()
	}
}

// HSOS and FSOS, hair or flesh side outside, are how English catalogues tell
// it (common practice, no source).
var reOuter = regexp.MustCompile(`\b(HSOS|FSOS)\b|(?i:\b(hair|flesh)[ -]sides? (?:outside|outermost|out)\b)`)

// outer reads which side of the skin is on the outside of the quires.
func (r *reader) outer(whole *node, record *catalogue.Record) {
	if object := whole.find("objectDesc"); object != nil {
		whole = object
	}
	match := reOuter.FindStringSubmatch(whole.words())
	if match == nil {
		return
	}
	record.Outer = strings.ToLower(match[2])
	switch match[1] {
	case "HSOS":
		record.Outer = codex.Hair
	case "FSOS":
		record.Outer = codex.Flesh
	}
	r.account.Use(whole.line, "“"+match[0]+"”", "the outermost side of each quire, %s", record.Outer)
}

// Words for leaf and page beside a number, in English, Latin, French, German,
// Italian, Spanish, Portuguese and Dutch.
const (
	leafWord = `(?:(?:palm-)?leaves|ll|leaf|folios|folio|folia|folium|foll|fols|fol|fos|ff|f|feuillets|feuillet|blätter|blatt|bll|bl|bladen|blad|carte|carta|cc|c|hojas|hoja|hh|h|folhas|folha|fls|fl)\b\.?`
	pageWord = `(?:pages|page|páginas|página|pagine|paginas|pagina|pagg|pag|pp|p|seiten|seite|ss|s|blz)\b\.?`
	number   = `(?:[ivxl]+|\d+)`
)

var (
	reAside   = regexp.MustCompile(`\([^()]*\)|\[[^\[\]]*\]`)
	reOwn     = regexp.MustCompile(`\[(` + number + `)\]`) // a number that the leaves do not bear
	reSum     = regexp.MustCompile(`\b` + number + `(?: ?` + leafWord + `)?(?: ?[+,] ?` + number + `(?: ?` + leafWord + `)?)+`)
	reNumbers = regexp.MustCompile(`\b(?:[ivxl]+|\d+)\b`)
	reLeaves  = []*regexp.Regexp{regexp.MustCompile(`\b(\d{1,5}) ?(?:\p{L}+ ){0,2}` + leafWord), regexp.MustCompile(`\b` + leafWord + ` ?1 ?[-–] ?(\d{1,5})\b`), regexp.MustCompile(`\b` + leafWord + ` ?(\d{1,5})\b`)}
	// The leaves of a part by their numbers: ff. 305-314.
	reLeafRange = regexp.MustCompile(`^` + leafWord + ` ?(\d{1,5}) ?[-–] ?(\d{1,5})\b`)
	reOneLetter = regexp.MustCompile(`^(\d{1,5}) ?l\b`) // 1 l.
	rePages     = []*regexp.Regexp{regexp.MustCompile(`\b(\d{1,5}) ?` + pageWord), regexp.MustCompile(`\b` + pageWord + ` ?(\d{1,5})\b`)}
	reLeafUnit  = regexp.MustCompile(`(?i)leaf|leav|foli|^ff?$|feuill|^bl|blatt|blätt|carte`)
	reAllPages  = regexp.MustCompile(`^(\d{1,5}) ?` + pageWord + `$`)
	rePageUnit  = regexp.MustCompile(`(?i)^(?:pages?|pp|seiten?|sid(?:a|or))$`)
	reFly       = regexp.MustCompile(`(?i)fly|endlea`)
	reFront     = regexp.MustCompile(`(?i)left|front|upper|first`)
)

// countsOf reads a count of leaves: a sum of flyleaves and leaves (ii + 120 +
// i), a measure that gives one, or a number beside a word for leaf or page.
func countsOf(extent *node) catalogue.Counts {
	c := catalogue.Counts{Statement: catalogue.Statement{Text: extent.words("dimensions", "height", "width", "depth"), Line: extent.line}}
	text := reAside.ReplaceAllString(reOwn.ReplaceAllString(strings.ToLower(c.Text), "$1"), " ")
	text = strings.Join(strings.Fields(text), " ")
	if addUp(text, &c) {
		return c
	}
	inBrackets := c // the same count once more, with the flyleaves
	if addUp(strings.ToLower(c.Text), &inBrackets) && inBrackets.Leaves == firstNumber(text, reLeaves) {
		return inBrackets
	}
	if all := reAllPages.FindStringSubmatch(text); all != nil {
		n, _ := strconv.Atoi(all[1]) // at most five figures
		c.Leaves, c.Paged = (n+1)/2, true
		return c
	}
	extent.each(func(m *node) {
		kind := m.attr("unit") + " " + m.attr("type")
		n, err := wholeNumber(m.attr("quantity"))
		if err != nil {
			n, err = wholeNumber(m.words())
		}
		switch {
		case err != nil || n < 0: // then the words tell
		case reFly.MatchString(kind) && reFront.MatchString(kind):
			c.Front = n
		case reFly.MatchString(kind):
			c.End = n
		case rePageUnit.MatchString(m.attr("unit")) && c.Leaves == 0:
			c.Leaves, c.Paged = (n+1)/2, true
		case strings.Contains(kind, "blank"): // among the others
		case c.Leaves == 0 && (reLeafUnit.MatchString(m.attr("unit")) || reLeafUnit.MatchString(m.attr("type"))):
			c.Leaves = n
		}
	}, "measure", "dim")
	if between := reLeafRange.FindStringSubmatch(text); between != nil && c.Leaves == 0 {
		first, _ := strconv.Atoi(between[1]) // at most five figures
		last, _ := strconv.Atoi(between[2])
		c.Leaves = max(0, last-first+1)
	}
	if c.Leaves == 0 {
		c.Leaves = firstNumber(text, reLeaves)
	}
	if c.Leaves == 0 {
		c.Leaves = (firstNumber(text, rePages) + 1) / 2
		c.Paged = c.Leaves > 0
	}
	if one := reOneLetter.FindStringSubmatch(text); one != nil && c.Leaves == 0 {
		c.Leaves, _ = strconv.Atoi(one[1]) // at most five figures
	}
	if n, err := strconv.Atoi(extent.attr("n")); err == nil && n > 0 && c.Leaves == 0 {
		c.Leaves = n
	}
	if n, err := strconv.Atoi(text); err == nil && n > 0 && c.Leaves == 0 {
		c.Leaves = n // a number and nothing else
	}
	return c
}

// wholeNumber reads a number of things, which some records write as 31.0.
func wholeNumber(text string) (int, error) { return strconv.Atoi(strings.TrimSuffix(text, ".0")) }

func firstNumber(text string, forms []*regexp.Regexp) int {
	for _, form := range forms {
		if match := form.FindStringSubmatch(text); match != nil {
			n, _ := strconv.Atoi(match[1]) // at most five figures
			return n
		}
	}
	return 0
}

// mostLoose is how many leaves beside the others in a sum are taken for flyleaves
// that have no roman number: i + 2 + 140 + 2.
const mostLoose = 4

// addUp reads the first sum of flyleaves and leaves in a text. Roman numbers
// count flyleaves. Where there are none, the largest number counts leaves and
// those beside it flyleaves; then only + makes a sum.
func addUp(text string, c *catalogue.Counts) bool {
	for _, sum := range reSum.FindAllString(text, -1) {
		var numbers []int
		main, romans := -1, 0
		for _, word := range reNumbers.FindAllString(sum, -1) {
			n, err := strconv.Atoi(word)
			if err != nil {
				folio, err := codex.ParseFolio(word)
				if err != nil {
					return false
				}
				n = -folio.Number
				romans++
			}
			if numbers = append(numbers, n); main < 0 || n > numbers[main] {
				main = len(numbers) - 1
			}
		}
		if romans == len(numbers) || romans == 0 && strings.Contains(sum, ",") {
			continue
		}
		for i, n := range numbers {
			switch {
			case i == main || romans > 0 && n > mostLoose:
				c.Leaves += n
			case i < main:
				c.Front += max(n, -n)
			default:
				c.End += max(n, -n)
			}
		}
		return true
	}
	return false
}
