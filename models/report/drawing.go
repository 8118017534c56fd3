package report

import (
	"image/color"
	"math"
	"strings"

	"thumbed/models/wording"

	xfont "golang.org/x/image/font"
	"gonum.org/v1/plot"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// Sizes of figures: the width of a book page's text, and lettering that stays
// legible there.
const (
	figureWidth  = 160 * vg.Millimeter
	textSize     = vg.Length(8)
	smallSize    = vg.Length(7)
	thinLine     = vg.Length(0.5)
	curveLine    = vg.Length(1.4)
	stickLine    = vg.Length(0.6)
	dotRadius    = vg.Length(1.25)
	markRadius   = vg.Length(2.1)
	legendGap    = vg.Length(14)
	legendLine   = vg.Length(12)
	legendSample = vg.Length(16)
)

// lettering is a style of text in the figures' typeface.
func lettering(size vg.Length, c ink) draw.TextStyle {
	return draw.TextStyle{
		Color:   c.light,
		Font:    font.Font{Typeface: "Liberation", Variant: "Sans", Size: size},
		Handler: plot.DefaultTextHandler,
		XAlign:  draw.XLeft,
		YAlign:  draw.YCenter,
	}
}

func bold(style draw.TextStyle) draw.TextStyle {
	style.Font.Weight = xfont.WeightBold
	return style
}

func aligned(style draw.TextStyle, x draw.XAlignment, y draw.YAlignment) draw.TextStyle {
	style.XAlign, style.YAlign = x, y
	return style
}

func stroke(c ink, width vg.Length, dashes ...vg.Length) draw.LineStyle {
	return draw.LineStyle{Color: c.light, Width: width, Dashes: dashes}
}

// newPlot is a plot with our lettering and lines.
func newPlot(x, y string) *plot.Plot {
	p := plot.New()
	p.BackgroundColor = nil // the figure has its ground already
	for _, axis := range []*plot.Axis{&p.X, &p.Y} {
		axis.Padding = 0
		axis.LineStyle = stroke(quiet, thinLine)
		axis.Tick.LineStyle = stroke(quiet, thinLine)
		axis.Tick.Length = 3
		ticks := lettering(textSize, text)
		ticks.XAlign, ticks.YAlign = axis.Tick.Label.XAlign, axis.Tick.Label.YAlign
		axis.Tick.Label = ticks
		label := lettering(textSize, text)
		label.XAlign, label.YAlign = axis.Label.TextStyle.XAlign, axis.Label.TextStyle.YAlign
		axis.Label.TextStyle = label
		axis.Label.Padding = 3
	}
	p.X.Label.Text, p.Y.Label.Text = x, y
	p.Y.Tick.Marker = valueTicks{}
	return p
}

// leastReach is the shortest reach of an axis of values, so that all values
// alike do not make an axis without length, nor its numbers endless decimals.
const leastReach = 1e-4

// valueTicks are three to six round values, written with the decimals they need.
type valueTicks struct{}

// Ticks implements plot.Ticker.
func (valueTicks) Ticks(low, high float64) []plot.Tick {
	step, decimals := roundStep((high - low) / 6.5)
	if step == 0 {
		return nil
	}
	var out []plot.Tick
	for k := math.Ceil(low/step - 1e-9); k*step <= high*(1+1e-12); k++ {
		out = append(out, plot.Tick{Value: k * step, Label: wording.Fixed(k*step, decimals)})
	}
	return out
}

// roundStep is the least of 1, 2 and 5 times a power of ten that is no smaller
// than the step wanted, and the decimals that its multiples need; 0 where no
// step is wanted.
func roundStep(wanted float64) (step float64, decimals int) {
	if !(wanted > 0) || math.IsInf(wanted, 0) {
		return 0, 0
	}
	exponent := math.Floor(math.Log10(wanted))
	for {
		for _, digit := range []float64{1, 2, 5} {
			if step = digit * math.Pow(10, exponent); step >= wanted*(1-1e-9) {
				return step, max(0, -int(exponent))
			}
		}
		exponent++
	}
}

// write puts text at a place, its capitals centred on it where the style says
// so; the canvas's own centring counts the room below the line too.
func write(c draw.Canvas, style draw.TextStyle, at vg.Point, text string) {
	if style.YAlign == draw.YCenter {
		const capitals, foot = 0.72, 0.095 // of the size: capitals' height, and how far YBottom lifts the line
		drop := vg.Length(capitals/2+foot) * style.Font.Size
		sin, cos := math.Sincos(style.Rotation)
		style.YAlign = draw.YBottom
		at = vg.Point{X: at.X + drop*vg.Length(sin), Y: at.Y - drop*vg.Length(cos)}
	}
	c.FillText(style, at, text)
}

// A layer is a plotter made of a function: x and y tell where the data's
// coordinates fall on the canvas.
type layer func(c draw.Canvas, x, y func(float64) vg.Length)

// Plot implements plot.Plotter.
func (l layer) Plot(c draw.Canvas, p *plot.Plot) {
	x, y := p.Transforms(&c)
	l(c, x, y)
}

// levelLines draws a thin line across at each labelled tick of the y axis.
func levelLines(p *plot.Plot) layer {
	return func(c draw.Canvas, _, y func(float64) vg.Length) {
		for _, t := range p.Y.Tick.Marker.Ticks(p.Y.Min, p.Y.Max) {
			if !t.IsMinor() && t.Value >= p.Y.Min && t.Value <= p.Y.Max {
				c.StrokeLine2(stroke(rule, thinLine), c.Min.X, y(t.Value), c.Max.X, y(t.Value))
			}
		}
	}
}

// A span is an upright or level line between two values at one place: an
// interval.
type span struct{ at, low, high float64 }

// sticks draws upright intervals as one path.
func sticks(spans []span, style draw.LineStyle) layer {
	return func(c draw.Canvas, x, y func(float64) vg.Length) {
		var path vg.Path
		for _, s := range spans {
			if math.IsNaN(s.low) || math.IsNaN(s.high) {
				continue
			}
			path.Move(vg.Point{X: x(s.at), Y: clampY(c, y(s.low))})
			path.Line(vg.Point{X: x(s.at), Y: clampY(c, y(s.high))})
		}
		strokePath(c, path, style)
	}
}

func clampY(c draw.Canvas, y vg.Length) vg.Length { return min(max(y, c.Min.Y), c.Max.Y) }

func clampX(c draw.Canvas, x vg.Length) vg.Length { return min(max(x, c.Min.X), c.Max.X) }

func strokePath(c draw.Canvas, path vg.Path, style draw.LineStyle) {
	if len(path) == 0 {
		return
	}
	c.SetLineStyle(style)
	c.Stroke(path)
}

func fillPath(c draw.Canvas, path vg.Path, clr color.Color) {
	if len(path) == 0 {
		return
	}
	c.SetColor(clr)
	c.Fill(path)
}

func fillRectangle(c draw.Canvas, x0, y0, x1, y1 vg.Length, clr color.Color) {
	c.SetColor(clr)
	c.Fill(rectangle(x0, y0, x1, y1))
}

func rectangle(x0, y0, x1, y1 vg.Length) vg.Path {
	return vg.Rectangle{Min: vg.Point{X: x0, Y: y0}, Max: vg.Point{X: x1, Y: y1}}.Path()
}

// footTick draws a tick below an axis that lies at the height foot, with its label.
func footTick(c draw.Canvas, at, foot, size vg.Length, label string) {
	c.StrokeLine2(stroke(quiet, thinLine), at, foot, at, foot-3)
	write(c, aligned(lettering(size, text), draw.XCenter, draw.YTop), vg.Point{X: at, Y: foot - 4}, label)
}

// reachLine draws an interval as a level line with upright ends.
func reachLine(c draw.Canvas, style draw.LineStyle, left, right, y vg.Length) {
	c.StrokeLine2(style, left, y, right, y)
	for _, end := range []vg.Length{left, right} {
		c.StrokeLine2(style, end, y-2, end, y+2)
	}
}

// A point is a place in the data's coordinates.
type point struct{ x, y float64 }

// A mark is the shape of a point: how its outline is added to a path.
type mark struct {
	outline func(path *vg.Path, at vg.Point, radius vg.Length)
	radius  vg.Length
	ink     ink
	open    bool      // drawn as an outline on paper
	lift    vg.Length // how far the shape's middle stands above its place
}

func circle(path *vg.Path, at vg.Point, radius vg.Length) {
	path.Move(vg.Point{X: at.X + radius, Y: at.Y})
	path.Arc(at, radius, 0, 2*math.Pi)
	path.Close()
}

func polygon(path *vg.Path, corners ...vg.Point) {
	path.Move(corners[0])
	for _, corner := range corners[1:] {
		path.Line(corner)
	}
	path.Close()
}

func diamond(path *vg.Path, at vg.Point, r vg.Length) {
	polygon(path, vg.Point{X: at.X, Y: at.Y + r}, vg.Point{X: at.X + r, Y: at.Y}, vg.Point{X: at.X, Y: at.Y - r}, vg.Point{X: at.X - r, Y: at.Y})
}

func square(path *vg.Path, at vg.Point, r vg.Length) {
	r *= 0.85
	polygon(path, vg.Point{X: at.X - r, Y: at.Y - r}, vg.Point{X: at.X + r, Y: at.Y - r}, vg.Point{X: at.X + r, Y: at.Y + r}, vg.Point{X: at.X - r, Y: at.Y + r})
}

// upward is an arrow head whose base is the value: the truth lies above.
func upward(path *vg.Path, at vg.Point, r vg.Length) {
	polygon(path, vg.Point{X: at.X - r, Y: at.Y}, vg.Point{X: at.X + r, Y: at.Y}, vg.Point{X: at.X, Y: at.Y + 1.8*r})
}

// downward is an arrow head whose base is the value: the truth lies below.
func downward(path *vg.Path, at vg.Point, r vg.Length) {
	polygon(path, vg.Point{X: at.X - r, Y: at.Y}, vg.Point{X: at.X + r, Y: at.Y}, vg.Point{X: at.X, Y: at.Y - 1.8*r})
}

// marks draws points of one shape as one path.
func marks(points []point, m mark) layer {
	return func(c draw.Canvas, x, y func(float64) vg.Length) {
		var path vg.Path
		for _, pt := range points {
			if !math.IsNaN(pt.y) {
				m.outline(&path, vg.Point{X: x(pt.x), Y: y(pt.y)}, m.radius)
			}
		}
		m.draw(c, path)
	}
}

func (m mark) draw(c draw.Canvas, path vg.Path) {
	if !m.open {
		fillPath(c, path, m.ink.light)
		return
	}
	fillPath(c, path, paper.light)
	strokePath(c, path, stroke(m.ink, 0.8))
}

// ring draws circles around points, with nothing inside.
func ring(points []point, radius vg.Length, style draw.LineStyle) layer {
	return func(c draw.Canvas, x, y func(float64) vg.Length) {
		var path vg.Path
		for _, pt := range points {
			circle(&path, vg.Point{X: x(pt.x), Y: y(pt.y)}, radius)
		}
		strokePath(c, path, style)
	}
}

// polyline draws a line through points; a NaN parts it.
func polyline(points []point, style draw.LineStyle) layer {
	return func(c draw.Canvas, x, y func(float64) vg.Length) {
		var path vg.Path
		drawing := false
		for _, pt := range points {
			if math.IsNaN(pt.y) {
				drawing = false
				continue
			}
			at := vg.Point{X: x(pt.x), Y: clampY(c, y(pt.y))}
			if drawing {
				path.Line(at)
			} else {
				path.Move(at)
			}
			drawing = true
		}
		strokePath(c, path, style)
	}
}

// ribbon fills between a lower and an upper line over the same places.
func ribbon(low, high []point, clr ink) layer {
	return func(c draw.Canvas, x, y func(float64) vg.Length) {
		if len(low) == 0 {
			return
		}
		var corners []vg.Point
		for _, pt := range low {
			corners = append(corners, vg.Point{X: x(pt.x), Y: clampY(c, y(pt.y))})
		}
		for i := len(high) - 1; i >= 0; i-- {
			corners = append(corners, vg.Point{X: x(high[i].x), Y: clampY(c, y(high[i].y))})
		}
		c.FillPolygon(clr.light, corners)
	}
}

// A legendEntry is one sample with what it means.
type legendEntry struct {
	sample func(c draw.Canvas, from, to vg.Point)
	text   string
}

// legendRows breaks the entries into rows of at most the width.
func legendRows(entries []legendEntry, width vg.Length) [][]legendEntry {
	style := lettering(smallSize, text)
	var rows [][]legendEntry
	used := vg.Length(0)
	for _, e := range entries {
		need := legendSample + 4 + style.Width(e.text) + legendGap
		if len(rows) == 0 || used+need-legendGap > width {
			rows = append(rows, nil)
			used = 0
		}
		rows[len(rows)-1] = append(rows[len(rows)-1], e)
		used += need
	}
	return rows
}

// drawLegend draws rows of entries downwards from the top of the canvas.
func drawLegend(c draw.Canvas, rows [][]legendEntry) {
	style := lettering(smallSize, text)
	y := c.Max.Y - legendLine/2
	for _, row := range rows {
		x := c.Min.X
		for _, e := range row {
			e.sample(c, vg.Point{X: x, Y: y}, vg.Point{X: x + legendSample, Y: y})
			write(c, style, vg.Point{X: x + legendSample + 4, Y: y}, e.text)
			x += legendSample + 4 + style.Width(e.text) + legendGap
		}
		y -= legendLine
	}
}

// markSample shows one mark in a legend.
func markSample(m mark) func(draw.Canvas, vg.Point, vg.Point) {
	return func(c draw.Canvas, from, to vg.Point) {
		var path vg.Path
		m.outline(&path, vg.Point{X: (from.X + to.X) / 2, Y: from.Y - m.lift}, m.radius)
		m.draw(c, path)
	}
}

// lineSample shows a line in a legend, on a ribbon where one is given.
func lineSample(style draw.LineStyle, ground *ink) func(draw.Canvas, vg.Point, vg.Point) {
	return func(c draw.Canvas, from, to vg.Point) {
		if ground != nil {
			fillRectangle(c, from.X, from.Y-3.5, to.X, to.Y+3.5, ground.light)
		}
		c.StrokeLine2(style, from.X, from.Y, to.X, to.Y)
	}
}

// shortened shortens a name until it fits.
func shortened(name string, style draw.TextStyle, room vg.Length) string {
	for most := len([]rune(name)); style.Width(name) > room && most > 4; most-- {
		name = wording.Clipped(name, most)
	}
	return name
}

// wrapped breaks a name into at most so many lines of a width, between words; what does
// not fit the last is shortened in its middle, since names that are alike at the
// beginning mostly differ at the end.
func wrapped(name string, style draw.TextStyle, room vg.Length, most int) []string {
	words := strings.Fields(name)
	var out []string
	for len(words) > 0 {
		n := 1
		for n < len(words) && (len(out)+1 == most || style.Width(strings.Join(words[:n+1], " ")) <= room) {
			n++
		}
		out, words = append(out, bothEnds(strings.Join(words[:n], " "), style, room)), words[n:]
	}
	return out
}

// bothEnds takes characters out of a name's middle until it fits.
func bothEnds(name string, style draw.TextStyle, room vg.Length) string {
	runes := []rune(name)
	for keep := len(runes) - 1; style.Width(name) > room && keep > 3; keep-- {
		name = string(runes[:(keep+1)/2]) + "…" + string(runes[len(runes)-keep/2:])
	}
	return name
}
