package report

import (
	"bytes"
	"cmp"
	"encoding/binary"
	"image"
	"image/color"
	"image/png"
	"math"
	"slices"
	"sync"

	xfont "golang.org/x/image/font"
	"golang.org/x/image/math/fixed"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/vgimg"
)

// A bitmapCanvas is vgimg's, but for letters that stand upright: those are laid on the
// points of the drawing as they are, and not through a transformation of each.
type bitmapCanvas struct {
	*vgimg.Canvas
	ink     color.Color
	turned  bool   // whether coordinates are not the drawing's own
	earlier []bool // turned, of the states pushed
}

func newBitmap(width, height vg.Length) *bitmapCanvas {
	return &bitmapCanvas{Canvas: vgimg.NewWith(vgimg.UseWH(width, height), vgimg.UseDPI(dpi)), ink: color.Black}
}

func (c *bitmapCanvas) Push() {
	c.earlier = append(c.earlier, c.turned)
	c.Canvas.Push()
}

func (c *bitmapCanvas) Pop() {
	last := len(c.earlier) - 1
	c.turned, c.earlier = c.earlier[last], c.earlier[:last]
	c.Canvas.Pop()
}

func (c *bitmapCanvas) Rotate(radians float64) {
	c.turned = true
	c.Canvas.Rotate(radians)
}

func (c *bitmapCanvas) Translate(by vg.Point) {
	c.turned = true
	c.Canvas.Translate(by)
}

func (c *bitmapCanvas) Scale(x, y float64) {
	c.turned = true
	c.Canvas.Scale(x, y)
}

func (c *bitmapCanvas) SetColor(ink color.Color) {
	c.ink = ink
	c.Canvas.SetColor(ink)
}

// Stroke draws a path of many lines some at a time: what the rasteriser takes for one
// path grows with the square of the lines in a row of dots.
func (c *bitmapCanvas) Stroke(p vg.Path) {
	const together = 64
	begun, lines := 0, 0
	for i, at := range p {
		if at.Type != vg.MoveComp {
			continue
		}
		if lines == together {
			c.Canvas.Stroke(p[begun:i])
			begun, lines = i, 0
		}
		lines++
	}
	c.Canvas.Stroke(p[begun:])
}

func (c *bitmapCanvas) FillString(face font.Face, at vg.Point, words string) {
	if c.turned || face.Font.Size == 0 {
		c.Canvas.FillString(face, at, words)
		return
	}
	letters := face.FontFace(dpi)
	defer letters.Close()
	_, height := c.Size()
	pen := xfont.Drawer{Dst: c.Image(), Src: image.NewUniform(c.ink), Face: letters, Dot: fixed.Point26_6{
		X: fixed.Int26_6(math.Round(64 * at.X.Dots(dpi))), Y: fixed.Int26_6(math.Round(64 * (height - at.Y).Dots(dpi)))}}
	pen.DrawString(words)
}

// bytes is the drawing as PNG.
func (c *bitmapCanvas) bytes() ([]byte, error) { return bitmap(c.Image().(*image.RGBA)) }

// bitmap is a drawing as PNG, in the 256 colours that are most frequent in it.
func bitmap(drawn *image.RGBA) ([]byte, error) {
	var out bytes.Buffer
	encoder := png.Encoder{CompressionLevel: png.BestSpeed, BufferPool: &pngBuffers}
	err := encoder.Encode(&out, indexed(drawn))
	return out.Bytes(), err
}

// indexed is a drawing that stores colours by their number. A chart has few: those past
// the 256 most frequent are tints of single points at the edges of letters and lines,
// and become the nearest of these. The file is made in a fifth of the time and takes a
// third of the room.
func indexed(full *image.RGBA) *image.Paletted {
	tints, stretches := stretchesOf(full)
	order := make([]int32, len(tints)) // from the most frequent
	for i := range order {
		order[i] = int32(i)
	}
	slices.SortFunc(order, func(a, b int32) int {
		return cmp.Or(cmp.Compare(tints[b].points, tints[a].points), cmp.Compare(tints[a].colour, tints[b].colour))
	})
	out := image.NewPaletted(full.Bounds(), nil)
	number := make([]uint8, len(tints))
	kept := make([][4]uint8, min(256, len(order)))
	for i := range kept {
		number[order[i]] = uint8(i)
		c := tints[order[i]].channels()
		kept[i] = c
		out.Palette = append(out.Palette, color.RGBA{c[0], c[1], c[2], c[3]})
	}
	for _, k := range order[len(kept):] {
		number[k] = nearestTint(kept, tints[k].channels())
	}
	at := 0
	for _, r := range stretches {
		n := number[r.tint]
		line := out.Pix[at : at+int(r.points)]
		for i := range line {
			line[i] = n
		}
		at += len(line)
	}
	return out
}

// A tint is a colour of a drawing, its red in the highest byte, and how many points
// have it.
type tint struct {
	colour uint32
	points int
}

func (t tint) channels() (c [4]uint8) {
	binary.BigEndian.PutUint32(c[:], t.colour)
	return c
}

// A stretch is neighbouring points of one colour, line by line.
type stretch struct{ tint, points int32 }

// stretchesOf gives the colours of a drawing, as they come, and its stretches.
func stretchesOf(full *image.RGBA) (tints []tint, stretches []stretch) {
	number := map[uint32]int32{}
	stretches = make([]stretch, 0, len(full.Pix)/64)
	for pix := full.Pix; len(pix) > 0; {
		colour := binary.BigEndian.Uint32(pix)
		end := 4
		for end < len(pix) && binary.BigEndian.Uint32(pix[end:]) == colour {
			end += 4
		}
		k, known := number[colour]
		if !known {
			k = int32(len(tints))
			number[colour] = k
			tints = append(tints, tint{colour: colour})
		}
		tints[k].points += end / 4
		stretches = append(stretches, stretch{k, int32(end / 4)})
		pix = pix[end:]
	}
	return tints, stretches
}

// nearestTint is the number of the colour nearest to another, the first of several.
func nearestTint(kept [][4]uint8, other [4]uint8) uint8 {
	best, least := 0, -1
	for i, k := range kept {
		far := 0
		for c, v := range k {
			d := int(v) - int(other[c])
			far += d * d
		}
		if least < 0 || far < least {
			best, least = i, far
		}
	}
	return uint8(best)
}

// pngBuffers keeps what one encoding needs for the next.
var pngBuffers pngPool

type pngPool struct{ pool sync.Pool }

func (p *pngPool) Get() *png.EncoderBuffer {
	b, _ := p.pool.Get().(*png.EncoderBuffer)
	return b
}

func (p *pngPool) Put(b *png.EncoderBuffer) { p.pool.Put(b) }
