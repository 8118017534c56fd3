package catalogue

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"
)

// ordinals are English words for the places of leaves in a quire.
var ordinals = []string{"first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth", "eleventh", "twelfth"}

const ordinal = `(?:first|second|third|fourth|fifth|sixth|seventh|eighth|ninth|tenth|eleventh|twelfth|\d{1,2}(?:st|nd|rd|th))`

var (
	reWants   = regexp.MustCompile(`(?i)\b(?:the )?(` + ordinal + `(?:(?:, and | and |, )` + ordinal + `)*) lea(?:f|ves)?(?: is| are)? (missing|lost|wanting|lacking|gone|excised|removed|torn out)[^()|]*`)
	reOrdinal = regexp.MustCompile(`(?i)` + ordinal)
	reColon   = regexp.MustCompile(`: (\d{1,2}(?:(?:, | and )\d{1,2})*) (?:lost|missing|wanting)[^()|]*`)
	reAdded   = regexp.MustCompile(`(?i)\((?:the )?(` + ordinal + `) leaf (?:is )?(?:an? )?(?:added|inserted)[^()|]*\)`)
	// Leaves taken away, with where that is in the book: (-4, -5 [before fol. 94]); they
	// are places in the quire then, and no count.
	reTaken = regexp.MustCompile(`\([^()]*?(-\d{1,2}(?:(?:, | and | & | to )-\d{1,2})*)[^()\[\]]*\[[^\[\]]*\b(?:before|after)\b[^\[\]]*\]\)`)
	reAside = regexp.MustCompile(`\s*\[\p{Ll}+ [^\[\]]*\]`) // a remark: [to fol. 180, a production unit]
	reWhere = regexp.MustCompile(`(?i)\s*[(\[](?:fols?|foll|ff?|bll?)\.? ?[^()\[\]]*[)\]]|\s*\((?:misbound|rebound|disordered)\)`)
)

// wanting writes what catalogues say in words of the leaves that a quire lacks, or
// has more, as [codex.ParseFormula] reads it, and drops which leaves of the book
// the quire has: 2(8-1, fourth leaf missing after fol. 3) (fols. 9–15) is
// 2(8-1, wants 4).
func wanting(text string) string {
	text = reWhere.ReplaceAllString(strings.ReplaceAll(text, "(?)", ""), "")
	text = reTaken.ReplaceAllStringFunc(text, func(words string) string {
		taken := strings.NewReplacer(" to -", "-", " and -", ", ", " & -", ", ", ", -", ", ").Replace(reTaken.FindStringSubmatch(words)[1])
		return " (wants " + strings.TrimPrefix(taken, "-") + ")"
	})
	text = reAside.ReplaceAllString(text, "")
	text = reWants.ReplaceAllStringFunc(text, func(words string) string {
		found := reWants.FindStringSubmatch(words)
		if strings.EqualFold(found[2], "excised") {
			return strings.Join(places(found[1]), ", ") + " cancelled"
		}
		return "wants " + strings.Join(places(found[1]), ", ")
	})
	text = reColon.ReplaceAllString(text, ", wants $1")
	return reAdded.ReplaceAllStringFunc(text, func(words string) string {
		n, _ := strconv.Atoi(places(reAdded.FindStringSubmatch(words)[1])[0]) // figures only
		if n == 1 {
			return "(+1 leaf before 1)"
		}
		return fmt.Sprintf("(+1 leaf after %d)", n-1)
	})
}

// places are the numbers of ordinals: fourth, 8th.
func places(words string) []string {
	var out []string
	for _, word := range reOrdinal.FindAllString(words, -1) {
		number := strings.TrimRight(word, "stndrhSTNDRH")
		for i, name := range ordinals {
			if strings.EqualFold(word, name) {
				number = strconv.Itoa(i + 1)
			}
		}
		out = append(out, number)
	}
	return out
}
