package report

import (
	"html/template"
	"math"
	"strconv"
	"strings"
)

// A grid is one table of the page: its caption, its heads and its rows. The
// first cell of a row names it.
type grid struct {
	ID      string
	Caption string
	Heads   []head
	Rows    [][]cell
	Empty   string // what to say where there are no rows
	Long    bool   // shown in a region of limited height
}

// A head is a column's head.
type head struct {
	Text   string
	Number bool
}

// A cell is one cell, as HTML, with the numbers that it shows in data elements
// of full precision.
type cell struct {
	HTML   template.HTML
	Number bool
}

// Short tells whether the table fits on a printed page with what surrounds it,
// so that it need not be parted.
func (g grid) Short() bool { return len(g.Rows) <= 14 }

// dropLast leaves out the last column.
func (g *grid) dropLast() {
	last := len(g.Heads) - 1
	g.Heads = g.Heads[:last]
	for i := range g.Rows {
		g.Rows[i] = g.Rows[i][:last]
	}
}

func (g *grid) add(cells ...cell) { g.Rows = append(g.Rows, cells) }

// heads makes column heads; those whose text ends in # hold numbers.
func heads(texts ...string) []head {
	out := make([]head, len(texts))
	for i, text := range texts {
		trimmed, number := strings.CutSuffix(text, "#")
		out[i] = head{trimmed, number}
	}
	return out
}

func words(text string) cell { return cell{HTML: template.HTML(template.HTMLEscapeString(text))} }

// instead is words in a column of numbers.
func instead(text string) cell {
	c := words(text)
	c.Number = true
	return c
}

// data is a number as HTML: what is shown, and its full value for those who
// take the page apart.
func data(v float64, shown string) string {
	if !finite(v) {
		return template.HTMLEscapeString(shown)
	}
	return `<data value="` + strconv.FormatFloat(v, 'g', -1, 64) + `">` + template.HTMLEscapeString(shown) + `</data>`
}

func number(v float64, decimals int) cell {
	return cell{template.HTML(data(v, Fixed(v, decimals))), true}
}

func density(v float64) cell { return number(v, densityDecimals) }

func whole(n int) cell { return number(float64(n), 0) }

func shown(v float64, text string) cell { return cell{template.HTML(data(v, text)), true} }

// interval is "0.12 to 0.31" as a cell.
func interval(low, high float64, decimals int) cell {
	if !finite(low) || !finite(high) {
		return cell{template.HTML(template.HTMLEscapeString(Interval(low, high, decimals))), true}
	}
	return cell{template.HTML(data(low, Fixed(low, decimals)) + " to " + data(high, Fixed(high, decimals))), true}
}

// percentInterval is the same for shares of one.
func percentInterval(low, high float64) cell {
	if !finite(low) || !finite(high) {
		return cell{template.HTML(template.HTMLEscapeString(Interval(100*low, 100*high, 0))), true}
	}
	return cell{template.HTML(data(low, Fixed(100*low, 0)) + " to " + data(high, Fixed(100*high, 0)) + narrow + "%"), true}
}

// bar draws an interval in a table's cell over the range of its column, with a
// mark at zero. It repeats the numbers beside it and is hidden from those who
// listen to the page.
func bar(v, low, high, from, to float64) cell {
	if !finite(v) || !finite(low) || !finite(high) || !(to > from) {
		return words("")
	}
	const width, height = 120.0, 14.0
	x := func(value float64) string {
		return strconv.FormatFloat(math.Round(10*(4+(width-8)*(value-from)/(to-from)))/10, 'f', -1, 64)
	}
	var b strings.Builder
	b.WriteString(`<svg class="bar" viewBox="0 0 120 14" width="120" height="14" aria-hidden="true" focusable="false">`)
	if from <= 0 && to >= 0 {
		b.WriteString(`<path d="M` + x(0) + ` 0V14" class="zero"/>`)
	}
	b.WriteString(`<path d="M` + x(low) + ` 7H` + x(high) + `" class="reach"/><circle cx="` + x(v) + `" cy="7" r="2.6" class="dot"/></svg>`)
	return cell{HTML: template.HTML(b.String())}
}
