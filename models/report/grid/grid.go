// Package grid holds a table once, for all who read it: people on the page, in
// print, in a notebook and on a terminal, and programs on disk. A [Maker] describes
// its columns, a [Grid] is the table made, and one small renderer each shows it.
package grid

import (
	"math"
	"strconv"
	"strings"

	"html/template"

	"thumbed/models/table"
	"thumbed/models/wording"
)

// A Grid is one table: its title, its heads and its rows, every number as text
// with its value behind it. The first cell of a row names it.
type Grid struct {
	Name   string // of its files, and its place on the page
	Title  string
	Note   string // how to read it, or what it counts; said behind the title
	Heads  []Head
	Panels []Panel // parts that share the heads; most tables have one
	Empty  string  // what to say where a panel has no rows and says nothing itself
	Rest   string  // what to say below, where not all rows are shown
	Long   bool    // shown in a region of limited height

	disk   *table.Table // the table as it stands on disk; nil for one that people alone read
	schema table.Schema
}

// A Panel is a part of a table, mostly one book's.
type Panel struct {
	Heading string // empty where the table has one panel only
	Rows    [][]Cell
	Empty   string // what to say where there are no rows
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
	drawing template.HTML // beside the words, on the page only
	alt     string        // what the drawing says, where there is none
}

// A Part of a cell is words, or a number as it is shown.
type Part struct {
	Text  string
	Value float64 // of a number, at full precision; NaN for words
}

// IsNumber tells a number from words.
func (p Part) IsNumber() bool { return finite(p.Value) }

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }

// Text is all that the cell says.
func (c Cell) Text() string {
	var b strings.Builder
	for _, p := range c.Parts {
		b.WriteString(p.Text)
	}
	return b.String() + c.alt
}

// Add adds a row to the last panel.
func (g *Grid) Add(cells ...Cell) {
	if len(g.Panels) == 0 {
		g.Panels = []Panel{{}}
	}
	last := &g.Panels[len(g.Panels)-1]
	last.Rows = append(last.Rows, cells)
}

// AddTexts adds a row of cells that are text already.
func (g *Grid) AddTexts(texts ...string) {
	cells := make([]Cell, len(texts))
	for k, text := range texts {
		cells[k] = Words(text)
		cells[k].Number = g.Heads[k].Number
	}
	g.Add(cells...)
}

// Join adds the rows of another table with the same heads as a panel.
func (g *Grid) Join(heading string, other Grid) {
	g.Heads = other.Heads
	g.Panels = append(g.Panels, Panel{heading, other.rows(), other.Empty})
}

// rows are the rows of all panels.
func (g Grid) rows() [][]Cell {
	var out [][]Cell
	for _, p := range g.Panels {
		out = append(out, p.Rows...)
	}
	return out
}

// Count is the number of rows.
func (g Grid) Count() int { return len(g.rows()) }

// Named is the table under another name, with a note.
func (g Grid) Named(name, note string) Grid {
	g.Name, g.Note = name, note
	return g
}

// Caption is the title with the note.
func (g Grid) Caption() string { return strings.TrimSpace(wording.Sentence(g.Title) + " " + g.Note) }

// Without leaves out the column at k, as people see it.
func (g Grid) Without(k int) Grid {
	g.Heads = append(append([]Head{}, g.Heads[:k]...), g.Heads[k+1:]...)
	panels := make([]Panel, len(g.Panels))
	for i, p := range g.Panels {
		panels[i] = Panel{p.Heading, make([][]Cell, len(p.Rows)), p.Empty}
		for j, row := range p.Rows {
			panels[i].Rows[j] = append(append([]Cell{}, row[:k]...), row[k+1:]...)
		}
	}
	g.Panels = panels
	return g
}

// Heads makes column heads; those whose text ends in # hold numbers.
func Heads(texts ...string) []Head {
	out := make([]Head, len(texts))
	for i, text := range texts {
		trimmed, number := strings.CutSuffix(text, "#")
		out[i] = Head{trimmed, number}
	}
	return out
}

func wordPart(text string) Part { return Part{Text: text, Value: math.NaN()} }

// Words is a cell of words.
func Words(text string) Cell { return Cell{Parts: []Part{wordPart(text)}} }

// Instead is words in a column of numbers.
func Instead(text string) Cell {
	c := Words(text)
	c.Number = true
	return c
}

// After puts words before what the cell says.
func (c Cell) After(text string) Cell {
	c.Parts = append([]Part{wordPart(text)}, c.Parts...)
	return c
}

// InBrackets puts another cell behind this, in brackets.
func (c Cell) InBrackets(other Cell) Cell {
	c.Parts = append(append(append(c.Parts, wordPart(" (")), other.Parts...), wordPart(")"))
	return c
}

// Number is a number with so many decimals.
func Number(v float64, decimals int) Cell { return Shown(v, wording.Fixed(v, decimals)) }

// Density is a density.
func Density(v float64) Cell { return Number(v, wording.DensityDecimals) }

// Whole is a whole number.
func Whole(n int) Cell { return Number(float64(n), 0) }

// Percent is a share of one as percent.
func Percent(v float64) Cell { return Shown(v, wording.Percent(v)) }

// Shown is a number as it is written.
func Shown(v float64, text string) Cell { return Cell{Parts: []Part{{text, v}}, Number: true} }

// Interval is "0.12 to 0.31" as a cell.
func Interval(low, high float64, decimals int) Cell {
	if !finite(low) || !finite(high) {
		return Instead(wording.Interval(low, high, decimals))
	}
	return Cell{Parts: []Part{{wording.Fixed(low, decimals), low}, wordPart(" to "), {wording.Fixed(high, decimals), high}}, Number: true}
}

// PercentInterval is the same for shares of one.
func PercentInterval(low, high float64) Cell {
	if !finite(low) || !finite(high) {
		return Instead(wording.Interval(100*low, 100*high, 0))
	}
	return Cell{Parts: []Part{{wording.Fixed(100*low, 0), low}, wordPart(" to "), {wording.Fixed(100*high, 0), high}, wordPart(wording.Narrow + "%")}, Number: true}
}

// yesNo is a cell of yes or no.
func yesNo(yes bool) Cell {
	if yes {
		return Words("yes")
	}
	return Words("no")
}

// Drawn is a drawing on the page, and what it says elsewhere.
func Drawn(drawing template.HTML, alt string) Cell { return Cell{drawing: drawing, alt: alt} }

// Bar draws an interval over the range of its column, with a mark at zero, on the
// page. It repeats the numbers beside it and is hidden from those who listen to it.
func Bar(v, low, high, from, to float64) Cell {
	if !finite(v) || !finite(low) || !finite(high) || !(to > from) {
		return Words("")
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
	return Drawn(template.HTML(b.String()), "")
}
