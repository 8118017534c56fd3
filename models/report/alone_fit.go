package report

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"thumbed/models/generalised"
	"thumbed/models/mixed"
	"thumbed/models/report/grid"
	"thumbed/models/wording"
)

// ShowFit shows a fitted model of any kind of outcome, in the words of its labels.
func ShowFit(f generalised.Result) (Shown, error) {
	w := fitWordsOf(f)
	return shown(w.said, wording.TypesetAll(w.notes), w.tables, w.charts...)
}

// FitText is the same for a terminal, without a figure.
func FitText(f generalised.Result) string {
	w := fitWordsOf(f)
	var b strings.Builder
	for _, one := range w.said {
		b.WriteString(wording.Wrapped(one) + "\n")
	}
	for _, g := range w.tables {
		b.WriteString("\n" + g.Text())
	}
	for _, note := range w.notes {
		b.WriteString("\n" + wording.Wrapped("Note. "+note) + "\n")
	}
	return b.String()
}

// fitWords is what there is to see of a fit.
type fitWords struct {
	said   []string
	tables []grid.Grid
	notes  []string
	charts []sketch
}

func fitWordsOf(f generalised.Result) fitWords {
	if f, ok := f.(*mixed.Fit); ok {
		return measureWords(f)
	}
	return linkWords(f.(*generalised.Fit))
}

// inferred adds what the model asked for besides effects, and what must be known.
func (w *fitWords) inferred(x *mixed.Inferences, m mixed.Model) {
	w.tables = append(w.tables, InferenceTables("inference", x, m.Labels, m.Levels)...)
	w.said = append(w.said, x.Sentences()...)
	w.notes = slices.Concat(x.Diagnosed, x.Notes)
}

// measureWords is what is said of a fitted model of a measure.
func measureWords(f *mixed.Fit) fitWords {
	m := ModelResult{Name: "effects", Model: f.Model(), Fit: f}
	r := &Results{Labels: m.Model.Labels, Models: []ModelResult{m}}
	outcome := r.outcome(m)
	w := fitWords{charts: r.effectCharts()}
	w.said = append([]string{fmt.Sprintf("A model of %s in %s, by %s likelihood: log likelihood %s.", outcome, wording.Count(f.N, "row", "rows"), f.Estimate, wording.Fixed(f.LogLik, 3))},
		r.variationSentences(m, "row", "rows")...)
	w.tables = []grid.Grid{r.fixedTable("fixed", "Effects on "+outcome, m.fixedRows())}
	if g := r.randomGrid(m); g.Count() > 0 {
		g.Title = "What varies between groups"
		w.tables = append(w.tables, g)
	}
	w.inferred(&f.Inferences, m.Model)
	return w
}

// linkWords is what is said of a fitted model of grades, of yes or no or of counts.
func linkWords(f *generalised.Fit) fitWords {
	model := f.Model()
	w := fitWords{said: []string{fmt.Sprintf("A model of %s in %s, by maximum likelihood: log likelihood %s (approximation: %s).",
		linkOutcome(f), wording.Count(f.N, "row", "rows"), wording.Fixed(f.LogLik, 3), f.Approximation)}}
	if f.Dispersion > 0 {
		w.said = append(w.said, fmt.Sprintf("The counts spread more than Poisson’s: their variance is μ + μ²/%s, μ the expected count.", wording.Fixed(f.Dispersion, 3)))
	}
	m := ModelResult{Name: "effects", Model: model, Fit: &mixed.Fit{Random: f.Random, Inferences: f.Inferences}}
	r := &Results{Labels: m.Model.Labels, Models: []ModelResult{m}}
	term := func(name string) string { return wording.Capital(r.term(m, name)) }
	w.tables = []grid.Grid{linkTable("fixed", "Effects "+linkScale(model), term, f.Fixed)}
	if len(f.Thresholds) > 0 {
		t := grid.Of("thresholds", "Thresholds between grades", f.Thresholds)
		t.Show("Between", func(t generalised.Threshold) grid.Cell { return grid.Words(t.Below + " and " + t.Above) })
		t.Show("Estimate#", func(t generalised.Threshold) grid.Cell { return grid.Number(t.Estimate, wording.Decimals(t.SE)) })
		t.Show("Standard error#", func(t generalised.Threshold) grid.Cell { return grid.Number(t.SE, wording.Decimals(t.SE)) })
		w.tables = append(w.tables, t.Made())
	}
	if len(f.ZeroInflation) > 0 {
		w.tables = append(w.tables, linkTable("zeros", "Zeros besides: effects on the logit of their probability", term, f.ZeroInflation))
	}
	if len(f.Random) > 0 {
		rows := m.randomRows()
		g := r.randomTable("random", "What varies between groups, on the same scale", betweenGroups(rows))
		g.Note = deviationNote(rows)
		w.tables = append(w.tables, g)
		w.said = append(w.said, r.correlationSentences(m, rows)...)
	}
	w.inferred(&f.Inferences, model)
	return w
}

// linkOutcome names what a fit is of.
func linkOutcome(f *generalised.Fit) string {
	m := f.Model()
	outcome := m.Labels.Column(m.Outcome)
	switch {
	case m.Kind == mixed.Grades:
		return "the grades of " + outcome
	case m.Kind == mixed.Counts && m.Exposure != "":
		return "the counts of " + outcome + " for each unit of " + m.Labels.Column(m.Exposure)
	case m.Kind == mixed.Counts:
		return "the counts of " + outcome
	case m.Trials != "":
		return "the share of " + outcome + " in " + m.Labels.Column(m.Trials)
	}
	levels := f.OutcomeLevels()
	return fmt.Sprintf("%s (%s, not %s)", outcome, m.Labels.Level(m.Outcome, levels[1]), m.Labels.Level(m.Outcome, levels[0]))
}

// linkScale says on which scale effects are told.
func linkScale(m mixed.Model) string {
	switch {
	case m.Kind == mixed.Counts:
		return "on the logarithm of the expected count"
	case m.Kind == mixed.Grades:
		return "on the scale of the " + cmp.Or(m.Link, "logit") + "; a positive one goes with higher grades"
	}
	return "on the " + cmp.Or(m.Link, "logit") + " of the probability"
}

// linkTable is a table of effects on the scale of a link.
func linkTable(name, title string, term func(string) string, effects []generalised.Coefficient) grid.Grid {
	m := grid.Of(name, title, effects)
	m.Show("Effect", func(c generalised.Coefficient) grid.Cell { return grid.Words(term(c.Term)) })
	m.Show("Estimate#", func(c generalised.Coefficient) grid.Cell { return grid.Number(c.Estimate, wording.Decimals(c.SE)) })
	m.Show(interval95+"#", func(c generalised.Coefficient) grid.Cell { return grid.Interval(c.Low, c.High, wording.Decimals(c.SE)) })
	m.Show("Standard error#", func(c generalised.Coefficient) grid.Cell { return grid.Number(c.SE, wording.Decimals(c.SE)) })
	m.Show("p#", func(c generalised.Coefficient) grid.Cell { return grid.Shown(c.P, wording.PValue(c.P)) })
	m.Show("Method", func(c generalised.Coefficient) grid.Cell { return grid.Words(c.Way()) })
	return m.Made()
}
