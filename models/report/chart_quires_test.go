package report

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"image/png"
	"io"
	"strings"
	"testing"

	"thumbed/models/codex"
	"thumbed/models/readings"
)

func bookOf(t *testing.T, formula string) *codex.Book {
	t.Helper()
	b, err := codex.OfFormula("rowan-3", formula, codex.Hair)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// The drawing is well-formed, says in words what it shows, and has a bitmap.
func TestCollation(t *testing.T) {
	figures, err := Collation(bookOf(t, "ii 1–2⁸ 3⁸⁻¹ (wants 3) 4⁶⁺¹ (+1 leaf after 2) 5⁴ (1 and 4 are singletons) 6⁸ (8 cancelled) i"))
	if err != nil || len(figures) != 1 {
		t.Fatalf("%d figures, %v", len(figures), err)
	}
	f := figures[0]
	const words = "Quire by quire: in no quire, 2\u00a0leaves; quires 1 to 2, 8\u00a0leaves each; quire 3, 8\u00a0leaves (3 lost); quire 4, 7\u00a0leaves (3 a single leaf); quire 5, 4\u00a0leaves (1 a single leaf; 4 a single leaf); quire 6, 7\u00a0leaves (8 cut out when the book was made); in no quire, 1\u00a0leaf."
	if f.Alt != words || f.Title != "Quire structure of rowan-3" || f.Name != "quires-rowan-3" {
		t.Errorf("%q", f.Alt)
	}
	for decoder := xml.NewDecoder(bytes.NewReader(f.SVG)); ; {
		if _, err := decoder.Token(); err == io.EOF {
			break
		} else if err != nil {
			t.Fatal(err)
		}
	}
	for _, want := range []string{">cut out<", ">lost<", ">single leaf<", ">quire 6<", ">iii<"} {
		if !strings.Contains(string(f.SVG), want) {
			t.Errorf("the drawing has no %s", want)
		}
	}
	if picture, err := png.Decode(bytes.NewReader(f.PNG)); err != nil || picture.Bounds().Dx() < 800 {
		t.Errorf("%v", err)
	}
	if none, err := Collation(bookOf(t, "[4 leaves in no known quire]")); err != nil || none != nil {
		t.Errorf("%d figures of a book without quires, %v", len(none), err)
	}
}

// The halves of a sheet name each other, leaves cut out among them.
func TestQuireLines(t *testing.T) {
	b := bookOf(t, "1⁸ (3 cancelled; +1 leaf after 3)")
	d := newQuireDrawing(b, nil)
	mates := ""
	for _, line := range d.runs[0].lines {
		mates += fmt.Sprintf("%d/%d ", line.leaf, line.mate)
		if line.mate >= 0 && d.runs[0].lines[d.runs[0].lines[line.mate].mate] != line {
			t.Errorf("leaf %d: its other half has another", line.leaf)
		}
	}
	// The third place is the stub, the fourth the leaf put in.
	if mates != "0/8 1/7 -1/6 2/-1 3/5 4/4 5/2 6/1 7/0 " {
		t.Errorf("%s", mates)
	}
}

// A thick book has several figures, of which none is higher than a printed page,
// and every quire once.
func TestQuiresWrap(t *testing.T) {
	b := bookOf(t, "1–60⁸ 61¹² 62²⁰")
	d := newQuireDrawing(b, []readings.Wear{{Page: 900, Density: 0.4}, {Page: 3, Density: 0.1, Limit: readings.Below}})
	var names, quires []string
	for _, s := range d.sketches("the book", "hazel") {
		names = append(names, s.Name)
		if s.Height > mostQuiresHigh+60 {
			t.Errorf("%s is %v high", s.Name, s.Height)
		}
	}
	for _, part := range d.parts() {
		for _, run := range part.runs {
			quires = append(quires, run.label)
		}
	}
	if strings.Join(names, " ") != "quires-hazel quires2-hazel quires3-hazel" || len(quires) != 62 || quires[61] != "quire 62" {
		t.Errorf("%v, %d quires", names, len(quires))
	}
	last := d.sketches("the book", "hazel")[2]
	if !strings.Contains(last.Alt, "The most worn page is 451r, 0.400 density.") || !strings.Contains(last.Title, "part 3 of 3") {
		t.Errorf("%s: %s", last.Title, last.Alt)
	}
}

// The page and the chapter show the quires of every book that has some, measured
// or not.
func TestQuiresOnThePage(t *testing.T) {
	b := bookOf(t, "ii 1–3⁸ 4⁸⁻¹ (wants 3)")
	r := &Results{Meta: Meta{Title: "Unread"}, Books: []BookResult{{Book: b}}, Pages: codex.Features([]*codex.Book{b})}
	var out bytes.Buffer
	if err := r.Page(&out); err != nil {
		t.Fatal(err)
	}
	page := out.String()
	for _, want := range []string{`<details id="quires"`, `<summary>Quire structure</summary>`, `<figure id="figure-quires-rowan-3">`, "<p>Collation: ii 1–3⁸ 4⁸⁻¹ (wants 3).</p>"} {
		if !strings.Contains(page, want) {
			t.Errorf("the page has no %s", want)
		}
	}
	if strings.Contains(page, `href="#"`) {
		t.Error("a link leads nowhere")
	}
	printed := ""
	for _, section := range r.Printed() {
		if section.ID == "quires" {
			printed = section.Parts[0].Figures[0].Name
		}
	}
	if printed != "quires-rowan-3" {
		t.Errorf("the chapter prints %q", printed)
	}
	r.Pages = nil
	if figures, err := r.Figures(); err != nil || len(figures) != 0 {
		t.Errorf("%d figures of one aspect, %v", len(figures), err)
	}
}
