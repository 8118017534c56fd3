package study

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"thumbed/models/dropoff"
	"thumbed/models/generalised"
	"thumbed/models/hypotheses"
	"thumbed/models/mixed"
	"thumbed/models/profile"
	"thumbed/models/readings"
	"thumbed/models/report"
	"thumbed/models/table"
)

// Run computes everything that the study asks for: wear, the profile of each
// book, the decline along its hours and where the level of wear changes, drop-offs that
// books share, readers compared, models, and the answers to the
// questions. A part that cannot be computed says why in its place, and the
// others go on. The results are the same on every run and with any number of
// processors. progress may be nil.
//
// Where something could not be said of a measured book, a model could not be
// fitted or a question not answered, the error is an
// [*Incomplete] that says so, and the results stand nonetheless.
func (s *Study) Run(progress Progress) (*report.Results, error) { return s.run(nil, progress) }

// run takes what is drawn by chance from drawn, the draws of all questions in
// their order; where that is nil it draws itself.
func (s *Study) run(drawn []float64, progress Progress) (*report.Results, error) {
	wear, err := s.Wear()
	if err != nil {
		return nil, fmt.Errorf("the wear of the pages cannot be computed: %w", err)
	}
	data, err := s.Data()
	if err != nil {
		return nil, fmt.Errorf("the wear cannot be joined to the pages: %w", err)
	}
	results := &report.Results{
		Meta:   report.Meta{Title: s.Title, Author: s.Author, Note: s.Note, Invented: s.Invented, Program: ThisBuild().Program},
		Labels: s.Labels,
		Books:  make([]report.BookResult, len(s.Books)),
		Pages:  data,
	}
	if s.Log != nil { // else nothing was measured
		results.Readings = wear
	}
	fits, notes := s.fits(data)
	results.Notes = notes
	var parts []Part
	traceFits, err := s.traceFits(results)
	if err != nil {
		return nil, err
	}
	for _, f := range traceFits {
		parts = append(parts, Part{"the model " + f.called(s), func() { f.compute(s, data) }})
	}
	for b := range s.Books {
		results.Books[b].Book = s.Books[b]
		if s.Log == nil {
			continue // nothing was measured
		}
		parts = append(parts, Part{"the profile of " + s.Books[b].ID, func() { s.describe(&results.Books[b], b, wear.OfBook(b)) }})
	}
	for _, f := range fits {
		parts = append(parts, Part{"the model " + f.called(s), func() { f.compute(s, data) }})
	}
	var tries []*tried
	for _, t := range s.trials(fits, data) {
		parts = append(parts, Part{"the answer " + t.choice.name, func() { t.compute(s, data) }})
		tries = append(tries, &t.tried)
	}
	for _, t := range s.traceTrials(traceFits) {
		parts = append(parts, Part{"the answer " + t.choice.name, func() { t.compute(s, results.Traces.Table, data) }})
		tries = append(tries, &t.tried)
	}
	drawings := s.drawings(fits, data)
	if drawn == nil {
		progress = progress.Of(len(parts) + total(drawings))
	}
	RunAll(parts, progress)
	s.drawAll(drawings, drawn, progress.after(len(parts)))
	if s.Log != nil {
		s.compareReaders(results)
	}
	s.collect(results, fits, traceFits...)
	s.second(results, fits, data)
	if err := s.annotate(results); err != nil {
		return nil, err
	}
	results.Robustness = s.robust(tries, results.Answers)
	if err := s.foresee(results); err != nil {
		return nil, err
	}
	return results, s.incomplete(results, fits, traceFits...)
}

// describe fills in what is said of one book; wear is that of its own pages.
func (s *Study) describe(result *report.BookResult, book int, wear []readings.Wear) {
	among := s.among()
	curve, err := profile.Of(s.Books, book, wear, among.Shared...)
	if err != nil {
		result.Failed = append(result.Failed, sentence(err.Error()))
	} else {
		curve.At(among.Level)
	}
	result.Profile = curve
	for _, set := range Sets(s.Books[book]) {
		carried, err := dropoff.DeclineOf(s.Books, book, set, wear, among)
		if err != nil {
			result.Failed = append(result.Failed, sentence(err.Error()))
			continue
		}
		result.Declines = append(result.Declines, carried)
	}
	habits, err := dropoff.HabitsOf(s.Books, book, wear, among)
	if err != nil {
		result.Failed = append(result.Failed, sentence("where the level of wear changes could not be looked for: "+err.Error()))
	}
	result.Habits = habits
}

// An asking is one model to be fitted once, with the answers to the questions that are
// asked of it.
type asking struct {
	model   int                 // index into the study's models
	book    string              // set where fitted book by book
	err     error               // why the model could not be fitted
	answers []hypotheses.Answer // to those of its questions that have one …
	of      []int               // … and which: indices into the study's questions
	silent  []string            // sentences: which questions got none, and why
}

// called is the model's name in words.
func (a *asking) called(s *Study) string { return named(s.Models[a.model].Name, a.book) }

// questions are those asked of the model, with their places among the study's. Where it
// could not be fitted there are none, and each is said to have no answer.
func (a *asking) questions(s *Study) (questions []hypotheses.Question, of []int) {
	for q, question := range s.Questions {
		switch {
		case question.Model != s.Models[a.model].Name:
		case a.err != nil:
			a.silent = append(a.silent, fmt.Sprintf("“%s” has no answer, since the model %s could not be fitted.", question.Words, a.called(s)))
		default:
			questions, of = append(questions, question), append(of, q)
		}
	}
	return questions, of
}

// take takes up what the model, as it was fitted, answers to its questions; errs say why
// some have no answer.
func (a *asking) take(s *Study, m mixed.Model, of []int, answers []hypotheses.Answer, errs []error) {
	for k, q := range of {
		question := s.Questions[q]
		if errs[k] != nil {
			a.silent = append(a.silent, fmt.Sprintf("“%s” has no answer from the model %s. %s", question.Words, a.called(s), sentence(errs[k].Error())))
			continue
		}
		answer := answers[k]
		answer.In(m)
		answer.Called(question.Effect(s.Labels, m.Levels))
		answer.Book = a.book
		a.answers, a.of = append(a.answers, answer), append(a.of, q)
	}
}

// A fit is a model of a measure to be fitted once.
type fit struct {
	asking
	rows   []int // of the study's data
	result report.ModelResult
	extra  []report.ModelResult // fits with groups added for some of the questions

	calibrated *table.Table // its rows with what was allowed for features measured with error; nil where none is
}

// fits lists the fits that the study's models need, in their order, and says
// which books a model passes over.
func (s *Study) fits(data *table.Table) (fits []*fit, notes []string) {
	for i := range s.Models {
		m := &s.Models[i]
		if !m.IsMeasure() {
			continue // of traces: see traceFits
		}
		for _, book := range s.booksOf(m) {
			f := &fit{asking: asking{model: i, book: book}, rows: m.rows(data, book)}
			f.result = report.ModelResult{Name: m.Name, About: m.About, Book: book, Model: s.sharedIn(m.Model)}
			if book != "" && len(f.rows) == 0 {
				notes = append(notes, fmt.Sprintf("The model %s was not fitted: no page of the book is among those that it speaks of.", named(m.Name, book)))
				continue
			}
			fits = append(fits, f)
		}
	}
	return fits, notes
}

// booksOf are the books that a model fitted book by book speaks of; of a model fitted
// once a single one without a name.
func (s *Study) booksOf(m *Model) []string {
	if m.Each == "" {
		return []string{""}
	}
	var ids []string
	for _, b := range s.Books {
		if only, limited := m.Only[m.Each]; !limited || len(common(only, b.ID)) > 0 {
			ids = append(ids, b.ID)
		}
	}
	return ids
}

// pages are the rows that the model is fitted to; they are copied only where
// some of the data are left out.
func (f *fit) pages(data *table.Table) *table.Table {
	if f.calibrated != nil {
		return f.calibrated
	}
	if len(f.rows) == data.Rows() {
		return data
	}
	return data.Select(f.rows)
}

// estimate fits the model.
func (f *fit) estimate(s *Study, data *table.Table) {
	pages, allowed, err := s.allow(&s.Models[f.model], f.pages(data), data)
	if err != nil {
		f.err = err
		f.result.Failed = failure(err)
		return
	}
	if len(allowed) > 0 {
		f.result.Allowed, f.calibrated = allowed, pages
	}
	fitted, err := f.result.Model.Fit(pages)
	if err != nil {
		f.err = err
		f.result.Failed = failure(err)
		return
	}
	fitted.Seconds = 0 // results hold nothing that depends on the clock
	fitted.Notes = append(fitted.Notes, unseen(f.result.Model, pages)...)
	f.result.Fit, f.result.Rows = fitted, f.rowsOf(fitted)
}

// rowsOf are the rows of all pages that a fit to the model's pages took.
func (f *fit) rowsOf(fitted *mixed.Fit) []int {
	out := slices.Clone(fitted.Rows())
	for i, row := range out {
		out[i] = f.rows[row]
	}
	return out
}

// infer makes what the model asks for besides its effects, and looks for what must be
// known unasked. What cannot be had is told in the fit's notes.
func (f *fit) infer(s *Study, data *table.Table) {
	if f.err != nil {
		return
	}
	pages, model := f.pages(data), f.result.Model
	hypotheses.LeftOut(model, f.result.Fit, pages, s.unknown(model))
	o := mixed.Inferring{Table: pages, Group: s.groupWords}
	if book, page := pages.Column("book"), pages.Column("page"); book != nil && page != nil {
		o.Where = func(row int) string {
			return s.groupWords([]string{"book", "page"}, []string{book.Label(row), page.Label(row)})
		}
	}
	if err := f.result.Fit.Infer(context.Background(), o); err != nil {
		f.result.Fit.Refuse("inference besides the effects", err)
	}
	s.compare(f.result.Fit, pages)
}

// compare compares a fit with the model of the study that its own names for it.
func (s *Study) compare(fit generalised.Result, pages *table.Table) {
	name := fit.Model().Compare
	k := slices.IndexFunc(s.Models, func(m Model) bool { return m.Name == name })
	if k < 0 { // none is named
		return
	}
	comparison, err := generalised.CompareModels(fit.Model(), s.sharedIn(s.Models[k].Model), "“"+name+"”", pages)
	if err != nil {
		fit.Refuse("comparison with “"+name+"”", err)
		return
	}
	fit.Compared(comparison)
}

// compute fits the model and asks its questions.
func (f *fit) compute(s *Study, data *table.Table) {
	f.estimate(s, data)
	f.infer(s, data)
	questions, of := f.questions(s)
	if len(questions) == 0 {
		return
	}
	asked := hypotheses.AskOf(questions, f.result.Model, f.result.Fit, f.pages(data), s.unknown(f.result.Model))
	for _, extra := range asked.Extra {
		hypotheses.LeftOut(extra.Model, extra.Fit, f.pages(data), s.unknown(extra.Model))
		extra.Fit.GiveDeviations()
		f.extra = append(f.extra, report.ModelResult{Name: f.result.Name + ", with " + strings.Join(slices.Concat(extra.Added, extra.Sources), " and "), Book: f.book, Model: extra.Model, Fit: extra.Fit, Rows: f.rowsOf(extra.Fit),
			Added: slices.Concat(extra.Added, extra.Sources), About: "As “" + f.result.Name + "”, with what some of its questions need added."})
	}
	f.take(s, f.result.Model, of, asked.Answers, asked.Errs)
}

// collect puts models and answers into the results: models as the study file
// has them, answers in the order of the questions and, within one, of the
// books.
func (s *Study) collect(results *report.Results, fits []*fit, ofTraces ...*traceFit) {
	var all []*asking
	for _, f := range fits {
		results.Models = append(append(results.Models, f.result), f.extra...)
		all = append(all, &f.asking)
	}
	for _, f := range ofTraces {
		results.Traces.Models = append(append(results.Traces.Models, f.result), f.extra...)
		all = append(all, &f.asking)
	}
	for _, a := range all {
		results.Notes = append(results.Notes, a.silent...)
	}
	for q, question := range s.Questions {
		for _, a := range all {
			if k := slices.Index(a.of, q); k >= 0 {
				results.Answers = append(results.Answers, a.answers[k])
			} else if question.Model == s.Models[a.model].Name {
				results.Unanswered = append(results.Unanswered, report.Unanswered{Question: question, Book: a.book})
			}
		}
	}
	hypotheses.Adjust(results.Answers, s.Adjustment())
}

// Adjustment says over what the study's answers are adjusted.
func (s *Study) Adjustment() hypotheses.Adjustment {
	return hypotheses.Adjustment{Families: s.Families, Separately: s.Adjust == apart}
}

// second looks again at the answers when all are settled: it finds what single groups
// decide.
func (s *Study) second(results *report.Results, fits []*fit, data *table.Table) {
	var parts []Part
	for i := range results.Answers {
		a := &results.Answers[i]
		for _, f := range fits {
			if f.result.Name != a.Question.Model || f.book != a.Book {
				continue
			}
			by := f.answering(a)
			parts = append(parts, Part{"a second look at “" + a.Question.Words + "”", func() {
				a.Decide(by, f.pages(data))
			}})
		}
	}
	RunAll(parts, nil)
}

// answering is the fit that gave an answer.
func (f *fit) answering(a *hypotheses.Answer) hypotheses.Fitted {
	for _, extra := range f.extra {
		if slices.Equal(slices.Concat(a.Rests.Added, a.Rests.Sources), extra.Added) {
			return hypotheses.Fitted{Model: extra.Model, Fit: extra.Fit}
		}
	}
	return hypotheses.Fitted{Model: f.result.Model, Fit: f.result.Fit}
}

// named is a model's name in words, with the book where it is fitted in one.
func named(model, book string) string {
	if book == "" {
		return "“" + model + "”"
	}
	return "“" + model + "” in " + book
}
