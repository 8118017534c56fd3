package report

import (
	"encoding/json"
	"fmt"
	"maps"
	"math"
	"slices"
	"strconv"
	"strings"

	"thumbed/models/hypotheses"
	"thumbed/models/mixed"
	"thumbed/models/report/grid"
	"thumbed/models/wording"
)

func (r *Results) sentenceSheet() grid.Grid {
	m := grid.Of("sentences", "The answers in words", r.Sentences())
	m.Label("topic", "question, read, pictures, stopped or sure", func(s Sentence) string { return string(s.Topic) })
	m.Label("book", "the book's id; empty for the whole study", func(s Sentence) string { return s.Book })
	m.Label("text", "the sentence", func(s Sentence) string { return s.Text })
	return m.Made()
}

func (r *Results) answerSheet() grid.Grid {
	m := grid.Of("answers", "The questions asked and their answers", r.Answers)
	m.Label("question", "in the scholar's words", func(a hypotheses.Answer) string { return a.Question.Words })
	m.Label("model", "the model asked", func(a hypotheses.Answer) string { return a.Question.Model })
	m.Label("book", "set where the model is fitted book by book", func(a hypotheses.Answer) string { return a.Book })
	m.Label("contrast", "weights of the fixed effects", func(a hypotheses.Answer) string { return contrastText(a.Question.Contrast) })
	m.Label("direction", "more, less or either", func(a hypotheses.Answer) string { return a.Question.Direction })
	m.Number("smallest", "smallest effect that would matter; 0: not stated", func(a hypotheses.Answer) float64 { return a.Question.Smallest })
	m.Label("asked", "before or after seeing the data", func(a hypotheses.Answer) string { return a.Question.Asked })
	m.Label("family", "questions adjusted together", func(a hypotheses.Answer) string { return a.Question.Family })
	m.Number("estimate", "the effect, in the outcome's unit", func(a hypotheses.Answer) float64 { return a.Effect.Estimate })
	m.Number("se", "its standard error", func(a hypotheses.Answer) float64 { return a.Effect.SE })
	m.Number("df", "its degrees of freedom", func(a hypotheses.Answer) float64 { return a.Effect.DF })
	m.Number("t", "estimate over standard error", func(a hypotheses.Answer) float64 { return a.Effect.T })
	m.Number("p", "p-value in the asked direction, alone", func(a hypotheses.Answer) float64 { return a.P })
	m.Number("p_adjusted", "error rate over the answers adjusted together at which the interval would just leave out zero in the asked direction", func(a hypotheses.Answer) float64 { return a.Adjusted })
	m.Number("against", "p-value against an effect as large as would matter", func(a hypotheses.Answer) float64 { return orNaN(a.Against) })
	m.Number("against_adjusted", "error rate over the answers adjusted together at which the interval would just lie short of what would matter", func(a hypotheses.Answer) float64 { return orNaN(a.AgainstAdjusted) })
	m.Label("adjustment", "what is held at 5 %: any false claim, or false discovery (Benjamini and Hochberg 1995)", func(a hypotheses.Answer) string {
		if a.Rate {
			return "false discovery"
		}
		return "any false claim"
	})
	m.Number("level", "chance that the interval of this answer alone misses", func(a hypotheses.Answer) float64 { return a.Level })
	m.Label("correlation", "of the estimate with those of the other answers of the same fit, as a JSON object by their questions", func(a hypotheses.Answer) string {
		if len(a.Correlation) == 0 {
			return ""
		}
		text, err := json.Marshal(a.Correlation)
		if err != nil {
			return ""
		}
		return string(text)
	})
	rests := numbersOf(func(a hypotheses.Answer) *hypotheses.Rests { return a.Rests })
	m.Number("pages", "pages that the answer rests on", rests(func(r *hypotheses.Rests) float64 { return float64(r.Pages) }))
	m.Number("bounds", "of them censored", rests(func(r *hypotheses.Rests) float64 { return float64(r.Bounds) }))
	m.Number("fallen_out", "pages that are not in the model, measured or not", rests(func(r *hypotheses.Rests) float64 {
		n := 0
		for _, f := range r.Out {
			n += f.Pages
		}
		return float64(n)
	}))
	m.Label("added", "groups added to the model for this question", func(a hypotheses.Answer) string {
		if a.Rests == nil {
			return ""
		}
		return strings.Join(a.Rests.Added, "; ")
	})
	shifted := numbersOf(func(a hypotheses.Answer) *hypotheses.CircularShiftTest { return a.CircularShift })
	m.Number("p_shifted", "p with the feature pushed round inside the books, of two to five books by a t test across them; empty where not asked for", shifted(func(s *hypotheses.CircularShiftTest) float64 { return s.P }))
	bootstrap := numbersOf(func(a hypotheses.Answer) *hypotheses.Bootstrapped { return a.Bootstrapped })
	m.Number("p_bootstrap", "p in the asked direction by bootstrap; empty where not asked for", bootstrap(func(b *hypotheses.Bootstrapped) float64 { return b.P }))
	m.Number("low_bootstrap", "lower end of the interval by bootstrap", bootstrap(func(b *hypotheses.Bootstrapped) float64 { return b.Low }))
	m.Number("high_bootstrap", "upper end of the interval by bootstrap", bootstrap(func(b *hypotheses.Bootstrapped) float64 { return b.High }))
	m.Count("together", "answers adjusted together", func(a hypotheses.Answer) int { return a.Together })
	m.Number("low", "lower end of the 95 % interval, which holds with those of all answers adjusted together", func(a hypotheses.Answer) float64 { return a.Effect.Low })
	m.Number("high", "upper end of that interval", func(a hypotheses.Answer) float64 { return a.Effect.High })
	m.Label("verdict", "yes, no or open", func(a hypotheses.Answer) string { return a.Verdict })
	m.Label("foreseen", "yes where the question was sealed before the readings and is unchanged; empty where nothing was sealed", func(a hypotheses.Answer) string {
		switch {
		case a.Preregistration == nil:
			return ""
		case a.Preregistration.Preregistered:
			return "yes"
		}
		return "no"
	})
	m.Label("sentence", "the answer in words", func(a hypotheses.Answer) string { return a.Sentence })
	return m.Made()
}

// contrastText writes a contrast with its terms in order of name:
// "1 × picture=yes".
func contrastText(weights map[string]float64) string {
	var parts []string
	for _, term := range slices.Sorted(maps.Keys(weights)) {
		parts = append(parts, fmt.Sprintf("%s × %s", strconv.FormatFloat(weights[term], 'g', -1, 64), term))
	}
	return strings.Join(parts, " + ")
}

func (r *Results) modelPageSheet() grid.Grid {
	m := grid.Of("model_pages", "The pages that each fit took: those it is about with a value in every column of the model", each(r.Models, func(m ModelResult) []modelPage { return rowsUnder(m, m.Rows) }))
	m.Label("model", "the model's name", func(p modelPage) string { return p.of.Name })
	m.Label("fit", "the book that the model was fitted in by itself; empty where it was fitted once", func(p modelPage) string { return p.of.Book })
	m.Label("book", "the page's book", func(p modelPage) string { return r.Pages.Column("book").Label(p.row) })
	m.Label("page", "the page's label", func(p modelPage) string { return r.Pages.Column("page").Label(p.row) })
	return m.Made()
}

func (r *Results) modelSheet() grid.Grid {
	m := grid.Of("models", "The models fitted", r.Models)
	m.Label("model", "its name", func(m ModelResult) string { return m.Name })
	m.Label("book", "set where it is fitted book by book", func(m ModelResult) string { return m.Book })
	m.Label("about", "what it is for", func(m ModelResult) string { return m.About })
	m.Label("outcome", "the column explained", func(m ModelResult) string { return m.Model.Outcome })
	fitted := numbersOf(func(m ModelResult) *mixed.Fit { return m.Fit })
	m.Number("n", "rows used", fitted(func(f *mixed.Fit) float64 { return float64(f.N) }))
	m.Number("loglik", "log likelihood, restricted where so estimated", fitted(func(f *mixed.Fit) float64 { return f.LogLik }))
	m.Number("criterion", "−2 log likelihood", fitted(func(f *mixed.Fit) float64 { return f.MinusTwiceLogLik }))
	m.Label("converged", "whether the search ended at a maximum", func(m ModelResult) string {
		switch {
		case m.Fit == nil:
			return ""
		case m.Fit.Converged:
			return "yes"
		}
		return "no"
	})
	m.Label("boundary", "random terms estimated at the edge of what is possible", func(m ModelResult) string {
		if m.Fit == nil {
			return ""
		}
		return strings.Join(m.Fit.Boundary, "; ")
	})
	m.Number("residual_sd", "residual standard deviation", fitted(func(f *mixed.Fit) float64 { return f.Residual.SD }))
	m.Number("rho", "residual autocorrelation of neighbours", fitted(func(f *mixed.Fit) float64 { return f.Residual.Rho }))
	m.Label("failed", "why it could not be fitted; empty where it could", func(m ModelResult) string { return m.Failed })
	return m.Made()
}

func (r *Results) fixedSheet() grid.Grid {
	return r.fixedTable("fixed_effects", "Fixed effects", each(r.Models, ModelResult.fixedRows))
}

// fixedGrid is that of one fit, for people, each effect drawn.
func (r *Results) fixedGrid(m ModelResult) grid.Grid {
	return r.fixedTable("fixed-of-"+r.fitFile(m), "Fixed effects of "+m.title(r)+" ("+r.outcomeUnit(m.Name)+")", m.fixedRows())
}

func (r *Results) fixedTable(name, title string, rows []fixedRow) grid.Grid {
	from, to := 0.0, 0.0
	for _, c := range rows {
		if c.Term != interceptTerm && finite(c.Low) && finite(c.High) {
			from, to = min(from, c.Low), max(to, c.High)
		}
	}
	m := grid.Of(name, title, rows)
	m.Label("model", "the model's name", func(f fixedRow) string { return f.model.Name })
	m.Label("book", "set where it is fitted book by book", func(f fixedRow) string { return f.model.Book })
	m.Label("term", "the effect", func(f fixedRow) string { return f.Term })
	m.Show("Effect", func(f fixedRow) grid.Cell {
		said := wording.Capital(r.term(f.model, f.Term))
		if len(f.LeavesOut) > 0 {
			said += " (the interval leaves out what " + groupWords(r.Labels, f.LeavesOut) + " differ by)"
		}
		return grid.Words(said)
	})
	m.Number("estimate", "in the outcome's unit", func(f fixedRow) float64 { return f.Estimate })
	m.Show("Estimate#", func(f fixedRow) grid.Cell { return grid.Number(f.Estimate, wording.Decimals(f.SE)) })
	m.Show(interval95+"#", func(f fixedRow) grid.Cell { return grid.Interval(f.Low, f.High, wording.Decimals(f.SE)) })
	m.Number("se", "standard error", func(f fixedRow) float64 { return f.SE })
	m.Show("Standard error#", func(f fixedRow) grid.Cell { return grid.Number(f.SE, wording.Decimals(f.SE)) })
	m.Number("df", "degrees of freedom, by the fit's method", func(f fixedRow) float64 { return f.DF })
	m.Number("t", "estimate over standard error", func(f fixedRow) float64 { return f.T })
	m.Show("t (degrees of freedom)#", func(f fixedRow) grid.Cell { return grid.Number(f.T, 2).InBrackets(grid.Shown(f.DF, wording.DF(f.DF))) })
	m.Number("p", "two-sided p-value", func(f fixedRow) float64 { return f.P })
	m.Show("p#", func(f fixedRow) grid.Cell { return grid.Shown(f.P, wording.PValue(f.P)) })
	m.Ends("", "the", func(f fixedRow) (low, high float64) { return f.Low, f.High })
	m.Label("leaves_out", "columns whose labels the effect compares and the model does not name: the standard error and what follows from it leave out what these differ by", func(f fixedRow) string { return strings.Join(f.LeavesOut, "; ") })
	m.Show("Drawn", func(f fixedRow) grid.Cell {
		if f.Term == interceptTerm {
			return grid.Words("")
		}
		return grid.Bar(f.Estimate, f.Low, f.High, from, to)
	})
	return m.Made()
}

// groupWords names the groups of each of some columns: "days and observers".
func groupWords(labels wording.Labels, columns []string) string {
	words := make([]string, len(columns))
	for i, column := range columns {
		words[i] = labels.Groups([]string{column})
	}
	return wording.List(words)
}

// leftOutNote says what follows where intervals of a fit leave something out; empty
// where none does.
func (r *Results) leftOutNote(f *mixed.Fit) string {
	var columns []string
	for _, c := range f.Fixed {
		for _, name := range c.LeavesOut {
			if !slices.Contains(columns, name) {
				columns = append(columns, name)
			}
		}
	}
	if len(columns) == 0 {
		return ""
	}
	return fmt.Sprintf("Some effects set %s against each other that the model does not allow for, so their intervals are too short: rest no claim on them. A question about such an effect is answered with these added, or refused.", groupWords(r.Labels, columns))
}

func (r *Results) randomSheet() grid.Grid {
	return r.randomTable("random_effects", "Random effects and residuals", each(r.Models, ModelResult.randomRows))
}

// randomGrid is that of one fit, for people: one row an effect that varies between
// groups.
func (r *Results) randomGrid(m ModelResult) grid.Grid {
	rows := betweenGroups(m.randomRows())
	g := r.randomTable("random-of-"+r.fitFile(m), "What varies between groups in "+m.title(r)+" ("+r.outcomeUnit(m.Name)+")", rows)
	g.Note = deviationNote(rows)
	return g
}

// betweenGroups are the rows but correlations and the residual.
func betweenGroups(rows []randomRow) []randomRow {
	return slices.DeleteFunc(slices.Clone(rows), func(f randomRow) bool { return f.with != "" || f.by == residualRow })
}

// noDeviation stands where a standard deviation has no interval.
const noDeviation = "not settled"

// deviationNote says how the intervals of a fit's standard deviations came about; empty
// where the model asked for them, and a table of their own says so.
func deviationNote(rows []randomRow) string {
	asked := func(f randomRow) bool {
		return f.interval != nil && (f.model.Fit == nil || f.model.Fit.Intervals == nil)
	}
	if !slices.ContainsFunc(rows, asked) {
		return ""
	}
	note := "Intervals are by Satterthwaite’s method."
	if slices.ContainsFunc(rows, func(f randomRow) bool { return asked(f) && !finite(f.interval.High) }) {
		note += " “" + wording.Capital(noDeviation) + "”: too few groups, or too near zero; intervals by profile give its upper end."
	}
	return note
}

func (r *Results) randomTable(name, title string, rows []randomRow) grid.Grid {
	m := grid.Of(name, title, rows)
	m.Label("model", "the model's name", func(f randomRow) string { return f.model.Name })
	m.Label("book", "set where it is fitted book by book", func(f randomRow) string { return f.model.Book })
	m.Label("by", "the groups; row for the residual", func(f randomRow) string { return f.by })
	m.Label("term", "what varies between them", func(f randomRow) string { return f.term })
	m.Show("Effect", func(f randomRow) grid.Cell { return grid.Words(wording.Capital(r.varying(f.model, f.term))) })
	m.Show("Varies between", func(f randomRow) grid.Cell { return grid.Words(r.Labels.Groups(f.groupsBy)) })
	m.Show("Groups#", func(f randomRow) grid.Cell { return grid.Whole(f.groups) })
	m.Number("sd", "standard deviation between groups", func(f randomRow) float64 { return f.sd }).As("Standard deviation", 4)
	ends := numbersOf(func(f randomRow) *mixed.Interval { return f.interval })
	m.Number("sd_low", "lower end of its 95 % interval; empty where there is none", ends(func(i *mixed.Interval) float64 { return i.Low }))
	m.Number("sd_high", "upper end", ends(func(i *mixed.Interval) float64 { return i.High }))
	if slices.ContainsFunc(rows, func(f randomRow) bool { return f.interval != nil }) {
		m.Show(interval95+"#", func(f randomRow) grid.Cell {
			switch {
			case f.interval == nil:
				return grid.Instead("")
			case !finite(f.interval.Low) && !finite(f.interval.High):
				return grid.Instead(noDeviation)
			}
			return grid.Interval(f.interval.Low, f.interval.High, 4)
		})
	}
	m.Count("groups", "number of groups", func(f randomRow) int { return f.groups })
	m.Label("with", "the other term of a correlation", func(f randomRow) string { return f.with })
	m.Number("correlation", "between the two terms", func(f randomRow) float64 { return f.correlation })
	return m.Made()
}

// title names a fit: its model, and the book where it is fitted book by book.
func (m ModelResult) title(r *Results) string {
	name := "the model “" + m.Name + "”"
	if m.Book != "" {
		name += " in " + r.quotedNameByID(m.Book)
	}
	return name
}

// varying names what varies between groups.
func (r *Results) varying(m ModelResult, term string) string {
	if term == interceptTerm {
		return "the level"
	}
	return r.term(m, term)
}

// variationSentences tell what the table of random effects does not: the residual, and
// how effects are correlated.
func (r *Results) variationSentences(m ModelResult, one, many string) []string {
	out := r.correlationSentences(m, m.randomRows())
	single := m.deviations(mixed.ResidualDeviation)
	within := func(k int) string {
		if k >= len(single) || !finite(single[k].Low) || !finite(single[k].High) {
			return ""
		}
		return fmt.Sprintf(" (95 %% interval %s)", wording.Interval(single[k].Low, single[k].High, 4))
	}
	if len(m.Fit.Residual.Levels) == 0 {
		out = append(out, fmt.Sprintf("Single %s scatter about all this with a standard deviation of %s%s: the residual, of %s.", many, wording.Fixed(m.Fit.Residual.SD, 4), within(0), wording.Count(m.Fit.N, one, many)))
	}
	for k, level := range m.Fit.Residual.Levels {
		out = append(out, fmt.Sprintf("For %s that standard deviation is %s%s.", r.Labels.Level(m.Model.Residual.Levels, level.Level), wording.Fixed(level.SD, 4), within(k)))
	}
	for _, s := range m.Fit.Smooth {
		out = append(out, fmt.Sprintf("The curve along %s bends with %s degrees of freedom beyond its straight line.", r.Labels.Column(s.Column), wording.Fixed(s.Effective, 1)))
	}
	if rho := m.Fit.Residual.Rho; rho != 0 && !math.IsNaN(rho) {
		out = append(out, fmt.Sprintf("Neighbouring %s have residuals correlated by %s.", many, wording.Fixed(rho, 2)))
	}
	return out
}

// correlationSentences tell how effects are correlated between groups.
func (r *Results) correlationSentences(m ModelResult, rows []randomRow) []string {
	var out []string
	for _, row := range rows {
		if row.with != "" {
			out = append(out, fmt.Sprintf("Between %s, %s and %s are correlated by %s.", r.Labels.Groups(row.groupsBy), r.varying(m, row.with), r.varying(m, row.term), wording.Fixed(row.correlation, 2)))
		}
	}
	return out
}

func orNaN(v *float64) float64 {
	if v == nil {
		return math.NaN()
	}
	return *v
}
