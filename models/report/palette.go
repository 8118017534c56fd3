package report

import (
	"fmt"
	"image/color"
)

// An ink is one colour of the report: on a light ground, which print and PDF
// always have, and on a dark one.
type ink struct {
	name        string // of the page's CSS variable
	light, dark color.NRGBA
}

// The palette. The three that carry meaning are hues of our own: a slate blue for the
// curve, green for pictures and an earth red for pages that stand out, told apart by
// all common kinds of colour vision (TestColoursApart) and dark enough for letters on
// paper (TestPaletteContrast); on a dark ground all are lighter. Each also has a shape of
// its own, so that a figure printed in grey loses nothing.
var (
	ground   = ink{"ground", rgb(0xFBF9F4), rgb(0x141210)}
	paper    = ink{"paper", rgb(0xFFFFFF), rgb(0x1B1916)}
	text     = ink{"ink", rgb(0x1F1B15), rgb(0xEEE8DC)}
	quiet    = ink{"quiet", rgb(0x595247), rgb(0xBDB4A4)}
	rule     = ink{"rule", rgb(0xD8D1C4), rgb(0x3D3932)}
	bars     = ink{"bar", rgb(0xC9C2B0), rgb(0x6B6455)}
	past     = ink{"after", rgb(0xF3E3D8), rgb(0x33251C)}
	band     = ink{"band", rgb(0xF4F0E7), rgb(0x27241F)}
	lost     = ink{"lost", rgb(0x7D7466), rgb(0x8F8677)}
	blue     = ink{"blue", rgb(0x2C5F93), rgb(0x7DB3E0)}
	envelope = ink{"envelope", rgb(0xD2DFEC), rgb(0x22405C)}
	green    = ink{"green", rgb(0x007D5B), rgb(0x2FC39B)}
	red      = ink{"red", rgb(0xC45200), rgb(0xF58A3C)}
)

// palette is every ink, in the order in which the style sheet lists them.
var palette = []ink{ground, paper, text, quiet, rule, bars, past, band, lost, blue, envelope, green, red}

func rgb(hex uint32) color.NRGBA {
	return color.NRGBA{R: uint8(hex >> 16), G: uint8(hex >> 8), B: uint8(hex), A: 0xFF}
}

func hexOf(c color.NRGBA) string { return fmt.Sprintf("#%02X%02X%02X", c.R, c.G, c.B) }
