package report

import (
	"slices"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"thumbed/models/dropoff"
	"thumbed/models/wording"
)

// What was known beforehand is drawn in the colours of the axes: a break as a
// double line through the panel, with its reason below it, and a stretch
// without change as a quiet band, with its reason along its foot. Neither is drawn
// like a change found.

// breaks tells whether a known break follows row i, from 1.
func (d stepPanels) breaks(i int) bool {
	return slices.ContainsFunc(d.changes.Known, func(k dropoff.KnownBreak) bool { return k.After == i })
}

// doubled is how far apart the two lines of a known break are.
const doubled = vg.Length(2.4)

// known draws the known breaks with what they are.
func (d stepPanels) known() layer {
	return func(c draw.Canvas, x, _ func(float64) vg.Length) {
		if d.changes == nil {
			return
		}
		style := stroke(text, 0.7)
		for _, k := range d.changes.Known {
			at := x(d.after(k.After))
			for _, side := range []vg.Length{-doubled / 2, doubled / 2} {
				c.StrokeLine2(style, at+side, c.Min.Y, at+side, c.Max.Y)
			}
		}
		for _, n := range d.knownNames(c, x) {
			write(c, n.style, n.at, n.words)
		}
	}
}

// nameRoom is the room below the panel for the names of known breaks.
func (d stepPanels) nameRoom() vg.Length {
	if d.changes == nil || len(d.changes.Known) == 0 {
		return 0
	}
	return smallSize + 5
}

// A knownName is what is written of a break or a stretch, and where.
type knownName struct {
	words string
	style draw.TextStyle
	at    vg.Point
	box   textBox
}

// knownNames places the names of breaks below the panel and those of
// stretches at the foot of their bands; what has no room is told in the caption
// alone.
func (d stepPanels) knownNames(c draw.Canvas, x func(float64) vg.Length) []knownName {
	var out []knownName
	if d.changes == nil {
		return nil
	}
	style := aligned(lettering(smallSize, text), draw.XLeft, draw.YCenter)
	taken := func() (boxes []textBox) {
		for _, n := range out {
			boxes = append(boxes, n.box)
		}
		return boxes
	}
	put := func(y vg.Length, left, right vg.Length, options ...string) {
		for _, words := range options {
			width := style.Width(words)
			for _, from := range []vg.Length{left, right - width} {
				box := textBox{from - 1, y - smallSize/2, from + width + 1, y + smallSize/2}
				if from < c.Min.X+1 || from+width > c.Max.X || !box.free(taken()) {
					continue
				}
				out = append(out, knownName{words, style, vg.Point{X: from, Y: y}, box})
				return
			}
		}
	}
	for _, k := range d.changes.Known {
		at := x(d.after(k.After))
		short := "before " + k.Before
		long := short
		if k.Reason != "" {
			long = k.Reason + " (" + short + ")"
		}
		put(c.Min.Y-d.nameRoom()/2, at-doubled/2, at+doubled/2, long, short)
	}
	for _, w := range d.changes.Unbroken {
		if width := x(d.after(w.To)) - x(d.after(w.From-1)); w.Reason != "" && style.Width(w.Reason) < width {
			put(c.Min.Y+smallSize*0.7, x(d.after(w.From-1))+2, x(d.after(w.To))-2, w.Reason)
		}
	}
	return out
}

// names are the boxes that breaks, the edges of stretches and the names of both
// take.
func (d stepPanels) names(c draw.Canvas, x func(float64) vg.Length) []textBox {
	var out []textBox
	for _, k := range d.changes.Known {
		at := x(d.after(k.After))
		out = append(out, textBox{at - doubled/2, c.Min.Y, at + doubled/2, c.Max.Y})
	}
	for _, w := range d.changes.Unbroken {
		for _, at := range []vg.Length{x(d.after(w.From - 1)), x(d.after(w.To))} {
			out = append(out, textBox{at, c.Min.Y, at, c.Max.Y})
		}
	}
	for _, n := range d.knownNames(c, x) {
		out = append(out, n.box)
	}
	return out
}

// whole draws the stretches in which no change was looked for as bands with a rule
// at either end.
func (d stepPanels) whole() layer {
	return func(c draw.Canvas, x, _ func(float64) vg.Length) {
		if d.changes == nil {
			return
		}
		for _, w := range d.changes.Unbroken {
			left, right := x(d.after(w.From-1)), x(d.after(w.To))
			fillRectangle(c, left, c.Min.Y, right, c.Max.Y, rule.light)
			for _, end := range []vg.Length{left, right} {
				c.StrokeLine2(stroke(quiet, thinLine), end, c.Min.Y, end, c.Max.Y)
			}
		}
	}
}

// knownCaption says how a figure draws what was known beforehand; empty where
// nothing was.
func knownCaption(c *dropoff.Changes) string {
	if c == nil {
		return ""
	}
	text := ""
	if n := len(c.Known); n > 0 {
		var told []string
		for _, k := range c.Known {
			told = append(told, k.Name())
		}
		text += " A double line is a break that was known beforehand, at which the level was free to differ: " + wording.List(told) + "."
	}
	if len(c.Unbroken) > 0 {
		var told []string
		for _, w := range c.Unbroken {
			part := rowLabel(c.Labels, w.From) + "–" + rowLabel(c.Labels, w.To)
			if w.Reason != "" {
				part += " (" + w.Reason + ")"
			}
			told = append(told, part)
		}
		text += " In the grey bands no change was looked for: " + wording.List(told) + "."
	}
	return text
}
