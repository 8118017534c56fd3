package study

import (
	"fmt"
	"maps"
	"slices"

	"thumbed/models/generalised"
	"thumbed/models/hypotheses"
	"thumbed/models/mixed"
	"thumbed/models/report"
	"thumbed/models/table"
	"thumbed/models/traces"
)

// A traceChoice is one way of answering a question of a trace that a referee might ask
// for.
type traceChoice struct {
	name     string
	rescaled bool                                   // the effect is on another scale than that of the study's own answer
	keep     func(looks *table.Table, row int) bool // nil: every row
	untold   string                                 // the value of looks that cannot tell; empty: they are left out
	score    float64                                // and the same as a number
	change   func(m *Model)                         // nil: as stated
	errors   string                                 // a feature whose error is allowed for by simulation; empty: as the model has it
}

// A traceVariation is one choice tried on one fit of a model of a trace.
type traceVariation struct {
	tried
	fit    *traceFit
	choice traceChoice
}

// traceTrials lists what is to be tried of the models of traces.
func (s *Study) traceTrials(fits []*traceFit) []*traceVariation {
	var out []*traceVariation
	for _, f := range fits {
		if slices.Contains(s.Robustness.Models, f.result.Name) {
			for _, c := range s.traceChoices(f) {
				out = append(out, &traceVariation{tried: tried{model: f.result.Name, book: f.book, choice: c.name, rescaled: c.rescaled}, fit: f, choice: c})
			}
		}
	}
	return out
}

// traceChoices are those that the model of a trace leaves open, beginning with what the
// study file states.
func (s *Study) traceChoices(f *traceFit) []traceChoice {
	m := &f.result.Model
	out := []traceChoice{{name: report.AsStated}, otherLink(m)}
	out = append(out, traceChoice{name: fmt.Sprintf("without the %d outermost leaves at each end", s.Robustness.Leaves), keep: func(looks *table.Table, row int) bool {
		return !(looks.Column("edge").Number(row) < float64(s.Robustness.Leaves))
	}}, traceChoice{name: "without the first page of each text", keep: lacks("incipit", "yes")})
	for _, of := range []struct{ column, words string }{{"book", "the book"}, {traces.ColumnObserver, "the observer"}} {
		labels, _ := f.rows.Column(of.column).Levels()
		if len(labels) < 2 {
			continue
		}
		for _, label := range slices.Sorted(slices.Values(labels)) {
			out = append(out, traceChoice{name: "without " + of.words + " " + label, keep: lacks(of.column, label)})
		}
	}
	days, _ := f.rows.Column(traces.ColumnDay).Levels()
	if len(days) > 1 {
		for _, span := range spans(slices.Sorted(slices.Values(days)), f.rows.Rows()) {
			first, last := span[0], span[len(span)-1]
			out = append(out, traceChoice{name: "without " + spanWords(span), keep: func(looks *table.Table, row int) bool {
				day := looks.Column(traces.ColumnDay).Label(row)
				return day < first || day > last
			}})
		}
	}
	if outcome := f.rows.Column(m.Outcome); slices.ContainsFunc(rowsOf(f.rows), outcome.Missing) {
		least := "0"
		if levels := f.trace.Levels(); levels != nil {
			least = levels[0]
			out = append(out, traceChoice{name: "with what cannot be told as “" + levels[len(levels)-1] + "”", untold: levels[len(levels)-1], score: float64(len(levels) - 1)})
		}
		out = append(out, traceChoice{name: "with what cannot be told as “" + least + "”", untold: least})
	}
	for _, column := range slices.Sorted(maps.Keys(s.Models[f.model].Errors)) {
		out = append(out, traceChoice{name: "with " + s.Labels.Column(column) + " as measured, its error not allowed for", change: func(m *Model) {
			m.Errors = maps.Clone(m.Errors)
			delete(m.Errors, column)
		}}, traceChoice{name: "with the error of " + s.Labels.Column(column) + report.Extrapolated, errors: column})
	}
	return out
}

// otherLink puts grades and yes or no on another link, and counts on another spread.
func otherLink(m *mixed.Model) traceChoice {
	switch {
	case m.Kind == mixed.Counts && m.Spread == "Poisson":
		return traceChoice{name: "with a negative binomial spread", change: func(m *Model) { m.Spread = "negative binomial" }}
	case m.Kind == mixed.Counts:
		return traceChoice{name: "with Poisson’s spread", change: func(m *Model) { m.Spread = "Poisson" }}
	case m.Link == "probit":
		return traceChoice{name: "by the logit link", rescaled: true, change: func(m *Model) { m.Link = "logit" }}
	}
	return traceChoice{name: "by the probit link", rescaled: true, change: func(m *Model) { m.Link = "probit" }}
}

func rowsOf(t *table.Table) []int {
	out := make([]int, t.Rows())
	for i := range out {
		out[i] = i
	}
	return out
}

// compute tries the choice.
func (t *traceVariation) compute(s *Study, looks, data *table.Table) {
	t.begin(s)
	c := &t.choice
	m := s.Models[t.fit.model]
	if c.change != nil {
		c.change(&m)
	}
	if c.keep != nil {
		looks = looks.Select(slices.DeleteFunc(rowsOf(looks), func(row int) bool { return !c.keep(looks, row) }))
	}
	if c.untold != "" {
		looks = told(looks, t.fit.trace.Name, c.untold, c.score)
	}
	f := s.traceFit(m, t.fit.model, t.book, looks)
	f.result.Model = withoutIdle(f.result.Model, f.rows)
	if c.errors != "" {
		t.extrapolate(s, f, data)
		return
	}
	asked, err := t.ask(s, f, data)
	if err != nil {
		t.fail(err)
		return
	}
	t.take(f.result.Model, asked.Answers, asked.Errs)
}

// ask fits the model and asks the questions.
func (t *traceVariation) ask(s *Study, f *traceFit, data *table.Table) (hypotheses.AskedTrace, error) {
	if f.estimate(s, data); f.err != nil {
		return hypotheses.AskedTrace{}, f.err
	}
	return hypotheses.AskTrace(t.questions, f.result.Model, f.result.Fit, f.rows, s.telling(f.trace)), nil
}

// extrapolate answers with the error of a feature allowed for by simulation
// ([traces.Extrapolate]). The effects alone are followed back, and no probabilities.
func (t *traceVariation) extrapolate(s *Study, f *traceFit, data *table.Table) {
	column := t.choice.errors
	f.stated.Errors = maps.Clone(f.stated.Errors)
	errs := f.stated.Errors[column]
	delete(f.stated.Errors, column)
	asked, err := t.ask(s, f, data)
	if err != nil {
		t.fail(err)
		return
	}
	for k := range t.questions {
		answer := &asked.Answers[k]
		if asked.Errs[k] != nil {
			continue
		}
		by := f.result.Model
		for _, extra := range asked.Extra {
			if slices.Equal(extra.Added, answer.Rests.Added) {
				by = extra.Model
			}
		}
		found, err := traces.Extrapolate(f.rows, column, errs, func(rows *table.Table) ([]traces.Extrapolated, error) {
			fit, err := generalised.New(by, rows)
			if err != nil {
				return nil, err
			}
			effect, err := fit.Contrast("", t.questions[k].Contrast)
			return []traces.Extrapolated{{Estimate: effect.Estimate, SE: effect.SE}}, err
		})
		if err == nil {
			t.rows[k].From = found[0].From
			*answer, err = answer.With(found[0].Estimate, found[0].SE)
		}
		asked.Errs[k] = err
	}
	t.take(f.result.Model, asked.Answers, asked.Errs)
}

// told gives the looks at a trace that cannot tell a value; of counts, none.
func told(looks *table.Table, trace, value string, score float64) *table.Table {
	of, column := looks.Column(traces.ColumnTrace), looks.Column(trace)
	untold := func(row int) bool { return column.Missing(row) && of.Label(row) == trace }
	filled := func(c *table.Column) *table.Column {
		labels, numbers := make([]string, c.Len()), make([]float64, c.Len())
		for i := range labels {
			if labels[i], numbers[i] = c.Label(i), c.Number(i); untold(i) {
				labels[i], numbers[i] = value, score
			}
		}
		if c.IsNumber() {
			return table.Numbers(c.Name, numbers)
		}
		return table.Labels(c.Name, labels)
	}
	return looks.With(filled(column), filled(looks.Column(traces.ColumnScore)))
}
