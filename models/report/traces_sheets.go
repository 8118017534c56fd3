package report

import (
	"cmp"
	"math"
	"strings"

	"thumbed/models/generalised"
	"thumbed/models/mixed"
	"thumbed/models/readings"
	"thumbed/models/report/grid"
	"thumbed/models/table"
	"thumbed/models/traces"
	"thumbed/models/wording"
)

// traceSheets are the tables of traces; none where no trace was looked for.
func (r *Results) traceSheets() []grid.Grid {
	t := r.Traces
	if t == nil {
		return nil
	}
	out := []grid.Grid{t.codingSheet(), t.stateSheet(), t.shareSheet(), t.agreementSheet(), t.gradeSheet(), t.confusionSheet(), t.printSheet(), t.traceModelSheet(), t.effectSheet(), t.meanSheet(), t.expectedSheet(), r.toldSheet()}
	if t.Table != nil && r.Pages != nil {
		out = append(out, grid.OnDisk("traces", "Every kept look with the features of its page, the rows that models of traces are fitted to", t.Table, t.Looks.TableSchema(r.pagesSchema())))
	}
	return out
}

// A codeRow is a grade of a trace, or a trace without grades.
type codeRow struct {
	traces.Trace
	place        int
	grade, about string
}

func (t *TraceResults) codingSheet() grid.Grid {
	var rows []codeRow
	for _, c := range t.Coding {
		if len(c.Grades) == 0 {
			rows = append(rows, codeRow{Trace: c})
		}
		for k, g := range c.Grades {
			rows = append(rows, codeRow{c, k, g.Name, g.About})
		}
	}
	m := grid.Of("coding_book", "The coding book: what was looked for, and by what each grade is told", rows)
	m.Label("trace", "what was looked for", func(c codeRow) string { return c.Name })
	m.Label("about", "what it is", func(c codeRow) string { return c.Trace.About })
	m.Label("kind", "grades, yes or no, counts", func(c codeRow) string { return c.Kind })
	m.Count("place", "place of the grade from 0, where nothing is there", func(c codeRow) int { return c.place })
	m.Label("grade", "the grade; empty where there are none", func(c codeRow) string { return c.grade })
	m.Label("seen", "what must be seen for it; of counts what counts as one", func(c codeRow) string {
		if c.Kind == mixed.Counts {
			return c.One
		}
		return c.about
	})
	m.Label("exposure", "what a count's exposure is", func(c codeRow) string { return c.Per })
	m.Label("looked_at", "pages or pictures", func(c codeRow) string { return cmp.Or(c.On, traces.OnPages) })
	m.Label("parts", "parts looked at", func(c codeRow) string { return strings.Join(c.Parts, "; ") })
	return m.Made()
}

func (t *TraceResults) stateSheet() grid.Grid {
	m := grid.Of("trace_states", "Things in their three states, by trace, book and part", t.States)
	m.Label("trace", "what was looked for", func(s traces.State) string { return s.Trace })
	m.Label("book", "the book's id", func(s traces.State) string { return s.Book })
	m.Label("part", "the part; empty where the page is looked at as a whole", func(s traces.State) string { return s.Part })
	m.Count("things", "that the coding book looks for", func(s traces.State) int { return s.Things })
	m.Count("not_looked", "at which nobody looked", func(s traces.State) int { return s.NotLooked })
	m.Count("nothing", "looked at, and nothing there", func(s traces.State) int { return s.Nothing })
	m.Count("there", "looked at, and something there: at least half of the looks that can tell say so", func(s traces.State) int { return s.There })
	m.Count("unclear", "looked at, and cannot be told", func(s traces.State) int { return s.Unclear })
	m.Count("looks", "kept looks", func(s traces.State) int { return s.Looks })
	m.Count("excluded", "looks left out with a reason", func(s traces.State) int { return s.Excluded })
	return m.Made("trace", "book", "part")
}

// noEstimate stands where there is none.
var noEstimate = traces.Estimate{Value: math.NaN(), Low: math.NaN(), High: math.NaN()}

// addEstimate adds the columns of an estimate and of the ends of its 95 % interval,
// whose names begin with a prefix.
func addEstimate[T any](m *grid.Maker[T], name, about, prefix, lower string, of func(T) traces.Estimate) {
	m.Number(name, about, func(row T) float64 { return of(row).Value })
	m.Number(prefix+"low", lower, func(row T) float64 { return of(row).Low })
	m.Number(prefix+"high", "upper end", func(row T) float64 { return of(row).High })
}

// lowerEnd is what the lower end is of most intervals.
const lowerEnd = "lower end of its 95 % interval"

// A shareRow is the share of one value, or a rate.
type shareRow struct {
	of          traces.State
	level       string
	share       float64
	least, rate traces.Estimate
}

func (t *TraceResults) shareSheet() grid.Grid {
	var rows []shareRow
	for _, s := range t.States {
		for _, g := range s.Shares {
			rows = append(rows, shareRow{s, g.Level, g.Share, g.Least, noEstimate})
		}
		if s.Rate != nil {
			rows = append(rows, shareRow{s, "", math.NaN(), noEstimate, *s.Rate})
		}
	}
	m := grid.Of("trace_shares", "Shares of grades, of yes and no, and rates of counts, by trace, book and part, of the things that can be told", rows)
	m.Label("trace", "what was looked for", func(s shareRow) string { return s.of.Trace })
	m.Label("book", "the book's id", func(s shareRow) string { return s.of.Book })
	m.Label("part", "the part; empty where the page is looked at as a whole", func(s shareRow) string { return s.of.Part })
	m.Count("things", "things that can be told", func(s shareRow) int { return s.of.There + s.of.Nothing })
	m.Label("level", "the grade, yes or no; empty for counts", func(s shareRow) string { return s.level })
	m.Number("share", "share of the things with it; looks that differ count in parts", func(s shareRow) float64 { return s.share })
	addEstimate(m, "least", "share with it or a higher one", "", "lower end of that share's 95 % interval (Wilson 1927)", func(s shareRow) traces.Estimate { return s.least })
	addEstimate(m, "rate", "of counts: sum by exposure, by things where there is none", "rate_", lowerEnd, func(s shareRow) traces.Estimate { return s.rate })
	return m.Made()
}

// An agreedRow is a pair of observers on one trace.
type agreedRow = rowOf[traces.Agreement, traces.Pair]

func (t *TraceResults) agreementSheet() grid.Grid {
	rows := each(t.Agreement, func(a traces.Agreement) []agreedRow { return rowsUnder(a, a.Pairs) })
	m := grid.Of("trace_agreement", "How far observers agree on what was coded more than once", rows)
	m.Label("trace", "what was looked for", func(p agreedRow) string { return p.of.Trace })
	addEstimate(m, "alpha", "Krippendorff's alpha over all looks at the trace", "alpha_", lowerEnd, func(p agreedRow) traces.Estimate { return p.of.Alpha })
	addEstimate(m, "alpha_nominal", "alpha of grades as mere names", "alpha_nominal_", lowerEnd, func(p agreedRow) traces.Estimate {
		if p.of.Nominal == nil {
			return noEstimate
		}
		return *p.of.Nominal
	})
	m.Label("one", "observer", func(p agreedRow) string { return p.row.One })
	m.Label("other", "the other; the same where one looked twice", func(p agreedRow) string { return p.row.Other })
	m.Count("things", "that both looked at and could tell", func(p agreedRow) int { return p.row.Things })
	m.Count("same", "with the same value", func(p agreedRow) int { return p.row.Same })
	m.Count("higher", "on which the other gave the higher", func(p agreedRow) int { return p.row.Higher })
	m.Count("lower", "on which the other gave the lower", func(p agreedRow) int { return p.row.Lower })
	m.Number("p", "two-sided, of higher and lower being as likely (sign test)", func(p agreedRow) float64 { return p.row.P })
	addEstimate(m, "kappa", "weighted by squared distances (Cohen 1968); empty for counts", "kappa_", lowerEnd+" (Fleiss, Cohen and Everitt 1969)", func(p agreedRow) traces.Estimate {
		if p.row.Kappa == nil {
			return noEstimate
		}
		return traces.Estimate{Value: *p.row.Kappa, Low: p.row.Low, High: p.row.High}
	})
	addEstimate(m, "drift", "by which the other's value less the one's grows from the first leaf of a book to its last, by least squares over pages; empty where too few pages tell it", "drift_", lowerEnd, func(p agreedRow) traces.Estimate {
		if p.row.Drift == nil {
			return noEstimate
		}
		return *p.row.Drift
	})
	return m.Made()
}

func (t *TraceResults) gradeSheet() grid.Grid {
	type gradeRow = rowOf[traces.Agreement, traces.GradeAgree]
	m := grid.Of("trace_grades", "Where one look of a pair gave a value, how often the other gave it too", each(t.Agreement, func(a traces.Agreement) []gradeRow { return rowsUnder(a, a.Grades) }))
	m.Label("trace", "what was looked for", func(g gradeRow) string { return g.of.Trace })
	m.Label("value", "the grade, yes or no", func(g gradeRow) string { return g.row.Level })
	m.Count("given", "times, over both looks of all pairs", func(g gradeRow) int { return g.row.Given })
	m.Number("agreed", "share of these in which the other look gave it too", func(g gradeRow) float64 { return g.row.Both })
	m.Label("with", "the value that it is most often exchanged for; empty where never", func(g gradeRow) string { return g.row.With })
	return m.Made("trace", "value")
}

// A confusedRow is one cell of a table of confusion.
type confusedRow struct {
	trace      string
	pair       traces.Pair
	one, other string
	things     int
}

func (t *TraceResults) confusionSheet() grid.Grid {
	var rows []confusedRow
	for _, a := range t.Agreement {
		levels := t.levels(a.Trace)
		for _, p := range a.Pairs {
			for i, row := range p.Confusion {
				for j, n := range row {
					rows = append(rows, confusedRow{a.Trace, p, levels[i], levels[j], n})
				}
			}
		}
	}
	m := grid.Of("trace_confusion", "What one observer gave against what the other gave", rows)
	m.Label("trace", "what was looked for", func(c confusedRow) string { return c.trace })
	m.Label("one", "observer", func(c confusedRow) string { return c.pair.One })
	m.Label("other", "the other", func(c confusedRow) string { return c.pair.Other })
	m.Label("value_one", "what the first gave", func(c confusedRow) string { return c.one })
	m.Label("value_other", "what the other gave", func(c confusedRow) string { return c.other })
	m.Count("things", "on so many things", func(c confusedRow) int { return c.things })
	return m.Made()
}

// levels are a trace's values in rising order.
func (t *TraceResults) levels(trace string) []string {
	for i := range t.Coding {
		if t.Coding[i].Name == trace {
			return t.Coding[i].Levels()
		}
	}
	return nil
}

func (t *TraceResults) printSheet() grid.Grid {
	m := grid.Of("trace_prints", "Whether traces on facing pages may be prints of each other", t.Prints)
	m.Label("trace", "what was looked for", func(p traces.Print) string { return p.Trace })
	m.Count("openings", "of which both pages can be told", func(p traces.Print) int { return p.Openings })
	m.Count("both", "with the trace on both pages", func(p traces.Print) int { return p.Both })
	m.Number("expected", "as many by chance", func(p traces.Print) float64 { return p.Expected })
	m.Number("p", "chance of as many or more", func(p traces.Print) float64 { return p.P })
	m.Label("pages", "the openings with it on both pages", func(p traces.Print) string {
		var out []string
		for _, f := range p.Pages {
			out = append(out, f.Book+" "+f.Verso+"–"+f.Recto)
		}
		return strings.Join(out, "; ")
	})
	return m.Made("trace")
}

func (t *TraceResults) traceModelSheet() grid.Grid {
	m := grid.Of("trace_models", "The models of traces", t.Models)
	m.Label("model", "its name", func(m TraceModel) string { return m.Name })
	m.Label("book", "set where it is fitted book by book", func(m TraceModel) string { return m.Book })
	m.Label("about", "what it is for", func(m TraceModel) string { return m.About })
	m.Label("outcome", "the trace explained", func(m TraceModel) string { return m.Model.Outcome })
	m.Label("kind", "grades, yes or no, counts", func(m TraceModel) string { return m.Model.Kind })
	fitted := numbersOf(func(m TraceModel) *generalised.Fit { return m.Fit })
	m.Number("n", "looks used", fitted(func(f *generalised.Fit) float64 { return float64(f.N) }))
	m.Count("again", "looks at things that another look is at, which do not enter it", func(m TraceModel) int { return m.Again })
	m.Number("loglik", "log likelihood", fitted(func(f *generalised.Fit) float64 { return f.LogLik }))
	m.Number("dispersion", "the negative binomial's size", fitted(func(f *generalised.Fit) float64 {
		if f.Dispersion == 0 {
			return math.NaN()
		}
		return f.Dispersion
	}))
	m.Label("approximation", "how the random effects were integrated out", func(m TraceModel) string {
		if m.Fit == nil {
			return ""
		}
		return m.Fit.Approximation
	})
	m.Label("failed", "why it could not be fitted; empty where it could", func(m TraceModel) string { return m.Failed })
	return m.Made()
}

// A traceEffect is one number of a fit of a trace.
type traceEffect struct {
	model TraceModel
	kind  string
	generalised.Coefficient
}

func (t *TraceResults) traceEffects() []traceEffect {
	bare := func(term string, estimate, se float64) generalised.Coefficient {
		nan := math.NaN()
		return generalised.Coefficient{Term: term, Estimate: estimate, SE: se, T: nan, P: nan, Low: nan, High: nan}
	}
	var rows []traceEffect
	for _, m := range t.Models {
		if m.Fit == nil {
			continue
		}
		for _, c := range m.Fit.Fixed {
			rows = append(rows, traceEffect{m, "effect", c})
		}
		for _, c := range m.Fit.Thresholds {
			rows = append(rows, traceEffect{m, "threshold", bare(c.Below+" | "+c.Above, c.Estimate, c.SE)})
		}
		for _, c := range m.Fit.ZeroInflation {
			rows = append(rows, traceEffect{m, "zero inflation", c})
		}
		intervals := deviationsOf(&m.Fit.Inferences, mixed.GroupDeviation)
		for _, r := range m.Fit.Random {
			for k, term := range r.Terms {
				c := bare(term, r.SD[k], math.NaN())
				if len(intervals) > 0 {
					c.Low, c.High, intervals = intervals[0].Low, intervals[0].High, intervals[1:]
				}
				rows = append(rows, traceEffect{m, "standard deviation between " + wording.Labels(nil).Groups(r.By), c})
			}
		}
	}
	return rows
}

func (t *TraceResults) effectSheet() grid.Grid {
	m := grid.Of("trace_effects", "Effects, thresholds and spreads of the models of traces, on the scale of the link", t.traceEffects())
	m.Label("model", "its name", func(e traceEffect) string { return e.model.Name })
	m.Label("book", "set where it is fitted book by book", func(e traceEffect) string { return e.model.Book })
	m.Label("kind", "effect, threshold, zero inflation, or standard deviation between groups", func(e traceEffect) string { return e.kind })
	m.Label("term", "its name", func(e traceEffect) string { return e.Term })
	m.Number("estimate", "on the scale of the link", func(e traceEffect) float64 { return e.Estimate })
	m.Number("se", "standard error; of effects that with which p and the interval go", func(e traceEffect) float64 { return e.SE })
	m.Number("df", "degrees of freedom; empty for the normal distribution", func(e traceEffect) float64 { return orNaN(e.DF) })
	m.Number("p", "two-sided, alone", func(e traceEffect) float64 { return e.P })
	m.Number("low", "lower end of the 95 % interval, alone", func(e traceEffect) float64 { return e.Low })
	m.Number("high", "upper end", func(e traceEffect) float64 { return e.High })
	m.Label("method", "of an effect: how standard error, interval and p came about", func(e traceEffect) string { return e.Method })
	return m.Made()
}

// A traceMean is an adjusted mean of a model.
type traceMean = rowOf[TraceModel, generalised.Mean]

func (t *TraceResults) meanSheet() grid.Grid {
	rows := each(t.Models, func(m TraceModel) []traceMean {
		if m.Fit == nil {
			return nil
		}
		return rowsUnder(m, m.Fit.Adjusted)
	})
	m := grid.Of("trace_means", "Probabilities and rates that the models expect, averaged over the looks and over books, pages and observers", rows)
	m.Label("model", "its name", func(e traceMean) string { return e.of.Name })
	m.Label("book", "set where it is fitted book by book", func(e traceMean) string { return e.of.Book })
	m.Label("column", "the feature", func(e traceMean) string { return e.row.Column })
	m.Label("level", "its level, put in the place of every look's own", func(e traceMean) string { return e.row.Level })
	m.Label("of", "the value whose probability it is; of counts the rate", func(e traceMean) string { return e.row.Of })
	addEstimate(m, "mean", "probability or rate", "", lowerEnd, func(e traceMean) traces.Estimate { return meanEstimate(e.row) })
	return m.Made()
}

func meanEstimate(m generalised.Mean) traces.Estimate {
	return traces.Estimate{Value: m.Mean, Low: m.Low, High: m.High}
}

// An expectedRow is what was seen against what was expected.
type expectedRow = rowOf[TraceModel, TraceExpected]

func (t *TraceResults) expectedSheet() grid.Grid {
	rows := each(t.Models, func(m TraceModel) []expectedRow { return rowsUnder(m, m.Expected) })
	m := grid.Of("trace_expected", "What was seen against what the models expect", rows)
	m.Label("model", "its name", func(e expectedRow) string { return e.of.Name })
	m.Label("book", "set where it is fitted book by book", func(e expectedRow) string { return e.of.Book })
	m.Label("column", "the feature", func(e expectedRow) string { return e.row.Column })
	m.Label("level", "its level", func(e expectedRow) string { return e.row.Level })
	m.Label("of", "the value whose share it is; of counts the mean count", func(e expectedRow) string { return e.row.Of })
	m.Count("looks", "looks with this level", func(e expectedRow) int { return e.row.Looks })
	m.Number("seen", "share or mean count seen", func(e expectedRow) float64 { return e.row.Seen })
	m.Number("expected", "the same as the model expects it", func(e expectedRow) float64 { return e.row.Expected })
	return m.Made()
}

// toldSheet are the answers on traces as probabilities and rates.
func (r *Results) toldSheet() grid.Grid {
	type row struct {
		question, book, side, words, of string
		generalised.Mean
	}
	var rows []row
	for _, a := range r.Answers {
		if t := a.Told; t != nil {
			rows = append(rows, row{a.Question.Words, a.Book, "asked about", t.Level, t.Outcome, t.Asked}, row{a.Question.Words, a.Book, "against", t.Other, t.Outcome, t.Against})
		}
	}
	m := grid.Of("trace_answers", "The answers on traces as probabilities and rates", rows)
	m.Label("question", "in the scholar's words", func(t row) string { return t.question })
	m.Label("book", "set where the model is fitted book by book", func(t row) string { return t.book })
	m.Label("side", "asked about, or what that is set against", func(t row) string { return t.side })
	m.Label("feature", "the feature in words", func(t row) string { return t.words })
	m.Label("outcome", "what is told, in words", func(t row) string { return t.of })
	addEstimate(m, "mean", "probability of this value or a higher one, or rate", "", lowerEnd, func(t row) traces.Estimate { return meanEstimate(t.Mean) })
	return m.Made()
}

// pagesSchema describes the table of pages, traces among their features.
func (r *Results) pagesSchema() table.Schema {
	schema := readings.JoinedSchema(r.Pages)
	if !r.looked() {
		return schema
	}
	for _, f := range r.Traces.Looks.PageSchema() {
		for i := range schema.Fields {
			if schema.Fields[i].Name == f.Name {
				schema.Fields[i] = f
			}
		}
	}
	return schema
}
