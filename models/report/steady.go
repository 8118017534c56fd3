package report

import (
	"math"
	"slices"

	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/vg"
)

// A steady canvas rounds every place to a 1024th of a point before it draws, so that a
// place half way between two that can be written is written the same on every processor.
type steady struct{ vg.Canvas }

// nearlyHalf is how near below the middle, in 1024ths of a point, a place counts as in it:
// far more than its last bits amount to.
const nearlyHalf = 1e-6

func onGrid(v vg.Length) vg.Length {
	return vg.Length(math.Floor(float64(v)*1024+0.5+nearlyHalf) / 1024)
}

func pointOnGrid(p vg.Point) vg.Point { return vg.Point{X: onGrid(p.X), Y: onGrid(p.Y)} }

func pathOnGrid(p vg.Path) vg.Path {
	out := slices.Clone(p)
	for i := range out {
		out[i].Pos = pointOnGrid(out[i].Pos)
		out[i].Control = slices.Clone(out[i].Control)
		for k, at := range out[i].Control {
			out[i].Control[k] = pointOnGrid(at)
		}
	}
	return out
}

// Translate implements vg.Canvas.
func (c steady) Translate(by vg.Point) { c.Canvas.Translate(pointOnGrid(by)) }

// Stroke implements vg.Canvas.
func (c steady) Stroke(p vg.Path) { c.Canvas.Stroke(pathOnGrid(p)) }

// Fill implements vg.Canvas.
func (c steady) Fill(p vg.Path) { c.Canvas.Fill(pathOnGrid(p)) }

// FillString implements vg.Canvas.
func (c steady) FillString(f font.Face, at vg.Point, s string) {
	c.Canvas.FillString(f, pointOnGrid(at), s)
}
