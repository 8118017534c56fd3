package grid

import (
	"fmt"
	"strings"
	"unicode/utf8"
)

// spoken is the table without columns that are drawings alone.
func (g Grid) spoken() Grid {
	rows := g.rows()
	for k := len(g.Heads) - 1; k >= 0; k-- {
		says, draws := false, false
		for _, row := range rows {
			says, draws = says || row[k].Text() != "", draws || row[k].drawing != ""
		}
		if draws && !says {
			g = g.Without(k)
		}
	}
	return g
}

// Text is the table on a terminal, in columns of characters.
func (g Grid) Text() string {
	var b strings.Builder
	g = g.spoken()
	fmt.Fprintln(&b, g.Title)
	if g.Count() == 0 {
		fmt.Fprintln(&b, g.Empty)
		return b.String()
	}
	top := make([]string, len(g.Heads))
	for k, h := range g.Heads {
		top[k] = h.Text
	}
	lines := [][]string{top}
	for _, row := range g.rows() {
		line := make([]string, len(row))
		for k, c := range row {
			line[k] = c.Text()
		}
		lines = append(lines, line)
	}
	widths := make([]int, len(g.Heads))
	for _, line := range lines {
		for k, cell := range line {
			widths[k] = max(widths[k], utf8.RuneCountInString(cell))
		}
	}
	for _, line := range lines {
		var out strings.Builder
		for k, cell := range line {
			gap := strings.Repeat(" ", widths[k]-utf8.RuneCountInString(cell))
			if g.Heads[k].Number {
				out.WriteString("  " + gap + cell)
			} else {
				out.WriteString("  " + cell + gap)
			}
		}
		fmt.Fprintln(&b, strings.TrimRight(out.String(), " "))
	}
	if g.Rest != "" {
		fmt.Fprintln(&b, g.Rest)
	}
	return b.String()
}
