package grid

import (
	"fmt"
	"hash/fnv"
	"html"
	"html/template"
	"strconv"
	"strings"
)

// short is how many rows a table may have that need not be parted on a printed page.
const short = 14

// HTML is the table on the page, each number in a data element of full precision
// for those who take the page apart.
func (g Grid) HTML() template.HTML {
	var b strings.Builder
	if g.Count() == 0 {
		if g.Empty != "" {
			fmt.Fprintf(&b, "<p class=\"none\">%s</p>\n", html.EscapeString(g.Empty))
		}
		return template.HTML(b.String())
	}
	class := ""
	switch {
	case g.Long:
		class = " long"
	case g.Count() <= short:
		class = " short"
	}
	id := html.EscapeString(g.Name)
	note := ""
	if g.Note != "" {
		note = ` <span class="note">` + html.EscapeString(g.Note) + `</span>`
	}
	fmt.Fprintf(&b, "<div class=\"scroll%s\" role=\"group\" aria-labelledby=\"%s-caption\" tabindex=\"0\">\n<table id=\"%s\">\n<caption id=\"%s-caption\">%s%s</caption>\n", class, id, id, id, html.EscapeString(g.Title), note)
	g.writeHeads(&b)
	b.WriteString("<tbody>\n")
	for _, p := range g.Panels {
		if p.Heading != "" {
			fmt.Fprintf(&b, "<tr><th colspan=\"%d\" scope=\"colgroup\" class=\"panel\">%s</th></tr>\n", len(g.Heads), html.EscapeString(p.Heading))
		}
		if len(p.Rows) == 0 {
			fmt.Fprintf(&b, "<tr><td colspan=\"%d\" class=\"none\">%s</td></tr>\n", len(g.Heads), html.EscapeString(g.None(p)))
		}
		writeRows(&b, p.Rows, Cell.page)
	}
	b.WriteString("</tbody>\n</table>\n</div>\n")
	if g.Rest != "" {
		fmt.Fprintf(&b, "<p class=\"none\">%s</p>\n", html.EscapeString(g.Rest))
	}
	return template.HTML(b.String())
}

// None is what a panel without rows says.
func (g Grid) None(p Panel) string {
	if p.Empty != "" {
		return p.Empty
	}
	return g.Empty
}

func (g Grid) writeHeads(b *strings.Builder) {
	b.WriteString("<thead><tr>")
	for _, h := range g.Heads {
		fmt.Fprintf(b, `<th scope="col"%s>%s</th>`, numberClass(h.Number), html.EscapeString(h.Text))
	}
	b.WriteString("</tr></thead>")
}

func writeRows(b *strings.Builder, rows [][]Cell, face func(Cell) string) {
	for _, row := range rows {
		b.WriteString("<tr>")
		for k, c := range row {
			shown := face(c)
			if k == 0 && shown != "" { // an empty cell heads nothing
				fmt.Fprintf(b, `<th scope="row"%s>%s</th>`, numberClass(c.Number), shown)
				continue
			}
			fmt.Fprintf(b, `<td%s>%s</td>`, numberClass(c.Number), shown)
		}
		b.WriteString("</tr>\n")
	}
}

func numberClass(number bool) string {
	if number {
		return ` class="n"`
	}
	return ""
}

// page is the cell on the page.
func (c Cell) page() string {
	var b strings.Builder
	for _, p := range c.Parts {
		shown := html.EscapeString(p.Text)
		if p.IsNumber() {
			shown = `<data value="` + strconv.FormatFloat(p.Value, 'g', -1, 64) + `">` + shown + `</data>`
		}
		b.WriteString(shown)
	}
	return b.String() + string(c.drawing)
}

// plain is the cell in a notebook.
func (c Cell) plain() string { return html.EscapeString(c.Text()) }

// pageRows is how many rows of a long table a notebook shows at once.
const pageRows = 25

// notebookStyle takes its colours from the notebook's, light or dark.
const notebookStyle = `<style>.thumbed.thumbed table{border-collapse:collapse;font-variant-numeric:lining-nums tabular-nums}` +
	`.thumbed caption,.thumbed summary,.thumbed p{text-align:left;font-style:italic;padding:.2em 0}` +
	`.thumbed summary{cursor:pointer}.thumbed div{overflow-x:auto}` +
	`.thumbed.thumbed table th,.thumbed.thumbed table td{text-align:left;vertical-align:top;padding:.15em .8em .15em 0;border:0;background:none}` +
	`.thumbed.thumbed table thead th{border-bottom:1px solid currentColor;font-weight:600}.thumbed.thumbed table tbody th{font-weight:400}` +
	`.thumbed.thumbed table .n{text-align:right;white-space:nowrap}</style>`

// Notebook is the table in a notebook. A long one comes in pages, of which one is
// open: no script is needed, so that it pages in an export too.
func (g Grid) Notebook() string {
	var b strings.Builder
	b.WriteString(notebookStyle + `<div class="thumbed">`)
	g = g.spoken()
	rows := g.rows()
	switch {
	case len(rows) == 0:
		fmt.Fprintf(&b, "<p>%s</p><p>%s</p>", html.EscapeString(g.Title), html.EscapeString(g.Empty))
	case len(rows) <= pageRows+pageRows/2: // rather a long page than a short last one
		g.writePart(&b, rows, g.Title)
	default:
		g.writePages(&b, rows)
	}
	if g.Rest != "" {
		fmt.Fprintf(&b, "<p>%s</p>", html.EscapeString(g.Rest))
	}
	b.WriteString("</div>")
	return b.String()
}

func (g Grid) writePages(b *strings.Builder, rows [][]Cell) {
	// Pages of one name close each other; the name must be another's in no
	// other output.
	sum := fnv.New64a()
	fmt.Fprint(sum, g.Text())
	fmt.Fprintf(b, "<p>%s</p>", html.EscapeString(g.Title))
	for from := 0; from < len(rows); from += pageRows {
		to := min(from+pageRows, len(rows))
		open := ""
		if from == 0 {
			open = " open"
		}
		fmt.Fprintf(b, `<details name="t%x"%s><summary>Rows %d to %d</summary>`, sum.Sum64(), open, from+1, to)
		g.writePart(b, rows[from:to], "")
		b.WriteString("</details>")
	}
}

func (g Grid) writePart(b *strings.Builder, rows [][]Cell, caption string) {
	b.WriteString("<div><table>")
	if caption != "" {
		fmt.Fprintf(b, "<caption>%s</caption>", html.EscapeString(caption))
	}
	g.writeHeads(b)
	b.WriteString("<tbody>")
	writeRows(b, rows, Cell.plain)
	b.WriteString("</tbody></table></div>")
}
