package report

import (
	"bytes"
	"testing"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/vgimg"
)

// Lines stroked some at a time give the dots that they give as one path.
func TestManyLinesOfAPathAreDrawnAsOne(t *testing.T) {
	var path vg.Path
	for i := range 300 {
		path.Move(vg.Point{X: vg.Length(3 + 2*i), Y: vg.Length(5 + i%7)})
		path.Line(vg.Point{X: vg.Length(3 + 2*i), Y: vg.Length(40 + i%11)})
	}
	const width, height = 620, 60
	whole := vgimg.NewWith(vgimg.UseWH(width, height), vgimg.UseDPI(dpi))
	parted := newBitmap(width, height)
	for _, c := range []vg.Canvas{whole, parted} {
		c.SetLineWidth(0.7)
		c.Stroke(path)
	}
	var want, got bytes.Buffer
	for out, c := range map[*bytes.Buffer]*vgimg.Canvas{&want: whole, &got: parted.Canvas} {
		if _, err := (vgimg.PngCanvas{Canvas: c}).WriteTo(out); err != nil {
			t.Fatal(err)
		}
	}
	if !bytes.Equal(want.Bytes(), got.Bytes()) {
		t.Error("300 upright lines drawn some at a time differ from the same drawn as one path")
	}
}
