package report

import (
	"fmt"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"thumbed/models/profile"
	"thumbed/models/wording"
)

// A dotRow is one line of a dot-and-interval chart.
type dotRow struct {
	label     string
	value     float64
	low, high float64
	note      string // written at the right
	heading   bool   // a line of text without a dot
	open      bool   // an open dot
}

const rowPitch = vg.Length(12.5)

// A dotChart is rows of dots with their intervals, one below the other.
type dotChart struct {
	rows     []dotRow
	axis     string
	noteHead string
	zero     bool // draw a line at zero
	mark     mark
}

// rowNames is the most room that the names of rows take from the plot.
const rowNames = vg.Length(132)

func (d dotChart) height() vg.Length { return vg.Length(len(d.rows))*rowPitch + 44 }

func (d dotChart) paint(c draw.Canvas) {
	p := newPlot(d.axis, "")
	p.X.Tick.Marker = valueTicks{}
	p.Y.Min, p.Y.Max = 0.4, float64(len(d.rows))+0.6
	p.X.Min, p.X.Max = d.reach()
	p.Y.Tick.Length, p.Y.LineStyle.Width = 0, 0
	note := lettering(smallSize, text)
	noteWidth := note.Width(d.noteHead)
	var ticks plot.ConstantTicks
	for i, row := range d.rows {
		noteWidth = max(noteWidth, note.Width(row.note))
		ticks = append(ticks, plot.Tick{Value: float64(len(d.rows) - i), Label: shortened(row.label, lettering(smallSize, text), rowNames)})
	}
	p.Y.Tick.Marker = ticks
	p.Y.Tick.Label = aligned(lettering(smallSize, text), draw.XRight, draw.YCenter)
	p.Add(layer(d.rules), layer(d.dots), layer(func(c draw.Canvas, x, y func(float64) vg.Length) {
		for i, row := range d.rows {
			write(c, aligned(note, draw.XRight, draw.YCenter), vg.Point{X: c.Max.X + 10 + noteWidth, Y: y(float64(len(d.rows) - i))}, row.note)
		}
		write(c, aligned(lettering(smallSize, quiet), draw.XRight, draw.YBottom), vg.Point{X: c.Max.X + 10 + noteWidth, Y: c.Max.Y + 1}, d.noteHead)
	}))
	p.Draw(draw.Crop(c, 4, -(noteWidth + 16), 4, -12))
}

// reach is the range of the axis: all intervals, and zero where it is drawn or
// near.
func (d dotChart) reach() (low, high float64) {
	first := true
	take := func(values ...float64) {
		for _, v := range values {
			if !finite(v) {
				continue
			}
			if first {
				low, high, first = v, v, false
			}
			low, high = min(low, v), max(high, v)
		}
	}
	for _, row := range d.rows {
		if !row.heading {
			take(row.value, row.low, row.high)
		}
	}
	take(0)
	margin := 0.03 * (high - low)
	if low < 0 {
		low -= margin
	}
	if high > 0 {
		high += margin
	}
	return low, max(high, low+leastReach)
}

// rules draws a thin line along each row and, where asked, one at zero.
func (d dotChart) rules(c draw.Canvas, x, y func(float64) vg.Length) {
	var path vg.Path
	for i, row := range d.rows {
		if row.heading {
			continue
		}
		at := y(float64(len(d.rows) - i))
		path.Move(vg.Point{X: c.Min.X, Y: at})
		path.Line(vg.Point{X: c.Max.X, Y: at})
	}
	strokePath(c, path, stroke(rule, thinLine, 1, 2))
	if d.zero {
		c.StrokeLine2(stroke(quiet, 0.8, 4, 2), x(0), c.Min.Y, x(0), c.Max.Y)
	}
}

func (d dotChart) dots(c draw.Canvas, x, y func(float64) vg.Length) {
	var lines, closed, open vg.Path
	for i, row := range d.rows {
		if row.heading || !finite(row.value) {
			continue
		}
		at := y(float64(len(d.rows) - i))
		if finite(row.low) && finite(row.high) {
			left, right := x(row.low), x(row.high)
			lines.Move(vg.Point{X: left, Y: at})
			lines.Line(vg.Point{X: right, Y: at})
			for _, end := range []vg.Length{left, right} {
				lines.Move(vg.Point{X: end, Y: at - 2})
				lines.Line(vg.Point{X: end, Y: at + 2})
			}
		}
		if row.open {
			d.mark.outline(&open, vg.Point{X: x(row.value), Y: at}, d.mark.radius)
		} else {
			d.mark.outline(&closed, vg.Point{X: x(row.value), Y: at}, d.mark.radius)
		}
	}
	strokePath(c, lines, stroke(d.mark.ink, 1))
	d.mark.draw(c, closed)
	hollow := d.mark
	hollow.open = true
	hollow.draw(c, open)
}

func areaChart(n bookNames, b BookResult) sketch {
	name := n.quoted
	chart := dotChart{axis: "wear per page (density)", noteHead: "pages", mark: mark{circle, 2.4, blue, false, 0}}
	sorted := byWear(b.Profile.Areas)
	for _, a := range sorted {
		chart.rows = append(chart.rows, dotRow{
			label: wording.Clipped(sectionName(b.Book.Sections[a.Section]), 44), value: a.PerPage, low: a.PerPageLow, high: a.PerPageHigh,
			note: measuredOf(a),
		})
	}
	f := Figure{
		Name: "sections-" + n.file, Title: "Wear of the sections of " + name, Width: figureWidth, Height: chart.height(),
		Caption: fmt.Sprintf("Wear per page of each text of %s, the most worn first, with 95%s%% intervals; at the right the pages measured, of those present.", name, wording.Narrow),
	}
	first, last := sorted[0], sorted[len(sorted)-1]
	f.Alt = fmt.Sprintf("Dots with intervals for %s of %s, from %s, %s density a page, down to %s, %s. The numbers stand in the table of sections.",
		wording.Count(len(sorted), "section", "sections"), name,
		sectionName(b.Book.Sections[first.Section]), wording.Density(first.PerPage), sectionName(b.Book.Sections[last.Section]), wording.Density(last.PerPage))
	return sketch{Figure: f, paint: chart.paint}
}

func measuredOf(a profile.Area) string {
	if a.Measured == a.Pages {
		return wording.Whole(a.Pages)
	}
	return wording.Whole(a.Measured) + " of " + wording.Whole(a.Pages)
}
