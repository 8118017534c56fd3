package chapter

import (
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	"thumbed/models/report"
)

// A column is how one column of a table is set.
type column struct {
	number bool
	width  float64 // natural width of the widest cell, in em
	broken float64 // width that its lines are broken to, in em; 0 where they are not
	head   []string
}

const (
	// lineWidth is the width of the lines that tables are laid out for, in em of
	// the tables' letters of 9 points: 16 cm, as on A4 with usual margins.
	lineWidth = 50.0
	// columnGap is what stands between two columns.
	columnGap = 0.9
	// leastBroken is the least width of a column whose lines are broken.
	leastBroken = 7.0
)

// columnsOf measures a table's columns and breaks what is too wide: first the
// heads, then the columns of words.
func columnsOf(t report.PrintedTable) []column {
	out := make([]column, len(t.Heads))
	room := lineWidth - columnGap*float64(len(t.Heads)-1)
	for k, h := range t.Heads {
		c := &out[k]
		c.number = h.Number
		for _, p := range t.Panels {
			for _, row := range p.Rows {
				c.width = max(c.width, widthOf(row[k].Text()))
			}
		}
		least := c.width
		for _, word := range strings.Fields(h.Text) {
			least = max(least, widthOf(word))
		}
		c.head = broken(h.Text, least)
		for _, line := range c.head {
			c.width = max(c.width, widthOf(line))
		}
		if c.number {
			room -= c.width
		}
	}
	breakWords(out, room)
	return out
}

// breakWords shares the room among the columns of words: those that need less
// than an equal share take what they need.
func breakWords(columns []column, room float64) {
	var open []*column
	for k := range columns {
		if !columns[k].number {
			open = append(open, &columns[k])
		}
	}
	slices.SortStableFunc(open, func(a, b *column) int {
		switch {
		case a.width < b.width:
			return -1
		case a.width > b.width:
			return 1
		}
		return 0
	})
	for k, c := range open {
		share := max(room/float64(len(open)-k), leastBroken)
		if c.width > share {
			c.broken = share
		}
		room -= min(c.width, share)
	}
}

// broken breaks a head into lines no wider than so many em, where words allow.
func broken(head string, width float64) []string {
	var lines []string
	for _, word := range strings.Fields(head) {
		if n := len(lines); n > 0 && widthOf(lines[n-1]+" "+word) <= width {
			lines[n-1] += " " + word
			continue
		}
		lines = append(lines, word)
	}
	if lines == nil {
		return []string{""}
	}
	return lines
}

// widthOf estimates the width of text in em, by the widths of the letters of
// Computer Modern Roman.
func widthOf(text string) float64 {
	const narrow, wide = "ijlIf.,;:'’‘!|()[]/ \u00a0\u202ft“”-r", "mwMW−×≤≥"
	w := 0.0
	for _, c := range text {
		switch {
		case strings.ContainsRune(narrow, c):
			w += 0.33
		case strings.ContainsRune(wide, c):
			w += 0.8
		case c >= 'A' && c <= 'Z':
			w += 0.72
		default:
			w += 0.51
		}
	}
	return w
}

// preamble is the table's column types as LaTeX reads them.
func preamble(columns []column) string {
	var b strings.Builder
	b.WriteString("@{}")
	for _, c := range columns {
		switch {
		case c.number:
			b.WriteString("r")
		case c.broken > 0:
			fmt.Fprintf(&b, `>{\raggedright\arraybackslash}p{%.3f\linewidth}`, c.broken/lineWidth)
		default:
			b.WriteString("l")
		}
	}
	return b.String() + "@{}"
}

// heads is the row of column heads, with lines broken so that a head is no wider
// than what stands below it.
func heads(columns []column, s *setter) string {
	cells := make([]string, len(columns))
	for k, c := range columns {
		lines := make([]string, len(c.head))
		for i, line := range c.head {
			lines[i] = s.text(line)
		}
		side := "l"
		if c.number {
			side = "r"
		}
		cells[k] = lines[0]
		if len(lines) > 1 {
			cells[k] = fmt.Sprintf(`\begin{tabular}[b]{@{}%s@{}}%s\end{tabular}`, side, strings.Join(lines, `\\`))
		}
	}
	return strings.Join(cells, " & ") + ` \\`
}

// linesOf estimates how many lines a row takes.
func linesOf(row []report.Cell, columns []column) int {
	lines := 1
	for k, c := range columns {
		if c.broken > 0 {
			lines = max(lines, 1+int(1.1*widthOf(row[k].Text())/c.broken))
		}
	}
	return lines
}

// short is the text cut at a word's end.
func short(text string, most int) string {
	if utf8.RuneCountInString(text) <= most {
		return text
	}
	cut := string([]rune(text)[:most-1])
	if at := strings.LastIndexByte(cut, ' '); at > most/2 {
		cut = cut[:at]
	}
	return strings.TrimRight(cut, " ,;:") + "…"
}
