package report

import (
	"bytes"
	"cmp"
	"image"
	"image/color"
	"image/png"
	"maps"
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
// the 256 most frequent are shades of single points at the edges of letters and lines,
// and become the nearest of these. The file is made in a fifth of the time and takes a
// third of the room.
func indexed(full *image.RGBA) *image.Paletted {
	count := map[[4]uint8]int{}
	eachRun(full, func(shade [4]uint8, _, run int) { count[shade] += run })
	shades := slices.SortedFunc(maps.Keys(count), func(a, b [4]uint8) int {
		return cmp.Or(cmp.Compare(count[b], count[a]), slices.Compare(a[:], b[:]))
	})
	kept := shades[:min(256, len(shades))]
	out := image.NewPaletted(full.Bounds(), nil)
	number := make(map[[4]uint8]uint8, len(shades))
	for i, shade := range kept {
		number[shade] = uint8(i)
		out.Palette = append(out.Palette, color.RGBA{shade[0], shade[1], shade[2], shade[3]})
	}
	for _, shade := range shades[len(kept):] {
		number[shade] = nearestShade(kept, shade)
	}
	eachRun(full, func(shade [4]uint8, at, run int) {
		n := number[shade]
		for i := range run {
			out.Pix[at+i] = n
		}
	})
	return out
}

// eachRun tells each run of neighbouring points of one colour: where it begins among all
// points of the drawing, line by line, and how long it is.
func eachRun(full *image.RGBA, tell func(shade [4]uint8, at, run int)) {
	points := len(full.Pix) / 4
	for at := 0; at < points; {
		shade := [4]uint8(full.Pix[4*at:])
		run := 1
		for at+run < points && [4]uint8(full.Pix[4*(at+run):]) == shade {
			run++
		}
		tell(shade, at, run)
		at += run
	}
}

// nearestShade is the number of the colour nearest to a shade, the first of several.
func nearestShade(kept [][4]uint8, shade [4]uint8) uint8 {
	best, least := 0, -1
	for i, k := range kept {
		far := 0
		for c, v := range k {
			d := int(v) - int(shade[c])
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
