package report

import (
	"bytes"
	"errors"
	"fmt"
	"runtime"

	"golang.org/x/sync/errgroup"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgsvg"
)

// A Figure is one figure in three forms that show the same.
type Figure struct {
	Name    string // of its files, without extension
	Title   string
	Caption string // a sentence or more: what is drawn and how to read it
	Alt     string // what a reader who cannot see the figure needs to know
	Width   vg.Length
	Height  vg.Length
	SVG     []byte // self-contained, with title and description
	PDF     []byte // fonts embedded
	PNG     []byte // 200 dots per inch
	inline  []byte // SVG for the page: colours by CSS variable
	brief   string // the caption on the page, where the figure stands among its words; else Caption
	part    string // what it is a figure of, on page and in print, beside its name: "sections-" and a book
}

// standsIn tells whether the figure belongs to a part of the page or of a chapter: the
// part that it names, or that which has its name.
func (f Figure) standsIn(part string) bool { return f.Name == part || f.part == part }

// onPage is the caption on the page.
func (f Figure) onPage() string {
	if f.brief != "" {
		return f.brief
	}
	return f.Caption
}

// A sketch is a figure not yet drawn: its words, its size, and how to draw it.
type sketch struct {
	Figure
	paint func(draw.Canvas)
	over  func(height vg.Length) string // for the page: what lies over the drawing once it is painted; nil for none
}

// dpi is the resolution of PNG figures.
const dpi = 200

// Figures draws every figure as SVG, PDF and PNG: for each book the wear chart,
// the sections' wear, its quires, the drop-off along each set of hours and the changes along
// the whole book; for each set of hours of several books the drop that they share;
// for each model its fixed effects; and the instruments' drift. They are drawn in
// parallel and are the same bytes on every run.
func (r *Results) Figures() ([]Figure, error) {
	return renderAll(r.sketches())
}

// renderAll draws sketches in parallel, in their order.
func renderAll(sketches []sketch) ([]Figure, error) {
	figures := make([]Figure, len(sketches))
	errs := make([]error, len(sketches))
	var drawings errgroup.Group
	drawings.SetLimit(runtime.GOMAXPROCS(0))
	for i, s := range sketches {
		drawings.Go(func() error {
			figures[i], errs[i] = s.render()
			return nil
		})
	}
	_ = drawings.Wait() // errors are told in the order of the figures
	if err := errors.Join(errs...); err != nil {
		return nil, err
	}
	return figures, nil
}

// sketches are the figures in their order, each marked where the data are
// invented, since a figure travels without its page.
func (r *Results) sketches() []sketch {
	return r.Meta.mark(r.plainSketches())
}

// mark marks sketches of invented data.
func (m Meta) mark(sketches []sketch) []sketch {
	if m.Invented {
		for i := range sketches {
			sketches[i] = sketches[i].marked("Invented data")
		}
	}
	return sketches
}

// marked adds a line of words at the figure's foot.
func (s sketch) marked(note string) sketch {
	const room = vg.Length(10)
	style := aligned(lettering(smallSize, quiet), draw.XRight, draw.YBottom)
	plain := s.paint
	s.Height += room
	s.paint = func(c draw.Canvas) {
		plain(draw.Crop(c, 0, 0, room, 0))
		write(c, style, vg.Point{X: c.Max.X - 8, Y: c.Min.Y + 3}, note)
	}
	return s
}

func (r *Results) plainSketches() []sketch {
	var out []sketch
	for i, b := range r.Books {
		if b.Profile == nil {
			continue
		}
		n := r.names(b.Book)
		out = append(out, wearChart(n, b, r.wearOf(i), r.stripPages(i)))
		if len(b.Profile.Areas) > 0 {
			out = append(out, areaChart(n, b))
		}
	}
	for i := range r.Books {
		out = append(out, r.quireCharts(i)...)
	}
	for _, b := range r.Books {
		for _, c := range b.Declines {
			if len(c.Series.Values) > 0 {
				out = append(out, dropoffChart(r.quotedName(b.Book), r.setFile(b.Book, c), c))
			}
		}
	}
	for _, s := range r.Shared {
		if s.Shared != nil {
			out = append(out, r.sharedChart(s))
		}
	}
	for i, b := range r.Books {
		if b.Habits != nil && b.Habits.Changes != nil {
			out = append(out, habitChart(r.names(b.Book), b, r.wearOf(i)))
		}
	}
	out = append(out, r.traceSketches()...)
	out = append(out, r.robustCharts()...)
	out = append(out, r.effectCharts()...)
	if r.Readings != nil && len(r.Readings.Drift) > 0 {
		out = append(out, driftChart(r.Readings.Drift))
	}
	if r.Readings != nil {
		for _, a := range r.Readings.Agreement {
			out = append(out, agreementChart(a))
		}
	}
	return out
}

// paintOnPaper draws the figure over a ground of its own, which bitmaps have
// from the start.
func (s sketch) paintOnPaper(on vg.Canvas) {
	c := draw.NewCanvas(steady{on}, s.Width, s.Height)
	fillRectangle(c, c.Min.X, c.Min.Y, c.Max.X, c.Max.Y, paper.light)
	s.paint(c)
}

// render draws the figure in its three forms.
func (s sketch) render() (Figure, error) {
	f := s.Figure
	vector := vgsvg.New(s.Width, s.Height)
	s.paintOnPaper(vector)
	var raw bytes.Buffer
	if _, err := vector.WriteTo(&raw); err != nil {
		return f, fmt.Errorf("figure %s as SVG: %w", s.Name, err)
	}
	var err error
	if f.SVG, err = standaloneSVG(raw.Bytes(), f); err != nil {
		return f, fmt.Errorf("figure %s as SVG: %w", s.Name, err)
	}
	f.inline = inlineSVG(raw.Bytes(), f)
	if s.over != nil {
		f.inline = bytes.Replace(f.inline, []byte("</svg>"), []byte(s.over(s.Height)+"</svg>"), 1)
	}

	page := newPDF(f)
	s.paintOnPaper(page)
	if f.PDF, err = page.bytes(); err != nil {
		return f, fmt.Errorf("figure %s as PDF: %w", s.Name, err)
	}

	raster := newBitmap(s.Width, s.Height)
	s.paint(draw.NewCanvas(steady{raster}, s.Width, s.Height))
	if f.PNG, err = raster.bytes(); err != nil {
		return f, fmt.Errorf("figure %s as PNG: %w", s.Name, err)
	}
	return f, nil
}
