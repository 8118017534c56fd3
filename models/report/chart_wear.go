package report

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"thumbed/models/codex"
	"thumbed/models/profile"
	"thumbed/models/readings"
	"thumbed/models/wording"
)

// The marks of the wear chart.
var (
	textMark    = mark{circle, dotRadius, quiet, false, 0}
	pictureMark = mark{diamond, markRadius, green, false, 0}
	belowMark   = mark{downward, markRadius, text, true, -0.9 * markRadius}
	aboveMark   = mark{upward, markRadius, text, true, 0.9 * markRadius}
)

const (
	wearPlotHeight = 150 * vg.Length(1)
	ringRadius     = vg.Length(3.6)
	axisTitle      = vg.Length(11)
)

// A wearDrawing is all that the wear chart of one book draws, in the data's
// coordinates: the page's position along the book, and density.
type wearDrawing struct {
	book            *codex.Book
	pages           int // positions along the book
	texts, pictures []point
	errors          []span
	below, above    []point
	standouts       []standoutMark
	apart           []string // folios of pages that the curve leaves out
	curve           []point
	low, high       [][]point // the band, one piece between breaks of the curve
	levels          bool      // the curve has a level of each text in it
	ofText          bool      // the curve is the level of pages without a picture
	picture         string    // where ofText, what a picture adds to it
	gaps            []span    // lost leaves: low and high are positions
	strip           strip
	top             float64
	area            vg.Rectangle // of the plot, once painted
}

// A standoutMark is a page that stands out: where, its folio, and by how much.
type standoutMark struct {
	at     point
	label  string
	excess float64
}

func wearChart(n bookNames, b BookResult, wear []readings.Wear, pages []stripPage) sketch {
	name := n.quoted
	d := newWearDrawing(b, wear)
	f := Figure{
		Name: "wear-" + n.file, Title: "Wear along " + name, Width: figureWidth,
		Caption: d.caption(name), Alt: d.alt(name, b),
	}
	rows := legendRows(d.legend(), f.Width-8)
	f.Height = d.strip.labelHeight + wearPlotHeight + 16 + d.strip.bracketHeight + axisTitle + vg.Length(len(rows))*legendLine + 14
	f.brief = d.brief()
	return sketch{Figure: f, paint: func(c draw.Canvas) { d.paint(c, rows) }, over: func(height vg.Length) string { return d.overlay(pages, height) }}
}

// brief is the caption where the figure stands on the book's spread.
func (d *wearDrawing) brief() string {
	text := "Every page, front to back, with its standard error; the line is the level"
	if d.ofText {
		text += " of text pages"
	}
	return text + ", with its 95" + wording.Narrow + "% band. Point at a page to read it."
}

// overlay lays a field over each page of the painted chart that tells what it is,
// and links to the library's image where one is known.
func (d *wearDrawing) overlay(pages []stripPage, height vg.Length) string {
	s := svgDrawing{}
	s.b.WriteString(`<g class="pages">`)
	width := (d.area.Max.X - d.area.Min.X) / vg.Length(d.pages)
	for _, p := range pages {
		x := d.area.Min.X + vg.Length(p.page.Position-1)*width
		if p.picture != "" {
			s.add(`<a href="%v">`, p.picture)
		}
		s.add(`<g class="pg"><title>%v</title>`, p.said)
		s.box("hit", float64(x), float64(height-d.area.Max.Y), float64(width), float64(d.area.Max.Y-d.area.Min.Y))
		s.b.WriteString(`</g>`)
		if p.picture != "" {
			s.b.WriteString(`</a>`)
		}
	}
	s.b.WriteString(`</g>`)
	return s.b.String()
}

func newWearDrawing(b BookResult, wear []readings.Wear) *wearDrawing {
	d := &wearDrawing{book: b.Book, pages: len(b.Book.Pages)}
	for _, p := range b.Book.Pages {
		d.pages = max(d.pages, p.Position)
	}
	d.top = 0.01
	value := map[int]float64{}
	for _, w := range wear {
		d.add(w, value)
	}
	d.addCurve(b.Profile.Curve)
	for _, page := range b.Profile.Outliers {
		d.apart = append(d.apart, pageLabel(b.Book, page))
	}
	for _, o := range b.Profile.Standouts {
		if v, ok := value[o.Page]; ok {
			d.standouts = append(d.standouts, standoutMark{point{float64(b.Book.Pages[o.Page].Position), v}, pageLabel(b.Book, o.Page), o.Excess})
		}
	}
	d.gaps = lostSpans(b.Book)
	d.strip = newStrip(b.Book, figureWidth-60)
	d.top *= 1.16
	return d
}

func (d *wearDrawing) add(w readings.Wear, value map[int]float64) {
	page := d.book.Pages[w.Page]
	at := point{float64(page.Position), w.Density}
	value[w.Page] = w.Density
	d.top = max(d.top, w.Density)
	switch w.Limit {
	case readings.Below:
		d.below = append(d.below, at)
		return
	case readings.Above:
		d.above = append(d.above, at)
		return
	}
	if !math.IsNaN(w.SE) {
		d.errors = append(d.errors, span{at.x, at.y - w.SE, at.y + w.SE})
		d.top = max(d.top, at.y+w.SE)
	}
	if page.Picture {
		d.pictures = append(d.pictures, at)
	} else {
		d.texts = append(d.texts, at)
	}
}

// addCurve takes the curve in pieces, parted where it breaks: at lost leaves
// and, where the texts have levels of their own, between them. A piece reaches
// over the whole width of its first and last page, so that a text of one page
// shows its level too.
func (d *wearDrawing) addCurve(c profile.Curve) {
	d.levels = c.Between > 0
	d.ofText = c.PictureSE > 0
	d.picture = fmt.Sprintf("%s density (standard error %s)", wording.Density(c.Picture), wording.Density(c.PictureSE))
	from := 0
	for _, to := range append(slices.Clone(c.Breaks), len(c.Position)) {
		if from < to {
			d.addPiece(c, from, to)
		}
		from = to
	}
}

func (d *wearDrawing) addPiece(c profile.Curve, from, to int) {
	var estimate, low, high []point
	add := func(k int, shift float64) {
		x := float64(c.Position[k]) + shift
		estimate = append(estimate, point{x, c.Estimate[k]})
		low, high = append(low, point{x, c.Low[k]}), append(high, point{x, c.High[k]})
		d.top = max(d.top, c.High[k])
	}
	add(from, -0.5)
	for k := from; k < to; k++ {
		add(k, 0)
	}
	add(to-1, 0.5)
	d.curve = append(append(d.curve, point{estimate[0].x, math.NaN()}), estimate...)
	d.low, d.high = append(d.low, low), append(d.high, high)
}

// lostSpans are the runs of lost leaves, as positions.
func lostSpans(b *codex.Book) []span {
	var out []span
	for _, p := range b.Pages {
		if !p.Lost {
			continue
		}
		x := float64(p.Position)
		if n := len(out); n > 0 && out[n-1].high == x-0.5 {
			out[n-1].high = x + 0.5
			continue
		}
		out = append(out, span{x, x - 0.5, x + 0.5})
	}
	return out
}

func (d *wearDrawing) paint(c draw.Canvas, legend [][]legendEntry) {
	var ringed []point
	for _, s := range d.standouts {
		ringed = append(ringed, s.at)
	}
	p := newPlot("", "wear (density above the page’s zero)")
	p.X.Min, p.X.Max, p.Y.Min, p.Y.Max = 0.5, float64(d.pages)+0.5, d.bottom(), d.top
	legendHeight := vg.Length(len(legend))*legendLine + 4
	below := legendHeight + axisTitle + d.strip.bracketHeight
	inner := draw.Crop(c, 4, -8, below, -d.strip.labelHeight)
	p.X.Tick.Marker = folioTicks(d.book, p.DataCanvas(inner), lettering(textSize, text))
	area := p.DataCanvas(inner)
	d.area = area.Rectangle
	p.Add(layer(func(c draw.Canvas, x, _ func(float64) vg.Length) { d.strip.bands(c, x) }), levelLines(p))
	for k := range d.low {
		p.Add(ribbon(d.low[k], d.high[k], envelope))
	}
	p.Add(gapLayer(d.gaps), polyline(d.curve, stroke(blue, curveLine)), sticks(d.errors, stroke(quiet, stickLine)),
		marks(d.texts, textMark), marks(d.pictures, pictureMark), marks(d.below, belowMark), marks(d.above, aboveMark),
		ring(ringed, ringRadius, stroke(red, 1.1)), layer(d.nameStandouts))
	p.Draw(inner)
	x := func(v float64) vg.Length { return area.X(p.X.Norm(v)) }
	d.strip.labels(c, x, area.Max.Y, area.Min.X, area.Max.X)
	d.strip.brackets(c, x, inner.Min.Y)
	write(c, aligned(lettering(textSize, text), draw.XCenter, draw.YBottom), vg.Point{X: (area.Min.X + area.Max.X) / 2, Y: c.Min.Y + legendHeight + 2}, "folio (recto)")
	drawLegend(draw.Crop(c, 8, 0, 0, -(c.Max.Y-c.Min.Y-legendHeight)), legend)
}

// bottom is zero, or lower where a page's wear came out negative.
func (d *wearDrawing) bottom() float64 {
	low := 0.0
	for _, e := range d.errors {
		low = min(low, e.low)
	}
	if len(d.below) > 0 {
		low = min(low, -0.03*d.top)
	}
	return low
}

// gapLayer hatches the lost leaves and sets a cross at the foot of each gap.
func gapLayer(gaps []span) layer {
	return func(c draw.Canvas, x, _ func(float64) vg.Length) {
		for _, g := range gaps {
			left, right := x(g.low), x(g.high)
			fillRectangle(c, left, c.Min.Y, right, c.Max.Y, paper.light)
			hatch(c, left, right)
			cross(c, vg.Point{X: (left + right) / 2, Y: c.Min.Y + 4})
		}
	}
}

// hatch draws slanted lines between two places over the canvas's height.
func hatch(c draw.Canvas, left, right vg.Length) {
	const pitch = vg.Length(4)
	var path vg.Path
	rise := right - left
	for y := c.Min.Y - rise; y < c.Max.Y; y += pitch {
		from, to := vg.Point{X: left, Y: y}, vg.Point{X: right, Y: y + rise}
		if from.Y < c.Min.Y {
			from = vg.Point{X: left + c.Min.Y - y, Y: c.Min.Y}
		}
		if to.Y > c.Max.Y {
			to = vg.Point{X: right - (to.Y - c.Max.Y), Y: c.Max.Y}
		}
		path.Move(from)
		path.Line(to)
	}
	path.Move(vg.Point{X: left, Y: c.Min.Y})
	path.Line(vg.Point{X: left, Y: c.Max.Y})
	path.Move(vg.Point{X: right, Y: c.Min.Y})
	path.Line(vg.Point{X: right, Y: c.Max.Y})
	strokePath(c, path, stroke(lost, 0.4))
}

func cross(c draw.Canvas, at vg.Point) {
	const r = vg.Length(2.2)
	var path vg.Path
	path.Move(vg.Point{X: at.X - r, Y: at.Y - r})
	path.Line(vg.Point{X: at.X + r, Y: at.Y + r})
	path.Move(vg.Point{X: at.X - r, Y: at.Y + r})
	path.Line(vg.Point{X: at.X + r, Y: at.Y - r})
	strokePath(c, path, stroke(text, 0.9))
}

// nameStandouts writes the folio of each page that stands out beside its ring,
// the furthest first, clear of all points, rings, gaps and other labels. Where
// there is no room for one it is left to the table.
func (d *wearDrawing) nameStandouts(c draw.Canvas, x, y func(float64) vg.Length) {
	style := bold(aligned(lettering(smallSize, red), draw.XCenter, draw.YBottom))
	taken := d.obstacles(c, x, y)
	byExcess := slices.Clone(d.standouts)
	slices.SortStableFunc(byExcess, func(a, b standoutMark) int { return cmp.Compare(b.excess, a.excess) })
	for _, s := range byExcess {
		at := vg.Point{X: x(s.at.x), Y: y(s.at.y)}
		for _, box := range labelPlaces(at, style.Width(s.label), smallSize) {
			if box.x0 < c.Min.X || box.x1 > c.Max.X || box.y1 > c.Max.Y || !box.free(taken) {
				continue
			}
			taken = append(taken, textBox{box.x0 - 1.5, box.y0, box.x1 + 1.5, box.y1})
			leader(c, at, box)
			write(c, style, vg.Point{X: (box.x0 + box.x1) / 2, Y: box.y0}, s.label)
			break
		}
	}
}

// leader draws a thin line from a ring to its label where the two stand apart.
func leader(c draw.Canvas, at vg.Point, label textBox) {
	end := vg.Point{X: min(max(at.X, label.x0+2), label.x1-2), Y: min(max(at.Y, label.y0), label.y1)}
	dx, dy := float64(end.X-at.X), float64(end.Y-at.Y)
	distance := vg.Length(math.Hypot(dx, dy))
	if distance < ringRadius+5 {
		return
	}
	start := vg.Point{X: at.X + (end.X-at.X)*ringRadius/distance, Y: at.Y + (end.Y-at.Y)*ringRadius/distance}
	c.StrokeLine2(stroke(red, 0.4), start.X, start.Y, end.X, end.Y-0.5)
}

// obstacles are the places that a label must not cover.
func (d *wearDrawing) obstacles(c draw.Canvas, x, y func(float64) vg.Length) []textBox {
	var out []textBox
	around := func(pt point, r vg.Length) {
		out = append(out, textBox{x(pt.x) - r, y(pt.y) - r, x(pt.x) + r, y(pt.y) + r})
	}
	for _, points := range [][]point{d.texts, d.pictures, d.below, d.above} {
		for _, pt := range points {
			around(pt, 1.6)
		}
	}
	for _, s := range d.standouts {
		around(s.at, ringRadius+0.6)
	}
	for _, g := range d.gaps {
		out = append(out, textBox{x(g.low), c.Min.Y, x(g.high), c.Max.Y})
	}
	return out
}

// labelPlaces are the places to try for a label about a point, the best first.
func labelPlaces(at vg.Point, width, height vg.Length) []textBox {
	var out []textBox
	for _, lift := range []vg.Length{5, 9, 14, 20, 27, 35} {
		for _, shift := range []vg.Length{0, 0.5, -0.5} {
			x0 := at.X - width/2 + shift*(width+4)
			out = append(out, textBox{x0, at.Y + lift, x0 + width, at.Y + lift + height})
		}
		if lift == 5 {
			for _, x0 := range []vg.Length{at.X + 5.5, at.X - 5.5 - width} {
				out = append(out, textBox{x0, at.Y - height/2, x0 + width, at.Y + height/2})
			}
		}
	}
	return out
}

func (d *wearDrawing) legend() []legendEntry {
	var out []legendEntry
	add := func(when bool, sample func(draw.Canvas, vg.Point, vg.Point), text string) {
		if when {
			out = append(out, legendEntry{sample, text})
		}
	}
	add(len(d.texts) > 0, markSample(textMark), "page, with its standard error")
	add(len(d.pictures) > 0, markSample(pictureMark), "page with a picture")
	level := "shared level"
	if d.ofText {
		level = "level of text pages"
	}
	add(len(d.curve) > 0, lineSample(stroke(blue, curveLine), &envelope), level+", 95"+wording.Narrow+"% band")
	add(len(d.standouts) > 0, func(c draw.Canvas, from, to vg.Point) {
		var path vg.Path
		circle(&path, vg.Point{X: (from.X + to.X) / 2, Y: from.Y}, ringRadius)
		strokePath(c, path, stroke(red, 1.1))
	}, "stands above its section")
	add(len(d.below) > 0, markSample(belowMark), "at most this")
	add(len(d.above) > 0, markSample(aboveMark), "at least this")
	add(len(d.gaps) > 0, func(c draw.Canvas, from, to vg.Point) {
		box := draw.Canvas{Canvas: c.Canvas, Rectangle: vg.Rectangle{Min: vg.Point{X: from.X, Y: from.Y - 4}, Max: vg.Point{X: to.X, Y: to.Y + 4}}}
		hatch(box, from.X+3, to.X-3)
		cross(c, vg.Point{X: (from.X + to.X) / 2, Y: from.Y})
	}, "lost leaves")
	return out
}

func (d *wearDrawing) caption(name string) string {
	shared := "neighbouring pages share"
	if d.ofText {
		shared = "neighbouring text pages share"
	}
	if d.levels {
		shared += " and those of one text, parted where another text begins"
	}
	text := fmt.Sprintf("Wear along %s, page by page in the order of the book, with a curve, the level that %s, and the 95%s%% band of that level (not of single pages). Dots are pages with one standard error either way; shaded and plain bands are the texts named above.", name, shared, wording.Narrow)
	if d.ofText {
		text += fmt.Sprintf(" On the average over this book a picture adds %s to the level of a text page; pages with a picture enter the curve less that.", d.picture)
	}
	switch n := len(d.apart); {
	case n == 1:
		text += fmt.Sprintf(" The curve leaves out f. %s, far apart from the text pages on either side.", d.apart[0])
	case n > 1:
		text += fmt.Sprintf(" The curve leaves out ff. %s, each far apart from the text pages on either side.", wording.List(d.apart))
	}
	if len(d.standouts) > 0 {
		text += " Ringed pages stand above the text pages of their own section; their folios stand beside them where there is room, the furthest first."
	}
	if len(d.below)+len(d.above) > 0 {
		text += " Open arrow heads are bounds: the wear is at most, or at least, the value at the arrow’s base, since readings stand at an end of the instrument’s scale, on the page or on its zero."
	}
	if n := lostLeaves(d.book); n > 0 {
		text += fmt.Sprintf(" Hatching and a cross mark %s lost.", wording.Count(n, "leaf", "leaves"))
	}
	return text + d.strip.note()
}

func (d *wearDrawing) alt(name string, b BookResult) string {
	var out []string
	low, high := math.Inf(1), math.Inf(-1)
	for _, pt := range append(append([]point(nil), d.texts...), d.pictures...) {
		low, high = min(low, pt.y), max(high, pt.y)
	}
	out = append(out, fmt.Sprintf("Chart of wear against place in %s.", name))
	if low <= high {
		out = append(out, fmt.Sprintf("%s, from %s to %s density.", wording.Capital(wording.Count(len(d.texts)+len(d.pictures), "measured page", "measured pages")), wording.Density(low), wording.Density(high)))
	}
	if sorted := byWear(b.Profile.Areas); len(sorted) > 1 {
		first, last := sorted[0], sorted[len(sorted)-1]
		out = append(out, fmt.Sprintf("Highest by the page in %s, lowest in %s.", sectionName(b.Book.Sections[first.Section]), sectionName(b.Book.Sections[last.Section])))
	}
	if len(d.standouts) > 0 {
		var labels []string
		for _, s := range d.standouts {
			labels = append(labels, s.label)
		}
		out = append(out, "Pages marked as standing out: "+wording.List(labels)+".")
	}
	return strings.Join(append(out, "The numbers stand in the table of pages."), " ")
}

// folioTicks sets ticks at round folio numbers, as many as fit without their
// labels meeting.
func folioTicks(b *codex.Book, area draw.Canvas, style draw.TextStyle) plot.ConstantTicks {
	width := area.Max.X - area.Min.X
	for _, step := range []int{5, 10, 20, 25, 50, 100, 200, 500} {
		ticks := folioTicksBy(b, step)
		needed := vg.Length(0)
		for _, t := range ticks {
			needed += style.Width(t.Label) + 8
		}
		if needed < width*0.9 {
			return ticks
		}
	}
	return nil
}

func folioTicksBy(b *codex.Book, step int) plot.ConstantTicks {
	var out plot.ConstantTicks
	for _, p := range b.Pages {
		f := p.Label.Folio
		if p.Lost || p.Label.Side != codex.Recto || f.Roman || f.Suffix != "" {
			continue
		}
		if f.Number%step == 0 || f.Number == 1 && step <= 20 {
			out = append(out, plot.Tick{Value: float64(p.Position), Label: f.String()})
		}
	}
	return out
}
