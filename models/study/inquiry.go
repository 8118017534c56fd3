package study

import (
	"cmp"
	"maps"
	"slices"

	"thumbed/models/codex"
	"thumbed/models/hypotheses"
	"thumbed/models/mixed"
	"thumbed/models/report"
	"thumbed/models/table"
	"thumbed/models/table/document"
	"thumbed/models/traces"
)

// An Inquiry is models and questions that are put to pages which come from
// elsewhere than the tables of one study: those of many books in folders.
type Inquiry struct{ study *Study }

// NewInquiry is the inquiry of a file with models and questions. path and where
// tell where in the scholar's file each stands.
func NewInquiry(path string, file File, where document.Where) *Inquiry {
	return &Inquiry{&Study{Path: path, File: file, where: where}}
}

// Check reports what is wrong with the measuring plan, the models, the questions
// and the families, as far as the file alone can tell.
func (q *Inquiry) Check(ps *table.Problems) {
	s := q.study
	c := fileCheck{path: s.Path, file: &s.File, where: s.where, ps: ps}
	if len(s.Tables.Traces) > 0 {
		c.coding()
	}
	c.inquiry()
}

// A Fitted is one fit with its answers, as far as results need it.
type Fitted struct {
	Model   int    // number of the model in the file
	Book    string // where fitted book by book
	Result  report.ModelResult
	Extra   []report.ModelResult // with groups added for some of the questions
	Answers []hypotheses.Answer
	Of      []int    // the questions that they answer: numbers in the file
	Silent  []string // sentences: which questions got no answer, and why
	Missing []string // lines for an [Incomplete]
}

// Each fits the models that are fitted book by book to the pages of some books,
// as [Study.Data] gives them. Of the fits only the numbers are kept.
func (q *Inquiry) Each(books []string, data *table.Table) []Fitted {
	var out []Fitted
	s := q.of(books)
	fits, _ := s.fits(data)
	for _, f := range fits {
		if f.book != "" {
			f.complete(s, data)
			out = append(out, f.fitted(s))
		}
	}
	return out
}

// Once fits the models that are fitted once to all pages; progress may be nil.
func (q *Inquiry) Once(data *table.Table, progress Progress) []Fitted {
	s := q.of(nil)
	fits, _ := s.fits(data)
	out := make([]Fitted, len(fits))
	var parts []Part
	for i, f := range fits {
		parts = append(parts, Part{"the model " + f.called(s), func() {
			f.complete(s, data)
			out[i] = f.fitted(s)
		}})
	}
	RunAll(parts, progress)
	return out
}

// of is the inquiry as a study of books of which only the names are known.
func (q *Inquiry) of(books []string) *Study {
	s := *q.study
	for _, id := range books {
		s.Books = append(s.Books, &codex.Book{ID: id})
	}
	return &s
}

// complete fits, asks, and answers once more from draws where a question wants it.
func (f *fit) complete(s *Study, data *table.Table) {
	f.compute(s, data)
	s.drawAll(s.drawings([]*fit{f}, data), nil, nil)
}

func (f *fit) fitted(s *Study) Fitted {
	out := Fitted{Model: f.model, Book: f.book, Result: numbersOf(f.result), Answers: f.answers, Of: f.of, Silent: f.silent, Missing: f.missing(s)}
	for _, extra := range f.extra {
		out.Extra = append(out.Extra, numbersOf(extra))
	}
	return out
}

// numbersOf keeps of a fit its numbers alone.
func numbersOf(m report.ModelResult) report.ModelResult {
	if fit := m.Fit; fit != nil {
		m.Fit = &mixed.Fit{N: fit.N, Estimate: fit.Estimate, LogLik: fit.LogLik, MinusTwiceLogLik: fit.MinusTwiceLogLik, Converged: fit.Converged,
			Boundary: fit.Boundary, Fixed: fit.Fixed, Random: fit.Random, Smooth: fit.Smooth, Residual: fit.Residual, Inferences: fit.Inferences}
	}
	return m
}

// Settle puts fits, in any order, into models and answers as a study has them:
// models as they stand in the file, answers in the order of the questions and,
// within one, of the books' names; each answer adjusted among its family. The
// error is an [*Incomplete] where a model could not be fitted or a question not
// answered.
func (q *Inquiry) Settle(results *report.Results, fitted []Fitted, ofTraces *TraceFits) error {
	fitted = slices.Clone(fitted)
	slices.SortStableFunc(fitted, func(a, b Fitted) int {
		return cmp.Or(cmp.Compare(a.Model, b.Model), cmp.Compare(a.Book, b.Book))
	})
	var fits []*fit
	var missing []string
	for _, f := range fitted {
		fits = append(fits, &fit{asking: asking{model: f.Model, book: f.Book, answers: f.Answers, of: f.Of, silent: f.Silent}, result: f.Result, extra: f.Extra})
		missing = append(missing, f.Missing...)
	}
	var traceFits []*traceFit
	if ofTraces != nil {
		traceFits = ofTraces.fits
		for _, f := range traceFits {
			missing = append(missing, f.missing(q.study)...)
		}
	}
	q.study.collect(results, fits, traceFits...)
	if missing == nil {
		return nil
	}
	return &Incomplete{Missing: missing}
}

// Ahead is what a run would fail on in the models that are fitted to these
// pages: in those fitted book by book where books are named, as [Inquiry.Each] fits
// them, else in those of [Inquiry.Once]. Nothing is fitted.
func (q *Inquiry) Ahead(books []string, data *table.Table) ModelProblems {
	s := q.of(books)
	return s.modelProblems(data, func(f *fit) bool { return (f.book != "") == (books != nil) })
}

// Columns are the columns of pages that the models fitted once need, in order.
func (q *Inquiry) Columns() []string {
	var names []string
	for _, m := range q.study.Models {
		if m.Each == "" {
			names = append(append(names, m.Columns()...), slices.Collect(maps.Keys(m.Only))...)
		}
	}
	for _, question := range q.study.Questions {
		names = append(names, hypotheses.Groupings()...)
		for _, way := range hypotheses.Ways() {
			if way.Draws(question) > 0 {
				names = append(names, way.Needs...)
			}
		}
	}
	slices.Sort(names)
	return slices.Compact(names)
}

// CheckColumns reports, at their places in the file, the columns that its models
// and questions name and no page has: names are those of the pages' features, the
// scholar's own among them. Labels are looked for when the pages have been read.
func (q *Inquiry) CheckColumns(names []string, ps *table.Problems) error {
	if len(q.study.File.Traces) > 0 {
		names = slices.Concat(names, traces.OwnColumns(), traces.PageNames(q.study.File.Traces))
	}
	var columns []*table.Column
	for _, name := range names {
		columns = append(columns, table.Numbers(name, []float64{}))
	}
	features, err := table.New(columns...)
	if err != nil {
		return err
	}
	q.study.checkModelsOn(features, ps)
	return nil
}

// Seeds are those of all that its questions draw by chance.
func (q *Inquiry) Seeds() []Seed { return q.study.seeds() }

// LookColumns are the columns of looks that models of traces need, in order.
func (q *Inquiry) LookColumns() []string {
	names := slices.Concat([]string{codex.ColumnBook, codex.ColumnPage, codex.FeaturePlace}, traces.OwnColumns(), hypotheses.Groupings())
	for _, m := range q.study.Models {
		if !m.IsMeasure() {
			names = append(append(names, m.Columns()...), slices.Collect(maps.Keys(m.Only))...)
		}
	}
	slices.Sort(names)
	return slices.Compact(names)
}

// TraceFits are models of traces that were fitted.
type TraceFits struct{ fits []*traceFit }

// FitTraces fits the models of traces to looks of books, with the columns of
// [Inquiry.LookColumns], and asks their questions; pages are those of all books.
func (q *Inquiry) FitTraces(results *report.Results, books []string, looks, pages *table.Table) *TraceFits {
	s := q.of(books)
	out := &TraceFits{s.fitsOfLooks(results, looks)}
	var parts []Part
	for _, f := range out.fits {
		parts = append(parts, Part{"the model " + f.called(s), func() { f.compute(s, pages) }})
	}
	RunAll(parts, nil)
	return out
}
