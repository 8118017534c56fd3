package report

import (
	"bytes"
	"image"
	"image/color"
	"math"
	"time"

	"codeberg.org/go-fonts/liberation/liberationsansbold"
	"codeberg.org/go-fonts/liberation/liberationsansregular"
	fpdf "codeberg.org/go-pdf/fpdf"
	xfont "golang.org/x/image/font"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/vg"
)

// A pdfCanvas draws on one page of a PDF. The PDF canvas of gonum/plot knows
// only the letters of Windows-1252 and embeds whole typefaces; owners' names,
// minus signs and thin spaces need more, so this one embeds the letters used
// from the same typeface in Unicode. It carries no date, so that the same
// figure is the same bytes.
type pdfCanvas struct {
	doc           *fpdf.Fpdf
	width, height vg.Length
	line          vg.Length
	lines         []vg.Length // line widths of the states pushed
	bold          bool        // whether the bold typeface is in the file
}

const (
	pdfFamily = "sans"
	pdfBold   = "B"
)

// newPDF begins the file of a figure, with its title, what a reader who cannot see it
// needs to know, and the language of both.
func newPDF(f Figure) *pdfCanvas {
	width, height := f.Width, f.Height
	doc := fpdf.NewCustom(&fpdf.InitType{UnitStr: "pt", Size: fpdf.SizeType{Wd: width.Points(), Ht: height.Points()}})
	undated := time.Unix(0, 0).UTC()
	doc.SetCreationDate(undated)
	doc.SetModificationDate(undated)
	doc.SetCatalogSort(true)
	doc.SetProducer("thumbed", true)
	doc.SetTitle(f.Title, true)
	doc.SetSubject(f.Alt, true)
	doc.SetLang("en")
	doc.SetMargins(0, 0, 0)
	doc.SetAutoPageBreak(false, 0)
	doc.SetLineJoinStyle("round") // coordinates are rounded, and a sharp join makes a spike of the rounding
	doc.AddUTF8FontFromBytes(pdfFamily, "", liberationsansregular.TTF)
	doc.AddPage()
	c := &pdfCanvas{doc: doc, width: width, height: height}
	c.Push() // the page counts from its top left; drawings from the bottom left
	c.Translate(vg.Point{Y: height})
	c.Scale(1, -1)
	vg.Initialize(c)
	return c
}

// bytes ends the page and gives the file.
func (c *pdfCanvas) bytes() ([]byte, error) {
	c.Pop()
	var out bytes.Buffer
	if err := c.doc.Output(&out); err != nil {
		return nil, err
	}
	return out.Bytes(), nil
}

func (c *pdfCanvas) Size() (width, height vg.Length) { return c.width, c.height }

func (c *pdfCanvas) SetLineWidth(w vg.Length) {
	c.line = w
	c.doc.SetLineWidth(w.Points())
}

func (c *pdfCanvas) SetLineDash(pattern []vg.Length, offset vg.Length) {
	dashes := make([]float64, len(pattern))
	for i, d := range pattern {
		dashes[i] = d.Points()
	}
	c.doc.SetDashPattern(dashes, offset.Points())
}

func (c *pdfCanvas) SetColor(clr color.Color) {
	if clr == nil {
		clr = color.Black
	}
	r, g, b, _ := clr.RGBA()
	red, green, blue := int(r>>8), int(g>>8), int(b>>8)
	c.doc.SetFillColor(red, green, blue)
	c.doc.SetDrawColor(red, green, blue)
	c.doc.SetTextColor(red, green, blue)
}

func (c *pdfCanvas) Rotate(radians float64) {
	c.doc.TransformRotate(-radians*180/math.Pi, 0, 0)
}

func (c *pdfCanvas) Translate(pt vg.Point) {
	c.doc.TransformTranslate(pt.X.Points(), pt.Y.Points())
}

func (c *pdfCanvas) Scale(x, y float64) { c.doc.TransformScale(100*x, 100*y, 0, 0) }

func (c *pdfCanvas) Push() {
	c.lines = append(c.lines, c.line)
	c.doc.TransformBegin()
}

func (c *pdfCanvas) Pop() {
	c.doc.TransformEnd()
	last := len(c.lines) - 1
	c.line, c.lines = c.lines[last], c.lines[:last]
}

func (c *pdfCanvas) Stroke(p vg.Path) {
	if c.line > 0 {
		c.path(p, "D")
	}
}

func (c *pdfCanvas) Fill(p vg.Path) { c.path(p, "F") }

func (c *pdfCanvas) path(p vg.Path, style string) {
	var last *vg.Point // where the path stands; nil where it has not begun
	for _, step := range p {
		at := step.Pos
		switch step.Type {
		case vg.MoveComp:
			c.doc.MoveTo(at.X.Points(), at.Y.Points())
		case vg.LineComp:
			c.doc.LineTo(at.X.Points(), at.Y.Points())
		case vg.ArcComp:
			at = c.arc(step, last)
		case vg.CurveComp:
			c.curve(step)
		case vg.CloseComp:
			c.doc.ClosePath()
			last = nil
			continue
		}
		last = &at
	}
	c.doc.DrawPath(style)
}

func (c *pdfCanvas) curve(step vg.PathComp) {
	x, y := step.Pos.X.Points(), step.Pos.Y.Points()
	first := step.Control[0]
	if len(step.Control) == 1 {
		c.doc.CurveTo(first.X.Points(), first.Y.Points(), x, y)
		return
	}
	second := step.Control[1]
	c.doc.CurveBezierCubicTo(first.X.Points(), first.Y.Points(), second.X.Points(), second.Y.Points(), x, y)
}

// arc adds a circular arc as cubic Bézier curves, one a quarter turn: with
// handles of 4/3 tan(θ/4) of the radius the error is below a thousandth of it.
// It starts with a line from where the path stands (nil: nowhere), left out where
// that is the arc's own start, and gives the arc's end.
func (c *pdfCanvas) arc(step vg.PathComp, last *vg.Point) vg.Point {
	parts := max(int(math.Ceil(math.Abs(step.Angle)/(math.Pi/2))), 1)
	turn := step.Angle / float64(parts)
	handle := 4.0 / 3 * math.Tan(turn/4)
	radius := step.Radius.Points()
	at := func(angle, along float64) (x, y float64) {
		sin, cos := math.Sincos(angle)
		return step.Pos.X.Points() + radius*(cos-along*sin), step.Pos.Y.Points() + radius*(sin+along*cos)
	}
	x, y := at(step.Start, 0)
	switch {
	case last == nil:
		c.doc.MoveTo(x, y)
	case math.Hypot(x-last.X.Points(), y-last.Y.Points()) > 0.01:
		c.doc.LineTo(x, y)
	}
	for k := range parts {
		from := step.Start + float64(k)*turn
		x1, y1 := at(from, handle)
		x2, y2 := at(from+turn, -handle)
		x, y = at(from+turn, 0)
		c.doc.CurveBezierCubicTo(x1, y1, x2, y2, x, y)
	}
	return vg.Point{X: vg.Length(x), Y: vg.Length(y)}
}

func (c *pdfCanvas) FillString(face font.Face, pt vg.Point, text string) {
	if face.Font.Size == 0 || text == "" {
		return
	}
	style := ""
	if face.Font.Weight == xfont.WeightBold {
		style = pdfBold
		if !c.bold { // reading a typeface takes as long as drawing a small figure
			c.doc.AddUTF8FontFromBytes(pdfFamily, pdfBold, liberationsansbold.TTF)
			c.bold = true
		}
	}
	c.doc.SetFont(pdfFamily, style, face.Font.Size.Points())
	c.Push()
	defer c.Pop()
	c.Translate(pt)
	c.Scale(1, -1)
	c.doc.Text(0, 0, text)
}

// DrawImage is asked for by vg.Canvas; no figure of this package holds a picture.
func (c *pdfCanvas) DrawImage(vg.Rectangle, image.Image) {
	panic("report: the PDF canvas draws no pictures")
}
