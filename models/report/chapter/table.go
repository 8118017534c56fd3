package chapter

import (
	"fmt"
	"strings"

	"thumbed/models/report/grid"
)

// longTable is how many lines a table may have before it runs over pages; with
// its caption it must find room on one.
const longTable = 50

// tableFile sets a table: in a float, or where it is long over several pages.
func (s *setter) tableFile(t grid.Grid) []byte {
	plumbs := plumbsOf(t)
	columns := columnsOf(t, plumbs)
	body, lines := s.rows(t, columns, plumbs)
	var b strings.Builder
	fmt.Fprintf(&b, "%% %s. \\input this file where the table shall stand; \\ref{tab:%s} names it.\n", comment(t.Title), t.Name)
	if lines > longTable {
		s.writeLong(&b, t, columns, body)
	} else {
		s.writeFloat(&b, t, columns, body)
	}
	return []byte(b.String())
}

// comment is text that may stand behind a comment's sign.
func comment(text string) string { return strings.Join(strings.Fields(text), " ") }

func (s *setter) writeFloat(b *strings.Builder, t grid.Grid, columns []column, body string) {
	fmt.Fprintf(b, "\\begin{table}[htbp]\n\\centering\n%s\\label{tab:%s}\n", s.caption(t.Title, t.Caption()), t.Name)
	fmt.Fprintf(b, "\\tablesize\\setlength{\\tabcolsep}{%.2fem}\n\\begin{tabular}{%s}\n\\toprule\n%s\n\\midrule\n", columnGap/2, preamble(columns), heads(columns, s))
	fmt.Fprintf(b, "%s\\bottomrule\n\\end{tabular}\n\\end{table}\n", body)
}

func (s *setter) writeLong(b *strings.Builder, t grid.Grid, columns []column, body string) {
	head := heads(columns, s)
	fmt.Fprintf(b, "\\par{\\tablesize\\setlength{\\tabcolsep}{%.2fem}\\setlength{\\LTcapwidth}{\\linewidth}\n\\begin{longtable}{%s}\n", columnGap/2, preamble(columns))
	fmt.Fprintf(b, "%s\\label{tab:%s}\\\\\n\\toprule\n%s\n\\midrule\n\\endfirsthead\n", s.caption(t.Title, t.Caption()), t.Name, head)
	fmt.Fprintf(b, "\\caption[]{%s (continued)}\\\\\n\\toprule\n%s\n\\midrule\n\\endhead\n", s.text(t.Title), head)
	fmt.Fprintf(b, "\\midrule\n\\multicolumn{%d}{@{}r@{}}{\\emph{continued}}\\\\\n\\endfoot\n\\bottomrule\n\\endlastfoot\n", len(columns))
	fmt.Fprintf(b, "%s\\end{longtable}}\n", body)
}

// caption is a caption with its short form for a list of tables or figures.
func (s *setter) caption(title, caption string) string {
	return fmt.Sprintf("\\caption[%s]{%s}\n", s.text(title), s.text(caption))
}

// rows sets the panels and counts their lines.
func (s *setter) rows(t grid.Grid, columns []column, plumbs []map[int]plumb) (body string, lines int) {
	var b strings.Builder
	for i, p := range t.Panels {
		if p.Heading != "" {
			if i > 0 {
				b.WriteString("\\addlinespace\n")
			}
			fmt.Fprintf(&b, "%s\\\\*\n", across(columns, widthOf(p.Heading), `\emph{`+s.text(p.Heading)+`}`))
			lines++
		}
		if len(p.Rows) == 0 {
			fmt.Fprintf(&b, "%s\\\\\n", across(columns, widthOf(t.None(p)), s.text(t.None(p))))
			lines++
		}
		for _, row := range p.Rows {
			b.WriteString(s.row(row, t.Heads, columns, plumbs) + " \\\\\n")
			lines += linesOf(row, t.Heads, columns)
		}
	}
	return b.String(), lines
}

// across sets words over all columns, in lines where they are too wide for one.
func across(columns []column, width float64, words string) string {
	how := "l"
	if room := tableWidth(columns); width > 0.95*room {
		how = fmt.Sprintf(`>{\raggedright\arraybackslash}p{%.3f\linewidth}@{}`, min(room/lineWidth, 1))
	}
	return fmt.Sprintf(`\multicolumn{%d}{@{}%s}{%s}`, len(columns), how, words)
}

// row sets one row; a remark takes the place of all numbers.
func (s *setter) row(row []grid.Cell, heads []grid.Head, columns []column, plumbs []map[int]plumb) string {
	var cells []string
	names, remark, ok := remarkOf(row, heads)
	if !ok {
		names = len(row)
	}
	for k, c := range row[:names] {
		cells = append(cells, s.cell(c, columns[k], plumbs[k]))
	}
	if ok {
		cells = append(cells, fmt.Sprintf(`\multicolumn{%d}{>{\raggedright\arraybackslash}p{%.3f\linewidth}@{}}{%s}`,
			len(columns)-names, remarkWidth(columns, names)/lineWidth, s.text(remark)))
	}
	return strings.Join(cells, " & ")
}

// plumbsOf measures each column of numbers, by how many numbers a cell holds.
func plumbsOf(t grid.Grid) []map[int]plumb {
	out := make([]map[int]plumb, len(t.Heads))
	for k := range t.Heads {
		var cells []grid.Cell
		for _, p := range t.Panels {
			for _, row := range p.Rows {
				cells = append(cells, row[k])
			}
		}
		out[k] = map[int]plumb{}
		for _, c := range cells {
			if n := len(numbersOf(c)); n > 0 {
				if _, done := out[k][n]; !done {
					out[k][n] = plumbOf(cells, n)
				}
			}
		}
	}
	return out
}

func (s *setter) cell(c grid.Cell, how column, plumbs map[int]plumb) string {
	if n := len(numbersOf(c)); how.number && n > 0 {
		return plumbs[n].cell(c, s)
	}
	return s.text(c.Text())
}
