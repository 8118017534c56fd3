package report

import (
	"fmt"
	"slices"

	"thumbed/models/mixed"
	"thumbed/models/report/grid"
	"thumbed/models/wording"
)

// fitNotes are what must be known of a fit, and what it was asked for that is said in
// sentences.
func fitNotes(x *mixed.Inferences) []string {
	return wording.TypesetAll(slices.Concat(x.Sentences(), x.Diagnosed, x.Notes))
}

// InferenceTables are what a model asks of its fit besides its effects, where these
// are tables, in the words of its labels and levels; name begins their places on a
// page.
func InferenceTables(name string, x *mixed.Inferences, labels wording.Labels, levels map[string][]string) []grid.Grid {
	var out []grid.Grid
	for k, l := range x.Listings(labels, levels) {
		g := grid.Grid{Name: fmt.Sprintf("%s-%d", name, k+1), Title: l.Title}
		for column, text := range l.Rows[0] {
			g.Heads = append(g.Heads, grid.Head{Text: wording.Capital(text), Number: column > 0})
		}
		for _, texts := range l.Rows[1:] {
			g.AddTexts(texts...)
		}
		out = append(out, g)
	}
	return out
}
