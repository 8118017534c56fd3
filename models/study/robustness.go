package study

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"sync"

	"thumbed/models/hypotheses"
	"thumbed/models/mixed"
	"thumbed/models/outcome"
	"thumbed/models/readings"
	"thumbed/models/report"
	"thumbed/models/table"
)

// Robustness says which answers are to be tried with other choices than those
// of the study file; see [Study.choices].
type Robustness struct {
	Models []string `toml:"models"` // names of the models whose questions are tried with other choices
	Leaves int      `toml:"leaves"` // how many outermost leaves at each end are left out in one of the choices; 2 where not given
}

// usualLeaves at each end suffer most from binding, damp and dust (common
// practice, no source).
const usualLeaves = 2

// A choice is one way of answering that a referee might ask for.
type choice struct {
	name     string          // in words, after "the answer"
	rescaled bool            // the effect is in another unit than that of the study's own answer
	books    map[string]bool // that the choice touches; nil: all
	data     func() (remade, error)
	keep     func(data *table.Table, row int) bool // nil: every row
	change   func(m *mixed.Model)                  // nil: as stated
}

// A tried is what one choice came to on one fit.
type tried struct {
	model, book, choice string
	rescaled            bool
	questions           []hypotheses.Question // of the fit's model, in their order …
	of                  []int                 // … and which: indices into the study's questions
	// One a question; an answer is nil where there is none.
	rows    []report.RobustRow
	answers []*hypotheses.Answer
}

// begin lists the questions.
func (t *tried) begin(s *Study) {
	for q, question := range s.Questions {
		if question.Model == t.model {
			t.questions, t.of = append(t.questions, question), append(t.of, q)
			t.rows = append(t.rows, report.RobustRow{Choice: t.choice, Rescaled: t.rescaled})
		}
	}
	t.answers = make([]*hypotheses.Answer, len(t.questions))
}

// fail says of all questions why there is no answer.
func (t *tried) fail(err error) {
	for k := range t.rows {
		t.rows[k].Failed = failure(err)
	}
}

// take takes up the answers of a model; errs say why some have none.
func (t *tried) take(m mixed.Model, answers []hypotheses.Answer, errs []error) {
	for k := range t.rows {
		row := &t.rows[k]
		if errs[k] != nil {
			row.Failed = sentence(errs[k].Error())
			continue
		}
		answer := &answers[k]
		answer.In(m)
		t.answers[k], row.N, row.Unit, row.P, row.Told, row.Added = answer, answer.Rests.Pages, answer.Unit, answer.P, answer.Told, answer.Rests.Added
	}
}

// A variation is one choice tried on one fit.
type variation struct {
	tried
	fit    *fit
	choice choice
}

// trials lists what is to be tried of a study's fits.
func (s *Study) trials(fits []*fit, data *table.Table) []*variation {
	shared := s.otherData()
	var out []*variation
	for _, f := range fits {
		if slices.Contains(s.Robustness.Models, f.result.Name) {
			for _, c := range s.choices(f, booksIn(data, f.rows), shared) {
				out = append(out, &variation{tried: tried{model: f.result.Name, book: f.book, choice: c.name, rescaled: c.rescaled}, fit: f, choice: c})
			}
		}
	}
	return out
}

// A remade is wear computed anew: the pages, and the errors that they share.
type remade struct {
	pages  *table.Table
	shared []readings.Source
}

// Measuring days are left out at most mostSpans times: wear is computed anew for each, so
// that the work does not grow with the square of the days. Of a log of more readings than
// fullSpans they are fewer, down to leastSpans, so that it grows no faster than the log.
const (
	mostSpans, leastSpans = 20, 4
	fullSpans             = 100_000
)

// spans are the measuring days of so many readings, each by itself, or of many days that
// many runs of days that follow each other, as even in number as can be.
func spans(days []string, readings int) [][]string {
	n := min(len(days), mostSpans)
	if readings > fullSpans {
		n = min(n, max(leastSpans, mostSpans*fullSpans/readings))
	}
	out := make([][]string, n)
	for i := range out {
		out[i] = days[i*len(days)/n : (i+1)*len(days)/n]
	}
	return out
}

// spanWords name the days of a span.
func spanWords(span []string) string {
	if len(span) == 1 {
		return "the day " + span[0]
	}
	return fmt.Sprintf("the %d days from %s to %s", len(span), span[0], span[len(span)-1])
}

// otherData are the choices that need wear computed anew, shared by all fits:
// each measuring day left out, or of many days each span ([spans]), and one zero for a
// whole book on each day.
func (s *Study) otherData() []choice {
	if s.Log == nil {
		return nil // nothing was measured
	}
	var one sync.Mutex // a long log is worked on once at a time
	anew := func(change func(*readings.Log) *readings.Log) func() (remade, error) {
		return sync.OnceValues(func() (remade, error) {
			if len(s.Log.Readings) > fullSpans {
				one.Lock()
				defer one.Unlock()
			}
			wear, err := change(s.Log).Wear(s.options())
			if err != nil {
				return remade{}, err
			}
			pages, err := s.joined(wear)
			return remade{pages, wear.Shared}, err
		})
	}
	days := map[string]map[string]bool{} // and the books read on them
	for _, r := range s.Log.Readings {
		if days[r.Day] == nil {
			days[r.Day] = map[string]bool{}
		}
		if r.Target != readings.OnTile {
			days[r.Day][s.Books[r.Book].ID] = true
		}
	}
	var out []choice
	for _, span := range spans(slices.Sorted(maps.Keys(days)), len(s.Log.Readings)) {
		if len(days) == 1 {
			break
		}
		first, last := span[0], span[len(span)-1]
		books := map[string]bool{}
		for _, day := range span {
			maps.Copy(books, days[day])
		}
		out = append(out, choice{name: "without " + spanWords(span), books: books, data: anew(func(log *readings.Log) *readings.Log { return log.WithoutDays(first, last) })})
	}
	return append(out, choice{name: "with one zero a book and day", data: anew(commonZeros)})
}

// commonZeros puts the mean zero of a book on a day, by one instrument, in the
// place of each page's own: how much do the zeros, which vary with the skin,
// decide?
func commonZeros(log *readings.Log) *readings.Log {
	type sitting struct {
		book, instrument int
		day              string
	}
	of := func(r *readings.Reading) sitting { return sitting{r.Book, r.Instrument, r.Day} }
	zero := func(r *readings.Reading) bool { return r.Target == readings.OnZero && r.Excluded == "" }
	common := *log
	common.Readings = slices.Clone(log.Readings)
	sum, n := map[sitting]float64{}, map[sitting]float64{}
	for i := range common.Readings {
		if r := &common.Readings[i]; zero(r) {
			sum[of(r)] += r.Density
			n[of(r)]++
		}
	}
	for i := range common.Readings {
		if r := &common.Readings[i]; zero(r) {
			r.Density, r.Limit = sum[of(r)]/n[of(r)], readings.Measured
		}
	}
	return &common
}

// booksIn lists the books of some rows of the data.
func booksIn(data *table.Table, rows []int) []string {
	books, _ := data.Select(rows).Column("book").Levels()
	return books
}

// choices are those that the model of a fit on some books leaves open, beginning
// with what the study file states. A day on which none of these books was read is
// passed over.
func (s *Study) choices(f *fit, books []string, shared []choice) []choice {
	m := &f.result.Model
	out := append([]choice{{name: report.AsStated}}, scales(m)...)
	out = append(out, supports(m), choice{name: fmt.Sprintf("without the %d outermost leaves at each end", s.Robustness.Leaves), keep: func(data *table.Table, row int) bool {
		return !(data.Column("edge").Number(row) < float64(s.Robustness.Leaves))
	}})
	out = append(out, choice{name: "without the first page of each text", keep: lacks("incipit", "yes")})
	if m.Residual.Limits != "" {
		out = append(out, choice{name: "without pages at an instrument’s limit",
			keep:   func(data *table.Table, row int) bool { return data.Column("limit").Label(row) == "" },
			change: func(m *mixed.Model) { m.Residual.Limits = "" }})
	}
	if len(books) > 1 {
		for _, book := range books {
			out = append(out, choice{name: "without the book " + book, keep: lacks("book", book)})
		}
	}
	for _, c := range shared {
		if c.books == nil || slices.ContainsFunc(books, func(book string) bool { return c.books[book] }) {
			out = append(out, c)
		}
	}
	return out
}

// lacks keeps the rows whose column has another label.
func lacks(column, label string) func(*table.Table, int) bool {
	return func(data *table.Table, row int) bool { return data.Column(column).Label(row) != label }
}

// scales are the other scales on which what was measured can be told.
func scales(m *mixed.Model) []choice {
	var out []choice
	for _, scale := range outcome.Of(*m).Scales() {
		c := choice{name: scale.Words, rescaled: true, change: scale.Change}
		if scale.Positive {
			c.keep = func(data *table.Table, row int) bool { return !(data.Column(m.Outcome).Number(row) <= 0) }
		}
		out = append(out, c)
	}
	return out
}

// supports takes neighbouring pages to be alike where the model does not, and
// not to be where it does.
func supports(m *mixed.Model) choice {
	if m.Residual.Along != "" {
		return choice{name: "without autoregression from page to page", change: func(m *mixed.Model) { m.Residual.Along, m.Residual.Within = "", "" }}
	}
	return choice{name: "with autoregression from page to page", change: func(m *mixed.Model) { m.Residual.Along, m.Residual.Within = "position", "book" }}
}

// compute tries the choice.
func (t *variation) compute(s *Study, stated *table.Table) {
	t.begin(s)
	if t.rescaled {
		for k := range t.questions {
			t.questions[k].Smallest = 0 // it was stated in another unit
		}
	}
	fitted, model, pages, err := t.fitted(s, stated)
	if err != nil {
		t.fail(err)
		return
	}
	asked := hypotheses.AskOf(t.questions, model, fitted, pages, s.unknown(model))
	t.take(model, asked.Answers, asked.Errs)
}

func (t *variation) fitted(s *Study, data *table.Table) (*mixed.Fit, mixed.Model, *table.Table, error) {
	model := t.fit.result.Model
	if t.choice.data != nil {
		other, err := t.choice.data()
		if err != nil {
			return nil, model, nil, err
		}
		data = other.pages
		model.Residual.Offsets = s.Models[t.fit.model].Residual.Offsets // those of the study's own readings go
		model = hypotheses.Sharing(model, other.shared)
	}
	var rows []int
	for _, row := range s.Models[t.fit.model].rows(data, t.fit.book) {
		if t.choice.keep == nil || t.choice.keep(data, row) {
			rows = append(rows, row)
		}
	}
	if t.choice.change != nil {
		t.choice.change(&model)
	}
	some := data.Select(rows)
	model = withoutIdle(model, some)
	fitted, err := model.Fit(some)
	if err == nil && !fitted.Converged {
		err = fmt.Errorf("the search for the best fit did not converge, so its numbers are not shown")
	}
	return fitted, model, some, err
}

// withoutIdle leaves out of a model the levels that no row has any more, and the
// fixed effects of columns of which only one level is left.
func withoutIdle(m mixed.Model, data *table.Table) mixed.Model {
	m.Levels = maps.Clone(m.Levels)
	idle := map[string]bool{}
	outcome := data.Column(m.Outcome)
	for column, levels := range m.Levels {
		used := map[string]bool{}
		for i := range data.Rows() {
			if !outcome.Missing(i) {
				used[data.Column(column).Label(i)] = true
			}
		}
		left := slices.DeleteFunc(slices.Clone(levels), func(level string) bool { return !used[level] })
		m.Levels[column] = left
		if len(left) < 2 {
			idle[column] = true
			delete(m.Levels, column)
		}
	}
	m.Fixed = slices.DeleteFunc(slices.Clone(m.Fixed), func(term mixed.Term) bool {
		return slices.ContainsFunc(term, func(column string) bool { return idle[column] })
	})
	return m
}

// robust gathers the trials by question and, within one, by book: each interval at the
// level of the study's own answer, and the verdict read from it.
func (s *Study) robust(trials []*tried, answers []hypotheses.Answer) []report.Robustness {
	var out []report.Robustness
	for asked, q := range s.Questions {
		at := map[string]int{} // by book
		for _, t := range trials {
			k := slices.Index(t.of, asked)
			if k < 0 {
				continue
			}
			i, known := at[t.book]
			if !known {
				i = len(out)
				at[t.book] = i
				out = append(out, report.Robustness{Question: q, Book: t.book})
			}
			if a := t.answers[k]; a != nil {
				at := *a
				if own := slices.IndexFunc(answers, func(own hypotheses.Answer) bool {
					return own.Question.Words == q.Words && own.Question.Model == q.Model && own.Book == t.book
				}); own >= 0 {
					at = a.At(answers[own].Level)
				}
				t.rows[k].Effect, t.rows[k].Verdict = &at.Effect, at.Verdict
			}
			out[i].Rows = append(out[i].Rows, t.rows[k])
		}
	}
	return out
}

// robustness looks whether the models to be tried are there.
func (c *fileCheck) robustness() {
	r := &c.file.Robustness
	for _, name := range r.Models {
		if !slices.Contains(c.modelNames(), name) {
			remedy := "use one of these names, written as here"
			if near := table.Nearest(name, c.modelNames()); near != "" {
				remedy = fmt.Sprintf("perhaps %q was meant", near)
			}
			c.problem(name, "the name of one of the models: "+strings.Join(c.modelNames(), ", "), remedy, "robustness", "models")
		}
	}
	if r.Leaves < 1 {
		c.problem(fmt.Sprint(r.Leaves), "a number of leaves, 1 or more", fmt.Sprintf("write leaves = %d, or leave it out", usualLeaves), "robustness", "leaves")
	}
}
