package kernel

import (
	"math"
	"strings"

	"thumbed/models/mixed"
	"thumbed/models/report"
	"thumbed/models/wording"
)

// fitFaces shows a fitted model: its effects with their intervals drawn, what
// varies between groups, and its notes.
func fitFaces(f *mixed.Fit) ([]Output, error) {
	text, err := written(f.Text)
	if err != nil {
		return nil, err
	}
	head, _, _ := strings.Cut(text, "\n")
	out := []Output{{Plain: text, HTML: paragraphs(head) + effectGrid("Fixed effects", f.Fixed).html() + randomGrid(f).html() + noteList(f.Notes)}}
	figures, err := figureFaces(&report.Results{Models: []report.ModelResult{{Name: "effects", Model: mixed.Model{Outcome: "the outcome"}, Fit: f}}})
	return append(out, figures...), err
}

func effectGrid(caption string, effects []mixed.Coefficient) grid {
	g := grid{caption: caption, none: "There is none.",
		heads: heads("Effect", "Estimate#", "95 % interval#", "Standard error#", "Degrees of freedom#", "t#", "p#")}
	for _, c := range effects {
		decimals := wording.Decimals(c.SE)
		g.add(c.Term, wording.Fixed(c.Estimate, decimals), wording.Interval(c.Low, c.High, decimals), wording.Fixed(c.SE, decimals),
			wording.DF(c.DF), wording.Fixed(c.T, 2), wording.PValue(c.P))
	}
	return g
}

// spreadDecimals is how many decimals a standard deviation of density needs.
const spreadDecimals = 4

func randomGrid(f *mixed.Fit) grid {
	g := grid{caption: "What varies between groups, and what is left (standard deviations)",
		heads: heads("Between", "What varies", "Groups#", "Standard deviation#", "Correlation with those above#")}
	for _, r := range f.Random {
		for k, term := range r.Terms {
			var with []string
			if r.Correlation != nil {
				for _, v := range r.Correlation[k][:k] {
					with = append(with, wording.Fixed(v, 2))
				}
			}
			g.add(strings.Join(r.By, " and "), term, wording.Whole(r.Groups), wording.Fixed(r.SD[k], spreadDecimals), strings.Join(with, ", "))
		}
	}
	rho := ""
	if r := f.Residual.Rho; r != 0 && !math.IsNaN(r) {
		rho = "with its neighbour " + wording.Fixed(r, 2)
	}
	g.add("rows", "what is left", wording.Whole(f.N), wording.Fixed(f.Residual.SD, spreadDecimals), rho)
	return g
}

func coefficientFaces(caption string, effects []mixed.Coefficient) []Output {
	g := effectGrid(caption, effects)
	return []Output{{Plain: g.plain(), HTML: g.html()}}
}

func modeFaces(modes []mixed.RandomEffect) []Output {
	g := grid{caption: "How each group departs from the fixed effects", none: "The model has no random effects.",
		heads: heads("Between", "Group", "What varies", "Departure#", "Conditional standard deviation#")}
	for _, m := range modes {
		g.add(strings.Join(m.By, " and "), m.Group, m.Term, wording.Fixed(m.Value, spreadDecimals), wording.Fixed(m.SD, spreadDecimals))
	}
	return []Output{{Plain: g.plain(), HTML: g.html()}}
}
