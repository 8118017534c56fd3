package report

import (
	"fmt"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"thumbed/models/codex"
	"thumbed/models/dropoff"
)

// A habitDrawing is the changes along a whole book over its sections, which were
// not looked at: all panels stand on the pages' places in the book.
type habitDrawing struct {
	stepPanels
	book  *codex.Book
	gaps  []span // lost leaves
	strip strip
}

func (r *Results) habitChart(i int) sketch {
	b := r.Books[i]
	name := r.quotedName(b.Book)
	d := newHabitDrawing(b)
	f := Figure{
		Name: "habits-" + r.bookFile(b.Book), Title: "Where a different habit may begin in " + name, Width: figureWidth,
		topic: Read, book: b.Book.ID, table: "habits",
		Caption: d.caption(name, b.Habits), Alt: "Levels along the pages of the book, over its sections. " + habitSentence(name, b).Text,
	}
	f.Height = d.strip.labelHeight + stepPanel + panelGap + chancePanel + tickRoom + axisTitle + d.strip.bracketHeight + 5
	return sketch{f, d.paint}
}

func newHabitDrawing(b BookResult) habitDrawing {
	d := habitDrawing{book: b.Book, gaps: lostSpans(b.Book), strip: newStrip(b.Book, figureWidth-leftMargin-8)}
	h := b.Habits
	d.stepPanels = stepPanels{series: h.Series, changes: h.Changes, tell: func(change dropoff.Change) string { return change.At }}
	for _, page := range h.Pages {
		d.at = append(d.at, float64(b.Book.Pages[page].Position))
	}
	last := 1
	for _, p := range b.Book.Pages {
		last = max(last, p.Position)
	}
	d.from, d.to = 0.5, float64(last)+0.5
	d.behind = func(c draw.Canvas, x func(float64) vg.Length) {
		d.strip.bands(c, x)
		gapLayer(d.gaps)(c, x, nil)
	}
	return d
}

func (d habitDrawing) paint(c draw.Canvas) {
	take := stacked(c, c.Max.Y-d.strip.labelHeight)
	steps := take(stepPanel)
	d.paintSteps(steps)
	scale := func(panel draw.Canvas) func(float64) vg.Length {
		p := d.panelPlot(0, 1)
		return func(v float64) vg.Length { return panel.X(p.X.Norm(v)) }
	}
	d.strip.labels(c, scale(steps), steps.Max.Y, steps.Min.X, steps.Max.X)
	chances := take(chancePanel)
	d.paintChances(chances)
	d.paintFolios(chances, scale(chances))
	d.strip.brackets(c, scale(chances), chances.Min.Y-tickRoom)
	write(c, aligned(lettering(textSize, text), draw.XCenter, draw.YBottom), vg.Point{X: (chances.Min.X + chances.Max.X) / 2, Y: c.Min.Y + 2}, "folio (recto)")
}

// paintFolios writes folios below the last panel.
func (d habitDrawing) paintFolios(c draw.Canvas, x func(float64) vg.Length) {
	style := aligned(lettering(textSize, text), draw.XCenter, draw.YTop)
	for _, t := range folioTicks(d.book, c, lettering(textSize, text)).Ticks(d.from, d.to) {
		c.StrokeLine2(stroke(quiet, thinLine), x(t.Value), c.Min.Y, x(t.Value), c.Min.Y-3)
		write(c, style, vg.Point{X: x(t.Value), Y: c.Min.Y - 4}, t.Label)
	}
}

func (d habitDrawing) caption(name string, h *dropoff.Habits) string {
	text := "All measured pages of " + name + " in the order of the book. Above: wear"
	if len(h.Adjusted) > 0 {
		text += " with the effects of " + List(readable(h.Adjusted)) + " taken off"
	}
	return text + fmt.Sprintf(", one standard error either way, and the levels found (line) with 95%s%% intervals (dashes), without a look at the sections, whose bands and names are drawn for comparison.%s Below: the probability that the level changes after each page (bars); diamonds are the changes found, with 95%s%% intervals of their place and the last page of the old level.",
		narrow, d.strip.note(), narrow) + knownCaption(h.Changes)
}
