package catalogue

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"
)

// Ways in which catalogues write quires that [codex.ParseFormula] does not read as
// they stand (common practice, no source).
var (
	// Quires by their sheets with the leaf each ends on: 7IV(56)1II(60), 1IV-1(7).
	reSheets    = regexp.MustCompile(`\(?(?:` + sheetTerm + `[ ,]*)+`)
	reSheetTerm = regexp.MustCompile(sheetTerm)

	// Quires by how many there are of a size: 12 × 8 (96), 1 × 4–1 (99).
	reTimes = regexp.MustCompile(`(\d{1,3}) ?[×x] ?(\d{1,3})` + changed + `(?: ?\(([^()]*)\))?`)

	// Quires behind the leaf each begins on: (fol. 1) i–vii 8, (fol. 56) viii 6.
	reOnLeaf = regexp.MustCompile(`\((?:fols?|ff?)\. ?\d{1,4}[rv]?\) ?([ivxl]+)((?: ?[-–] ?[ivxl]+)?),? ?(\d{1,3})(?: leaves)?\b`)
	reBehind = regexp.MustCompile(`\((\d{1,2}(?:(?:, | and | ?[-–] ?)\d{1,2})*),? (?:is |are )?(?:missing|wanting|lost)\)`)

	// Leaves outside the quires, flyleaves as it seems: A bifolium at each end, 1–9¹².
	reOutside = regexp.MustCompile(`(?i)^(?:(?:an?|two|three|four) (?:bifoli(?:um|a)|singletons?|flyleaf|flyleaves)(?: at each end)?(?: \([^()]*\))?,? (?:and )?)+`)
	reOutEnd  = regexp.MustCompile(`(?i),? (?:and )?(?:an?|two) (?:bifoli(?:um|a)|singletons?)(?: \([^()]*\))?\W*$`)
	reParted  = regexp.MustCompile(` (?:∥|‖|/) `) // a text ends between two quires
	reCanc    = regexp.MustCompile(`\bcanc\.`)
	reOneMore = regexp.MustCompile(`\(\+ (\d) (after|before) (\d{1,2})\)`)
)

const (
	changed   = `(?: ?([-−–+]) ?(\d{1,2}))?` // by leaves taken away or added
	sheetTerm = `(\d{1,3}) ?([IVX]{1,5})` + changed + `\((\d{1,4})\)`
)

// collated writes a statement of collation as [codex.ParseFormula] reads it, where it
// is in a way that that does not read; and, of quires with the leaf each ends on, once
// more without the last, which may be of flyleaves.
func collated(text string) (formula, shorter string) {
	text = reCanc.ReplaceAllString(text, "cancelled")
	text = reOneMore.ReplaceAllString(text, "(+$1 leaf $2 $3)")
	if sheets := reSheets.FindString(text); sheets != "" {
		return bySheetsOf(sheets), ""
	}
	if times := reTimes.FindAllStringSubmatch(text, -1); len(times) > 1 || len(times) == 1 && strings.HasPrefix(text, times[0][0]) {
		return byTimes(times), byTimes(times[:len(times)-1])
	}
	if reOnLeaf.MatchString(text) {
		text = reOnLeaf.ReplaceAllStringFunc(text, func(quire string) string {
			found := reOnLeaf.FindStringSubmatch(quire)
			return strings.ToUpper(found[1]+found[2]) + "^" + found[3]
		})
		return reBehind.ReplaceAllString(text, "(wants $1)"), ""
	}
	if out := reOutside.FindString(text); out != "" {
		text = text[len(out):]
		head, tail, _ := strings.Cut(text, ";")
		text = reOutEnd.ReplaceAllString(head, "")
		if tail != "" {
			text += ";" + tail
		}
	}
	return reParted.ReplaceAllString(text, ", "), ""
}

func bySheetsOf(text string) string {
	var terms []string
	for _, m := range reSheetTerm.FindAllStringSubmatch(text, -1) {
		kind := m[2]
		if m[3] != "" {
			kind = "(" + m[2] + m[3] + m[4] + ")"
		}
		if m[1] != "1" {
			kind = m[1] + " " + kind
		}
		terms = append(terms, kind+"^"+m[5])
	}
	return strings.Join(terms, " + ")
}

func byTimes(times [][]string) string {
	var terms []string
	quire := 1
	for i, m := range times {
		n, _ := strconv.Atoi(m[1]) // at most three figures
		if i == 0 && m[5] != "" && strings.Trim(m[5], "ivxl") == "" {
			continue // flyleaves
		}
		label := strconv.Itoa(quire)
		if n > 1 {
			label = fmt.Sprintf("%d–%d", quire, quire+n-1)
		}
		quire += n
		terms = append(terms, label+"^"+m[2]+m[3]+m[4])
	}
	return strings.Join(terms, ", ")
}
