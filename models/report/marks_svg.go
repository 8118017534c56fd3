package report

import (
	"fmt"
	"html"
	"strconv"
	"strings"
)

// An svgDrawing is a small chart of the page, in pixels from the upper left
// corner. Its colours are classes of the style sheet.
type svgDrawing struct {
	width, height float64
	b             strings.Builder
}

// coordinate writes pixels to a tenth; what lies a millionth below the middle between two
// tenths goes up too, so that no processor's last bit decides.
func coordinate(v float64) string {
	text := strconv.FormatFloat(v+1e-6, 'f', 1, 64)
	return strings.TrimSuffix(text, ".0")
}

func (s *svgDrawing) add(format string, values ...any) {
	for i, v := range values {
		switch v := v.(type) {
		case float64:
			values[i] = coordinate(v)
		case string:
			values[i] = html.EscapeString(v)
		}
	}
	fmt.Fprintf(&s.b, format, values...)
}

func (s *svgDrawing) line(class string, x1, y1, x2, y2 float64) {
	s.add(`<path class="%v" d="M%v %vL%v %v"/>`, class, x1, y1, x2, y2)
}

func (s *svgDrawing) box(class string, x, y, width, height float64) {
	s.add(`<rect class="%v" x="%v" y="%v" width="%v" height="%v"/>`, class, x, y, width, height)
}

func (s *svgDrawing) dot(class string, x, y, r float64) {
	s.add(`<circle class="%v" cx="%v" cy="%v" r="%v"/>`, class, x, y, r)
}

// diamond and square stand with their middle at x, y.
func (s *svgDrawing) diamond(class string, x, y, r float64) {
	s.add(`<path class="%v" d="M%v %vL%v %vL%v %vL%v %vz"/>`, class, x, y-r, x+r, y, x, y+r, x-r, y)
}

func (s *svgDrawing) square(class string, x, y, r float64) { s.box(class, x-r, y-r, 2*r, 2*r) }

// arrow points up with its tip at y, or down where r is negative.
func (s *svgDrawing) arrow(class string, x, y, r float64) {
	s.add(`<path class="%v" d="M%v %vl%v %vh%vz"/>`, class, x, y, -abs(r)*0.8, r*1.5, abs(r)*1.6)
}

func abs(v float64) float64 {
	if v < 0 {
		return -v
	}
	return v
}

// The ends at which a text stands.
const (
	atStart  = "start"
	atMiddle = "middle"
	atEnd    = "end"
)

func (s *svgDrawing) text(class, anchor string, x, y float64, text string) {
	s.add(`<text class="%v" text-anchor="%v" x="%v" y="%v">%v</text>`, class, anchor, x, y, text)
}

// drawing ends the chart; what says what it shows to those who cannot see it.
func (s *svgDrawing) drawing(class, what string) string {
	return fmt.Sprintf(`<svg class="%s" viewBox="0 0 %s %s" role="img" aria-label="%s">%s</svg>`,
		class, coordinate(s.width), coordinate(s.height), html.EscapeString(what), s.b.String())
}

// textLetters measures the page's own typeface.
var textLetters = lettering(1000, text)

// letterWidth is the width of a text in the typeface that the page carries.
func letterWidth(text string, size float64) float64 {
	return float64(textLetters.Width(text)) * size / 1000
}
