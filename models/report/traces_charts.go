package report

import (
	"fmt"
	"maps"
	"math"
	"slices"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"thumbed/models/mixed"
	"thumbed/models/traces"
	"thumbed/models/wording"
)

// The charts of traces.

// The parts of the page that charts of traces stand in; their names begin so.
const (
	sharesPart    = "traces-shares"
	stripPart     = "traces-along"
	confusionPart = "traces-agree"
)

func sharesName(k int, trace string) string {
	return fmt.Sprintf("%s-%d-%s", sharesPart, k+1, fileLetters(trace))
}

func confusionName(k, pair int, trace string) string {
	return fmt.Sprintf("%s-%d-%d-%s", confusionPart, k+1, pair+1, fileLetters(trace))
}

func lookStripName(book string) string { return stripPart + "-" + book }

func expectedName(k int) string { return fmt.Sprintf("traces-expected-%d", k+1) }

// traceSketches are the figures of traces in their order.
func (r *Results) traceSketches() []sketch {
	if !r.looked() {
		return nil
	}
	var out []sketch
	for k := range r.Traces.Coding {
		out = append(out, r.shareChart(k))
	}
	for i := range r.Books {
		if s, ok := r.lookStrip(i); ok {
			out = append(out, s)
		}
	}
	for k, a := range r.Traces.Agreement {
		for p := range a.Pairs {
			if a.Pairs[p].Confusion != nil {
				out = append(out, r.confusionChart(k, p))
			}
		}
	}
	for k := range r.Traces.Models {
		if len(r.Traces.Models[k].Expected) > 0 {
			out = append(out, r.expectedChart(k))
		}
	}
	return out
}

// tints are the fills of a trace's values in rising order: nothing there is paper.
func tints(n int) []ink {
	all := []ink{paper, bars, lost, quiet, text}
	if n < 2 {
		return all[:1]
	}
	out := make([]ink, n)
	for k := range out {
		out[k] = all[int(math.Round(float64(k)*float64(len(all)-1)/float64(n-1)))]
	}
	return out
}

// shareChart draws the shares of a trace's values by part and book, or the rates of
// counts.
func (r *Results) shareChart(k int) sketch {
	t := &r.Traces.Coding[k]
	s := sketch{Figure: Figure{part: sharesPart, Name: sharesName(k, t.Name), Title: wording.Capital(r.Labels.Column(t.Name)) + " by part and book", Width: figureWidth}}
	var states []traces.State
	for _, state := range r.Traces.States {
		if state.Trace == t.Name {
			states = append(states, state)
		}
	}
	levels := t.Levels()
	if levels == nil {
		var rows []dotRow
		for _, state := range states {
			row := dotRow{label: r.stateName(state), value: math.NaN(), note: "nobody looked"}
			if e := state.Rate; e != nil {
				row.value, row.low, row.high = e.Value, e.Low, e.High
				row.note = wording.EstimateByWidth(e.Value, e.Low, e.High)
			}
			rows = append(rows, row)
		}
		per := "per thing looked at"
		if t.Per != "" {
			per = "per unit of " + t.Per
		}
		d := dotChart{rows: rows, axis: r.Labels.Column(t.Name) + ", " + per, noteHead: "95 % interval", mark: mark{outline: circle, radius: markRadius, ink: blue}}
		s.Caption = fmt.Sprintf("%s, %s, with 95%s%% intervals. %s.", wording.Capital(r.Labels.Column(t.Name)), per, wording.Narrow, wording.Capital(t.One))
		s.Alt, s.Height, s.paint = s.Caption, d.height(), d.paint
		return s
	}
	b := barChart{levels: levels, tints: tints(len(levels))}
	for _, state := range states {
		bar := shareBar{label: r.stateName(state), note: "nobody looked"}
		if len(state.Shares) > 0 {
			most := state.Shares[len(state.Shares)-1].Least
			bar.note = fmt.Sprintf("%s of %d", wording.PercentEstimate(most.Value, most.Low, most.High), state.There+state.Nothing)
			bar.low, bar.high = most.Low, most.High
			for _, g := range state.Shares {
				bar.shares = append(bar.shares, g.Share)
			}
		}
		b.bars = append(b.bars, bar)
	}
	last := levels[len(levels)-1]
	b.noteHead = "“" + last + "”, 95 %"
	s.Caption = fmt.Sprintf("Shares of the things that can be told, the highest value at the left: the darker, the more. The line is the 95%s%% interval of the share of “%s”.", wording.Narrow, last)
	s.Alt, s.Height, s.paint = s.Caption, b.height(), b.paint
	return s
}

// stateName names a part in a book.
func (r *Results) stateName(s traces.State) string {
	if s.Part == "" {
		return r.shortByID(s.Book)
	}
	return s.Part + ", " + r.shortByID(s.Book)
}

// A shareBar is one stacked bar.
type shareBar struct {
	label, note string
	shares      []float64 // in rising order of the values; nil where there are none
	low, high   float64   // interval of the highest
}

// A barChart is stacked bars, one below the other.
type barChart struct {
	bars     []shareBar
	levels   []string
	tints    []ink
	noteHead string
}

func (b barChart) height() vg.Length { return vg.Length(len(b.bars))*rowPitch + 66 }

func (b barChart) paint(c draw.Canvas) {
	name, note := lettering(smallSize, text), lettering(smallSize, text)
	left, right := vg.Length(0), note.Width(b.noteHead)
	for _, bar := range b.bars {
		left, right = max(left, name.Width(bar.label)), max(right, note.Width(bar.note))
	}
	left = min(left, rowNames)
	var entries []legendEntry
	for k, level := range b.levels {
		entries = append(entries, legendEntry{func(c draw.Canvas, from, to vg.Point) {
			box(c, from.X, from.Y-3.5, to.X, to.Y+3.5, b.tints[k])
		}, level})
	}
	legend := legendRows(entries, c.Max.X-c.Min.X-16)
	drawLegend(draw.Crop(c, 8, -8, 0, -6), legend)
	x0, x1 := c.Min.X+left+14, c.Max.X-right-18
	x := func(v float64) vg.Length { return x0 + vg.Length(v)*(x1-x0) }
	top := c.Max.Y - 18 - vg.Length(len(legend))*legendLine
	write(c, aligned(lettering(smallSize, quiet), draw.XRight, draw.YCenter), vg.Point{X: c.Max.X - 8, Y: top + 4}, b.noteHead)
	for i, bar := range b.bars {
		y := top - vg.Length(i)*rowPitch - rowPitch/2 - 2
		write(c, aligned(name, draw.XRight, draw.YCenter), vg.Point{X: x0 - 6, Y: y}, shortened(bar.label, name, rowNames))
		write(c, aligned(note, draw.XRight, draw.YCenter), vg.Point{X: c.Max.X - 8, Y: y}, bar.note)
		at := 0.0
		for k := len(bar.shares) - 1; k >= 0; k-- {
			if bar.shares[k] > 0 {
				box(c, x(at), y-3.6, x(at+bar.shares[k]), y+3.6, b.tints[k])
			}
			at += bar.shares[k]
		}
		if bar.shares != nil {
			reachLine(c, stroke(red, 1.1), x(bar.low), x(bar.high), y)
		}
	}
	foot := top - vg.Length(len(b.bars))*rowPitch - 6
	c.StrokeLine2(stroke(quiet, thinLine), x0, foot, x1, foot)
	for v := 0.0; v <= 1.001; v += 0.25 {
		footTick(c, x(v), foot, textSize, wording.Percent(v))
	}
}

// box is a filled rectangle with an outline.
func box(c draw.Canvas, x0, y0, x1, y1 vg.Length, fill ink) {
	fillRectangle(c, x0, y0, x1, y1, fill.light)
	strokePath(c, rectangle(x0, y0, x1, y1), stroke(quiet, 0.5))
}

// A lookRow is one line of a strip: looks at one trace and part along a book.
type lookRow struct {
	label  string
	levels int     // of its values; 0 for counts
	most   float64 // the largest count of the book
	looks  []traces.Look
}

// height is what the line takes; counts stand upright in it.
func (row lookRow) height() vg.Length {
	if row.levels == 0 {
		return 40
	}
	return 15
}

// lookStrip draws every look at a book where it stands along it.
func (r *Results) lookStrip(i int) (sketch, bool) {
	book := r.Books[i].Book
	var rows []lookRow
	observers := map[string]bool{}
	for k := range r.Traces.Coding {
		t := &r.Traces.Coding[k]
		for _, part := range t.PartsOfPage() {
			row := lookRow{label: r.Labels.Column(t.Name), levels: len(t.Levels())}
			if part != "" {
				row.label = part
			}
			for _, look := range r.Traces.Looks.All {
				if look.Book == i && look.Trace == k && look.Part == part && look.Kept() {
					row.looks = append(row.looks, look)
					observers[look.Observer] = true
					if look.Value > row.most { // never of one that cannot be told
						row.most = look.Value
					}
				}
			}
			if len(row.looks) > 0 {
				rows = append(rows, row)
			}
		}
	}
	if len(rows) == 0 {
		return sketch{}, false
	}
	who := slices.Sorted(maps.Keys(observers))
	shapes := []func(*vg.Path, vg.Point, vg.Length){circle, diamond, square}
	shape := func(observer string) func(*vg.Path, vg.Point, vg.Length) {
		return shapes[min(slices.Index(who, observer), len(shapes)-1)]
	}
	var legend []legendEntry
	for _, name := range who {
		legend = append(legend, legendEntry{markSample(mark{outline: shape(name), radius: markRadius, ink: text}), name})
	}
	legend = append(legend, legendEntry{markSample(mark{outline: circle, radius: 1.5, ink: quiet, open: true}), "nothing there"},
		legendEntry{func(c draw.Canvas, from, to vg.Point) { untold(c, vg.Point{X: (from.X + to.X) / 2, Y: from.Y}) }, "cannot be told"})
	height := vg.Length(52)
	for _, row := range rows {
		height += row.height()
	}
	s := sketch{Figure: Figure{part: stripPart, Name: lookStripName(r.bookFile(book)), Title: "Looks along " + r.bookName(book), Width: figureWidth, Height: height,
		Caption: "Every look where it stands along the book: the darker, the higher its grade; of counts, the taller, the more. Where there is no mark nobody looked.",
		Alt:     "Every look at " + r.bookName(book) + " along its pages, by trace and part."}}
	pages := float64(len(book.Pages))
	s.paint = func(c draw.Canvas) {
		name := lettering(smallSize, text)
		left := vg.Length(0)
		for _, row := range rows {
			left = max(left, min(name.Width(row.label), rowNames))
		}
		drawLegend(draw.Crop(c, 8, -8, 0, -6), legendRows(legend, c.Max.X-c.Min.X-16))
		x0, x1 := c.Min.X+left+14, c.Max.X-10
		x := func(position float64) vg.Length { return x0 + vg.Length((position-0.5)/pages)*(x1-x0) }
		y := c.Max.Y - 22
		for _, row := range rows {
			step := row.height()
			base := y - step + 5
			write(c, aligned(name, draw.XRight, draw.YCenter), vg.Point{X: x0 - 6, Y: base}, shortened(row.label, name, rowNames))
			c.StrokeLine2(stroke(rule, thinLine), x0, base, x1, base)
			at := map[int]int{}
			for _, look := range row.looks {
				again := at[look.Page]
				at[look.Page]++
				place := vg.Point{X: x(float64(book.Pages[look.Page].Position)), Y: base + 4.4*vg.Length(again)}
				row.mark(c, place, base, step-12, look, shape(look.Observer))
			}
			y -= step
		}
		foot := y + 2
		c.StrokeLine2(stroke(quiet, thinLine), x0, foot, x1, foot)
		for _, t := range folioTicks(book, draw.Crop(c, left+14, -10, 0, 0), lettering(smallSize, text)) {
			if !t.IsMinor() {
				footTick(c, x(t.Value), foot, smallSize, t.Label)
			}
		}
	}
	return s, true
}

// mark draws one look.
func (row lookRow) mark(c draw.Canvas, at vg.Point, base, room vg.Length, look traces.Look, shape func(*vg.Path, vg.Point, vg.Length)) {
	var path vg.Path
	switch {
	case math.IsNaN(look.Value):
		untold(c, at)
	case look.Value == 0:
		shape(&path, at, 1.5)
		mark{ink: quiet, open: true}.draw(c, path)
	case row.levels == 0:
		at.Y = base + room*vg.Length(look.Value/row.most)
		c.StrokeLine2(stroke(lost, 0.8), at.X, base, at.X, at.Y)
		shape(&path, at, markRadius)
		mark{ink: text}.draw(c, path)
	default:
		shape(&path, at, markRadius)
		fillPath(c, path, tints(row.levels)[int(look.Value)].light)
		strokePath(c, path, stroke(text, 0.5))
	}
}

// untold stands for what cannot be told.
func untold(c draw.Canvas, at vg.Point) {
	style := stroke(red, 0.9)
	c.StrokeLine2(style, at.X-1.8, at.Y-1.8, at.X+1.8, at.Y+1.8)
	c.StrokeLine2(style, at.X-1.8, at.Y+1.8, at.X+1.8, at.Y-1.8)
}

// confusionChart draws what one observer gave against what the other gave.
func (r *Results) confusionChart(k, pair int) sketch {
	a := r.Traces.Agreement[k]
	p := a.Pairs[pair]
	levels := r.Traces.levels(a.Trace)
	n := len(levels)
	const cell = vg.Length(30)
	s := sketch{Figure: Figure{part: confusionPart, Name: confusionName(k, pair, a.Trace), Width: figureWidth, Height: vg.Length(n)*cell + 62,
		Title:   fmt.Sprintf("%s: %s and %s", wording.Capital(r.Labels.Column(a.Trace)), p.One, p.Other),
		Caption: fmt.Sprintf("How often each value that %s gave (rows) met each that %s gave (columns), on the things that both looked at. On the diagonal, in outline, they agree; areas are numbers of things.", p.One, p.Other)}}
	s.Alt = s.Caption
	most := 1
	for _, row := range p.Confusion {
		most = max(most, slices.Max(row))
	}
	s.paint = func(c draw.Canvas) {
		small := lettering(smallSize, text)
		left := vg.Length(0)
		for _, l := range levels {
			left = max(left, small.Width(l))
		}
		x0, top := c.Min.X+left+60, c.Max.Y-40
		write(c, aligned(bold(small), draw.XLeft, draw.YCenter), vg.Point{X: x0, Y: c.Max.Y - 12}, p.Other+" gave")
		write(c, aligned(bold(small), draw.XLeft, draw.YCenter), vg.Point{X: c.Min.X + 8, Y: top + 8}, p.One+" gave")
		for i := range levels {
			y := top - cell*(vg.Length(i)+0.5)
			write(c, aligned(small, draw.XRight, draw.YCenter), vg.Point{X: x0 - 6, Y: y}, levels[i])
			x := x0 + cell*(vg.Length(i)+0.5)
			above := vg.Length(8)
			if i%2 == 1 && small.Width(levels[i]) >= cell-4 {
				above = 18
			}
			write(c, aligned(small, draw.XCenter, draw.YCenter), vg.Point{X: x, Y: top + above}, shortened(levels[i], small, 2*cell-6))
			for j := range levels {
				at := vg.Point{X: x0 + cell*(vg.Length(j)+0.5), Y: y}
				strokePath(c, rectangle(at.X-cell/2, at.Y-cell/2, at.X+cell/2, at.Y+cell/2), stroke(rule, thinLine))
				count := p.Confusion[i][j]
				if count == 0 {
					continue
				}
				half := (cell/2 - 2) * vg.Length(math.Sqrt(float64(count)/float64(most)))
				fill := envelope
				if i != j {
					fill = past
				}
				box(c, at.X-half, at.Y-half, at.X+half, at.Y+half, fill)
				write(c, aligned(small, draw.XCenter, draw.YCenter), at, wording.Whole(count))
			}
		}
	}
	return s
}

// expectedChart sets what was seen against what a model expects.
func (r *Results) expectedChart(k int) sketch {
	m := r.Traces.Models[k]
	s := sketch{Figure: Figure{Name: expectedName(k), Width: figureWidth,
		Title:   "Seen and expected: " + m.Name,
		Caption: "What was seen (square) against what the model expects of such looks in books, pages and by observers not seen before (line). Far apart, the model does not describe that value."}}
	s.Alt = s.Caption
	rows := m.Expected
	s.Height = vg.Length(len(rows))*9.5 + 40
	s.paint = func(c draw.Canvas) {
		most := 1.0
		if m.Model.Kind == mixed.Counts {
			most = 0
			for _, e := range rows {
				most = max(most, 1.1*max(e.Seen, e.Expected))
			}
		}
		small := lettering(smallSize, text)
		left := vg.Length(0)
		for _, e := range rows {
			left = max(left, small.Width(r.expectedName(e)))
		}
		left = min(left, 2*rowNames)
		x0, x1 := c.Min.X+left+14, c.Max.X-12
		x := func(v float64) vg.Length { return x0 + vg.Length(v/most)*(x1-x0) }
		for i, e := range rows {
			y := c.Max.Y - 12 - 9.5*vg.Length(i)
			write(c, aligned(small, draw.XRight, draw.YCenter), vg.Point{X: x0 - 6, Y: y}, shortened(r.expectedName(e), small, 2*rowNames))
			c.StrokeLine2(stroke(rule, thinLine, 1, 2), x0, y, x1, y)
			c.StrokeLine2(stroke(blue, 1.6), x(e.Expected), y-4, x(e.Expected), y+4)
			var path vg.Path
			square(&path, vg.Point{X: x(e.Seen), Y: y}, markRadius)
			fillPath(c, path, text.light)
		}
		foot := c.Max.Y - 12 - 9.5*vg.Length(len(rows))
		c.StrokeLine2(stroke(quiet, thinLine), x0, foot, x1, foot)
		for _, t := range (valueTicks{}).Ticks(0, most) {
			label := t.Label
			if m.Model.Kind != mixed.Counts {
				label = wording.Percent(t.Value)
			}
			footTick(c, x(t.Value), foot, textSize, label)
		}
	}
	return s
}

func (r *Results) expectedName(e TraceExpected) string {
	level := r.Labels.Level(e.Column, e.Level)
	if e.Of == "count" {
		return level
	}
	return level + ": " + e.Of
}

// touches draws the looks at a book below its page strip: what is graded or there hangs
// from the line, the longer the higher its grade; counts are dots below that, the larger
// the more.
func (r *Results) touches(s *svgDrawing, i int, foot, pitch, room float64) {
	plot := room - 9
	book := r.Books[i].Book
	down, dots := map[int]float64{}, map[int]float64{}
	for _, look := range r.Traces.Looks.All {
		if look.Book != i || !look.Kept() || math.IsNaN(look.Value) {
			continue
		}
		if n := len(r.Traces.Coding[look.Trace].Levels()); n > 1 {
			down[look.Page] = max(down[look.Page], look.Value/float64(n-1))
		} else {
			dots[look.Page] = max(dots[look.Page], look.Value)
		}
	}
	for page := range book.Pages {
		x := pagesLeft + pitch*float64(book.Pages[page].Position-1)
		if v := down[page]; v > 0 {
			s.box("touch", x, foot+2, max(pitch*0.82, 0.8), plot*v)
		}
		if dots[page] > 0 {
			s.dot("count", x+pitch/2, foot+plot+5, min(1+0.4*dots[page], 2.4))
		}
	}
}

// touchedKey names what the marks below a strip are: graded traces, and counts; empty
// where there are none.
func (r *Results) touchedKey() (graded, counted string) {
	var hang, dots []string
	for k := range r.Traces.Coding {
		t := &r.Traces.Coding[k]
		if name := r.Labels.Column(t.Name); len(t.Levels()) > 1 {
			hang = append(hang, name)
		} else {
			dots = append(dots, name)
		}
	}
	return wording.List(hang), wording.List(dots)
}
