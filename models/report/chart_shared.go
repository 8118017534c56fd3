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
	"thumbed/models/dropoff"
	"thumbed/models/wording"
)

const (
	sharedPanel  = vg.Length(66)
	sharedRow    = vg.Length(15)
	sharedName   = vg.Length(136) // the most room for the books' names
	sharedDrops  = vg.Length(112) // width of the panel of drops
	sharedGap    = vg.Length(14)
	mostInShared = 30
)

// togetherName names the row of all books.
const togetherName = "all books together"

// noDrop is where the axis of offices has the probability of no drop at all.
const noDrop = 9.4

// A sharedDrawing is the shared drop of several books: above, the probability of
// its place on the axis of offices; below, a row a book, on the left its own
// probabilities of places, on the right its drop at the shared place.
type sharedDrawing struct {
	shared  *dropoff.SharedChange
	rows    []sharedDrawRow
	names   vg.Length // room for the books' names
	all     int       // books that could be compared
	low, to float64
}

type sharedDrawRow struct {
	name string
	dropoff.BookDrop
}

func (r *Results) sharedChart(s SharedDrop) sketch {
	d := r.newSharedDrawing(s)
	f := Figure{
		Name: "shared-" + r.sharedFile(s), Title: "A drop-off that books share: the " + setName(s.Set), Width: figureWidth,
		Caption: d.caption(s), Alt: d.alt(r.sharedSentence(s).Text),
	}
	f.Height = officeRoom + sharedPanel + panelGap + vg.Length(len(d.rows))*sharedRow + 34
	return sketch{Figure: f, paint: d.paint}
}

func (r *Results) newSharedDrawing(s SharedDrop) sharedDrawing {
	d := sharedDrawing{shared: s.Shared, all: len(s.Shared.Books)}
	for _, b := range s.Shared.Books {
		d.rows = append(d.rows, sharedDrawRow{r.bookName(r.bookOf(s.Readers[b.Decline])), b})
	}
	if len(d.rows) > mostInShared {
		slices.SortStableFunc(d.rows, func(a, b sharedDrawRow) int { return cmp.Compare(b.Low, a.Low) })
		d.rows = d.rows[:mostInShared]
	}
	name := lettering(smallSize, text)
	d.names = leftMargin + name.Width(togetherName) + 6
	for _, row := range d.rows {
		d.names = min(max(d.names, name.Width(row.name)+12), sharedName)
	}
	d.low, d.to = -0.05, 0.2
	for _, row := range d.rows {
		if row.Refused == "" {
			d.low, d.to = min(d.low, max(row.Low, -1)), max(d.to, row.High)
		}
	}
	d.low, d.to = d.low-0.02, min(d.to+0.05, 1.05)
	return d
}

func (d sharedDrawing) paint(c draw.Canvas) {
	top := c.Max.Y - officeRoom
	left, right := c.Min.X+d.names, c.Max.X-8-sharedDrops-sharedGap
	chances := draw.Canvas{Canvas: c.Canvas, Rectangle: vg.Rectangle{Min: vg.Point{X: left, Y: top - sharedPanel}, Max: vg.Point{X: right, Y: top}}}
	foot := chances.Min.Y - panelGap - vg.Length(len(d.rows))*sharedRow
	books := draw.Canvas{Canvas: c.Canvas, Rectangle: vg.Rectangle{Min: vg.Point{X: left, Y: foot}, Max: vg.Point{X: right, Y: chances.Min.Y - panelGap}}}
	drops := draw.Canvas{Canvas: c.Canvas, Rectangle: vg.Rectangle{Min: vg.Point{X: right + sharedGap, Y: foot}, Max: vg.Point{X: c.Max.X - 8, Y: books.Max.Y}}}
	stack := panelStack{from: 0.5, to: noDrop + 0.5, behind: bandOffices}
	d.paintPlaces(chances, stack)
	d.paintBooks(books, stack)
	d.paintDrops(drops)
	drawLegend(draw.Canvas{Canvas: c.Canvas, Rectangle: vg.Rectangle{Min: vg.Point{X: drops.Min.X, Y: drops.Max.Y}, Max: vg.Point{X: drops.Max.X, Y: top}}}, [][]legendEntry{
		{{markSample(mark{square, 2.8, green, false, 0}), "has the drop"}}, {{markSample(mark{square, 2.8, green, true, 0}), "does not show it"}},
	})
}

// bandOffices shades every other office of the day.
func bandOffices(c draw.Canvas, x func(float64) vg.Length) {
	for office := codex.Matins; office <= codex.Compline; office += 2 {
		at := float64(office.Order())
		fillRectangle(c, x(at-0.5), c.Min.Y, x(at+0.5), c.Max.Y, band.light)
	}
}

// paintPlaces draws the probability of each place of the shared drop, and of none.
func (d sharedDrawing) paintPlaces(c draw.Canvas, stack panelStack) {
	p := stack.panelPlot(0, 1.12)
	p.Y.Tick.Marker = plot.ConstantTicks{{Value: 0, Label: "0"}, {Value: 0.5, Label: "0.5"}, {Value: 1, Label: "1"}}
	stack.paintPanel(c, p, "probability", func(c draw.Canvas, x, y func(float64) vg.Length) {
		var bars vg.Path
		bar := func(at, chance float64) {
			bars.Move(vg.Point{X: x(at), Y: c.Min.Y})
			bars.Line(vg.Point{X: x(at), Y: y(chance)})
		}
		for _, place := range d.shared.Places {
			bar(float64(place.After.Order())+0.5, place.Probability)
		}
		bar(noDrop, d.shared.None)
		strokePath(c, bars, stroke(blue, 4))
		names := aligned(lettering(smallSize, text), draw.XCenter, draw.YBottom)
		for _, office := range codex.Offices() {
			write(c, names, vg.Point{X: x(float64(office.Order())), Y: c.Max.Y + 4}, officeAbbreviation(office))
		}
		write(c, names, vg.Point{X: x(noDrop), Y: c.Max.Y + 4}, "no drop")
	})
	write(c, aligned(lettering(smallSize, quiet), draw.XRight, draw.YCenter), vg.Point{X: c.Min.X - leftMargin - 2, Y: (c.Min.Y + c.Max.Y) / 2}, togetherName)
}

// paintBooks draws each book's own probabilities of places, as discs whose area
// is the probability.
func (d sharedDrawing) paintBooks(c draw.Canvas, stack panelStack) {
	p := stack.panelPlot(0, 1)
	x := func(v float64) vg.Length { return c.X(p.X.Norm(v)) }
	stack.behind(c, x)
	name := aligned(lettering(smallSize, text), draw.XRight, draw.YCenter)
	var discs, lines vg.Path
	for i, row := range d.rows {
		y := d.height(c, i)
		write(c, name, vg.Point{X: c.Min.X - 6, Y: y}, shortened(row.name, name, d.names-10))
		lines.Move(vg.Point{X: c.Min.X, Y: y})
		lines.Line(vg.Point{X: c.Max.X, Y: y})
		disc := func(at, chance float64) {
			if radius := vg.Length(5.2 * math.Sqrt(chance)); radius > 0.5 {
				circle(&discs, vg.Point{X: x(at), Y: y}, radius)
			}
		}
		for _, place := range row.Places {
			disc(float64(place.After.Order())+0.5, place.Probability)
		}
		disc(noDrop, row.None)
	}
	strokePath(c, lines, stroke(rule, thinLine, 1, 2))
	fillPath(c, discs, blue.light)
	c.StrokeLine2(stroke(quiet, thinLine), c.Min.X, c.Min.Y, c.Max.X, c.Min.Y)
	foot := aligned(lettering(smallSize, text), draw.XCenter, draw.YTop)
	write(c, foot, vg.Point{X: (c.Min.X + c.Max.X) / 2, Y: c.Min.Y - 16}, "a drop after each office, from this book alone")
}

// height is where row i stands.
func (d sharedDrawing) height(c draw.Canvas, i int) vg.Length {
	return c.Max.Y - (vg.Length(i)+0.5)*sharedRow
}

// paintDrops draws each book's drop at the shared place with its interval: filled
// where the book has it, open where it does not show.
func (d sharedDrawing) paintDrops(c draw.Canvas) {
	p := newPlot("", "")
	p.X.Min, p.X.Max = d.low, d.to
	x := func(v float64) vg.Length { return clampX(c, c.X(p.X.Norm(v))) }
	var lines, closed, open vg.Path
	for i, row := range d.rows {
		y := d.height(c, i)
		if row.Refused != "" {
			write(c, aligned(lettering(smallSize, quiet), draw.XLeft, draw.YCenter), vg.Point{X: c.Min.X + 2, Y: y}, "not given")
			continue
		}
		lines.Move(vg.Point{X: x(row.Low), Y: y})
		lines.Line(vg.Point{X: x(row.High), Y: y})
		for _, end := range []float64{row.Low, row.High} {
			if end >= d.low && end <= d.to {
				lines.Move(vg.Point{X: x(end), Y: y - 2})
				lines.Line(vg.Point{X: x(end), Y: y + 2})
			}
		}
		if at := (vg.Point{X: x(row.Drop), Y: y}); row.Has {
			square(&closed, at, 2.8)
		} else {
			square(&open, at, 2.8)
		}
	}
	c.StrokeLine2(stroke(quiet, 0.8, 4, 2), x(0), c.Min.Y, x(0), c.Max.Y)
	strokePath(c, lines, stroke(green, 1.1))
	mark{square, 2.8, green, false, 0}.draw(c, closed)
	mark{square, 2.8, green, true, 0}.draw(c, open)
	c.StrokeLine2(stroke(quiet, thinLine), c.Min.X, c.Min.Y, c.Max.X, c.Min.Y)
	for _, t := range (valueTicks{}).Ticks(100*d.low, 100*d.to) {
		footTick(c, x(t.Value/100), c.Min.Y, textSize, t.Label)
	}
	foot := aligned(lettering(smallSize, text), draw.XCenter, draw.YTop)
	write(c, foot, vg.Point{X: (c.Min.X + c.Max.X) / 2, Y: c.Min.Y - 16}, fmt.Sprintf("less after %v (%%)", d.shared.After))
}

func (d sharedDrawing) caption(s SharedDrop) string {
	text := fmt.Sprintf("A drop-off after the same office, looked for in the books that have the %s. Above: the probability of its place, and of no drop at all, from all books together. Below, on the left: the same from each book alone, the area of a disc being the probability. On the right: by how much of the earlier offices’ wear the later ones have less, at the most probable place, with intervals that hold for all books at once with 95%s%% confidence; filled squares are the books that have the drop; a line without a cap goes on beyond the edge.",
		setName(s.Set), wording.Narrow)
	if d.all > len(d.rows) {
		text += fmt.Sprintf(" Of %s the %s with the clearest drop are drawn.", wording.Count(d.all, "book", "books"), wording.Whole(len(d.rows)))
	}
	return text
}

func (d sharedDrawing) alt(said string) string {
	out := []string{said}
	for _, row := range d.rows {
		if row.Refused == "" {
			out = append(out, fmt.Sprintf("%s: %s.", row.name, wording.PercentEstimate(row.Drop, row.Low, row.High)))
		}
	}
	return strings.Join(out, " ")
}
