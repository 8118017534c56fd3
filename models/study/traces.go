package study

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"

	"thumbed/models/codex"
	"thumbed/models/generalised"
	"thumbed/models/hypotheses"
	"thumbed/models/mixed"
	"thumbed/models/readings"
	"thumbed/models/report"
	"thumbed/models/table"
	"thumbed/models/traces"
	"thumbed/models/wording"
)

// loadLooks reads the tables of looks.
func (s *Study) loadLooks(ps *table.Problems) {
	if slices.ContainsFunc(s.Books, func(b *codex.Book) bool { return len(b.Leaves) == 0 }) {
		return // that is told; what hangs on leaves waits until they are there
	}
	var paths []string
	for _, path := range s.Tables.Traces {
		paths = append(paths, s.near(path))
	}
	s.Looks = traces.Load(paths, s.File.Traces, s.Books, ps)
}

// addColumns appends columns to a table.
func addColumns(t *table.Table, columns []*table.Column) error {
	for _, c := range columns {
		if err := t.Add(c); err != nil {
			return fmt.Errorf("a trace of the coding book bears the name of a column of pages: %w; rename it", err)
		}
	}
	return nil
}

// joinLooks makes the table that models of traces are fitted to.
func (s *Study) joinLooks() (*table.Table, error) {
	data, err := s.Data()
	if err != nil {
		return nil, err
	}
	return s.Looks.Table(data)
}

// LookData is the table that models of traces are fitted to: one row a kept look, with
// the features of its page; see [traces.Looks.Table]. It is computed once; callers must
// not change it. Nil where no trace is looked for.
func (s *Study) LookData() (*table.Table, error) {
	if s.Looks == nil {
		return nil, nil
	}
	return s.looks()
}

// coding checks the coding book.
func (c *fileCheck) coding() {
	taken := codex.FeatureNames()
	for _, f := range readings.WearSchema().Fields {
		taken = append(taken, f.Name)
	}
	at, ps := traces.CheckBook(c.file.Traces, taken)
	for k, p := range ps {
		c.problem(p.Value, p.Expected, p.Remedy, "trace", at[k], p.Column)
	}
	switch {
	case len(c.file.Tables.Traces) > 0 && len(c.file.Traces) == 0:
		c.problem("", "the coding book, since tables of traces are named", "describe each trace in a [[trace]] with name, about, kind and its grades", "tables", "traces")
	case len(c.file.Tables.Traces) == 0 && len(c.file.Traces) > 0:
		c.problem("", "the tables with the looks, since traces are described", `under [tables] write traces = ["traces.csv"]`, "tables", "traces")
	}
}

// ofTraces checks what a question of a model of traces, or of wear alone, may ask.
func (c *fileCheck) ofTraces(i int, q hypotheses.Question) {
	k := slices.IndexFunc(c.file.Models, func(m Model) bool { return m.Name == q.Model })
	if k < 0 {
		return
	}
	m := &c.file.Models[k]
	if q.Grade != "" {
		levels := m.Levels[m.Outcome]
		if t := c.file.trace(m.Outcome); t != nil && len(levels) == 0 {
			levels = t.Levels()
		}
		if m.Kind != mixed.Grades || slices.Index(levels, q.Grade) < 1 {
			remedy := "leave it out where the model is not one of grades"
			if len(levels) > 1 {
				remedy = "write one of " + strings.Join(levels[1:], ", ") + ": the answer tells how often this or a higher one is given"
			}
			c.problem(q.Grade, "a grade of the model's outcome above the lowest", remedy, "question", i, "grade")
		}
	}
}

// trace finds an entry of the coding book; nil where there is none.
func (f *File) trace(name string) *traces.Trace {
	for i := range f.Traces {
		if f.Traces[i].Name == name {
			return &f.Traces[i]
		}
	}
	return nil
}

// traceOutcome checks the outcome of a model of traces.
func (c *modelCheck) traceOutcome(i int, m *Model, book []traces.Trace) bool {
	var names []string
	for k := range book {
		t := &book[k]
		names = append(names, t.Name)
		if t.Name != m.Outcome {
			continue
		}
		if t.Kind != m.Kind {
			c.problem(m.Kind, fmt.Sprintf("kind = %q, as the coding book has %s", t.Kind, t.Name), fmt.Sprintf("write kind = %q", t.Kind), "model", i, "kind")
			return false
		}
		if m.Trials != "" {
			c.problem(m.Trials, "a look a row, without trials", "delete trials", "model", i, "trials")
			return false
		}
		return true
	}
	remedy := "describe it in a [[trace]], and name the tables of looks under [tables]"
	if near := table.Nearest(m.Outcome, names); near != "" {
		remedy = "perhaps " + near + " is meant"
	}
	c.problem(m.Outcome, "a trace of the coding book, since the kind is "+m.Kind+": "+strings.Join(names, ", "), remedy, "model", i, "outcome")
	return false
}

// A traceFit is a model of a trace to be fitted once.
type traceFit struct {
	asking
	stated Model // as the study file has it
	trace  *traces.Trace
	rows   *table.Table
	result report.TraceModel
	extra  []report.TraceModel // fits with groups added for some of the questions
	unused []string            // grades of the coding book that nobody gave
}

// traceFits fills in what was seen of the traces and lists the fits that their models
// need.
func (s *Study) traceFits(results *report.Results) ([]*traceFit, error) {
	if s.Looks == nil {
		return nil, nil
	}
	seen, err := s.Traces()
	if err != nil {
		return nil, err
	}
	results.Traces = seen
	return s.fitsOfLooks(results, seen.Table), nil
}

// fitsOfLooks lists the fits of models of traces to looks; what they leave out goes to the
// notes.
func (s *Study) fitsOfLooks(results *report.Results, looks *table.Table) (out []*traceFit) {
	for i := range s.Models {
		m := &s.Models[i]
		if m.IsMeasure() {
			continue
		}
		for _, book := range s.booksOf(m) {
			f := s.traceFit(s.Models[i], i, book, looks)
			if book != "" && f.rows.Rows() == 0 {
				results.Notes = append(results.Notes, fmt.Sprintf("The model %s was not fitted: nobody looked at anything in the book that it speaks of.", named(m.Name, book)))
				continue
			}
			if len(f.unused) > 0 {
				results.Notes = append(results.Notes, fmt.Sprintf("The model %s leaves out what nobody gave: %s.", named(m.Name, book), wording.List(f.unused)))
			}
			out = append(out, f)
		}
	}
	return out
}

// Traces is what was seen of the traces, without models; nil where none was looked for.
func (s *Study) Traces() (*report.TraceResults, error) {
	if s.Looks == nil {
		return nil, nil
	}
	looks, err := s.LookData()
	if err != nil {
		return nil, fmt.Errorf("the looks cannot be joined to the pages: %w", err)
	}
	return &report.TraceResults{Coding: s.File.Traces, States: s.Looks.States(), Agreement: s.Looks.Agreements(), Prints: s.Looks.Prints(),
		Models: []report.TraceModel{}, Looks: s.Looks, Table: looks}, nil
}

// traceFit is a model of a trace, the study's at i, over the looks that it speaks of.
func (s *Study) traceFit(m Model, i int, book string, looks *table.Table) *traceFit {
	f := &traceFit{asking: asking{model: i, book: book}, stated: m, trace: s.File.trace(m.Outcome)}
	var rows []int
	of := looks.Column(traces.ColumnTrace)
	for _, row := range m.rows(looks, book) {
		if of.Label(row) == m.Outcome {
			rows = append(rows, row)
		}
	}
	f.result = report.TraceModel{Name: m.Name, About: m.About, Book: book}
	if !hasColumn(m.Model, traces.ColumnThing) {
		if once := traces.OnceEach(looks, rows); len(rows) < looksAtEach*len(once) {
			f.result.Again = len(rows) - len(once)
			rows = once
		}
	}
	f.rows = looks.Select(rows)
	f.result.Model, f.result.Usual, f.unused = completed(m.Model, f.trace, f.rows)
	return f
}

// looksAtEach is the mean number of looks at a thing from which all of them enter a
// model, with a random term of things; of fewer one look at each does.
const looksAtEach = 2

// fewestDays is by how much the days of all observers are more than the observers, for a
// model to have a term for how severity differs from day to day: a spread of fewer cannot
// be told (common practice, no source).
const fewestDays = 5

// completed gives a model of a trace the levels that the coding book has and somebody
// gave, and the random terms that it does not name itself: books, pages where a page has
// several things, things where a thing has several looks, and observers, whose severity
// differs, drifts as each goes through a book, and differs from day to day where they
// looked on enough days to tell.
func completed(m mixed.Model, t *traces.Trace, rows *table.Table) (_ mixed.Model, usual, unused []string) {
	if _, given := m.Levels[m.Outcome]; !given && t.Levels() != nil {
		levels := map[string][]string{m.Outcome: t.Levels()}
		maps.Copy(levels, m.Levels)
		m.Levels = levels
		m, unused = generalised.Present(m, rows)
	}
	add := func(by ...string) bool {
		if hasColumn(m, by[len(by)-1]) {
			return false
		}
		m.Random = append(slices.Clone(m.Random), mixed.Random{By: by, Terms: []string{intercept}})
		usual = append(usual, by[len(by)-1])
		return true
	}
	groups := func(by ...string) int {
		seen := map[string]bool{}
		for i := range rows.Rows() {
			var parts []string
			for _, name := range by {
				parts = append(parts, rows.Column(name).Label(i))
			}
			seen[strings.Join(parts, "\x00")] = true
		}
		return len(seen)
	}
	if groups(codex.ColumnBook) > 1 {
		add(codex.ColumnBook)
	}
	things := groups(codex.ColumnBook, traces.ColumnThing)
	if groups(codex.ColumnBook, codex.ColumnPage) < things {
		add(codex.ColumnBook, codex.ColumnPage)
	}
	if things < rows.Rows() {
		add(codex.ColumnBook, traces.ColumnThing)
	}
	if groups(traces.ColumnObserver) > 1 && add(traces.ColumnObserver) {
		m.Random = append(m.Random, mixed.Random{By: []string{traces.ColumnObserver}, Terms: []string{codex.FeaturePlace}})
	}
	days := groups(traces.ColumnObserver, traces.ColumnDay)
	bookByBook := days == groups(codex.ColumnBook) && days == groups(codex.ColumnBook, traces.ColumnObserver, traces.ColumnDay)
	if days-groups(traces.ColumnObserver) >= fewestDays && !bookByBook {
		add(traces.ColumnObserver, traces.ColumnDay)
	}
	return m, usual, unused
}

// hasColumn tells whether a model has a column among its fixed effects or as a group.
func hasColumn(m mixed.Model, column string) bool {
	return slices.ContainsFunc(m.Fixed, func(t mixed.Term) bool { return slices.Contains(t, column) }) ||
		slices.ContainsFunc(m.Random, func(r mixed.Random) bool { return slices.Contains(r.By, column) })
}

// compute fits the model and asks its questions.
func (f *traceFit) compute(s *Study, data *table.Table) {
	f.estimate(s, data)
	questions, of := f.questions(s)
	if len(questions) == 0 {
		return
	}
	asked := hypotheses.AskTrace(questions, f.result.Model, f.result.Fit, f.rows, s.telling(f.trace))
	for _, extra := range asked.Extra {
		extra.Fit.InWords(f.result.Model.Words)
		extra.Fit.GiveDeviations()
		added := report.TraceModel{Name: f.result.Name + ", with " + strings.Join(extra.Added, " and "), Book: f.book, Model: extra.Model, Fit: extra.Fit, Added: extra.Added,
			Usual: f.result.Usual, Allowed: f.result.Allowed, About: "As “" + f.result.Name + "”, with what some of its questions need added."}
		f.extra = append(f.extra, added)
	}
	f.take(s, f.result.Model, of, asked.Answers, asked.Errs)
}

// fit fits the model to the looks, with what is allowed for in them; a fit that cannot be
// used is an error.
func (f *traceFit) fit(s *Study, data *table.Table) (*generalised.Fit, error) {
	rows, allowed, err := s.allow(&f.stated, f.rows, data)
	if err != nil {
		return nil, err
	}
	f.rows, f.result.Allowed = rows, allowed
	fit, err := generalised.New(f.result.Model, rows)
	if err != nil {
		return nil, err
	}
	return fit, sound(fit)
}

// estimate fits the model, and tells what it asks for.
func (f *traceFit) estimate(s *Study, data *table.Table) {
	failed := func(err error) {
		f.err, f.result.Failed = err, failure(err)
	}
	fit, err := f.fit(s, data)
	if err == nil {
		fit.InWords(f.result.Model.Words)
		err = fit.Infer(context.Background(), mixed.Inferring{Table: f.rows, Simulate: true, Group: s.groupWords})
	}
	if err != nil {
		failed(err)
		return
	}
	s.compare(fit, f.rows)
	f.result.Fit = fit
	f.result.Fit.Seconds = 0 // results hold nothing that depends on the clock
	f.result.Expected = expected(f.result.Fit, f.rows)
}

// widest is the standard deviation between groups, on the scale of the link, beyond
// which a model of traces is not believed: at 10 nearly every group is all of one kind.
const widest = 10

// sound tells whether a fit can be used.
func sound(fit *generalised.Fit) error {
	if !fit.Converged {
		return errors.New("the search for the best fit did not converge: take out a feature or a random term, or look at more")
	}
	for _, r := range fit.Random {
		for k, sd := range r.SD {
			if r.Terms[k] == intercept && sd > widest {
				return fmt.Errorf("nearly every %s is all of one kind, so that what varies between them has no bound: take the random term out, or look at more of each", r.By[len(r.By)-1])
			}
		}
	}
	return nil
}

// expected sets what was seen against what the model expects, by the levels of its
// features.
func expected(fit *generalised.Fit, rows *table.Table) []report.TraceExpected {
	var out []report.TraceExpected
	m := fit.Model()
	of := m.Levels[m.Outcome]
	if len(of) == 0 {
		of = []string{"count"}
	}
	for _, term := range m.Fixed {
		if len(term) > 1 || rows.Column(term[0]).IsNumber() && len(m.Levels[term[0]]) == 0 {
			continue
		}
		column := rows.Column(term[0])
		levels := m.Levels[term[0]]
		if len(levels) == 0 {
			levels, _ = column.Levels()
			slices.Sort(levels)
		}
		n, seen, expect := fit.Expected(len(levels), func(row int) int { return slices.Index(levels, column.Label(row)) })
		for g, level := range levels {
			for k, value := range of {
				if n[g] > 0 {
					out = append(out, report.TraceExpected{Column: term[0], Level: level, Of: value, Looks: n[g], Seen: seen[g][k], Expected: expect[g][k]})
				}
			}
		}
	}
	return out
}

// telling are the words for answers on a trace.
func (s *Study) telling(t *traces.Trace) hypotheses.Telling {
	per := " a page"
	switch {
	case t.Per != "":
		per = " for each unit of " + t.Per
	case len(t.Parts) > 0:
		per = " a part"
	}
	return hypotheses.Telling{Labels: s.Labels, Per: per, Of: func(level string) string {
		if said := s.Labels[t.Name+"="+level]; said != "" {
			return said
		}
		levels := t.Levels()
		switch k := slices.Index(levels, level); {
		case t.Kind == mixed.Counts:
			return s.Labels.Column(t.Name)
		case t.Kind == mixed.YesNo:
			return s.Labels.Column(t.Name)
		case k == len(levels)-1:
			return s.Labels.Column(t.Name) + " “" + level + "”"
		default:
			return s.Labels.Column(t.Name) + " “" + level + "” or beyond"
		}
	}}
}

// allow puts what a model's features measured with error are expected to be truly in
// their place.
func (s *Study) allow(m *Model, rows, data *table.Table) (*table.Table, []traces.Allowance, error) {
	var out []traces.Allowance
	for _, column := range slices.Sorted(maps.Keys(m.Errors)) {
		var others []mixed.Term
		for _, term := range m.Fixed {
			if slices.Contains(term, column) && len(term) > 1 {
				return nil, nil, fmt.Errorf("%s is measured with error and stands in a product: what to put in its place is known for single features only; take the product out, or the error", column)
			}
			if !slices.Contains(term, column) {
				others = append(others, term)
			}
		}
		if column == m.Outcome {
			return nil, nil, fmt.Errorf("%s is the outcome, whose error belongs under residual: write known_sd = %q", column, m.Errors[column])
		}
		fresh, allowed, err := traces.Allow(rows, data, column, m.Errors[column], others, m.Levels)
		if err != nil {
			return nil, nil, err
		}
		rows, out = fresh, append(out, allowed)
	}
	return rows, out, nil
}

// findLooks counts the looks.
func (s *Study) findLooks(found *Found) {
	if s.Looks == nil {
		return
	}
	found.Traces = len(s.File.Traces)
	for _, look := range s.Looks.All {
		if look.Kept() {
			found.Looks++
		}
	}
	states := s.Looks.States()
	for _, t := range s.File.Traces {
		var sum traces.State
		for _, st := range states {
			if st.Trace == t.Name {
				sum.Things += st.Things
				sum.There += st.There
				sum.Nothing += st.Nothing
				sum.Unclear += st.Unclear
				sum.NotLooked += st.NotLooked
			}
		}
		found.Coded = append(found.Coded, t.Name+": "+sum.Words()+".")
	}
	for _, a := range s.Looks.Agreements() {
		found.Coded = append(found.Coded, a.Words)
	}
}

// traceProblems is what a run would meet in the models of traces and their questions.
func (s *Study) traceProblems() (found ModelProblems) {
	fits, err := s.traceFits(&report.Results{})
	if err != nil {
		return nil
	}
	for _, f := range fits {
		var books []string
		if f.book != "" {
			books = []string{f.book}
		}
		err := generalised.Check(f.result.Model, f.rows)
		for _, p := range kinds(err) {
			p.File, p.Line = s.Path, s.blamedLine(f.model, p.Column)
			found = found.Add(ModelProblem{p, books})
		}
		if err != nil {
			continue
		}
		for q, question := range s.Questions {
			if question.Model != f.result.Name {
				continue
			}
			if err := hypotheses.CanAskTrace(question, f.result.Model, f.rows); err != nil && len(kinds(err)) == 0 {
				found = found.Add(ModelProblem{s.where.Problem(s.Path, question.Words, "a question that the looks can answer: "+err.Error(), "look at more as it says, or take the question out", "question", q, "contrast"), books})
			}
		}
	}
	return found
}

// A TraceFit is a model of a trace with the looks that it was fitted to.
type TraceFit struct {
	Book    string // set where it is fitted book by book
	Model   mixed.Model
	Fit     *generalised.Fit
	Rows    *table.Table // one a look
	Telling hypotheses.Telling
}

// FitTrace fits one of the study's models of traces, by its name: once, or in every book
// where the model says so. Books that it cannot be fitted in are left out; the error says
// why where none is left.
func (s *Study) FitTrace(name string) ([]TraceFit, error) {
	fits, err := s.traceFits(&report.Results{})
	if err != nil {
		return nil, err
	}
	data, err := s.Data()
	if err != nil {
		return nil, err
	}
	var out []TraceFit
	why := errors.New("nobody looked at anything that it speaks of")
	for _, f := range fits {
		if f.result.Name != name {
			continue
		}
		fit, err := f.fit(s, data)
		if err != nil {
			why = err
			continue
		}
		out = append(out, TraceFit{Book: f.book, Model: f.result.Model, Fit: fit, Rows: f.rows, Telling: s.telling(f.trace)})
	}
	if out == nil {
		return nil, fmt.Errorf("the model “%s” cannot be fitted: %w", name, why)
	}
	return out, nil
}
