package report

import (
	"image/color"
	"math"
	"strings"
	"testing"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/vgsvg"
)

// luminance is the relative luminance of a colour, and contrast the ratio of
// two (Web Content Accessibility Guidelines 2.2, W3C 2023, definitions of
// relative luminance and of contrast ratio).
func luminance(c color.NRGBA) float64 {
	part := func(v uint8) float64 {
		s := float64(v) / 255
		if s <= 0.04045 {
			return s / 12.92
		}
		return math.Pow((s+0.055)/1.055, 2.4)
	}
	return 0.2126*part(c.R) + 0.7152*part(c.G) + 0.0722*part(c.B)
}

func contrast(a, b color.NRGBA) float64 {
	la, lb := luminance(a), luminance(b)
	return (max(la, lb) + 0.05) / (min(la, lb) + 0.05)
}

func TestContrastFormula(t *testing.T) {
	// 21:1 for black on white is the guidelines' own extreme; #767676 is the
	// lightest grey to reach 4.5:1 on white (from memory).
	white := rgb(0xFFFFFF)
	if got := contrast(rgb(0), white); math.Abs(got-21) > 1e-9 {
		t.Errorf("black on white is %v", got)
	}
	if contrast(rgb(0x767676), white) < 4.5 || contrast(rgb(0x777777), white) >= 4.5 {
		t.Error("the step between #767676 and #777777 is not where it should be")
	}
}

// TestPaletteContrast: text reaches 4.5:1 on every ground it stands on (success
// criterion 1.4.3, level AA), reading text 7:1 (1.4.6, level AAA), and marks,
// lines and hatching 3:1 (1.4.11), light and dark.
func TestPaletteContrast(t *testing.T) {
	grounds := []ink{ground, paper, band}
	for _, c := range []struct {
		ink   ink
		least float64
		on    []ink
	}{
		{text, 7, append(grounds, envelope)},
		{quiet, 4.5, append(grounds, envelope)},
		{blue, 4.5, []ink{ground, paper, band}},
		{red, 4.5, []ink{paper}},
		{red, 3, []ink{band, envelope}},
		{green, 3, append(grounds, envelope)},
		{blue, 3, []ink{envelope}},
		{lost, 3, []ink{paper, band}},
	} {
		for _, on := range c.on {
			if got := contrast(c.ink.light, on.light); got < c.least {
				t.Errorf("light: %s on %s has %.2f, needs %.1f", c.ink.name, on.name, got, c.least)
			}
			if got := contrast(c.ink.dark, on.dark); got < c.least {
				t.Errorf("dark: %s on %s has %.2f, needs %.1f", c.ink.name, on.name, got, c.least)
			}
		}
	}
}

// TestColoursApart: the three inks that carry meaning stay apart for readers
// with red-, green- or blue-blindness. The simulation is that of F. Viénot, H.
// Brettel and J. D. Mollon (1999), Color Research and Application 24, 243–252,
// for the first two; distances are CIE 1976 ΔE (a difference of 10 is plain to
// the eye; from memory).
func TestColoursApart(t *testing.T) {
	for _, dark := range []bool{false, true} {
		for kind, simulate := range map[string]func([3]float64) [3]float64{"normal": func(c [3]float64) [3]float64 { return c }, "protan": protan, "deutan": deutan} {
			inks := []ink{blue, green, red}
			for i := range inks {
				for j := range i {
					a, b := inks[i].light, inks[j].light
					if dark {
						a, b = inks[i].dark, inks[j].dark
					}
					if d := difference(simulate(linear(a)), simulate(linear(b))); d < 15 {
						t.Errorf("%s, dark %v: %s and %s differ by %.1f only", kind, dark, inks[i].name, inks[j].name, d)
					}
				}
			}
		}
	}
}

func linear(c color.NRGBA) [3]float64 {
	var out [3]float64
	for i, v := range []uint8{c.R, c.G, c.B} {
		out[i] = math.Pow(float64(v)/255, 2.2)
	}
	return out
}

type matrix [3][3]float64

func (m matrix) times(v [3]float64) (out [3]float64) {
	for i := range m {
		for j := range v {
			out[i] += m[i][j] * v[j]
		}
	}
	return out
}

// The matrices of the paper: linear RGB to cone responses and back, and the
// cones that each kind of reader lacks.
var (
	toCones   = matrix{{17.8824, 43.5161, 4.11935}, {3.45565, 27.1554, 3.86714}, {0.0299566, 0.184309, 1.46709}}
	fromCones = matrix{{0.0809444479, -0.130504409, 0.116721066}, {-0.0102485335, 0.0540193266, -0.113614708}, {-0.000365296938, -0.00412161469, 0.693511405}}
	noReds    = matrix{{0, 2.02344, -2.52581}, {0, 1, 0}, {0, 0, 1}}
	noGreens  = matrix{{1, 0, 0}, {0.494207, 0, 1.24827}, {0, 0, 1}}
)

func protan(c [3]float64) [3]float64 { return fromCones.times(noReds.times(toCones.times(c))) }

func deutan(c [3]float64) [3]float64 { return fromCones.times(noGreens.times(toCones.times(c))) }

// difference is ΔE in CIELAB under D65 of two linear sRGB colours.
func difference(a, b [3]float64) float64 {
	la, lb := lab(a), lab(b)
	return math.Sqrt(math.Pow(la[0]-lb[0], 2) + math.Pow(la[1]-lb[1], 2) + math.Pow(la[2]-lb[2], 2))
}

func lab(c [3]float64) [3]float64 {
	toXYZ := matrix{{0.4124, 0.3576, 0.1805}, {0.2126, 0.7152, 0.0722}, {0.0193, 0.1192, 0.9505}}
	xyz := toXYZ.times(c)
	f := func(v float64) float64 {
		if v > 216.0/24389 {
			return math.Cbrt(v)
		}
		return (24389.0/27*v + 16) / 116
	}
	x, y, z := f(xyz[0]/0.9505), f(xyz[1]), f(xyz[2]/1.089)
	return [3]float64{116*y - 16, 500 * (x - y), 200 * (y - z)}
}

// TestInlineColours: every ink comes through the SVG canvas unchanged, so that
// the page finds it and puts the style sheet's variable in its place.
func TestInlineColours(t *testing.T) {
	for _, c := range palette {
		canvas := vgsvg.New(10, 10)
		canvas.SetColor(c.light)
		canvas.Fill(vg.Rectangle{Max: vg.Point{X: 5, Y: 5}}.Path())
		var out strings.Builder
		if _, err := canvas.WriteTo(&out); err != nil {
			t.Fatal(err)
		}
		if got := inlined.Replace(out.String()); !strings.Contains(got, "fill:var(--"+c.name+")") {
			t.Errorf("%s does not become a variable: %s", c.name, got)
		}
	}
}
