package kernel

import (
	"io"

	"thumbed/models/codex"
	"thumbed/models/profile"
	"thumbed/models/readings"
	"thumbed/models/report"
	"thumbed/models/study"
	"thumbed/models/wording"
)

// measuringFaces shows what the log says of the measuring, and the wear of
// every page.
func measuringFaces(s *study.Study, r *readings.Result) ([]Output, error) {
	text := r.Text()
	out := []Output{{Plain: text, HTML: paragraphs(text)}}
	drift, err := figureFaces(&report.Results{Readings: r})
	if err != nil {
		return nil, err
	}
	out = append(out, drift...)
	return append(out, wearFaces(s, r.Wear)...), nil
}

// wearFaces shows the wear of pages, as many tables as there are books.
func wearFaces(s *study.Study, wear []readings.Wear) []Output {
	var out []Output
	for i, b := range s.Books {
		g := grid{caption: "Wear of the pages of " + b.ID + " (density)", none: "No page was measured.",
			heads: heads("Page", "What is on it", "Wear#", "95 % interval#", "Standard error#", "Placings#", "Area coverage#")}
		for _, w := range wear {
			if w.Book == i {
				g.add(wearRow(b, w)...)
			}
		}
		if len(g.rows) > 0 {
			out = append(out, Output{Plain: g.plain(), HTML: g.html()})
		}
	}
	return out
}

func wearRow(b *codex.Book, w readings.Wear) []string {
	value := wording.Density(w.Density)
	low, high := w.Interval(0.95)
	interval := wording.Interval(low, high, 3)
	switch w.Limit {
	case readings.Below:
		value, interval = "at most "+value, ""
	case readings.Above:
		value, interval = "at least "+value, ""
	}
	return []string{b.Pages[w.Page].Label.String(), pageContent(b, w.Page), value, interval,
		wording.Fixed(w.SE, 4), wording.Whole(w.Placings), wording.Percent(w.Coverage)}
}

func pageContent(b *codex.Book, page int) string {
	p := b.Pages[page]
	switch {
	case p.Subject != "":
		return p.Subject
	case p.Picture:
		return "a picture"
	case p.Section >= 0:
		return b.Sections[p.Section].Name
	}
	return ""
}

// profileFaces shows the profile of a book: its texts by wear, the pages that
// stand out, and the wear along the book.
func profileFaces(s *study.Study, p *profile.Profile) ([]Output, error) {
	b := s.Books[p.Book]
	text, err := written(func(w io.Writer) error { return p.Text(w, b) })
	if err != nil {
		return nil, err
	}
	out := []Output{{Plain: text, HTML: areaGrid(b, p).html() + standoutGrid(b, p).html() + noteList(p.Notes)}}
	wear, err := s.Wear()
	if err != nil {
		return nil, err
	}
	results := &report.Results{Books: make([]report.BookResult, len(s.Books)), Readings: withoutDrift(wear)}
	for i := range s.Books {
		results.Books[i].Book = s.Books[i]
	}
	results.Books[p.Book].Profile = p
	figures, err := figureFaces(results)
	return append(figures, out...), err
}

// withoutDrift is the wear alone, for figures that tell nothing of instruments.
func withoutDrift(r *readings.Result) *readings.Result {
	wear := *r
	wear.Drift = nil
	return &wear
}

func areaGrid(b *codex.Book, p *profile.Profile) grid {
	g := grid{caption: "Wear of the texts of " + b.ID + " (density)", none: "No text of this book was measured.",
		heads: heads("Text", "Extent", "Pages measured#", "Wear per page#", "95 % interval#", "Wear in all#", "95 % interval#")}
	for _, a := range p.Areas {
		text := b.Sections[a.Section]
		g.add(text.Name, text.Extent.Written, wording.Whole(a.Measured), wording.Density(a.PerPage), wording.Interval(a.PerPageLow, a.PerPageHigh, 3),
			wording.Fixed(a.Total, 2), wording.Interval(a.TotalLow, a.TotalHigh, 2))
	}
	return g
}

func standoutGrid(b *codex.Book, p *profile.Profile) grid {
	g := grid{caption: "Pages of " + b.ID + " that stand above their own text (density), at a false-discovery rate of " + wording.Percent(p.Rate), none: "No page stands out.",
		heads: heads("Page", "What is on it", "Above by#", "95 % interval#", "p, adjusted#")}
	for _, o := range p.Standouts {
		g.add(b.Pages[o.Page].Label.String(), pageContent(b, o.Page), wording.Density(o.Excess), wording.Interval(o.Low, o.High, 3), wording.PValue(o.Q))
	}
	return g
}
