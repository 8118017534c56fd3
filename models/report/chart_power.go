package report

import (
	"cmp"
	"fmt"
	"maps"
	"math"
	"slices"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"thumbed/models/hypotheses/power"
	"thumbed/models/wording"
)

// powerMarks and powerDashes tell numbers of placings apart by shape and line,
// and by colour only besides.
var (
	powerMarks = []mark{
		{circle, 2.2, blue, false, 0}, {square, 2.4, red, true, 0}, {diamond, 2.8, green, false, 0}, {upward, 2.2, text, true, 0.9 * markRadius},
		{square, 2.4, blue, false, 0}, {circle, 2.2, red, true, 0}, {upward, 2.2, green, false, 0.9 * markRadius}, {diamond, 2.8, text, true, 0},
	}
	powerDashes = [][]vg.Length{nil, {5, 2}, {2, 2}, {7, 2, 2, 2}}
)

// A powerChart is one number of each design, over the number of books (or of
// pages, where only one number of books was tried), a line for each number of
// placings and a panel for each number of pages (or of books).
type powerChart struct {
	designs  []power.Tried
	looks    bool // campaigns are of looks: no numbers of placings
	byPages  bool // along pages, a panel for each number of books
	y        string
	value    func(power.Tried) (v, low, high float64)
	aim      float64 // drawn across; 0: none
	aimWords string
	top      float64 // of the axis; 0: as the values need
}

func sortedTerms(m map[string]float64) []string { return slices.Sorted(maps.Keys(m)) }

// Figures draws the plan's figures: the power of each design, and the width of
// its interval.
func (p *Plan) Figures() ([]Figure, error) { return renderAll(p.Meta.mark(p.sketches())) }

func (p *Plan) sketches() []sketch {
	r := p.Result
	share := powerChart{designs: r.Designs, looks: r.Looks, y: "power", aim: r.Aim.Power, aimWords: "the aim", top: 1,
		value: func(t power.Tried) (v, low, high float64) { return t.Power.Value, t.Power.Low, t.Power.High }}
	width := powerChart{designs: r.Designs, looks: r.Looks, y: "width of the interval (" + cmp.Or(r.Widths, r.Unit) + ")", aim: r.Aim.Width, aimWords: "the aim (for nine of ten)",
		value: func(t power.Tried) (v, low, high float64) { return t.Width, t.Width, t.WidthNinety }}
	effect := fmt.Sprintf("an effect of %s (%s)", wording.Fixed(r.Effect, 3), r.Unit)
	if r.Looks {
		effect = r.Planned("an effect", r.Effect)
	}
	powerCaption := fmt.Sprintf("Power: the share of drawn campaigns that claim %s, with 95%s%% Monte Carlo intervals, from %s of each design.", effect, wording.Narrow, wording.Count(r.Replicates, "campaign", "campaigns"))
	widthCaption := "Width of the interval: its mean, and upwards the width that nine campaigns of ten do not exceed."
	if n := width.beyond(); n > 0 {
		widthCaption += fmt.Sprintf(" %s beyond the axis; the table has the numbers.", wording.Capital(wording.Count(n, "design reaches", "designs reach")))
	}
	return []sketch{
		share.sketch("power", "Power of the designs", powerCaption, func(t power.Tried) string {
			return wording.PercentEstimate(t.Power.Value, t.Power.Low, t.Power.High)
		}),
		width.sketch("width", "Width of the interval", widthCaption, func(t power.Tried) string {
			return wording.Fixed(t.Width, wording.Decimals(t.Width)) + ", nine of ten at most " + wording.Fixed(t.WidthNinety, wording.Decimals(t.Width))
		}),
	}
}

// axes are the numbers along the panels, of the panels, and of placings, each in
// order.
func (c *powerChart) axes() (along, panels, placings []int) {
	var books, pages []int
	for _, t := range c.designs {
		books, pages, placings = append(books, t.Books), append(pages, t.Pages), append(placings, t.Design.Placings)
	}
	books, pages, placings = distinctNumbers(books), distinctNumbers(pages), distinctNumbers(placings)
	c.byPages = len(books) == 1 && len(pages) > 1
	if c.byPages {
		return pages, books, placings
	}
	return books, pages, placings
}

func distinctNumbers(of []int) []int {
	slices.Sort(of)
	return slices.Compact(of)
}

// inPanel are the designs of a panel with so many placings, along its axis.
func (c *powerChart) inPanel(panel, placings int) []power.Tried {
	var out []power.Tried
	for _, t := range c.designs {
		if c.panelOf(t) == panel && t.Design.Placings == placings {
			out = append(out, t)
		}
	}
	slices.SortFunc(out, func(a, b power.Tried) int { return c.placeOf(a) - c.placeOf(b) })
	return out
}

func (c *powerChart) placeOf(t power.Tried) int {
	if c.byPages {
		return t.Pages
	}
	return t.Books
}

func (c *powerChart) panelOf(t power.Tried) int {
	if c.byPages {
		return t.Books
	}
	return t.Pages
}

// Sizes of the panels of a power chart.
const (
	panelHeight = vg.Length(150)
	panelsInRow = 3
	panelHead   = vg.Length(14)
)

func (c powerChart) sketch(name, title, caption string, told func(power.Tried) string) sketch {
	along, panels, placings := c.axes()
	var legend []legendEntry
	for k, n := range placings {
		words := wording.Count(n, "placing a page", "placings a page")
		if c.looks {
			words = "a look at each thing"
		}
		m, dashes := powerMarks[k%len(powerMarks)], powerDashes[k%len(powerDashes)]
		legend = append(legend, legendEntry{func(on draw.Canvas, from, to vg.Point) {
			lineSample(stroke(m.ink, 1, dashes...), nil)(on, from, to)
			markSample(m)(on, from, to)
		}, words})
	}
	if c.aim > 0 {
		legend = append(legend, legendEntry{lineSample(stroke(quiet, 0.8, 1, 2), nil), c.aimWords})
	}
	keys := legendRows(legend, figureWidth-60)
	rows := (len(panels) + panelsInRow - 1) / panelsInRow
	f := Figure{Name: name, Title: title, Width: figureWidth, Height: vg.Length(rows)*(panelHeight+panelHead) + vg.Length(len(keys))*legendLine + 8, Caption: caption}
	f.Alt = title + "."
	for _, t := range c.designs {
		each := ", " + wording.Count(t.Design.Placings, "placing", "placings")
		if c.looks {
			each = ""
		}
		f.Alt += fmt.Sprintf(" %s, %s%s: %s.", wording.Count(t.Books, "book", "books"), wording.Count(t.Pages, "page", "pages"), each, told(t))
	}
	return sketch{Figure: f, paint: func(on draw.Canvas) { c.paint(on, along, panels, placings, keys) }}
}

func (c *powerChart) paint(on draw.Canvas, along, panels, placings []int, legend [][]legendEntry) {
	legendHeight := vg.Length(len(legend))*legendLine + 4
	drawLegend(draw.Crop(on, 44, 0, 0, -4), legend)
	area := draw.Crop(on, 4, -8, 4, -legendHeight)
	columns := min(len(panels), panelsInRow)
	rows := (len(panels) + panelsInRow - 1) / panelsInRow
	width, height := (area.Max.X-area.Min.X)/vg.Length(columns), (area.Max.Y-area.Min.Y)/vg.Length(rows)
	head := aligned(bold(lettering(textSize, text)), draw.XCenter, draw.YCenter)
	for k, panel := range panels {
		left, top := area.Min.X+vg.Length(k%columns)*width, area.Max.Y-vg.Length(k/columns)*height
		inside := draw.Canvas{Canvas: on.Canvas, Rectangle: vg.Rectangle{Min: vg.Point{X: left, Y: top - height}, Max: vg.Point{X: left + width, Y: top}}}
		p := c.panel(panel, along, placings, k%columns == 0)
		p.Draw(draw.Crop(inside, 0, -6, 0, -panelHead))
		what := wording.Count(panel, "page", "pages") + " of each book"
		if c.byPages {
			what = wording.Count(panel, "book", "books")
		}
		write(on, head, vg.Point{X: left + width/2 + 10, Y: top - panelHead/2}, what)
	}
}

// panel is one panel; the leftmost of a row names the axis.
func (c *powerChart) panel(panel int, along, placings []int, first bool) *plot.Plot {
	x, y := "books", ""
	if c.byPages {
		x = "pages of each book"
	}
	if first {
		y = c.y
	}
	p := newPlot(x, y)
	low, high := float64(along[0]), float64(along[len(along)-1])
	reach := max(high-low, 1)
	p.X.Min, p.X.Max = low-0.08*reach, high+0.08*reach
	p.X.Tick.Marker = numberTicks(along)
	p.Y.Min, p.Y.Max = 0, c.top
	if c.top == 0 {
		p.Y.Max = c.reach()
	}
	p.Add(levelLines(p))
	if c.aim > 0 {
		p.Add(layer(func(on draw.Canvas, _, y func(float64) vg.Length) {
			on.StrokeLine2(stroke(quiet, 0.8, 1, 2), on.Min.X, y(c.aim), on.Max.X, y(c.aim))
		}))
	}
	for k, n := range placings {
		shift := (float64(k) - float64(len(placings)-1)/2) * min(0.02, 0.06/float64(len(placings))) * reach
		var points []point
		var spans []span
		for _, t := range c.inPanel(panel, n) {
			v, low, high := c.value(t)
			if v > p.Y.Max {
				v, low = math.NaN(), math.NaN() // beyond the axis; the caption says so
			}
			at := float64(c.placeOf(t)) + shift
			points, spans = append(points, point{at, v}), append(spans, span{at, low, high})
		}
		m := powerMarks[k%len(powerMarks)]
		p.Add(polyline(points, stroke(m.ink, 1, powerDashes[k%len(powerDashes)]...)), sticks(spans, stroke(m.ink, 0.8)), marks(points, m))
	}
	return p
}

// wideReach is how many times the least value an axis of widths reaches, so that
// a design that tells next to nothing does not press all others to the ground.
const wideReach = 6

// reach is the end of an axis that starts at zero.
func (c *powerChart) reach() float64 {
	least, top := math.Inf(1), c.aim
	for _, t := range c.designs {
		if v, _, _ := c.value(t); t.Failed < t.Campaigns {
			least = min(least, v)
		}
	}
	for _, t := range c.designs {
		if _, _, end := c.value(t); end <= wideReach*least {
			top = max(top, end)
		}
	}
	return max(1.08*top, leastReach)
}

// beyond counts the designs that reach beyond the axis.
func (c *powerChart) beyond() int {
	n, top := 0, c.reach()
	for _, t := range c.designs {
		if _, _, end := c.value(t); end > top {
			n++
		}
	}
	return n
}

// numberTicks are ticks at the numbers tried; where they crowd, some have no
// number.
func numberTicks(at []int) plot.ConstantTicks {
	var out plot.ConstantTicks
	last := float64(at[0]) - 1e9
	reach := float64(at[len(at)-1] - at[0])
	for _, n := range at {
		t := plot.Tick{Value: float64(n)}
		if float64(n)-last >= 0.09*reach {
			t.Label = wording.Whole(n)
			last = float64(n)
		}
		out = append(out, t)
	}
	return out
}
