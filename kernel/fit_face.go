package kernel

import (
	"strings"

	"thumbed/models/mixed"
	"thumbed/models/report"
	"thumbed/models/report/grid"
	"thumbed/models/wording"
)

// spreadDecimals is how many decimals a standard deviation of density needs.
const spreadDecimals = 4

func coefficientFaces(title string, effects []mixed.Coefficient) []Output {
	return []Output{tableOutput(report.ShowEffects(title, effects))}
}

func modeFaces(modes []mixed.RandomEffect) []Output {
	g := grid.Grid{Title: "How each group departs from the fixed effects", Empty: "The model has no random effects.",
		Heads: grid.Heads("Between", "Group", "What varies", "Departure#", "Conditional standard deviation#")}
	for _, m := range modes {
		g.AddTexts(strings.Join(m.By, " and "), m.Group, m.Term, wording.Fixed(m.Value, spreadDecimals), wording.Fixed(m.SD, spreadDecimals))
	}
	return []Output{tableOutput(g)}
}

// inferenceFaces shows what a fit says besides its effects.
func inferenceFaces(x mixed.Inferences) ([]Output, error) {
	return shownFaces(report.Shown{Said: x.Sentences(), Tables: report.InferenceTables("inference", &x, nil, nil)}, nil)
}
