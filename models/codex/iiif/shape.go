package iiif

import (
	"encoding/xml"
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
)

// A box is the smallest upright rectangle around some points; empty before the first.
type box struct{ left, top, right, bottom float64 }

func emptyBox() box {
	return box{math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)}
}

func (b *box) take(x, y float64) {
	b.left, b.right = min(b.left, x), max(b.right, x)
	b.top, b.bottom = min(b.top, y), max(b.bottom, y)
}

// fragment is the box as a rectangle of whole pixels around it.
func (b box) fragment() string {
	left, top := math.Floor(max(0, b.left)), math.Floor(max(0, b.top))
	return fmt.Sprintf("xywh=%.0f,%.0f,%.0f,%.0f", left, top, math.Ceil(b.right)-left, math.Ceil(b.bottom)-top)
}

// boxOf is the rectangle around the shapes of an SVG document (W3C, “Scalable Vector
// Graphics (SVG) 1.1”, chapters 8 and 9), on a canvas of some size, to which a drawing of
// another size is stretched (Web Annotation Data Model, section 4.2.7). Curves are taken
// with their control points. False where there is no shape, or one that is turned or moved
// by a transform.
func boxOf(svg string, width, height float64) (box, bool) {
	b := emptyBox()
	across, down := 1.0, 1.0
	decoder := xml.NewDecoder(strings.NewReader(svg))
	decoder.Strict = false
	for {
		token, err := decoder.Token()
		if err != nil {
			break // at its end, or where it is no XML any more
		}
		start, is := token.(xml.StartElement)
		if !is {
			continue
		}
		at := map[string]string{}
		for _, a := range start.Attr {
			at[a.Name.Local] = a.Value
		}
		if at["transform"] != "" {
			return b, false
		}
		if start.Name.Local == "svg" {
			if w, h := drawn(at); w > 0 && h > 0 && width > 0 && height > 0 {
				across, down = width/w, height/h
			}
			continue
		}
		b.shape(start.Name.Local, at)
	}
	if !(b.right > b.left && b.bottom > b.top) || math.IsInf(b.right, 0) || math.IsInf(b.bottom, 0) {
		return b, false
	}
	return box{b.left * across, b.top * down, b.right * across, b.bottom * down}, true
}

// drawn is the size that a drawing has in its own units; 0 where it is not told.
func drawn(svg map[string]string) (width, height float64) {
	if v := numbersIn(svg["viewBox"]); len(v) == 4 {
		return v[2], v[3]
	}
	w, errW := strconv.ParseFloat(strings.TrimSuffix(svg["width"], "px"), 64)
	h, errH := strconv.ParseFloat(strings.TrimSuffix(svg["height"], "px"), 64)
	if errW != nil || errH != nil {
		return 0, 0
	}
	return w, h
}

var reFigure = regexp.MustCompile(`[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?`)

func numbersIn(text string) []float64 {
	var out []float64
	for _, word := range reFigure.FindAllString(text, -1) {
		if v, err := strconv.ParseFloat(word, 64); err == nil {
			out = append(out, v)
		}
	}
	return out
}

// shape takes one element of a drawing.
func (b *box) shape(name string, at map[string]string) {
	value := func(key string) float64 {
		v, _ := strconv.ParseFloat(at[key], 64) // 0 where it is not given, as in SVG
		return v
	}
	around := func(rx, ry float64) {
		b.take(value("cx")-rx, value("cy")-ry)
		b.take(value("cx")+rx, value("cy")+ry)
	}
	switch name {
	case "polygon", "polyline":
		for v := numbersIn(at["points"]); len(v) > 1; v = v[2:] {
			b.take(v[0], v[1])
		}
	case "rect":
		b.take(value("x"), value("y"))
		b.take(value("x")+value("width"), value("y")+value("height"))
	case "circle":
		around(value("r"), value("r"))
	case "ellipse":
		around(value("rx"), value("ry"))
	case "line":
		b.take(value("x1"), value("y1"))
		b.take(value("x2"), value("y2"))
	case "path":
		b.path(at["d"])
	}
}

var reCommand = regexp.MustCompile(`[MmLlHhVvCcSsQqTtAaZz][^MmLlHhVvCcSsQqTtAaZz]*`)

// operands are how many numbers each command of a path takes at a time.
var operands = map[string]int{"M": 2, "L": 2, "T": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "A": 7}

// path takes the points of a path, curves by their control points, arcs by their course.
func (b *box) path(d string) {
	var x, y, fromX, fromY float64
	for _, command := range reCommand.FindAllString(d, -1) {
		kind := strings.ToUpper(command[:1])
		relative := kind != command[:1]
		if kind == "Z" {
			x, y = fromX, fromY
			continue
		}
		v := numbersIn(command[1:])
		if kind == "A" {
			v = arcNumbers(command[1:])
		}
		for n, first := operands[kind], true; len(v) >= n; v, first = v[n:], false {
			own := append([]float64(nil), v[:n]...)
			shift := func(k int, by float64) {
				if relative {
					own[k] += by
				}
			}
			switch kind {
			case "H":
				shift(0, x)
				x = own[0]
			case "V":
				shift(0, y)
				y = own[0]
			case "A":
				shift(5, x)
				shift(6, y)
				b.arc(x, y, own)
				x, y = own[5], own[6]
			default:
				for k := 0; k < n; k += 2 {
					shift(k, x)
					shift(k+1, y)
				}
				for k := 0; k < n; k += 2 {
					b.take(own[k], own[k+1])
				}
				x, y = own[n-2], own[n-1]
			}
			if kind == "M" && first {
				fromX, fromY = x, y
			}
			b.take(x, y)
		}
	}
}

var reArc = regexp.MustCompile(`(` + reFigure.String() + `)[\s,]*(` + reFigure.String() + `)[\s,]*(` + reFigure.String() + `)[\s,]*([01])[\s,]*([01])[\s,]*(` + reFigure.String() + `)[\s,]*(` + reFigure.String() + `)`)

// arcNumbers are the numbers of arcs, whose two flags may stand without a gap.
func arcNumbers(text string) []float64 {
	var out []float64
	for _, m := range reArc.FindAllStringSubmatch(text, -1) {
		for _, word := range m[1:] {
			v, _ := strconv.ParseFloat(word, 64) // digits and a point only
			out = append(out, v)
		}
	}
	return out
}

// arc takes the course of an elliptical arc from a point: v are its radii, turn in degrees,
// two flags and end (SVG 1.1, appendix F.6.5, conversion to the centre).
func (b *box) arc(x, y float64, v []float64) {
	rx, ry, turn := math.Abs(v[0]), math.Abs(v[1]), v[2]*math.Pi/180
	if rx == 0 || ry == 0 {
		return // a straight line
	}
	cos, sin := math.Cos(turn), math.Sin(turn)
	halfX, halfY := (x-v[5])/2, (y-v[6])/2
	px, py := cos*halfX+sin*halfY, cos*halfY-sin*halfX
	if wide := px*px/(rx*rx) + py*py/(ry*ry); wide > 1 {
		rx, ry = rx*math.Sqrt(wide), ry*math.Sqrt(wide)
	}
	along := rx*rx*py*py + ry*ry*px*px
	if along == 0 {
		return // it ends where it begins
	}
	root := math.Sqrt(max(0, rx*rx*ry*ry/along-1))
	if (v[3] != 0) == (v[4] != 0) {
		root = -root
	}
	cx, cy := root*rx*py/ry, -root*ry*px/rx
	from := math.Atan2((py-cy)/ry, (px-cx)/rx)
	sweep := math.Atan2((-py-cy)/ry, (-px-cx)/rx) - from
	if v[4] != 0 && sweep < 0 {
		sweep += 2 * math.Pi
	} else if v[4] == 0 && sweep > 0 {
		sweep -= 2 * math.Pi
	}
	const steps = 64 // a circle's box is then short by 0.03 % of its radius at most
	for k := range steps + 1 {
		a := from + sweep*float64(k)/steps
		ex, ey := cx+rx*math.Cos(a), cy+ry*math.Sin(a)
		b.take(cos*ex-sin*ey+(x+v[5])/2, sin*ex+cos*ey+(y+v[6])/2)
	}
}
