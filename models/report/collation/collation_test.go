package collation_test

import (
	"bytes"
	"encoding/xml"
	"image/png"
	"io"
	"os"
	"strings"
	"testing"

	"thumbed/models/report/collation"
)

// The drawing is well-formed, says in words what it shows, and has a bitmap of
// the same shape.
func TestDraw(t *testing.T) {
	b, err := collation.OfFormula("rowan-3", "ii 1⁸ 2⁸⁻¹ (wants 3) 3⁶⁺¹ (+1 leaf after 2) 4⁴ (1 and 4 are singletons) i", "hair")
	if err != nil {
		t.Fatal(err)
	}
	d, err := collation.Draw(b)
	if err != nil {
		t.Fatal(err)
	}
	const words = "Quire by quire: in no quire, 2\u00a0leaves; quire 1, 8\u00a0leaves; quire 2, 8\u00a0leaves (3 lost); quire 3, 7\u00a0leaves (3 a half-sheet or added leaf); quire 4, 4\u00a0leaves (1 a half-sheet or added leaf; 4 a half-sheet or added leaf); in no quire, 1\u00a0leaf."
	if d.Words != words || d.Title != "How the leaves of rowan-3 hang together" {
		t.Errorf("%q", d.Words)
	}
	for decoder := xml.NewDecoder(bytes.NewReader(d.SVG)); ; {
		if _, err := decoder.Token(); err == io.EOF {
			break
		} else if err != nil {
			t.Fatal(err)
		}
	}
	if !strings.Contains(string(d.SVG), "<title>"+d.Title) || strings.Contains(string(d.SVG), "http-equiv") {
		t.Error("the drawing has no title")
	}
	picture, err := png.Decode(bytes.NewReader(d.PNG))
	if err != nil || picture.Bounds().Dx() < 800 {
		t.Errorf("%v", err)
	}
	if dir := os.Getenv("THUMBED_SHOW"); dir != "" {
		if err := os.WriteFile(dir+"/collation.png", d.PNG, 0o600); err != nil {
			t.Fatal(err)
		}
	}
}

func TestOfFormulaBroken(t *testing.T) {
	for text, want := range map[string]string{"": "expected a collation formula", "1⁸ 1⁸": "quire 1 stands twice", "quaternions": "expected a collation formula"} {
		if _, err := collation.OfFormula("x", text, ""); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v", text, err)
		}
	}
	if b, err := collation.OfFormula("x", "1⁸", "skin"); err == nil {
		t.Errorf("%v", b)
	}
}
