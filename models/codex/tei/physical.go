package tei

import (
	"regexp"
	"strconv"
	"strings"

	"thumbed/models/codex"
	"thumbed/models/codex/catalogue"
)

// leaves reads how many leaves there are, of what, and how they are gathered.
func (r *reader) leaves(desc *node, record *catalogue.Record) {
	parts := desc.children("msPart", "msFrag")
	whole := desc
	if own := desc.children("physDesc"); len(own) > 0 {
		whole = own[0]
	} else if len(parts) > 1 {
		r.account.Note(desc.line, "the leaves", "the book is described in %d parts; their counts of leaves and collations are not put together: enter the quires in leaves.csv", len(parts))
		r.material(desc, record)
		return
	}
	r.material(whole, record)
	if extent := whole.find("extent"); extent != nil {
		record.Counts = countsOf(extent)
		if record.Counts.Leaves == 0 && record.Counts.Text != "" {
			r.account.Leave(extent.line, "the extent “"+catalogue.Short(record.Counts.Text, 60)+"”", "no count of leaves can be read in it")
		} else if record.Counts.Leaves > 0 {
			r.account.Use(extent.line, "the extent “"+catalogue.Short(record.Counts.Text, 60)+"”", "%s in front, %s, %s at the end",
				catalogue.Count(record.Counts.Front, "flyleaf", "flyleaves"), catalogue.Count(record.Counts.Leaves, "leaf", "leaves"), catalogue.Count(record.Counts.End, "flyleaf", "flyleaves"))
		}
	}
	if collation := whole.find("collation"); collation != nil {
		collation.each(func(n *node) { r.addCollation(n, record) }, "formula")
		collation.each(func(n *node) { r.addCollation(n, record) }, "p", "ab")
		r.addCollation(collation, record)
	}
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

// Words for leaf and page beside a number, in English, Latin, French, German
// and Italian.
const (
	leafWord = `(?:leaves|leaf|folios|folio|folia|folium|foll|fols|fol|ff|f|feuillets|feuillet|blätter|blatt|bll|bl|carte|carta|cc|c)\b\.?`
	pageWord = `(?:pages|page|pagine|pagina|pagg|pag|pp|p|seiten|seite|ss|s)\b\.?`
)

var (
	reAside   = regexp.MustCompile(`\([^()]*\)|\[[^\[\]]*\]`)
	reSum     = regexp.MustCompile(`\b(?:[ivxl]+|\d+)(?: ?[+,] ?(?:[ivxl]+|\d+))+\b`)
	reNumbers = regexp.MustCompile(`[ivxl]+|\d+`)
	reLeaves  = []*regexp.Regexp{regexp.MustCompile(`\b(\d{1,5}) ?` + leafWord), regexp.MustCompile(`\b` + leafWord + ` ?(\d{1,5})\b`)}
	rePages   = []*regexp.Regexp{regexp.MustCompile(`\b(\d{1,5}) ?` + pageWord), regexp.MustCompile(`\b` + pageWord + ` ?(\d{1,5})\b`)}
	reUnit    = regexp.MustCompile(`(?i)leaf|leav|foli|^ff?$|feuill|^bl|blatt|blätt|carte`)
)

// countsOf reads a count of leaves: a sum of flyleaves and leaves (ii + 120 +
// i), a measure that gives one, or a number beside a word for leaf or page.
func countsOf(extent *node) catalogue.Counts {
	c := catalogue.Counts{Statement: catalogue.Statement{Text: extent.words("dimensions", "height", "width", "depth"), Line: extent.line}}
	text := reAside.ReplaceAllString(strings.ToLower(c.Text), " ")
	text = strings.Join(strings.Fields(text), " ")
	if addUp(text, &c) {
		return c
	}
	extent.each(func(m *node) {
		if c.Leaves == 0 && (reUnit.MatchString(m.attr("unit")) || reUnit.MatchString(m.attr("type"))) {
			c.Leaves, _ = strconv.Atoi(m.attr("quantity")) // 0 where it is no number: then the words tell
		}
	}, "measure")
	if c.Leaves == 0 {
		c.Leaves = firstNumber(text, reLeaves)
	}
	if c.Leaves == 0 {
		c.Leaves = (firstNumber(text, rePages) + 1) / 2
	}
	return c
}

func firstNumber(text string, forms []*regexp.Regexp) int {
	for _, form := range forms {
		if match := form.FindStringSubmatch(text); match != nil {
			n, _ := strconv.Atoi(match[1]) // at most five figures
			return n
		}
	}
	return 0
}

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
			case i == main || romans > 0 && n > 0:
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
