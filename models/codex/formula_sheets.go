package codex

import (
	"regexp"
	"strconv"
	"strings"
)

// Catalogues in German count a quire by its sheets and not by its leaves: a
// roman numeral is the number of sheets, an arabic one before it how many such
// quires there are, and a raised or bracketed one after it the folio with which
// the run ends, as in 4 IV³² + (IV−1)³⁹ + III⁴⁵ (the way of Chroust's Monumenta
// palaeographica; from memory).
var reOfSheets = regexp.MustCompile(`^(?:(\d+) ?)?(?:([IVX]+)|\(([IVX]+) ?(?:- ?(\d+))?(?: ?\+ ?(\d+))?\))(?: ?\^(\d+)| ?\((\d+)\))?$`)

// reTerms are the marks between the runs.
var reTerms = regexp.MustCompile(` ?[,;] ?| \+ `)

// bySheets reads a formula that counts sheets; false where it is none, where it
// may as well be labels of quires, or where a folio that it states is not the one that its quires come to. Its quires are
// numbered from 1.
func bySheets(text string) (Formula, bool) {
	terms := reTerms.Split(strings.TrimSpace(text), -1)
	if len(terms) == 1 && !strings.HasPrefix(text, "(") && digitsAtFront(text) == "" {
		return nil, false // a quire with a roman label
	}
	var formula Formula
	folio, sure := 0, strings.Contains(text, " + ")
	for _, term := range terms {
		match := reOfSheets.FindStringSubmatch(term)
		if match == nil {
			return nil, false
		}
		sheets := fromRoman(strings.ToLower(match[2] + match[3]))
		g := Gathering{Leaves: 2 * sheets, Lacking: atoi(match[4]), Extra: atoi(match[5])}
		times := 1
		if match[1] != "" {
			times = atoi(match[1])
		}
		if times < 1 || g.Leaves < 1 || g.Leaves > mostQuireLeaves || g.Lacking > g.Leaves || g.Extra > mostQuireLeaves || len(formula)+times > mostQuires {
			return nil, false
		}
		for range times {
			g.Label = strconv.Itoa(len(formula) + 1)
			formula = append(formula, g)
		}
		folio += times * (g.Leaves - g.Lacking + g.Extra)
		ends := match[6] + match[7]
		if ends != "" && atoi(ends) != folio {
			return nil, false
		}
		sure = sure || match[1] != "" || match[3] != "" || ends != ""
	}
	return formula, sure
}
