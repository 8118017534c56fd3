package report

import (
	"fmt"
	"strings"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"thumbed/models/codex"
	"thumbed/models/dropoff"
	"thumbed/models/wording"
)

const (
	stepPanel  = vg.Length(140)
	sharePanel = vg.Length(112)
	panelGap   = vg.Length(8)
	tickRoom   = vg.Length(14)
	officeRoom = vg.Length(14)
)

// A dropoffDrawing is the drop-off along one set of hours: rows are the pages
// in the order of the offices, and all panels share that axis.
type dropoffDrawing struct {
	stepPanels
	carried *dropoff.Decline
	offices []officeBand
	rows    int
}

// An officeBand is the rows of one office, from low to high.
type officeBand struct {
	office    codex.Office
	low, high float64
}

func newDropoffDrawing(c *dropoff.Decline) dropoffDrawing {
	d := dropoffDrawing{carried: c, offices: officeBands(c.Offs), rows: len(c.Series.Values)}
	d.stepPanels = stepPanels{series: c.Series, changes: c.Changes, tell: afterFolio}
	d.from, d.to = 0.5, float64(d.rows)+0.5
	for i := range d.rows {
		d.at = append(d.at, float64(i+1))
	}
	d.behind = func(c draw.Canvas, x func(float64) vg.Length) {
		for i, o := range d.offices {
			if i%2 == 0 {
				fillRectangle(c, x(o.low), c.Min.Y, x(o.high), c.Max.Y, band.light)
			}
		}
	}
	return d
}

// afterFolio is how the drawing calls a change.
func afterFolio(change dropoff.Change) string { return "after " + change.At }

// dropoffChart draws one set of hours of the book that sentences call name.
func dropoffChart(name, file string, c *dropoff.Decline) sketch {
	d := newDropoffDrawing(c)
	f := Figure{
		Name: "dropoff-" + file, Title: "Where the reader stopped: the " + setName(c.Set) + " in " + name, Width: figureWidth,
		Caption: d.caption(name), Alt: d.alt(name),
	}
	f.Height = officeRoom + stepPanel + d.nameRoom() + tickRoom + axisTitle + 5
	if d.hasShares() {
		f.Height += legendLine + sharePanel + 2*panelGap
	}
	return sketch{Figure: f, paint: d.paint}
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

func (d dropoffDrawing) paint(c draw.Canvas) {
	take := stacked(c, c.Max.Y-officeRoom-2)
	steps := take(stepPanel)
	d.nameOffices(steps)
	d.paintSteps(steps)
	last := steps
	last.Min.Y -= d.nameRoom()
	take(d.nameRoom() - panelGap)
	if d.hasShares() {
		drawLegend(take(legendLine), [][]legendEntry{d.shareLegend()})
		last = take(sharePanel)
		d.paintShares(last)
	}
	d.paintPages(last)
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
		for i, o := range d.offices {
			names[i] = officeAbbreviation(o.office)
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

// shareLegend says what the panel of shares draws.
func (d dropoffDrawing) shareLegend() []legendEntry {
	out := []legendEntry{{markSample(mark{square, 2.4, green, false, 0}), "each office by itself"}}
	curve := d.carried.Curve
	if curve == nil {
		return out
	}
	half := "half or more up to " + curve.Median.String()
	if curve.ToEnd {
		half += ", the last"
	}
	return append(out, legendEntry{lineSample(stroke(blue, 1.6), &envelope), "falling curve, with band"},
		legendEntry{markSample(mark{diamond, 3, red, false, 0}), half})
}

// paintShares draws wear as a share of the first office’s: of each office, in the
// middle of its band, and as a curve that never rises, with its band over all
// offices at once and the median stopping office marked.
func (d dropoffDrawing) paintShares(c draw.Canvas) {
	bands := map[codex.Office]officeBand{}
	for _, o := range d.offices {
		bands[o.office] = o
	}
	var points []point
	var intervals []span
	high := 1.0
	low := 0.0
	for _, o := range d.carried.Offices {
		at, ok := bands[o.Office]
		if !ok {
			continue
		}
		middle := (at.low + at.high) / 2
		points = append(points, point{middle, o.Share})
		intervals = append(intervals, span{middle, o.Low, o.High})
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
		d.fallingBand(bands),
		func(c draw.Canvas, _, y func(float64) vg.Length) {
			c.StrokeLine2(stroke(quiet, 0.8, 4, 2), c.Min.X, y(1), c.Max.X, y(1))
		},
		d.fallingCurve(bands), sticks(intervals, stroke(green, 1.1)), capped(intervals, stroke(green, 1.1)), marks(points, mark{square, 2.4, green, false, 0}), d.median(bands))
}

// fallingBand shades the bands of the curve, each over the width of its office.
func (d dropoffDrawing) fallingBand(bands map[codex.Office]officeBand) layer {
	return func(c draw.Canvas, x, y func(float64) vg.Length) {
		if d.carried.Curve == nil {
			return
		}
		for _, p := range d.carried.Curve.Points {
			if at, ok := bands[p.Office]; ok {
				fillRectangle(c, x(at.low), y(p.Low), x(at.high), y(p.High), envelope.light)
			}
		}
	}
}

// fallingCurve draws the curve as steps from office to office.
func (d dropoffDrawing) fallingCurve(bands map[codex.Office]officeBand) layer {
	return func(c draw.Canvas, x, y func(float64) vg.Length) {
		if d.carried.Curve == nil {
			return
		}
		var path vg.Path
		for _, p := range d.carried.Curve.Points {
			at, ok := bands[p.Office]
			if !ok {
				continue
			}
			if from := (vg.Point{X: x(at.low), Y: y(p.Share)}); len(path) == 0 {
				path.Move(from)
			} else {
				path.Line(from)
			}
			path.Line(vg.Point{X: x(at.high), Y: y(p.Share)})
		}
		strokePath(c, path, stroke(blue, 1.6))
	}
}

// median marks the last office with half of the first’s wear or more, at
// the height of one half, and how far it may lie to either side.
func (d dropoffDrawing) median(bands map[codex.Office]officeBand) layer {
	return func(c draw.Canvas, x, y func(float64) vg.Length) {
		curve := d.carried.Curve
		if curve == nil {
			return
		}
		at, low, high := bands[curve.Median], bands[curve.MedianLow], bands[curve.MedianHigh]
		level := y(0.5)
		c.StrokeLine2(stroke(quiet, 0.6, 1.5, 1.5), c.Min.X, level, c.Max.X, level)
		style := stroke(red, 1)
		c.StrokeLine2(style, x(low.high), level, x(high.high), level)
		for _, end := range []officeBand{low, high} {
			c.StrokeLine2(style, x(end.high), level-2.2, x(end.high), level+2.2)
		}
		var path vg.Path
		diamond(&path, vg.Point{X: x(at.high), Y: level}, 3)
		fillPath(c, path, red.light)
	}
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
		footTick(c, at, c.Min.Y, textSize, label)
		free = at + half
	}
	write(c, style, vg.Point{X: (c.Min.X + c.Max.X) / 2, Y: c.Min.Y - tickRoom - 1}, "page, in the order of the day’s offices")
}

func (d dropoffDrawing) caption(name string) string {
	c := d.carried
	text := fmt.Sprintf("The %s in %s, pages in the order of the day. Above: wear", setName(c.Set), name)
	if len(c.Adjusted) > 0 {
		text += ", adjusted for " + wording.List(readable(c.Adjusted))
	}
	text += fmt.Sprintf(", one standard error either way, and the levels found (line) with 95%s%% intervals (dashes). Diamonds are the changes found, on the 95%s%% intervals of their places, with the last page of the old level where there is room.", wording.Narrow, wording.Narrow) + knownCaption(c.Changes)
	if d.hasShares() {
		text += fmt.Sprintf(" Below: each office’s wear as a share of the first’s (squares), with 95%s%% intervals.", wording.Narrow)
		if d.carried.Curve != nil {
			text += fmt.Sprintf(" The line is the same as a curve that never rises, in its 95%s%% band over all offices at once; the diamond at one half ends the last office with half of the first’s wear or more, and the bar shows how far that may lie.", wording.Narrow)
		}
	} else if c.Refused != "" {
		text += " No share is drawn. " + wording.Typeset(wording.Sentence(c.Refused))
	}
	return text
}

func (d dropoffDrawing) alt(name string) string {
	s := stopSentence(name, d.carried)
	out := []string{"Panels on one axis of offices.", s.Text}
	for _, o := range d.carried.Offices {
		if d.hasShares() {
			out = append(out, fmt.Sprintf("%v: %s.", o.Office, wording.PercentEstimate(o.Share, o.Low, o.High)))
		}
	}
	if c := d.carried.Curve; c != nil {
		out = append(out, c.Sentence())
	}
	return strings.Join(out, " ")
}
