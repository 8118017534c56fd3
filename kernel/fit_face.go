package kernel

import (
	"math"
	"strings"

	"thumbed/models/mixed"
	"thumbed/models/report"
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
		decimals := report.Decimals(c.SE)
		g.add(c.Term, report.Fixed(c.Estimate, decimals), report.Interval(c.Low, c.High, decimals), report.Fixed(c.SE, decimals),
			report.DF(c.DF), report.Fixed(c.T, 2), report.PValue(c.P))
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
					with = append(with, report.Fixed(v, 2))
				}
			}
			g.add(strings.Join(r.By, " and "), term, report.Whole(r.Groups), report.Fixed(r.SD[k], spreadDecimals), strings.Join(with, ", "))
		}
	}
	rho := ""
	if r := f.Residual.Rho; r != 0 && !math.IsNaN(r) {
		rho = "with its neighbour " + report.Fixed(r, 2)
	}
	g.add("rows", "what is left", report.Whole(f.N), report.Fixed(f.Residual.SD, spreadDecimals), rho)
	return g
}

func coefficientFaces(caption string, effects []mixed.Coefficient) []Output {
	g := effectGrid(caption, effects)
	return []Output{{Plain: g.plain(), HTML: g.html()}}
}

func modeFaces(modes []mixed.Mode) []Output {
	g := grid{caption: "How each group departs from the fixed effects", none: "The model has no random effects.",
		heads: heads("Between", "Group", "What varies", "Departure#", "Conditional standard deviation#")}
	for _, m := range modes {
		g.add(strings.Join(m.By, " and "), m.Group, m.Term, report.Fixed(m.Value, spreadDecimals), report.Fixed(m.SD, spreadDecimals))
	}
	return []Output{{Plain: g.plain(), HTML: g.html()}}
}
