package report

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"thumbed/models/codex"
	"thumbed/models/dropoff"
	"thumbed/models/readings"
	"thumbed/models/wording"
)

// A habitDrawing is the changes along a whole book over its sections, which were
// not looked at: all panels stand on the pages' places in the book.
type habitDrawing struct {
	stepPanels
	book  *codex.Book
	gaps  []span          // lost leaves
	apart []readings.Wear // measured, and left out of the series
	strip strip
}

func habitChart(n bookNames, b BookResult, wear []readings.Wear) sketch {
	name := n.quoted
	d := newHabitDrawing(b, wear)
	f := Figure{
		Name: "habits-" + n.file, Title: "Where the level of wear changes in " + name, Width: figureWidth,
		Caption: d.caption(name, b.Habits), Alt: "Levels along the pages of the book, over its sections. " + habitSentence(name, b).Text,
	}
	f.Height = d.strip.labelHeight + stepPanel + d.nameRoom() + tickRoom + axisTitle + d.strip.bracketHeight + 5
	return sketch{Figure: f, paint: d.paint}
}

func newHabitDrawing(b BookResult, wear []readings.Wear) habitDrawing {
	d := habitDrawing{book: b.Book, gaps: lostSpans(b.Book), strip: newStrip(b.Book, figureWidth-leftMargin-8)}
	h := b.Habits
	d.stepPanels = stepPanels{series: h.Series, changes: h.Changes, tell: func(change dropoff.Change) string { return change.At }}
	for _, page := range h.Pages {
		d.at = append(d.at, float64(b.Book.Pages[page].Position))
	}
	for _, w := range wear {
		if !slices.Contains(h.Pages, w.Page) && !math.IsNaN(w.Density) {
			d.apart = append(d.apart, w)
		}
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
	d.paintSteps(steps, d.leftOut)
	scale := func(panel draw.Canvas) func(float64) vg.Length {
		p := d.panelPlot(0, 1)
		return func(v float64) vg.Length { return panel.X(p.X.Norm(v)) }
	}
	d.strip.labels(c, scale(steps), steps.Max.Y, steps.Min.X, steps.Max.X)
	foot := steps
	foot.Min.Y -= d.nameRoom()
	d.paintFolios(foot, scale(foot))
	d.strip.brackets(c, scale(foot), foot.Min.Y-tickRoom)
	write(c, aligned(lettering(textSize, text), draw.XCenter, draw.YBottom), vg.Point{X: (foot.Min.X + foot.Max.X) / 2, Y: c.Min.Y + 2}, "folio (recto)")
}

// leftOut draws the pages that the series leaves out, as they were measured: hollow,
// with an arrow at the panel's edge where they lie beyond it.
func (d habitDrawing) leftOut(c draw.Canvas, x, y func(float64) vg.Length) {
	hollow := mark{circle, markRadius, quiet, true, 0}
	var rings, arrows vg.Path
	for _, w := range d.apart {
		at := vg.Point{X: x(float64(d.book.Pages[w.Page].Position)), Y: y(w.Density)}
		switch {
		case at.Y > c.Max.Y:
			at.Y = c.Max.Y - 3*markRadius
			upward(&arrows, vg.Point{X: at.X, Y: c.Max.Y - markRadius}, markRadius)
		case at.Y < c.Min.Y:
			at.Y = c.Min.Y + 3*markRadius
			downward(&arrows, vg.Point{X: at.X, Y: c.Min.Y + markRadius}, markRadius)
		}
		circle(&rings, at, markRadius)
	}
	hollow.draw(c, rings)
	fillPath(c, arrows, quiet.light)
}

// leftOutNote says which pages these are and what was measured on them.
func (d habitDrawing) leftOutNote() string {
	var told []string
	for _, w := range d.apart {
		told = append(told, fmt.Sprintf("%s (%s%s)", folio(d.book, w.Page), boundWords(w.Limit), wording.Density(w.Density)))
	}
	switch len(told) {
	case 0:
		return ""
	case 1:
		return " Hollow, and left out of the series: " + told[0] + ", as it was measured; an arrow where it lies beyond the panel."
	}
	return " Hollow, and left out of the series: " + wording.List(told) + ", as they were measured; arrows where they lie beyond the panel."
}

// paintFolios writes folios below the last panel.
func (d habitDrawing) paintFolios(c draw.Canvas, x func(float64) vg.Length) {
	for _, t := range folioTicks(d.book, c, lettering(textSize, text)).Ticks(d.from, d.to) {
		footTick(c, x(t.Value), c.Min.Y, textSize, t.Label)
	}
}

func (d habitDrawing) caption(name string, h *dropoff.Habits) string {
	text := wording.Count(h.Changes.N, "page", "pages") + " of " + name + " in the order of the book: wear"
	if len(h.Adjusted) > 0 {
		text += ", adjusted for " + wording.List(readable(h.Adjusted))
	}
	return text + fmt.Sprintf(", one standard error either way, and the levels found (line) with 95%s%% intervals (dashes), with no place given by the sections, whose bands and names are drawn for comparison.%s%s Diamonds are the changes found, on the 95%s%% intervals of their places, with the last page of the old level where there is room.",
		wording.Narrow, d.strip.note(), d.leftOutNote(), wording.Narrow) + knownCaption(h.Changes)
}
