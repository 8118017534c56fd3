package report

import (
	"fmt"
	"math"
	"slices"

	"thumbed/models/wording"
)

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }

// interceptTerm is what the model calls the mean at the baseline.
const interceptTerm = "intercept"

// term is a term of a model in words.
func (r *Results) term(m ModelResult, term string) string {
	return r.Labels.Term(term, m.Model.Levels)
}

// levelsOf are the levels of a model's columns.
func (r *Results) levelsOf(model string) map[string][]string {
	for _, m := range r.Models {
		if m.Name == model {
			return m.Model.Levels
		}
	}
	return nil
}

// effectCharts draws the fixed effects of each model, those of all books on one
// chart where it is fitted book by book. The intercept, a level and not a
// difference, is left to the table.
func (r *Results) effectCharts() []sketch {
	var out []sketch
	done := map[string]bool{}
	for _, m := range r.Models {
		if done[m.Name] {
			continue
		}
		done[m.Name] = true
		var fits []ModelResult
		for _, other := range r.Models {
			if other.Name == m.Name && other.Fit != nil {
				fits = append(fits, other)
			}
		}
		if rows := r.effectRows(fits); len(rows) > 0 {
			out = append(out, r.effectChart(fits, rows))
		}
	}
	return out
}

// effectRows lists each term once with, where the model is fitted book by book,
// a row for each book below it.
func (r *Results) effectRows(fits []ModelResult) []dotRow {
	var rows []dotRow
	for _, term := range effectTerms(fits) {
		byBook := len(fits) > 0 && fits[0].Book != ""
		if byBook {
			rows = append(rows, dotRow{label: wording.Capital(r.term(fits[0], term)), heading: true})
		}
		for _, m := range fits {
			for _, c := range m.Fit.Fixed {
				if c.Term != term {
					continue
				}
				row := dotRow{label: wording.Clipped(wording.Capital(r.term(m, term)), 44), value: c.Estimate, low: c.Low, high: c.High, open: !(c.Low > 0 || c.High < 0) || len(c.LeavesOut) > 0}
				if byBook {
					row.label = wording.Clipped(r.bookNameByID(m.Book), 36)
				}
				row.note = wording.Estimate(c.Estimate, c.Low, c.High, termDecimals(fits, term))
				rows = append(rows, row)
			}
		}
	}
	return rows
}

// termDecimals are the decimals that the best known of a term's estimates needs,
// so that those of several books stand in one column alike.
func termDecimals(fits []ModelResult, term string) int {
	decimals := 0
	for _, m := range fits {
		for _, c := range m.Fit.Fixed {
			if c.Term == term {
				decimals = max(decimals, wording.Decimals(c.SE))
			}
		}
	}
	return decimals
}

func effectTerms(fits []ModelResult) []string {
	var terms []string
	seen := map[string]bool{interceptTerm: true}
	for _, m := range fits {
		for _, c := range m.Fit.Fixed {
			if !seen[c.Term] {
				seen[c.Term] = true
				terms = append(terms, c.Term)
			}
		}
	}
	return terms
}

func (r *Results) effectChart(fits []ModelResult, rows []dotRow) sketch {
	m := fits[0]
	unit := r.outcomeUnit(m.Name)
	chart := dotChart{rows: rows, axis: "effect (" + unit + ")", noteHead: "estimate (95" + wording.Narrow + "% interval)", zero: true, mark: mark{square, 2.6, blue, false, 0}}
	f := Figure{
		Name: "effects-" + r.modelFile(m.Name), Title: "Effects of the model “" + m.Name + "”", Width: figureWidth, Height: chart.height(),
		Caption: fmt.Sprintf("Effects of the model “%s” on %s, with 95%s%% intervals. Filled squares: the interval leaves out zero; open squares: it does not. The intercept stands in the table.", m.Name, m.Model.Outcome, wording.Narrow),
	}
	if slices.ContainsFunc(fits, func(m ModelResult) bool { return r.leftOutNote(m.Fit) != "" }) {
		f.Caption += " Squares are open too where the interval leaves something out that the table names."
	}
	f.Alt = fmt.Sprintf("Squares with intervals for %s of the model “%s”.", wording.Count(len(effectTerms(fits)), "fixed effect", "fixed effects"), m.Name)
	for _, row := range rows {
		if row.heading {
			f.Alt += " " + row.label + ":"
			continue
		}
		f.Alt += " " + row.label + ", " + row.note + "."
	}
	return sketch{Figure: f, paint: chart.paint}
}
