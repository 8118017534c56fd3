package report

import (
	"html/template"
	"math"
	"strconv"
	"strings"
	"thumbed/models/wording"
)

// A Grid is one table as a reader sees it: its caption, its heads and its rows,
// every number as text. The first cell of a row names it.
type Grid struct {
	ID      string // its place on the page
	Caption string
	Heads   []Head
	Rows    [][]Cell
	Empty   string // what to say where there are no rows
	Long    bool   // shown in a region of limited height
}

// A Head is a column's head.
type Head struct {
	Text   string
	Number bool
}

// A Cell is one cell: words and numbers in the order in which they are read.
type Cell struct {
	Parts   []Part
	Number  bool          // stands in a column of numbers
	drawing template.HTML // instead of words, on the page only
}

// A Part of a cell is words, or a number as it is shown.
type Part struct {
	Text  string
	Value float64 // of a number, at full precision; NaN for words
}

// IsNumber tells a number from words.
func (p Part) IsNumber() bool { return finite(p.Value) }

// Text is all that the cell says.
func (c Cell) Text() string {
	var b strings.Builder
	for _, p := range c.Parts {
		b.WriteString(p.Text)
	}
	return b.String()
}

// HTML is the cell on the page, with its numbers in data elements of full
// precision for those who take the page apart.
func (c Cell) HTML() template.HTML {
	var b strings.Builder
	for _, p := range c.Parts {
		shown := template.HTMLEscapeString(p.Text)
		if p.IsNumber() {
			shown = `<data value="` + strconv.FormatFloat(p.Value, 'g', -1, 64) + `">` + shown + `</data>`
		}
		b.WriteString(shown)
	}
	return template.HTML(b.String()) + c.drawing
}

// Short tells whether the table fits on a printed page with what surrounds it,
// so that it need not be parted.
func (g Grid) Short() bool { return len(g.Rows) <= 14 }

// dropLast leaves out the last column.
func (g *Grid) dropLast() {
	last := len(g.Heads) - 1
	g.Heads = g.Heads[:last]
	for i := range g.Rows {
		g.Rows[i] = g.Rows[i][:last]
	}
}

func (g *Grid) add(cells ...Cell) { g.Rows = append(g.Rows, cells) }

// heads makes column heads; those whose text ends in # hold numbers.
func heads(texts ...string) []Head {
	out := make([]Head, len(texts))
	for i, text := range texts {
		trimmed, number := strings.CutSuffix(text, "#")
		out[i] = Head{trimmed, number}
	}
	return out
}

func wordPart(text string) Part { return Part{Text: text, Value: math.NaN()} }

func words(text string) Cell { return Cell{Parts: []Part{wordPart(text)}} }

// instead is words in a column of numbers.
func instead(text string) Cell {
	c := words(text)
	c.Number = true
	return c
}

// after puts words before what the cell says.
func (c Cell) after(text string) Cell {
	c.Parts = append([]Part{wordPart(text)}, c.Parts...)
	return c
}

func number(v float64, decimals int) Cell { return shown(v, wording.Fixed(v, decimals)) }

func density(v float64) Cell { return number(v, wording.DensityDecimals) }

func whole(n int) Cell { return number(float64(n), 0) }

func shown(v float64, text string) Cell { return Cell{Parts: []Part{{text, v}}, Number: true} }

// interval is "0.12 to 0.31" as a cell.
func interval(low, high float64, decimals int) Cell {
	if !finite(low) || !finite(high) {
		return instead(wording.Interval(low, high, decimals))
	}
	return Cell{Parts: []Part{{wording.Fixed(low, decimals), low}, wordPart(" to "), {wording.Fixed(high, decimals), high}}, Number: true}
}

// percentInterval is the same for shares of one.
func percentInterval(low, high float64) Cell {
	if !finite(low) || !finite(high) {
		return instead(wording.Interval(100*low, 100*high, 0))
	}
	return Cell{Parts: []Part{{wording.Fixed(100*low, 0), low}, wordPart(" to "), {wording.Fixed(100*high, 0), high}, wordPart(wording.Narrow + "%")}, Number: true}
}

// bar draws an interval in a table's cell over the range of its column, with a
// mark at zero. It repeats the numbers beside it and is hidden from those who
// listen to the page.
func bar(v, low, high, from, to float64) Cell {
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
	return Cell{drawing: template.HTML(b.String())}
}
