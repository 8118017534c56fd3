package wording

import (
	"fmt"
	"strings"
	"text/tabwriter"
	"unicode/utf8"
)

// Lines writes rows of cells as a table for a terminal: the first column flush left,
// all others flush right.
func Lines(rows [][]string) string {
	widest := 0
	for _, cells := range rows {
		widest = max(widest, utf8.RuneCountInString(cells[0]))
	}
	var out strings.Builder
	w := tabwriter.NewWriter(&out, 0, 0, 2, ' ', tabwriter.AlignRight)
	for _, cells := range rows {
		fmt.Fprintf(w, "%s%s\t%s\t\n", cells[0], strings.Repeat(" ", widest-utf8.RuneCountInString(cells[0])), strings.Join(cells[1:], "\t"))
	}
	w.Flush() // into a strings.Builder, which cannot fail
	var trimmed strings.Builder
	for line := range strings.Lines(out.String()) {
		trimmed.WriteString(strings.TrimRight(line, " \n") + "\n")
	}
	return trimmed.String()
}
