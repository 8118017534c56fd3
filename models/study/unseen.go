package study

import (
	"fmt"
	"slices"

	"thumbed/models/codex"
	"thumbed/models/mixed"
	"thumbed/models/table"
)

// unseen tells of books of which no page is in a model, though it was meant to
// speak of them, since a column of the model is empty on all of their pages: the
// sheets, say, of books without quires. A fit alone tells only how many rows were
// left out.
func unseen(model mixed.Model, pages *table.Table) []string {
	ids := pages.Column(codex.ColumnBook)
	if ids == nil {
		return nil
	}
	var notes []string
	told := map[string]bool{}
	for _, name := range model.Needed() {
		c := pages.Column(name)
		if c == nil {
			continue
		}
		var books []string
		known := map[string]bool{}
		for i := range pages.Rows() {
			id := ids.Label(i)
			if _, seen := known[id]; !seen {
				books = append(books, id)
			}
			known[id] = known[id] || !c.Missing(i)
		}
		books = slices.DeleteFunc(books, func(id string) bool { return known[id] || told[id] })
		for _, id := range books {
			told[id] = true
		}
		if len(books) > 0 {
			notes = append(notes, fmt.Sprintf("No page of %s is in this model, since the column %s is empty on all of them: %s, or leave such books out with only.", some(books), name, whereTo(name)))
		}
	}
	return notes
}

// whereTo is where a scholar enters what a column of features is made of.
func whereTo(column string) string {
	switch column {
	case codex.ColumnQuire, codex.FeatureQuirePlace, codex.FeatureQuireLeaves, codex.ColumnConjugate:
		return "enter its quires in leaves.csv, and conjugates where they are not first with last"
	case codex.FeatureHair:
		return "enter the outer side of its quires in books.csv, or what rectos are in leaves.csv"
	case codex.FeatureOfficeOrder, codex.FeatureSectionPage, codex.FeatureSectionPlace:
		return "enter its texts in sections.csv"
	}
	return "fill it in"
}
