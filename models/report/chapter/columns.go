package chapter

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"thumbed/models/report/grid"
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
	lineWidth = 49.0
	// columnGap is what stands between two columns.
	columnGap = 0.9
	// leastBroken is the least width of a column whose lines are broken.
	leastBroken = 6.0
)

// slacks are by how much a head may be wider than what stands below it, in em, to
// have fewer lines; the width is taken from the columns of words.
var slacks = []float64{5, 3, 2, 1, 0}

// columnsOf measures a table's columns and breaks what is too wide, heads and
// columns of words, so that the table is low and keeps to the line.
func columnsOf(t grid.Grid, plumbs []map[int]plumb) []column {
	var lowest []column
	least := 0
	for _, slack := range slacks {
		columns := measured(t, plumbs, slack)
		height := heightOf(t, columns)
		if lowest == nil || tableWidth(lowest) > lineWidth || height < least && tableWidth(columns) <= lineWidth {
			lowest, least = columns, height
		}
	}
	return lowest
}

// heightOf estimates the lines of a table's head and rows.
func heightOf(t grid.Grid, columns []column) int {
	height := 0
	for _, c := range columns {
		height = max(height, len(c.head))
	}
	for _, p := range t.Panels {
		for _, row := range p.Rows {
			height += linesOf(row, t.Heads, columns)
		}
	}
	return height
}

// measured measures the columns with heads that have that slack.
func measured(t grid.Grid, plumbs []map[int]plumb, slack float64) []column {
	out := make([]column, len(t.Heads))
	room := lineWidth - columnGap*float64(len(t.Heads)-1)
	for k, h := range t.Heads {
		c := &out[k]
		c.number = h.Number
		for _, p := range t.Panels {
			for _, row := range p.Rows {
				names, _, remark := remarkOf(row, t.Heads)
				switch n := len(numbersOf(row[k])); {
				case c.number && n > 0:
					c.width = max(c.width, plumbs[k][n].width(row[k]))
				case k < names || !remark:
					c.width = max(c.width, widthOf(row[k].Text()))
				}
			}
		}
		c.head = headOf(h.Text, c.width, slack)
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
	slices.SortStableFunc(open, func(a, b *column) int { return cmp.Compare(a.width, b.width) })
	for k, c := range open {
		share := max(room/float64(len(open)-k), leastBroken)
		if c.width > share {
			c.broken = share
		}
		room -= min(c.width, share)
	}
}

// headOf breaks a head over a column of that width, into two lines if the slack
// allows, else into as few as it does.
func headOf(text string, width, slack float64) []string {
	for _, word := range strings.Fields(text) {
		width = max(width, widthOf(word))
	}
	lines := broken(text, width)
	for w := width; w <= width+slack && len(lines) > 2; w += 0.25 {
		lines = broken(text, w)
	}
	return lines
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
	const thin, narrow, wide = ".,;:'’‘!|ijl", "If()[]/ \u00a0\u202ft“”-r", "mwMW−×≤≥<>%"
	w := 0.0
	for _, c := range text {
		switch {
		case c >= '0' && c <= '9':
			w += 0.5
		case strings.ContainsRune(thin, c):
			w += 0.28
		case strings.ContainsRune(narrow, c):
			w += 0.36
		case strings.ContainsRune(wide, c):
			w += 0.78
		case c >= 'A' && c <= 'Z':
			w += 0.72
		default:
			w += 0.52
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

// longRemark is how wide words in a row without numbers are, in em, that take the
// place of the numbers.
const longRemark = 12.0

// remarkOf finds what a row says in the place of its numbers, where it has none:
// the longest of its cells behind those that name the row.
func remarkOf(row []grid.Cell, heads []grid.Head) (names int, remark string, ok bool) {
	for names = 1; names < len(heads) && !heads[names].Number; names++ {
	}
	for _, c := range row[min(names, len(row)):] {
		if slices.ContainsFunc(c.Parts, grid.Part.IsNumber) {
			return 0, "", false
		}
		if text := c.Text(); widthOf(text) > max(widthOf(remark), longRemark) {
			remark = text
		}
	}
	return names, remark, remark != ""
}

// linesOf estimates how many lines a row takes.
func linesOf(row []grid.Cell, heads []grid.Head, columns []column) int {
	lines := 1
	names, remark, ok := remarkOf(row, heads)
	if ok {
		lines += int(1.1 * widthOf(remark) / remarkWidth(columns, names))
		columns = columns[:names]
	}
	for k, c := range columns {
		if c.broken > 0 {
			lines = max(lines, 1+int(1.1*widthOf(row[k].Text())/c.broken))
		}
	}
	return lines
}

// remarkWidth is what the columns that name the row leave to a remark, in em.
func remarkWidth(columns []column, names int) float64 {
	return min(tableWidth(columns), lineWidth) - tableWidth(columns[:names]) - columnGap
}

// tableWidth is the width of all columns, in em.
func tableWidth(columns []column) float64 {
	w := -columnGap
	for _, c := range columns {
		w += c.set() + columnGap
	}
	return w
}

// set is the width that the column is set in, in em.
func (c column) set() float64 {
	if c.broken > 0 {
		return c.broken
	}
	return c.width
}
