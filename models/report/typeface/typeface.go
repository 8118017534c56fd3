// Package typeface answers: which part of a typeface does a page need? It cuts a
// TrueType font down to the letters used and packs it for the web.
package typeface

import (
	"bytes"
	"cmp"
	"compress/zlib"
	"encoding/binary"
	"fmt"
	"maps"
	"slices"

	"golang.org/x/image/font/sfnt"
)

// Subset is the font in WOFF (W3C, “WOFF File Format 1.0”, 2012) with the letters
// given and no others; those that the font lacks are left out. Hints and kerning
// are dropped. font is a TrueType font with outlines in glyf (ISO/IEC 14496-22).
func Subset(font []byte, letters []rune) ([]byte, error) {
	parsed, err := sfnt.Parse(font)
	if err != nil {
		return nil, fmt.Errorf("the typeface cannot be read: %w", err)
	}
	s := subset{tables: tablesOf(font), number: map[uint16]uint16{0: 0}, kept: []uint16{0}}
	for _, tag := range []string{"head", "hhea", "maxp", "hmtx", "loca", "glyf", "OS/2", "name"} {
		if s.tables[tag] == nil {
			return nil, fmt.Errorf("the typeface has no table %s", tag)
		}
	}
	glyphs := map[rune]uint16{}
	var buffer sfnt.Buffer
	for _, letter := range letters {
		if index, err := parsed.GlyphIndex(&buffer, letter); err == nil && index != 0 && letter <= 0xFFFF {
			glyphs[letter] = s.keep(uint16(index))
		}
	}
	return pack(s.cut(glyphs)), nil
}

var order = binary.BigEndian

// tablesOf are the tables of a font by their tags.
func tablesOf(font []byte) map[string][]byte {
	out := map[string][]byte{}
	for i := range int(order.Uint16(font[4:])) {
		entry := font[12+16*i:]
		from := order.Uint32(entry[8:])
		out[string(entry[:4])] = font[from : from+order.Uint32(entry[12:])]
	}
	return out
}

// A subset numbers the glyphs that are kept anew.
type subset struct {
	tables map[string][]byte
	number map[uint16]uint16 // new by old
	kept   []uint16          // old by new
}

// keep gives a glyph its new number.
func (s *subset) keep(glyph uint16) uint16 {
	if _, known := s.number[glyph]; !known {
		s.number[glyph] = uint16(len(s.kept))
		s.kept = append(s.kept, glyph)
	}
	return s.number[glyph]
}

// outline is a glyph's description.
func (s *subset) outline(glyph uint16) []byte {
	loca := s.tables["loca"]
	if order.Uint16(s.tables["head"][50:]) == 0 {
		return s.tables["glyf"][2*int(order.Uint16(loca[2*int(glyph):])) : 2*int(order.Uint16(loca[2*int(glyph)+2:]))]
	}
	return s.tables["glyf"][order.Uint32(loca[4*int(glyph):]):order.Uint32(loca[4*int(glyph)+4:])]
}

// Flags of a part of a composite glyph (ISO/IEC 14496-22, glyf).
const (
	wordArguments = 0x0001
	haveScale     = 0x0008
	moreParts     = 0x0020
	haveTwoScales = 0x0040
	haveMatrix    = 0x0080
	haveHints     = 0x0100
)

// renumbered is a glyph's description with its parts under their new numbers; parts
// not kept yet are.
func (s *subset) renumbered(glyph uint16) []byte {
	out := bytes.Clone(s.outline(glyph))
	if len(out) < 10 || int16(order.Uint16(out)) >= 0 {
		return out
	}
	for at := 10; ; {
		flags := order.Uint16(out[at:])
		order.PutUint16(out[at+2:], s.keep(order.Uint16(out[at+2:])))
		order.PutUint16(out[at:], flags&^haveHints)
		at += 6
		if flags&wordArguments != 0 {
			at += 2
		}
		switch {
		case flags&haveScale != 0:
			at += 2
		case flags&haveTwoScales != 0:
			at += 4
		case flags&haveMatrix != 0:
			at += 8
		}
		if flags&moreParts == 0 {
			return out[:at]
		}
	}
}

// cut makes the tables of the smaller font.
func (s *subset) cut(glyphs map[rune]uint16) map[string][]byte {
	var outlines, loca, widths []byte
	measured := int(order.Uint16(s.tables["hhea"][34:]))
	for i := 0; i < len(s.kept); i++ { // grows while parts are kept
		glyph := s.kept[i]
		loca = order.AppendUint32(loca, uint32(len(outlines)))
		outlines = append(outlines, s.renumbered(glyph)...)
		for len(outlines)%4 != 0 {
			outlines = append(outlines, 0)
		}
		widths = append(widths, s.metric(int(glyph), measured)...)
	}
	loca = order.AppendUint32(loca, uint32(len(outlines)))
	head, hhea, maxp := bytes.Clone(s.tables["head"]), bytes.Clone(s.tables["hhea"]), bytes.Clone(s.tables["maxp"])
	order.PutUint16(head[50:], 1) // loca in four bytes
	order.PutUint16(hhea[34:], uint16(len(s.kept)))
	order.PutUint16(maxp[4:], uint16(len(s.kept)))
	post := make([]byte, 32)
	order.PutUint32(post, 0x00030000) // without names of glyphs
	return map[string][]byte{"head": head, "hhea": hhea, "maxp": maxp, "hmtx": widths, "loca": loca, "glyf": outlines,
		"OS/2": s.tables["OS/2"], "name": s.tables["name"], "post": post, "cmap": characterMap(glyphs)}
}

// metric is a glyph's width and left bearing; glyphs past those measured have the
// width of the last.
func (s *subset) metric(glyph, measured int) []byte {
	hmtx := s.tables["hmtx"]
	if glyph < measured {
		return hmtx[4*glyph : 4*glyph+4]
	}
	return append(bytes.Clone(hmtx[4*measured-4:4*measured-2]), hmtx[2*measured+2*glyph:2*measured+2*glyph+2]...)
}

// characterMap is a table cmap with one subtable of format 4, a segment a letter.
func characterMap(glyphs map[rune]uint16) []byte {
	letters := slices.Sorted(maps.Keys(glyphs))
	n := len(letters) + 1
	var ends, starts, deltas []byte
	for _, letter := range letters {
		ends = order.AppendUint16(ends, uint16(letter))
		starts = order.AppendUint16(starts, uint16(letter))
		deltas = order.AppendUint16(deltas, glyphs[letter]-uint16(letter))
	}
	ends, starts, deltas = order.AppendUint16(ends, 0xFFFF), order.AppendUint16(starts, 0xFFFF), order.AppendUint16(deltas, 1)
	exponent := 0
	for 2<<exponent <= n {
		exponent++
	}
	var out []byte
	for _, v := range []int{0, 1, 3, 1, 0, 12, 4, 16 + 8*n, 0, 2 * n, 2 << exponent, exponent, 2*n - 2<<exponent} {
		out = order.AppendUint16(out, uint16(v))
	}
	out = append(out, ends...)
	out = append(append(append(out, 0, 0), starts...), deltas...)
	return append(out, make([]byte, 2*n)...)
}

// pack writes tables as WOFF.
func pack(tables map[string][]byte) []byte {
	tags := slices.SortedFunc(maps.Keys(tables), cmp.Compare)
	at := 44 + 20*len(tags)
	total := 12 + 16*len(tags)
	var directory, data []byte
	deflated := deflater()
	for _, tag := range tags {
		plain := tables[tag]
		packed := deflated(plain)
		if len(packed) >= len(plain) {
			packed = plain
		}
		directory = append(directory, tag...)
		for _, v := range []int{at + len(data), len(packed), len(plain)} {
			directory = order.AppendUint32(directory, uint32(v))
		}
		directory = order.AppendUint32(directory, checksum(plain))
		data = append(data, packed...)
		for len(data)%4 != 0 {
			data = append(data, 0)
		}
		total += (len(plain) + 3) &^ 3
	}
	out := []byte("wOFF\x00\x01\x00\x00")
	out = order.AppendUint32(out, uint32(at+len(data)))
	out = order.AppendUint16(order.AppendUint16(out, uint16(len(tags))), 0)
	out = order.AppendUint32(out, uint32(total))
	out = append(out, make([]byte, 24)...)
	return append(append(out, directory...), data...)
}

// deflater gives a function that compresses one text after another: making a new writer
// for each would take longer than the writing.
func deflater() func(plain []byte) []byte {
	w, _ := zlib.NewWriterLevel(nil, zlib.BestCompression) // the level is one of the package's own
	return func(plain []byte) []byte {
		var out bytes.Buffer
		w.Reset(&out)
		_, _ = w.Write(plain) // to memory
		_ = w.Close()
		return out.Bytes()
	}
}

func checksum(table []byte) uint32 {
	sum := uint32(0)
	for i := 0; i < len(table); i += 4 {
		var word [4]byte
		copy(word[:], table[i:])
		sum += order.Uint32(word[:])
	}
	return sum
}
