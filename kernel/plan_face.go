package kernel

import (
	"thumbed/models/report"
	"thumbed/models/report/grid"
	"thumbed/models/study/plan"
	"thumbed/models/wording"
)

// planFaces shows what a plan says, its curves, and the designs tried.
func planFaces(p *report.Plan) ([]Output, error) {
	r := p.Result
	text, err := written(r.Text)
	if err != nil {
		return nil, err
	}
	g := grid.Grid{Title: "The designs", Empty: "No design was tried.", Heads: grid.Heads("Books", "Pages#", "Placings#", "Power#", "False claims#", "Width#", "Nine of ten#", "Touches#", "Hours#", "Aim")}
	for _, t := range r.Designs {
		decimals := wording.Decimals(t.Width)
		g.AddTexts(wording.Whole(t.Books), wording.Whole(t.Pages), wording.Whole(t.Design.Placings), wording.PercentEstimate(t.Power.Value, t.Power.Low, t.Power.High),
			wording.PercentEstimate(t.False.Value, t.False.Low, t.False.High), wording.Fixed(t.Width, decimals), wording.Fixed(t.WidthNinety, decimals), wording.Fixed(t.Placings, 0), wording.Fixed(t.Hours, 1), t.Reaches)
	}
	out := []Output{{Plain: text, HTML: paragraphs(append([]string{r.Question.Words}, r.Sentences...)...) + g.Notebook() + noteList(append(r.Notes, p.Sources...))}}
	figures, err := figureFaces(p.Figures())
	return append(out, figures...), err
}

// orderFaces shows how an order of placings stands to the order of each book.
func orderFaces(o *plan.Order) []Output {
	g := grid.Grid{Title: "The books", Empty: "No book is measured.", Heads: grid.Heads("Book", "Pages#", "Openings#", "Turns#", "Days#", "Correlation of the order of placings with")}
	for _, b := range o.Books {
		g.AddTexts(b.ID, wording.Whole(b.Pages), wording.Whole(b.Openings), wording.Whole(b.Turns), wording.Whole(b.Days), b.Correlated())
	}
	return []Output{{Plain: o.Text(), HTML: g.Notebook() + noteList(o.Notes)}}
}
