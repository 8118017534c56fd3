package report

import (
	"thumbed/models/report/grid"
	"thumbed/models/table"
)

// Tables are all tables of the report by file name without extension.
func (r *Results) Tables() map[string]*table.Table {
	out := map[string]*table.Table{}
	for _, g := range r.sheets() {
		out[g.Name], _ = g.Disk()
	}
	return out
}

// Schemas are the schemas of [Results.Tables], by the same names.
func (r *Results) Schemas() map[string]table.Schema {
	out := map[string]table.Schema{}
	for _, g := range r.sheets() {
		_, out[g.Name] = g.Disk()
	}
	return out
}

// sheets are the report's tables on disk in the order in which they are listed.
func (r *Results) sheets() []grid.Grid {
	all := []grid.Grid{
		r.sentenceSheet(), r.answerSheet(), r.robustSheet(), r.enlargedSheet(),
		r.wearSheet(), r.sectionSheet(), r.testSheet(), r.standoutSheet(),
		r.officeSheet(), r.adjustedSheet(), r.changeSheet(), r.levelSheet(),
		r.sharedPlaceSheet(), r.sharedBookSheet(), r.pairTable(), r.differenceSheet(), r.habitSheet(), r.habitBookSheet(),
		r.modelSheet(), r.modelPageSheet(), r.fixedSheet(), r.randomSheet(),
		r.precisionSheet(), r.sharedErrorSheet(), r.driftTable(), r.excludedTable(),
	}
	if len(r.knownRows()) > 0 {
		all = append(all, r.knownSheet())
	}
	all = append(all, r.traceSheets()...)
	if r.Pages != nil {
		all = append(all, grid.OnDisk("pages", "Every page with its features and its wear, the rows that models are fitted to", r.Pages, r.pagesSchema()))
	}
	return all
}
