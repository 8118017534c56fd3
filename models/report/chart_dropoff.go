package report

import (
	"fmt"
	"math"
	"strings"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"thumbed/models/codex"
	"thumbed/models/dropoff"
)

const (
	stepPanel   = vg.Length(128)
	chancePanel = vg.Length(58)
	sharePanel  = vg.Length(96)
	panelGap    = vg.Length(8)
	tickRoom    = vg.Length(14)
	officeRoom  = vg.Length(14)
)

// A dropoffDrawing is the drop-off along one set of hours: rows are the pages
// in the order of the offices, and all panels share that axis.
type dropoffDrawing struct {
	carried *dropoff.Carried
	offices []officeBand
	rows    int
}

// An officeBand is the rows of one office, from low to high.
type officeBand struct {
	office    codex.Office
	low, high float64
}

func (r *Results) dropoffChart(i int, c *dropoff.Carried) sketch {
	b := r.Books[i].Book
	name := r.quotedName(b)
	d := dropoffDrawing{carried: c, offices: officeBands(c.Offs), rows: len(c.Series.Values)}
	f := Figure{
		Name: "dropoff-" + r.setFile(b, c), Title: "Where the reader stopped: the " + setName(c.Set) + " in " + name, Width: figureWidth,
		topic: Stopped, book: b.ID, table: "offices",
		Caption: d.caption(name), Alt: d.alt(name),
	}
	f.Height = officeRoom + stepPanel + panelGap + chancePanel + tickRoom + axisTitle + 5
	if d.hasShares() {
		f.Height += sharePanel + panelGap
	}
	return sketch{f, d.paint}
}

func officeBands(offices []codex.Office) []officeBand {
	var out []officeBand
	for i, o := range offices {
		x := float64(i + 1)
		if n := len(out); n > 0 && out[n-1].office == o {
			out[n-1].high = x + 0.5
			continue
		}
		out = append(out, officeBand{o, x - 0.5, x + 0.5})
	}
	return out
}

func (d dropoffDrawing) hasShares() bool {
	return d.carried.Refused == "" && len(d.carried.Offices) > 0
}

// leftMargin is the room of the y axes, the same for all panels so that they
// stand below each other.
const leftMargin = vg.Length(38)

func (d dropoffDrawing) paint(c draw.Canvas) {
	top := c.Max.Y - officeRoom - 2
	take := func(height vg.Length) draw.Canvas {
		panel := draw.Canvas{Canvas: c.Canvas, Rectangle: vg.Rectangle{
			Min: vg.Point{X: c.Min.X + leftMargin, Y: top - height}, Max: vg.Point{X: c.Max.X - 8, Y: top}}}
		top -= height + panelGap
		return panel
	}
	steps := take(stepPanel)
	d.nameOffices(steps)
	d.paintSteps(steps)
	last := take(chancePanel)
	d.paintChances(last)
	if d.hasShares() {
		last = take(sharePanel)
		d.paintShares(last)
	}
	d.paintPages(last)
}

// panelPlot is a plot that fills its panel exactly: its axes are drawn outside.
func (d dropoffDrawing) panelPlot(low, high float64) *plot.Plot {
	p := newPlot("", "")
	p.X.Min, p.X.Max, p.Y.Min, p.Y.Max = 0.5, float64(d.rows)+0.5, low, max(high, low+leastReach)
	return p
}

// paintPanel draws a panel's office bands, level lines and layers, its frame
// and its y axis with the title.
func (d dropoffDrawing) paintPanel(c draw.Canvas, p *plot.Plot, title string, layers ...layer) {
	x := func(v float64) vg.Length { return c.X(p.X.Norm(v)) }
	y := func(v float64) vg.Length { return c.Y(p.Y.Norm(v)) }
	for i, o := range d.offices {
		if i%2 == 0 {
			fillRectangle(c, x(o.low), c.Min.Y, x(o.high), c.Max.Y, band.light)
		}
	}
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

// nameOffices writes the offices above the first panel, short where their bands
// are narrow.
func (d dropoffDrawing) nameOffices(c draw.Canvas) {
	style := aligned(lettering(smallSize, text), draw.XCenter, draw.YBottom)
	perRow := (c.Max.X - c.Min.X) / vg.Length(d.rows)
	places := make([]vg.Length, len(d.offices))
	gap := vg.Length(0)
	names := make([]string, len(d.offices))
	for i, o := range d.offices {
		places[i] = c.Min.X + vg.Length((o.low+o.high)/2-0.5)*perRow
		names[i] = o.office.String()
		gap = max(gap, style.Width(names[i])+4)
	}
	if gap*vg.Length(len(names)) > c.Max.X-c.Min.X {
		gap = 0
		for i, n := range names {
			names[i] = clipped(n, 4)
			gap = max(gap, style.Width(names[i])+3)
		}
	}
	for i, at := range spread(places, gap, c.Min.X+gap/2, c.Max.X-gap/2) {
		write(c, style, vg.Point{X: at, Y: c.Max.Y + 4}, names[i])
		if at != places[i] {
			c.StrokeLine2(stroke(lost, thinLine), places[i], c.Max.Y, at, c.Max.Y+4)
		}
	}
}

func (d dropoffDrawing) paintSteps(c draw.Canvas) {
	values, se := d.carried.Series.Values, d.carried.Series.SE
	var points []point
	var errors []span
	low, high := 0.0, 0.0
	for i, v := range values {
		at := point{float64(i + 1), v}
		points = append(points, at)
		low, high = min(low, v), max(high, v)
		if i < len(se) && finite(se[i]) {
			errors = append(errors, span{at.x, v - se[i], v + se[i]})
			low, high = min(low, v-se[i]), max(high, v+se[i])
		}
	}
	p := d.panelPlot(low, high+0.06*(high-low))
	d.paintPanel(c, p, "wear (density)", sticks(errors, stroke(quiet, stickLine)), marks(points, textMark), d.levels())
}

// levels draws each level with its 95 % band, and a riser at each change.
func (d dropoffDrawing) levels() layer {
	return func(c draw.Canvas, x, y func(float64) vg.Length) {
		if d.carried.Changes == nil {
			return
		}
		levels := d.carried.Changes.Levels
		edge := stroke(blue, 0.6, 2, 1.5)
		for _, l := range levels {
			left, right := x(float64(l.From)-0.5), x(float64(l.To)+0.5)
			for _, bound := range []float64{l.Mean - normal95*l.SE, l.Mean + normal95*l.SE} {
				if finite(bound) {
					c.StrokeLine2(edge, left, clampY(c, y(bound)), right, clampY(c, y(bound)))
				}
			}
		}
		var path vg.Path
		for i, l := range levels {
			from := vg.Point{X: x(float64(l.From) - 0.5), Y: y(l.Mean)}
			if i == 0 {
				path.Move(from)
			} else {
				path.Line(from)
			}
			path.Line(vg.Point{X: x(float64(l.To) + 0.5), Y: y(l.Mean)})
		}
		strokePath(c, path, stroke(blue, 1.6))
	}
}

// paintChances draws the probability of a change after each page, and over it
// the interval of each change found.
func (d dropoffDrawing) paintChances(c draw.Canvas) {
	p := d.panelPlot(0, 1.12)
	p.Y.Tick.Marker = plot.ConstantTicks{{Value: 0, Label: "0"}, {Value: 0.5, Label: "0.5"}, {Value: 1, Label: "1"}}
	d.paintPanel(c, p, "probability", func(c draw.Canvas, x, y func(float64) vg.Length) {
		changes := d.carried.Changes
		if changes == nil {
			return
		}
		var bars vg.Path
		for i, chance := range changes.Each {
			if chance > 0.001 {
				at := x(float64(i) + 1.5)
				bars.Move(vg.Point{X: at, Y: c.Min.Y})
				bars.Line(vg.Point{X: at, Y: y(chance)})
			}
		}
		strokePath(c, bars, stroke(blue, 1.5))
		for _, change := range changes.Changes {
			d.paintChange(c, x, y, change)
		}
	})
}

func (d dropoffDrawing) paintChange(c draw.Canvas, x, y func(float64) vg.Length, change dropoff.Change) {
	level := clampY(c, y(change.Probability))
	left, right := x(float64(change.Low)+0.5), x(float64(change.High)+0.5)
	style := stroke(red, 1)
	c.StrokeLine2(style, left, level, right, level)
	for _, end := range []vg.Length{left, right} {
		c.StrokeLine2(style, end, level-2, end, level+2)
	}
	var path vg.Path
	at := vg.Point{X: x(float64(change.After) + 0.5), Y: level}
	diamond(&path, at, 2.8)
	fillPath(c, path, red.light)
	label := "after " + change.At
	words := bold(aligned(lettering(smallSize, red), draw.XLeft, draw.YCenter))
	place := vg.Point{X: right + 4, Y: level}
	if place.X+words.Width(label) > c.Max.X {
		words.XAlign = draw.XRight
		place.X = left - 4
	}
	write(c, words, place, label)
}

// paintShares draws each office's share of the first, in the middle of its band.
func (d dropoffDrawing) paintShares(c draw.Canvas) {
	middle := map[codex.Office]float64{}
	for _, o := range d.offices {
		middle[o.office] = (o.low + o.high) / 2
	}
	var points []point
	var intervals []span
	high := 1.0
	low := 0.0
	for _, o := range d.carried.Offices {
		at, ok := middle[o.Office]
		if !ok {
			continue
		}
		points = append(points, point{at, o.Share})
		intervals = append(intervals, span{at, o.Low, o.High})
		if finite(o.High) {
			high = max(high, o.High)
		}
		if finite(o.Low) {
			low = min(low, o.Low)
		}
	}
	p := d.panelPlot(low, min(high, 2.5)*1.08)
	first := d.carried.Offices[0].Office.String()
	d.paintPanel(c, p, "share of "+first,
		func(c draw.Canvas, _, y func(float64) vg.Length) {
			c.StrokeLine2(stroke(quiet, 0.8, 4, 2), c.Min.X, y(1), c.Max.X, y(1))
		},
		polyline(points, stroke(green, 0.8, 3, 2)), sticks(intervals, stroke(green, 1.1)), capped(intervals, stroke(green, 1.1)), marks(points, mark{square, 2.4, green, false, 0}))
}

// capped draws short bars at the ends of upright intervals, and arrow heads where
// they reach beyond the panel.
func capped(spans []span, style draw.LineStyle) layer {
	return func(c draw.Canvas, x, y func(float64) vg.Length) {
		var path, open vg.Path
		for _, s := range spans {
			for _, end := range []float64{s.low, s.high} {
				at := vg.Point{X: x(s.at), Y: y(end)}
				if finite(end) && at.Y > c.Max.Y {
					upward(&open, vg.Point{X: at.X, Y: c.Max.Y - 4}, 2.2)
				} else if finite(end) && c.Contains(at) {
					path.Move(vg.Point{X: at.X - 2.2, Y: at.Y})
					path.Line(vg.Point{X: at.X + 2.2, Y: at.Y})
				}
			}
		}
		strokePath(c, path, style)
		fillPath(c, open, style.Color)
	}
}

// paintPages writes folios below the last panel, as many as fit.
func (d dropoffDrawing) paintPages(c draw.Canvas) {
	style := aligned(lettering(textSize, text), draw.XCenter, draw.YTop)
	perRow := (c.Max.X - c.Min.X) / vg.Length(d.rows)
	free := c.Min.X - 20
	for i := range d.rows {
		label := rowLabel(d.carried.Series.Labels, i+1)
		at := c.Min.X + (vg.Length(i)+0.5)*perRow
		half := style.Width(label) / 2
		if at-half < free+8 || at+half > c.Max.X+8 {
			continue
		}
		c.StrokeLine2(stroke(quiet, thinLine), at, c.Min.Y, at, c.Min.Y-3)
		write(c, style, vg.Point{X: at, Y: c.Min.Y - 4}, label)
		free = at + half
	}
	write(c, style, vg.Point{X: (c.Min.X + c.Max.X) / 2, Y: c.Min.Y - tickRoom - 1}, "page, in the order of the day’s offices")
}

func (d dropoffDrawing) caption(name string) string {
	c := d.carried
	text := fmt.Sprintf("The %s in %s, pages in the order of the day. Above: wear", setName(c.Set), name)
	if len(c.Adjusted) > 0 {
		text += " with the effects of " + List(readable(c.Adjusted)) + " taken off"
	}
	text += fmt.Sprintf(", one standard error either way, and the levels found (line) with 95%s%% intervals (dashes). Middle: the probability that the level changes after each page (bars); diamonds are the changes found, with 95%s%% intervals of their place.", narrow, narrow)
	if d.hasShares() {
		text += fmt.Sprintf(" Below: each office’s wear as a share of the first’s (squares), with 95%s%% intervals.", narrow)
	} else if c.Refused != "" {
		text += " No share carried on is drawn. " + typeset(sentence(c.Refused))
	}
	return text
}

func (d dropoffDrawing) alt(name string) string {
	s := stopSentence(name, d.carried)
	out := []string{"Panels on one axis of offices.", s.Text}
	for _, o := range d.carried.Offices {
		if d.hasShares() {
			out = append(out, fmt.Sprintf("%v: %s.", o.Office, PercentEstimate(o.Share, o.Low, o.High)))
		}
	}
	return strings.Join(out, " ")
}
