package report

import (
	"bytes"
	"compress/zlib"
	"encoding/xml"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"io"
	"math"
	"os"
	"regexp"
	"runtime"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"pgregory.net/rapid"

	"thumbed/models/codex"
	"thumbed/models/profile"
	"thumbed/models/readings"
)

// TestLook writes the fixture's faces to the folder THUMBED_LOOK, to be looked
// at.
func TestLook(t *testing.T) {
	dir := os.Getenv("THUMBED_LOOK")
	if dir == "" {
		t.Skip("set THUMBED_LOOK to an empty folder to see the fixture's page and figures")
	}
	r := fixture(t)
	if err := r.Write(dir); err != nil {
		t.Fatal(err)
	}
}

func figuresOf(t testing.TB, r *Results) []Figure {
	t.Helper()
	figures, err := r.Figures()
	if err != nil {
		t.Fatal(err)
	}
	return figures
}

// TestFiguresOnAnyNumberOfCores: the figures are the same bytes, in the same
// order, drawn by one worker or by many.
func TestFiguresOnAnyNumberOfCores(t *testing.T) {
	r := fixture(t)
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	one := figuresOf(t, r)
	runtime.GOMAXPROCS(4)
	many := figuresOf(t, r)
	if len(one) != 11 || len(many) != 11 {
		t.Fatalf("%d and %d figures", len(one), len(many))
	}
	for i := range one {
		if one[i].Name != many[i].Name || !bytes.Equal(one[i].SVG, many[i].SVG) || !bytes.Equal(one[i].PDF, many[i].PDF) || !bytes.Equal(one[i].PNG, many[i].PNG) {
			t.Errorf("%s is not the same on one core and on many", one[i].Name)
		}
	}
}

func TestFigureForms(t *testing.T) {
	for _, f := range fixtureFigures(t) {
		t.Run(f.Name, func(t *testing.T) {
			if f.Title == "" || f.Caption == "" || f.Alt == "" {
				t.Error("a word is missing: title, caption or alternative")
			}
			checkSVG(t, f)
			checkPDF(t, f)
			checkPNG(t, f)
		})
	}
}

func checkSVG(t *testing.T, f Figure) {
	decoder := xml.NewDecoder(bytes.NewReader(f.SVG))
	words := map[string]string{}
	inside := ""
	for {
		token, err := decoder.Token()
		if err == io.EOF {
			break
		}
		if err != nil {
			t.Fatalf("not well-formed: %v", err)
		}
		switch token := token.(type) {
		case xml.StartElement:
			inside = token.Name.Local
		case xml.CharData:
			words[inside] += string(token)
		}
	}
	if !strings.Contains(words["title"], f.Title) || !strings.Contains(words["desc"], f.Alt) {
		t.Error("the SVG does not bear its title and description")
	}
	if strings.Contains(string(f.inline), "#") {
		t.Errorf("the page's chart has a colour of its own: %s", regexp.MustCompile(`.{20}#.{10}`).FindString(string(f.inline)))
	}
}

// streams are the PDF's compressed parts in plain.
func streams(data []byte) string {
	var out strings.Builder
	for _, m := range regexp.MustCompile(`(?s)stream\r?\n(.*?)\r?\nendstream`).FindAllSubmatch(data, -1) {
		reader, err := zlib.NewReader(bytes.NewReader(m[1]))
		if err != nil {
			continue
		}
		plain, err := io.ReadAll(reader)
		if err == nil {
			out.Write(plain)
		}
	}
	return out.String()
}

// checkPDF: one page of the figure's size, its typefaces embedded (ISO 32000-1,
// 9.9: FontFile2 holds a TrueType program) and no date but the fixed one.
func checkPDF(t *testing.T, f Figure) {
	if !bytes.HasPrefix(f.PDF, []byte("%PDF-")) || !bytes.HasSuffix(bytes.TrimSpace(f.PDF), []byte("%%EOF")) {
		t.Fatal("not a PDF")
	}
	fonts := bytes.Count(f.PDF, []byte("/Type /FontDescriptor"))
	if embedded := bytes.Count(f.PDF, []byte("/FontFile2")); fonts == 0 || embedded != fonts {
		t.Errorf("%d of %d typefaces are embedded", embedded, fonts)
	}
	for _, date := range regexp.MustCompile(`D:\d{4}`).FindAll(f.PDF, -1) {
		if string(date) != "D:1970" {
			t.Errorf("the PDF bears a date: %s", date)
		}
	}
	box := fmt.Sprintf("/MediaBox [0 0 %.2f %.2f]", f.Width.Points(), f.Height.Points())
	if !bytes.Contains(f.PDF, []byte(box)) {
		t.Errorf("the PDF's page is not %s", box)
	}
	if content := streams(f.PDF); !strings.Contains(content, " re") && !strings.Contains(content, " l\n") {
		t.Error("nothing is drawn in the PDF")
	}
}

func checkPNG(t *testing.T, f Figure) {
	picture, err := png.Decode(bytes.NewReader(f.PNG))
	if err != nil {
		t.Fatal(err)
	}
	width, height := f.Width.Dots(dpi), f.Height.Dots(dpi)
	if size := picture.Bounds().Size(); math.Abs(float64(size.X)-width) > 1 || math.Abs(float64(size.Y)-height) > 1 {
		t.Errorf("the PNG is %v, want %.0f × %.0f", size, width, height)
	}
	corner := color.NRGBAModel.Convert(picture.At(0, 0)).(color.NRGBA)
	if corner != paper.light {
		t.Errorf("the PNG's ground is %v", corner)
	}
}

// A textCanvas notes the room of every text drawn on it, turned as it is.
type textCanvas struct {
	width, height vg.Length
	state         affine
	saved         []affine
	texts         []placedText
}

type affine struct{ a, b, c, d, x, y float64 } // (u, v) goes to (a·u + c·v + x, b·u + d·v + y)

func (m affine) at(u, v float64) point { return point{m.a*u + m.c*v + m.x, m.b*u + m.d*v + m.y} }

type placedText struct {
	text    string
	corners [4]point
}

func newTextCanvas(width, height vg.Length) *textCanvas {
	return &textCanvas{width: width, height: height, state: affine{a: 1, d: 1}}
}

func (c *textCanvas) SetLineWidth(vg.Length)              {}
func (c *textCanvas) SetLineDash([]vg.Length, vg.Length)  {}
func (c *textCanvas) SetColor(color.Color)                {}
func (c *textCanvas) Stroke(vg.Path)                      {}
func (c *textCanvas) Fill(vg.Path)                        {}
func (c *textCanvas) DrawImage(vg.Rectangle, image.Image) {}
func (c *textCanvas) Size() (width, height vg.Length)     { return c.width, c.height }
func (c *textCanvas) Push()                               { c.saved = append(c.saved, c.state) }
func (c *textCanvas) Pop()                                { c.state, c.saved = c.saved[len(c.saved)-1], c.saved[:len(c.saved)-1] }
func (c *textCanvas) Translate(p vg.Point) {
	at := c.state.at(float64(p.X), float64(p.Y))
	c.state.x, c.state.y = at.x, at.y
}

func (c *textCanvas) Scale(x, y float64) {
	c.state.a, c.state.b, c.state.c, c.state.d = c.state.a*x, c.state.b*x, c.state.c*y, c.state.d*y
}

func (c *textCanvas) Rotate(radians float64) {
	sin, cos := math.Sincos(radians)
	s := c.state
	c.state.a, c.state.b = s.a*cos+s.c*sin, s.b*cos+s.d*sin
	c.state.c, c.state.d = s.c*cos-s.a*sin, s.d*cos-s.b*sin
}

func (c *textCanvas) FillString(face font.Face, at vg.Point, text string) {
	const capitals = 0.72 // the height of capitals in Liberation Sans, of its size
	u, v := float64(at.X), float64(at.Y)
	w, h := float64(face.Width(text)), capitals*float64(face.Font.Size)
	c.texts = append(c.texts, placedText{text, [4]point{c.state.at(u, v), c.state.at(u+w, v), c.state.at(u+w, v+h), c.state.at(u, v+h)}})
}

// meets tells whether two turned boxes share more than a sliver, by the
// separating axis theorem: they do not where some side's direction parts them.
func (a placedText) meets(b placedText) bool {
	const sliver = 0.3 // points
	for _, box := range []placedText{a, b} {
		for i := range 2 {
			from, to := box.corners[i], box.corners[i+1]
			length := math.Hypot(to.x-from.x, to.y-from.y)
			if length == 0 {
				return false
			}
			nx, ny := (to.x-from.x)/length, (to.y-from.y)/length
			lowA, highA := a.shadow(nx, ny)
			lowB, highB := b.shadow(nx, ny)
			if highA < lowB+sliver || highB < lowA+sliver {
				return false
			}
		}
	}
	return true
}

func (a placedText) shadow(nx, ny float64) (low, high float64) {
	low, high = math.Inf(1), math.Inf(-1)
	for _, p := range a.corners {
		at := p.x*nx + p.y*ny
		low, high = min(low, at), max(high, at)
	}
	return low, high
}

// checkTexts: every text lies inside the figure and none lies over another.
func checkTexts(t interface {
	Errorf(string, ...any)
}, s sketch) int {
	c := newTextCanvas(s.Width, s.Height)
	s.paint(draw.NewCanvas(c, s.Width, s.Height))
	for i, a := range c.texts {
		for _, p := range a.corners {
			if p.x < 0 || p.y < 0 || p.x > float64(s.Width) || p.y > float64(s.Height) {
				t.Errorf("%s: %q reaches out of the figure, to %.1f, %.1f of %.1f, %.1f", s.Name, a.text, p.x, p.y, s.Width, s.Height)
				break
			}
		}
		for _, b := range c.texts[:i] {
			if a.meets(b) {
				t.Errorf("%s: %q lies over %q", s.Name, a.text, b.text)
			}
		}
	}
	return len(c.texts)
}

// TestTextCanvas holds the test's own canvas to a turned box that can be told by
// hand.
func TestTextCanvas(t *testing.T) {
	c := newTextCanvas(100, 100)
	c.Push()
	c.Translate(vg.Point{X: 50, Y: 10})
	c.Rotate(math.Pi / 2)
	write(draw.NewCanvas(c, 100, 100), aligned(lettering(10, text), draw.XLeft, draw.YBottom), vg.Point{}, "MM")
	c.Pop()
	got := c.texts[0].corners
	width := 2 * 0.833 * 10.0 // the advance of M is 1706 of 2048 units
	if math.Abs(got[1].y-got[0].y-width) > 0.01 || math.Abs(got[1].x-got[0].x) > 1e-9 || got[2].x >= got[1].x {
		t.Errorf("a turned text lies at %v", got)
	}
}

// TestLabelsAreLegible: on every figure of the fixture no label leaves the
// figure or lies over another.
func TestLabelsAreLegible(t *testing.T) {
	seen := 0
	for _, s := range fixture(t).sketches() {
		seen += checkTexts(t, s)
	}
	if seen < 200 {
		t.Errorf("only %d labels were looked at", seen)
	}
}

// TestSectionNamesNeverMeet: the same for the names above the wear chart of any
// book: many or few sections, wide or narrow, with sets of hours or without.
func TestSectionNamesNeverMeet(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := &codex.Book{ID: "X"}
		pages := rapid.IntRange(4, 400).Draw(t, "pages")
		section := -1
		for p := range pages {
			if p == 0 || rapid.IntRange(0, 9).Draw(t, "new") == 0 {
				s := codex.Section{Name: rapid.StringMatching(`[A-Z][a-z]{2,9}( [a-z]{3,9}){0,3}`).Draw(t, "name"), Kind: rapid.SampledFrom([]string{"prayer", "suffrage", "hours"}).Draw(t, "kind")}
				if s.Kind == "hours" {
					s.Set = rapid.SampledFrom([]string{"of the Virgin", "of the Cross", "of the Holy Spirit"}).Draw(t, "set")
					s.Office = codex.Office(rapid.IntRange(1, 8).Draw(t, "office"))
				}
				b.Sections = append(b.Sections, s)
				section++
			}
			side := codex.Side(p % 2)
			b.Pages = append(b.Pages, codex.Page{Label: codex.PageLabel{Folio: codex.Folio{Number: p/2 + 1}, Side: side}, Position: p + 1, Section: section})
		}
		s := newStrip(b, figureWidth-60)
		height := s.labelHeight + s.bracketHeight + 100
		checkTexts(t, sketch{Figure: Figure{Name: "strip", Width: figureWidth, Height: height}, paint: func(c draw.Canvas) {
			const left, right = 40, 8
			x := func(v float64) vg.Length {
				return left + vg.Length((v-0.5)/float64(pages))*(figureWidth-left-right)
			}
			s.labels(c, x, height-s.labelHeight, left, figureWidth-right)
			s.brackets(c, x, s.bracketHeight+2)
		}})
	})
}

// TestInventedDataAreMarked: a figure of invented data says so in itself, and
// one of real data does not.
func TestInventedDataAreMarked(t *testing.T) {
	r := fixture(t)
	for _, invented := range []bool{true, false} {
		r.Meta.Invented = invented
		for _, s := range r.sketches() {
			c := newTextCanvas(s.Width, s.Height)
			s.paint(draw.NewCanvas(c, s.Width, s.Height))
			marked := slices.ContainsFunc(c.texts, func(p placedText) bool { return p.text == "Invented data" })
			if marked != invented {
				t.Errorf("%s: marked %v where the data are invented: %v", s.Name, marked, invented)
			}
		}
	}
}

// TestWearCurveSaysWhoseLevelItIs: that of text pages in a book that tells what a
// picture adds, that of all pages in another.
func TestWearCurveSaysWhoseLevelItIs(t *testing.T) {
	r := fixture(t)
	for i, c := range []struct{ says, silent []string }{
		{[]string{"the level that neighbouring text pages share,", "a picture adds 0.140 density (standard error 0.008)"}, nil},
		{[]string{"the level that neighbouring pages share,"}, []string{"picture adds", "text pages share"}},
	} {
		d := newWearDrawing(r.Books[i], r.wearOf(i))
		caption, legend := d.caption("the book"), ""
		for _, e := range d.legend() {
			legend += e.text + "; "
		}
		if ofText := strings.Contains(legend, "level of text pages"); ofText != (i == 0) || strings.Contains(legend, "shared level") == ofText {
			t.Errorf("book %d: the legend says %q", i, legend)
		}
		for _, part := range c.says {
			if !strings.Contains(caption, part) {
				t.Errorf("book %d: %q is not in %q", i, part, caption)
			}
		}
		for _, part := range c.silent {
			if strings.Contains(caption, part) {
				t.Errorf("book %d: %q is in %q", i, part, caption)
			}
		}
	}
}

func TestRoundStep(t *testing.T) {
	for _, c := range []struct {
		wanted, step float64
		decimals     int
	}{{0.03, 0.05, 2}, {0.05, 0.05, 2}, {0.06, 0.1, 1}, {1.2, 2, 0}, {70, 100, 0}, {0.0011, 0.002, 3}} {
		step, decimals := roundStep(c.wanted)
		if math.Abs(step-c.step) > 1e-12 || decimals != c.decimals {
			t.Errorf("roundStep(%v) = %v, %d; want %v, %d", c.wanted, step, decimals, c.step, c.decimals)
		}
	}
	for _, none := range []float64{0, -1, math.NaN(), math.Inf(1)} {
		if step, _ := roundStep(none); step != 0 {
			t.Errorf("roundStep(%v) = %v", none, step)
		}
	}
}

// TestChartsOfAnyStudy: whatever the numbers, few, many, missing, without bound
// or all alike, every chart is drawn and its labels can be read.
func TestChartsOfAnyStudy(t *testing.T) {
	base := fixture(t)
	value := rapid.OneOf(rapid.Float64Range(-0.1, 2.5), rapid.Just(0.0), rapid.Just(0.2))
	odd := rapid.OneOf(value, value, rapid.Just(math.NaN()), rapid.Just(math.Inf(1)), rapid.Just(math.Inf(-1)))
	rapid.Check(t, func(t *rapid.T) {
		r := *base
		books := rapid.IntRange(1, 2).Draw(t, "books")
		r.Books = nil
		log := *base.Readings
		log.Wear = nil
		for i := range books {
			book := base.Books[i]
			p := *book.Profile
			p.Standouts, p.Areas = nil, nil
			for page := range book.Book.Pages {
				if book.Book.Pages[page].Lost || !rapid.Bool().Draw(t, "measured") {
					continue
				}
				limit := rapid.SampledFrom([]readings.Limit{readings.Measured, readings.Measured, readings.Below, readings.Above}).Draw(t, "limit")
				log.Wear = append(log.Wear, readings.Wear{Book: i, Page: page, Density: value.Draw(t, "wear"), SE: odd.Draw(t, "se"), Limit: limit})
				if rapid.IntRange(0, 3).Draw(t, "stands out") == 0 {
					p.Standouts = append(p.Standouts, profile.Standout{Page: page, Excess: odd.Draw(t, "excess")})
				}
			}
			for k := range book.Book.Sections {
				p.Areas = append(p.Areas, profile.Area{Section: k, Pages: 3, Measured: 2, PerPage: odd.Draw(t, "per page"), PerPageLow: odd.Draw(t, "low"), PerPageHigh: odd.Draw(t, "high")})
			}
			book.Profile = &p
			r.Books = append(r.Books, book)
		}
		r.Readings = &log
		var models []ModelResult
		for _, m := range base.Models {
			if m.Fit != nil {
				fit := *m.Fit
				fit.Fixed = nil
				for _, c := range m.Fit.Fixed {
					c.Estimate, c.Low, c.High, c.SE = odd.Draw(t, "estimate"), odd.Draw(t, "low"), odd.Draw(t, "high"), odd.Draw(t, "se")
					fit.Fixed = append(fit.Fixed, c)
				}
				m.Fit = &fit
			}
			models = append(models, m)
		}
		r.Models = models
		r.Shared = nil
		if books == 2 {
			r.Shared = []SharedDrop{anyShared(t, base.Shared[0], odd)}
		}
		for _, s := range r.sketches() {
			checkTexts(t, s)
		}
	})
}

// anyShared is a shared drop of the books given with any numbers.
func anyShared(t *rapid.T, like SharedDrop, odd *rapid.Generator[float64]) SharedDrop {
	shared := *like.Shared
	shared.Books, shared.Left = nil, nil
	for k := range rapid.IntRange(0, 40).Draw(t, "books that share") {
		drop := like.Shared.Books[k%2]
		drop.Drop, drop.Low, drop.High, drop.Has = odd.Draw(t, "drop"), odd.Draw(t, "low"), odd.Draw(t, "high"), rapid.Bool().Draw(t, "has")
		if rapid.IntRange(0, 4).Draw(t, "refused") == 0 {
			drop.Refused = "the offices up to Sext are hardly worn"
		}
		shared.Books = append(shared.Books, drop)
	}
	like.Shared = &shared
	return like
}

// TestHalfWayIsWrittenOnce: a place half way between two that can be written, and what
// last bits make of it, is written the same.
func TestHalfWayIsWrittenOnce(t *testing.T) {
	for _, v := range []vg.Length{138.925, 0.5 / 1024, 202.66250000000002, -3.125} {
		at := onGrid(v)
		for _, bits := range []vg.Length{-1e-12, 1e-12, 4e-14} {
			if got := onGrid(v + bits); got != at {
				t.Errorf("%v is written %v and %v more of it %v", v, at, bits, got)
			}
		}
		if math.Abs(float64(at-v)) > 0.5001/1024 {
			t.Errorf("%v is written %v", v, at)
		}
	}
}
