package kernel

import (
	"strings"

	"thumbed/models/generalised"
	"thumbed/models/mixed"
	"thumbed/models/report"
	"thumbed/models/report/grid"
	"thumbed/models/wording"
)

// generalisedFaces shows a fitted model of grades, of yes or no or of counts: its
// effects, thresholds, what varies between groups, means and notes.
func generalisedFaces(f *generalised.Fit) ([]Output, error) {
	text, err := written(f.Text)
	if err != nil {
		return nil, err
	}
	head, _, _ := strings.Cut(text, "\n\n")
	html := paragraphs(strings.ReplaceAll(head, "\n", " ")) + linkGrid("Effects on the scale of the link", f.Fixed).Notebook()
	if len(f.Thresholds) > 0 {
		g := grid.Grid{Title: "Thresholds between grades", Heads: grid.Heads("Between", "Estimate#", "Standard error#")}
		for _, t := range f.Thresholds {
			places := wording.Decimals(t.SE)
			g.AddTexts(t.Below+" and "+t.Above, wording.Fixed(t.Estimate, places), wording.Fixed(t.SE, places))
		}
		html += g.Notebook()
	}
	if len(f.ZeroInflation) > 0 {
		html += linkGrid("Zeros besides: effects on the logit of their probability", f.ZeroInflation).Notebook()
	}
	if len(f.Random) > 0 {
		var correlated []string
		g := grid.Grid{Title: "What varies between groups (standard deviations on the scale of the link)", Heads: grid.Heads("Effect", "Varies between", "Groups#", "Standard deviation#")}
		for _, r := range f.Random {
			for k, term := range r.Terms {
				between := wording.Labels(nil).Groups(r.By)
				g.AddTexts(term, between, wording.Whole(r.Groups), wording.Fixed(r.SD[k], 3))
				for j, v := range r.Correlation[k][:k] {
					correlated = append(correlated, "Between "+between+", "+r.Terms[j]+" and "+term+" are correlated by "+wording.Fixed(v, 2)+".")
				}
			}
		}
		html += g.Notebook() + paragraphs(correlated...)
	}
	return []Output{{Plain: text, HTML: html + inferenceParts(&f.Inferences) + noteList(f.Notes)}}, nil
}

func linkGrid(caption string, effects []generalised.Coefficient) grid.Grid {
	g := grid.Grid{Title: caption, Empty: "There is none.", Heads: grid.Heads("Effect", "Estimate#", "95 % interval#", "Standard error#", "p#", "Method")}
	for _, c := range effects {
		places := wording.Decimals(c.SE)
		g.AddTexts(c.Term, wording.Fixed(c.Estimate, places), wording.Interval(c.Low, c.High, places), wording.Fixed(c.SE, places), wording.PValue(c.P), c.Way())
	}
	return g
}

// inferenceParts are the tables and sentences of what a fit tells besides its effects.
func inferenceParts(x *mixed.Inferences) string {
	html := ""
	for _, g := range report.InferenceTables("inference", x, nil) {
		html += g.Notebook()
	}
	return html + paragraphs(x.Sentences()...) + noteList(x.Diagnosed)
}
