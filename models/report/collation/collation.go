package collation

import (
	"bytes"
	"fmt"
	"html"
	"image/color"
	"image/png"
	"math"
	"strings"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgimg"
	"gonum.org/v1/plot/vg/vgsvg"

	"thumbed/models/codex"
	"thumbed/models/report"
)

// Measures of the collation diagram.
const (
	diagramWidth = 160 * vg.Millimeter
	quiresInRow  = 4
	leafPitch    = vg.Length(9.5)
	leafLength   = vg.Length(44)
	foldDepth    = vg.Length(4) // of the innermost sheet's fold, and more for each one around it
	quireHead    = vg.Length(14)
	quireGap     = vg.Length(10)
	keyHeight    = vg.Length(28)
	hairShift    = vg.Length(1.7) // of the dotted line from the leaf
	lettering    = vg.Length(7.5)
	bitmapDPI    = 144
)

// The diagram's colours. What they mean is told by shape too, for print in grey.
var (
	inkLine  = color.NRGBA{0x1F, 0x1B, 0x15, 0xFF}
	lostLine = color.NRGBA{0x7D, 0x74, 0x66, 0xFF}
	pictured = color.NRGBA{0x00, 0x7D, 0x5B, 0xFF}
)

// A gathered is a run of leaves drawn together: a quire, or leaves in none.
type gathered struct {
	label  string // as it is written above
	leaves []int
}

// A diagram draws how the leaves of a book hang together: each leaf a line, the
// first uppermost, the halves of a sheet joined at the fold.
type diagram struct {
	book *codex.Book
	runs []gathered
}

func newDiagram(b *codex.Book) diagram {
	d := diagram{book: b}
	for i := 0; i < len(b.Leaves); {
		end := i + 1
		for end < len(b.Leaves) && b.Leaves[end].Quire == b.Leaves[i].Quire {
			end++
		}
		run := gathered{label: "in no quire"}
		if q := b.Leaves[i].Quire; q >= 0 {
			run.label = "quire " + b.Quires[q].Label
		}
		for leaf := i; leaf < end; leaf++ {
			run.leaves = append(run.leaves, leaf)
		}
		d.runs = append(d.runs, run)
		i = end
	}
	return d
}

// A Drawing is the diagram of one book.
type Drawing struct {
	Title string // one sentence
	Words string // what it shows, for a reader who cannot see it
	SVG   []byte // self-contained, with title and description
	PNG   []byte // the same at 144 dots an inch
}

// Draw draws how the leaves of a book hang together, quire by quire.
func Draw(b *codex.Book) (Drawing, error) {
	d := newDiagram(b)
	out := Drawing{Title: "How the leaves of " + b.ID + " hang together", Words: d.words()}
	vector := vgsvg.New(diagramWidth, d.height())
	d.paint(draw.NewCanvas(vector, diagramWidth, d.height()))
	var svg bytes.Buffer
	if _, err := vector.WriteTo(&svg); err != nil {
		return Drawing{}, fmt.Errorf("the collation of %s as SVG: %w", b.ID, err)
	}
	out.SVG = titled(svg.Bytes(), out.Title, out.Words)
	raster := vgimg.NewWith(vgimg.UseWH(diagramWidth, d.height()), vgimg.UseDPI(bitmapDPI))
	d.paint(draw.NewCanvas(raster, diagramWidth, d.height()))
	var bitmap bytes.Buffer
	if err := png.Encode(&bitmap, raster.Image()); err != nil {
		return Drawing{}, fmt.Errorf("the collation of %s as PNG: %w", b.ID, err)
	}
	out.PNG = bitmap.Bytes()
	return out, nil
}

// titled gives a drawing the title and description that are read aloud, and
// families of like measures in place of one typeface.
func titled(svg []byte, title, words string) []byte {
	_, drawn, _ := bytes.Cut(svg, []byte("<svg "))
	tag, rest, _ := bytes.Cut(drawn, []byte(">"))
	var out bytes.Buffer
	fmt.Fprintf(&out, "<svg role=\"img\" %s><title>%s</title><desc>%s</desc>", tag, html.EscapeString(title), html.EscapeString(words))
	out.Write(bytes.ReplaceAll(rest, []byte("font-family:Liberation Sans"), []byte("font-family:'Liberation Sans',Arimo,Arial,Helvetica,sans-serif")))
	return out.Bytes()
}

// words tells the diagram to a reader who cannot see it.
func (d diagram) words() string {
	var runs []string
	for _, run := range d.runs {
		words := run.label + ", " + report.Count(len(run.leaves), "leaf", "leaves")
		var odd []string
		for place, leaf := range run.leaves {
			l := d.book.Leaves[leaf]
			switch {
			case l.State == codex.Lost:
				odd = append(odd, fmt.Sprintf("%d lost", place+1))
			case l.Singleton:
				odd = append(odd, fmt.Sprintf("%d a half-sheet or added leaf", place+1))
			}
		}
		if len(odd) > 0 {
			words += " (" + strings.Join(odd, "; ") + ")"
		}
		runs = append(runs, words)
	}
	return "Quire by quire: " + strings.Join(runs, "; ") + "."
}

// rowHeights is the height of each row of quires.
func (d diagram) rowHeights() []vg.Length {
	var heights []vg.Length
	for from := 0; from < len(d.runs); from += quiresInRow {
		most := 0
		for _, run := range d.runs[from:min(from+quiresInRow, len(d.runs))] {
			most = max(most, len(run.leaves))
		}
		heights = append(heights, quireHead+vg.Length(most)*leafPitch+quireGap)
	}
	return heights
}

func (d diagram) height() vg.Length {
	total := keyHeight
	for _, h := range d.rowHeights() {
		total += h
	}
	return total
}

func (d diagram) paint(c draw.Canvas) {
	c.SetColor(color.White)
	c.Fill(rectangle(c.Min, c.Max))
	y := c.Max.Y
	for row, h := range d.rowHeights() {
		for k := row * quiresInRow; k < min((row+1)*quiresInRow, len(d.runs)); k++ {
			x := c.Min.X + vg.Length(k%quiresInRow)*diagramWidth/quiresInRow
			d.paintRun(c, d.runs[k], vg.Point{X: x, Y: y})
		}
		y -= h
	}
	paintKey(c)
}

// paintRun draws one quire with its upper left corner at a point.
func (d diagram) paintRun(c draw.Canvas, run gathered, at vg.Point) {
	fold := at.X + foldDepth*vg.Length(2+len(run.leaves)/2)*0.6
	y := func(place int) vg.Length { return at.Y - quireHead - (vg.Length(place)+0.5)*leafPitch }
	write(c, vg.Point{X: fold, Y: at.Y - quireHead/2}, run.label, inkLine)
	place := map[int]int{}
	for i, leaf := range run.leaves {
		place[leaf] = i
	}
	for i, leaf := range run.leaves {
		l := d.book.Leaves[leaf]
		d.paintLeaf(c, leaf, vg.Point{X: fold, Y: y(i)})
		other, inRun := place[l.Conjugate]
		switch {
		case l.Conjugate >= 0 && inRun && other > i:
			paintFold(c, fold, y(i), y(other), d.lineOf(leaf, l.Conjugate))
		case l.Singleton:
			// A stub shows that the leaf hangs by itself.
			paintLine(c, d.lineOf(leaf), vg.Point{X: fold - 3, Y: y(i) - 2}, vg.Point{X: fold, Y: y(i)})
		}
	}
}

// lineOf is how leaves are drawn: dashed where one of them is lost.
func (d diagram) lineOf(leaves ...int) draw.LineStyle {
	for _, leaf := range leaves {
		if d.book.Leaves[leaf].State == codex.Lost {
			return draw.LineStyle{Color: lostLine, Width: 0.6, Dashes: []vg.Length{2, 2}}
		}
	}
	return draw.LineStyle{Color: inkLine, Width: 0.8}
}

func (d diagram) paintLeaf(c draw.Canvas, leaf int, at vg.Point) {
	end := vg.Point{X: at.X + leafLength, Y: at.Y}
	paintLine(c, d.lineOf(leaf), at, end)
	l := d.book.Leaves[leaf]
	if shift := hairSide(l.RectoSide); shift != 0 {
		paintLine(c, hairLine, vg.Point{X: at.X + 2, Y: at.Y + shift}, vg.Point{X: end.X, Y: end.Y + shift})
	}
	label, ink := l.Label.String(), inkLine
	if l.State == codex.Lost {
		label, ink = strings.TrimSpace(label+" lost"), lostLine
	}
	write(c, vg.Point{X: end.X + 4, Y: at.Y}, label, ink)
	for side, shift := range []vg.Length{2.6, -2.6} {
		if d.book.Pages[2*leaf+side].Picture {
			c.SetColor(pictured)
			c.Fill(diamond(vg.Point{X: at.X + leafLength*0.62, Y: at.Y + shift}))
		}
	}
}

// hairLine runs along the hair side of a leaf.
var hairLine = draw.LineStyle{Color: inkLine, Width: 0.7, Dashes: []vg.Length{0.7, 1.6}}

// hairSide is where the hair side of a leaf lies: above where its recto is
// hair, below where that is flesh, 0 where it is not known.
func hairSide(recto string) vg.Length {
	switch recto {
	case codex.Hair:
		return hairShift
	case codex.Flesh:
		return -hairShift
	}
	return 0
}

// paintFold joins the two halves of a sheet by half an ellipse.
func paintFold(c draw.Canvas, x, upper, lower vg.Length, style draw.LineStyle) {
	depth := foldDepth * 0.6 * (1 + (upper-lower)/leafPitch/2)
	reach := x - depth*4/3 // a cubic curve goes three quarters of the way to its control points
	var p vg.Path
	p.Move(vg.Point{X: x, Y: upper})
	p.CubeTo(vg.Point{X: reach, Y: upper}, vg.Point{X: reach, Y: lower}, vg.Point{X: x, Y: lower})
	c.SetLineStyle(style)
	c.Stroke(p)
}

func paintLine(c draw.Canvas, style draw.LineStyle, from, to vg.Point) {
	c.StrokeLine2(style, from.X, from.Y, to.X, to.Y)
}

func paintKey(c draw.Canvas) {
	first, second := c.Min.Y+keyHeight*0.72, c.Min.Y+keyHeight*0.28
	c.SetColor(pictured)
	c.Fill(diamond(vg.Point{X: c.Min.X + 10, Y: first}))
	write(c, vg.Point{X: c.Min.X + 16, Y: first}, "a picture: above the line on the recto, below it on the verso; dashed: a lost leaf; a stub: a half-sheet or added leaf", inkLine)
	paintLine(c, hairLine, vg.Point{X: c.Min.X + 5, Y: second}, vg.Point{X: c.Min.X + 14, Y: second})
	write(c, vg.Point{X: c.Min.X + 16, Y: second}, "dotted: the hair side of the skin, above the line where the recto is hair", inkLine)
}

func write(c draw.Canvas, at vg.Point, words string, ink color.Color) {
	c.FillText(draw.TextStyle{Color: ink, Font: font.Font{Typeface: "Liberation", Variant: "Sans", Size: lettering},
		Handler: plot.DefaultTextHandler, XAlign: draw.XLeft, YAlign: draw.YCenter}, at, words)
}

func rectangle(low, high vg.Point) vg.Path {
	var p vg.Path
	p.Move(low)
	p.Line(vg.Point{X: high.X, Y: low.Y})
	p.Line(high)
	p.Line(vg.Point{X: low.X, Y: high.Y})
	p.Close()
	return p
}

func diamond(at vg.Point) vg.Path {
	const radius = 2.2
	var p vg.Path
	for k := range 4 {
		turn := float64(k) * math.Pi / 2
		corner := vg.Point{X: at.X + radius*vg.Length(math.Cos(turn)), Y: at.Y + radius*vg.Length(math.Sin(turn))}
		if k == 0 {
			p.Move(corner)
		} else {
			p.Line(corner)
		}
	}
	p.Close()
	return p
}
