package report

import (
	"math"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"thumbed/models/dropoff"
)

// leftMargin is the room of the y axes, the same for all panels so that they
// stand below each other.
const leftMargin = vg.Length(38)

// stacked hands out panels of the canvas's width from the top down.
func stacked(c draw.Canvas, top vg.Length) func(height vg.Length) draw.Canvas {
	return func(height vg.Length) draw.Canvas {
		panel := draw.Canvas{Canvas: c.Canvas, Rectangle: vg.Rectangle{
			Min: vg.Point{X: c.Min.X + leftMargin, Y: top - height}, Max: vg.Point{X: c.Max.X - 8, Y: top}}}
		top -= height + panelGap
		return panel
	}
}

// A panelStack is what panels below each other share: the x axis and what stands
// behind them.
type panelStack struct {
	from, to float64 // of the x axis
	behind   func(c draw.Canvas, x func(float64) vg.Length)
}

// panelPlot is a plot that fills its panel exactly: its axes are drawn outside.
func (s panelStack) panelPlot(low, high float64) *plot.Plot {
	p := newPlot("", "")
	p.X.Min, p.X.Max, p.Y.Min, p.Y.Max = s.from, s.to, low, max(high, low+leastReach)
	return p
}

// paintPanel draws what stands behind a panel, level lines and layers, its frame
// and its y axis with the title.
func (s panelStack) paintPanel(c draw.Canvas, p *plot.Plot, title string, layers ...layer) {
	x := func(v float64) vg.Length { return c.X(p.X.Norm(v)) }
	y := func(v float64) vg.Length { return c.Y(p.Y.Norm(v)) }
	s.behind(c, x)
	levelLines(p)(c, x, y)
	for _, l := range layers {
		l(c, x, y)
	}
	axis := stroke(quiet, thinLine)
	c.StrokeLine2(axis, c.Min.X, c.Min.Y, c.Min.X, c.Max.Y)
	c.StrokeLine2(axis, c.Min.X, c.Min.Y, c.Max.X, c.Min.Y)
	style := aligned(lettering(textSize, text), draw.XRight, draw.YCenter)
	for _, t := range p.Y.Tick.Marker.Ticks(p.Y.Min, p.Y.Max) {
		if t.IsMinor() || t.Value < p.Y.Min || t.Value > p.Y.Max {
			continue
		}
		c.StrokeLine2(axis, c.Min.X-3, y(t.Value), c.Min.X, y(t.Value))
		write(c, style, vg.Point{X: c.Min.X - 4.5, Y: y(t.Value)}, t.Label)
	}
	upright := aligned(lettering(textSize, text), draw.XCenter, draw.YTop)
	upright.Rotation = math.Pi / 2
	write(c, upright, vg.Point{X: c.Min.X - leftMargin + 3, Y: (c.Min.Y + c.Max.Y) / 2}, title)
}

// stepPanels draw a segmented series: its values with the levels and changes found.
type stepPanels struct {
	panelStack
	series  dropoff.Series
	at      []float64                   // where each row stands on the x axis
	changes *dropoff.Changes            // nil where none were looked for
	tell    func(dropoff.Change) string // how a change is named
}

// after is the place on the axis between row i, from 1, and the next: the edges of
// the series for 0 and for the last.
func (d stepPanels) after(i int) float64 {
	switch {
	case i <= 0:
		return d.at[0] - 0.5
	case i >= len(d.at):
		return d.at[len(d.at)-1] + 0.5
	}
	return (d.at[i-1] + d.at[i]) / 2
}

// paintSteps draws the values with their standard errors and the levels found, and
// over them what else there is.
func (d stepPanels) paintSteps(c draw.Canvas, over ...layer) {
	values, se := d.series.Values, d.series.SE
	var points []point
	var errors []span
	low, high := 0.0, 0.0
	for i, v := range values {
		at := point{d.at[i], v}
		points = append(points, at)
		low, high = min(low, v), max(high, v)
		if i < len(se) && finite(se[i]) {
			errors = append(errors, span{at.x, v - se[i], v + se[i]})
			low, high = min(low, v-se[i]), max(high, v+se[i])
		}
	}
	p := d.panelPlot(low, high+0.06*(high-low))
	d.paintPanel(c, p, "wear (density)", append([]layer{d.whole(), d.known(), sticks(errors, stroke(quiet, stickLine)), marks(points, textMark), d.levels(), d.found()}, over...)...)
}

// levels draws each level with its 95 % band, and a riser at each change; none
// at a known break, which has a line of its own.
func (d stepPanels) levels() layer {
	return func(c draw.Canvas, x, y func(float64) vg.Length) {
		if d.changes == nil {
			return
		}
		levels := d.changes.Levels
		edge := stroke(blue, 0.6, 2, 1.5)
		for _, l := range levels {
			left, right := x(d.after(l.From-1)), x(d.after(l.To))
			for _, bound := range []float64{l.Mean - normal95*l.SE, l.Mean + normal95*l.SE} {
				if finite(bound) {
					c.StrokeLine2(edge, left, clampY(c, y(bound)), right, clampY(c, y(bound)))
				}
			}
		}
		var path vg.Path
		for i, l := range levels {
			from := vg.Point{X: x(d.after(l.From - 1)), Y: y(l.Mean)}
			if i == 0 || d.breaks(l.From-1) {
				path.Move(from)
			} else {
				path.Line(from)
			}
			path.Line(vg.Point{X: x(d.after(l.To)), Y: y(l.Mean)})
		}
		strokePath(c, path, stroke(blue, 1.6))
	}
}

// found draws each change on the series itself: a diamond half way between the old
// level and the new, on the interval of its place, with its name where there is room.
func (d stepPanels) found() layer {
	return func(c draw.Canvas, x, y func(float64) vg.Length) {
		if d.changes == nil {
			return
		}
		taken := d.obstacles(c, x, y)
		for _, change := range d.changes.Changes {
			taken = append(taken, d.paintChange(c, x, y, change))
		}
		for _, change := range d.changes.Changes {
			taken = d.nameChange(c, x, y, change, taken)
		}
	}
}

// between is the height half way between the levels about a change.
func (d stepPanels) between(change dropoff.Change) float64 {
	if old, new, ok := d.changes.Around(change.After); ok {
		return (old.Mean + new.Mean) / 2
	}
	return d.series.Values[min(max(change.After, 1), len(d.series.Values))-1]
}

// obstacles are what no name may cover: the rows, and what was known beforehand.
func (d stepPanels) obstacles(c draw.Canvas, x, y func(float64) vg.Length) []textBox {
	out := d.names(c, x)
	for i, v := range d.series.Values {
		at := vg.Point{X: x(d.at[i]), Y: y(v)}
		out = append(out, textBox{at.X - 1.5, at.Y - 1.5, at.X + 1.5, at.Y + 1.5})
	}
	return out
}

// paintChange draws a change as a diamond on the interval of its place, and tells
// what room that takes.
func (d stepPanels) paintChange(c draw.Canvas, x, y func(float64) vg.Length, change dropoff.Change) textBox {
	level := clampY(c, y(d.between(change)))
	left, right := x(d.after(change.Low)), x(d.after(change.High))
	reachLine(c, stroke(red, 1), left, right, level)
	var path vg.Path
	diamond(&path, vg.Point{X: x(d.after(change.After)), Y: level}, 2.8)
	fillPath(c, path, red.light)
	return textBox{left - 2.8, level - 2.8, right + 2.8, level + 2.8}
}

// nameChange writes the name of a change beside its diamond, or above or below it,
// clear of what is there; where there is no room it is left to the table.
func (d stepPanels) nameChange(c draw.Canvas, x, y func(float64) vg.Length, change dropoff.Change, taken []textBox) []textBox {
	level := clampY(c, y(d.between(change)))
	left, right, at := x(d.after(change.Low)), x(d.after(change.High)), x(d.after(change.After))
	label := d.tell(change)
	style := bold(aligned(lettering(smallSize, red), draw.XLeft, draw.YCenter))
	width, half := style.Width(label), smallSize/2
	places := []vg.Point{{X: right + 4, Y: level}, {X: left - 4 - width, Y: level}}
	for lift := smallSize; lift < c.Max.Y-c.Min.Y; lift += smallSize / 2 {
		for _, up := range []vg.Length{lift, -lift} {
			places = append(places, vg.Point{X: at + 3, Y: level + up}, vg.Point{X: at - 3 - width, Y: level + up})
		}
	}
	for _, corner := range places {
		box := textBox{corner.X, corner.Y - half, corner.X + width, corner.Y + half}
		if box.x0 < c.Min.X || box.x1 > c.Max.X || box.y0 < c.Min.Y || box.y1 > c.Max.Y || !box.free(taken) {
			continue
		}
		write(c, style, corner, label)
		return append(taken, textBox{box.x0 - 2, box.y0, box.x1 + 2, box.y1})
	}
	return taken
}
