package kernel

import (
	"fmt"
	"hash/fnv"
	"html"
	"strings"
	"unicode/utf8"
)

// A grid is a table as it is shown: every cell is text already.
type grid struct {
	caption string
	heads   []head
	rows    [][]string
	none    string // what to say where there are no rows
	rest    string // what to say below, where not all rows are shown
}

// A head is a column's head; numbers stand to the right.
type head struct {
	text   string
	number bool
}

// heads makes column heads; those whose text ends in # hold numbers.
func heads(texts ...string) []head {
	out := make([]head, len(texts))
	for i, text := range texts {
		trimmed, number := strings.CutSuffix(text, "#")
		out[i] = head{trimmed, number}
	}
	return out
}

func (g *grid) add(cells ...string) { g.rows = append(g.rows, cells) }

// plain sets the table in columns of characters.
func (g grid) plain() string {
	var b strings.Builder
	fmt.Fprintln(&b, g.caption)
	if len(g.rows) == 0 {
		fmt.Fprintln(&b, g.none)
		return b.String()
	}
	widths := make([]int, len(g.heads))
	top := make([]string, len(g.heads))
	for k, h := range g.heads {
		top[k] = h.text
	}
	for _, row := range append([][]string{top}, g.rows...) {
		for k, cell := range row {
			widths[k] = max(widths[k], utf8.RuneCountInString(cell))
		}
	}
	for _, row := range append([][]string{top}, g.rows...) {
		var line strings.Builder
		for k, cell := range row {
			gap := strings.Repeat(" ", widths[k]-utf8.RuneCountInString(cell))
			if g.heads[k].number {
				line.WriteString("  " + gap + cell)
			} else {
				line.WriteString("  " + cell + gap)
			}
		}
		fmt.Fprintln(&b, strings.TrimRight(line.String(), " "))
	}
	if g.rest != "" {
		fmt.Fprintln(&b, g.rest)
	}
	return b.String()
}

// pageRows is how many rows of a long table are seen at once.
const pageRows = 25

// html is the table as HTML. A long one comes in pages, of which one is open:
// no script is needed, so that it pages in an export too.
func (g grid) html() string {
	var b strings.Builder
	b.WriteString(tableStyle)
	b.WriteString(`<div class="thumbed">`)
	switch {
	case len(g.rows) == 0:
		fmt.Fprintf(&b, "<p>%s</p><p>%s</p>", html.EscapeString(g.caption), html.EscapeString(g.none))
	case len(g.rows) <= pageRows+pageRows/2: // rather a long page than a short last one
		g.writeRows(&b, g.rows, g.caption)
	default:
		g.writePages(&b)
	}
	if g.rest != "" {
		fmt.Fprintf(&b, "<p>%s</p>", html.EscapeString(g.rest))
	}
	b.WriteString("</div>")
	return b.String()
}

// tableStyle takes its colours from the notebook's, light or dark.
const tableStyle = `<style>.thumbed.thumbed table{border-collapse:collapse;font-variant-numeric:lining-nums tabular-nums}` +
	`.thumbed caption,.thumbed summary,.thumbed p{text-align:left;font-style:italic;padding:.2em 0}` +
	`.thumbed summary{cursor:pointer}.thumbed div{overflow-x:auto}` +
	`.thumbed.thumbed table th,.thumbed.thumbed table td{text-align:left;vertical-align:top;padding:.15em .8em .15em 0;border:0;background:none}` +
	`.thumbed.thumbed table thead th{border-bottom:1px solid currentColor;font-weight:600}.thumbed.thumbed table tbody th{font-weight:400}` +
	`.thumbed.thumbed table .n{text-align:right;white-space:nowrap}</style>`

func (g grid) writePages(b *strings.Builder) {
	// Pages of one name close each other; the name must be another's in no
	// other output.
	sum := fnv.New64a()
	fmt.Fprint(sum, g.caption, g.rows)
	fmt.Fprintf(b, "<p>%s</p>", html.EscapeString(g.caption))
	for from := 0; from < len(g.rows); from += pageRows {
		to := min(from+pageRows, len(g.rows))
		open := ""
		if from == 0 {
			open = " open"
		}
		fmt.Fprintf(b, `<details name="t%x"%s><summary>Rows %d to %d</summary>`, sum.Sum64(), open, from+1, to)
		g.writeRows(b, g.rows[from:to], "")
		b.WriteString("</details>")
	}
}

func (g grid) writeRows(b *strings.Builder, rows [][]string, caption string) {
	b.WriteString("<div><table>")
	if caption != "" {
		fmt.Fprintf(b, "<caption>%s</caption>", html.EscapeString(caption))
	}
	b.WriteString("<thead><tr>")
	for _, h := range g.heads {
		fmt.Fprintf(b, `<th scope="col"%s>%s</th>`, numberClass(h), html.EscapeString(h.text))
	}
	b.WriteString("</tr></thead><tbody>")
	for _, row := range rows {
		b.WriteString("<tr>")
		for k, cell := range row {
			if k == 0 {
				fmt.Fprintf(b, `<th scope="row"%s>%s</th>`, numberClass(g.heads[k]), html.EscapeString(cell))
				continue
			}
			fmt.Fprintf(b, `<td%s>%s</td>`, numberClass(g.heads[k]), html.EscapeString(cell))
		}
		b.WriteString("</tr>\n")
	}
	b.WriteString("</tbody></table></div>")
}

func numberClass(h head) string {
	if h.number {
		return ` class="n"`
	}
	return ""
}

// paragraphs are sentences as HTML; a text of several lines keeps them, and its
// columns.
func paragraphs(sentences ...string) string {
	var b strings.Builder
	for _, s := range sentences {
		if strings.Contains(strings.TrimSpace(s), "\n") {
			fmt.Fprintf(&b, "<pre>%s</pre>\n", html.EscapeString(s))
			continue
		}
		fmt.Fprintf(&b, "<p>%s</p>\n", html.EscapeString(s))
	}
	return b.String()
}

// noteList is a list of notes as HTML; empty where there are none.
func noteList(notes []string) string {
	if len(notes) == 0 {
		return ""
	}
	return "<ul><li>" + strings.Join(escapeAll(notes), "</li>\n<li>") + "</li></ul>\n"
}

func escapeAll(texts []string) []string {
	out := make([]string, len(texts))
	for i, text := range texts {
		out[i] = html.EscapeString(text)
	}
	return out
}
