package study

import (
	"fmt"
	"runtime"
	"slices"
	"strings"
	"sync"

	"thumbed/models/codex"
	"thumbed/models/dropoff"
	"thumbed/models/hypotheses"
	"thumbed/models/profile"
	"thumbed/models/readings"
	"thumbed/models/report"
	"thumbed/models/table"
)

// Progress is told each time that a part of a run is done: how many of how
// many, and which. It is called by one goroutine at a time.
type Progress func(done, total int, part string)

// A part is one piece of a run that depends on no other.
type part struct {
	name string
	do   func()
}

// Run computes everything that the study asks for: wear, the profile of each
// book, how far readings were carried on, models, and the answers to the
// questions. A part that cannot be computed says why in its place, and the
// others go on. The results are the same on every run and with any number of
// processors. progress may be nil.
func (s *Study) Run(progress Progress) (*report.Results, error) {
	wear, err := s.Wear()
	if err != nil {
		return nil, fmt.Errorf("the wear of the pages cannot be computed: %w", err)
	}
	data, err := s.Data()
	if err != nil {
		return nil, fmt.Errorf("the wear cannot be joined to the pages: %w", err)
	}
	results := &report.Results{
		Meta:     report.Meta{Title: s.Title, Author: s.Author, Note: s.Note, Invented: s.Invented, Program: ThisBuild().Program},
		Books:    make([]report.BookResult, len(s.Books)),
		Readings: wear,
	}
	fits := s.fits()
	var parts []part
	for b := range s.Books {
		results.Books[b].Book = s.Books[b]
		parts = append(parts, part{"the profile of " + s.Books[b].ID, func() { s.describe(&results.Books[b], b, wear) }})
	}
	for i := range fits {
		parts = append(parts, part{"the model " + named(fits[i].model.Name, fits[i].book), func() { fits[i].compute(s, data) }})
	}
	runAll(parts, progress)
	s.collect(results, fits)
	return results, nil
}

// describe fills in what is said of one book.
func (s *Study) describe(result *report.BookResult, book int, wear *readings.Result) {
	curve, err := profile.Of(s.Books, book, wear.Wear)
	if err != nil {
		result.Failed = append(result.Failed, sentence(err))
	}
	result.Profile = curve
	for _, set := range sets(s.Books[book]) {
		carried, err := dropoff.CarriedOn(s.Books, book, set, wear.Wear)
		if err != nil {
			result.Failed = append(result.Failed, sentence(err))
			continue
		}
		result.Carried = append(result.Carried, carried)
	}
}

// sets are the sets of hours of a book, in the order in which they begin.
func sets(b *codex.Book) []string {
	var out []string
	seen := map[string]bool{}
	for _, section := range b.Sections {
		if section.Office != codex.NoOffice && !seen[section.Set] {
			seen[section.Set] = true
			out = append(out, section.Set)
		}
	}
	return out
}

// A fit is one model to be fitted once, with the questions that are asked of
// it.
type fit struct {
	model   *Model
	book    string // set where fitted book by book
	asked   []int  // indices into the study's questions
	result  report.ModelResult
	answers []hypotheses.Answer // one for each of asked that has one
	of      []int               // the question of each answer
	silent  []string            // sentences: which questions got none, and why
}

// fits lists the fits that the study's models need, in their order.
func (s *Study) fits() []*fit {
	var out []*fit
	for i := range s.Models {
		m := &s.Models[i]
		books := []string{""}
		if m.Each != "" {
			books = s.booksOf(m)
		}
		for _, book := range books {
			f := &fit{model: m, book: book}
			for q, question := range s.Questions {
				if question.Model == m.Name {
					f.asked = append(f.asked, q)
				}
			}
			out = append(out, f)
		}
	}
	return out
}

// booksOf are the books that a model fitted book by book speaks of.
func (s *Study) booksOf(m *Model) []string {
	var ids []string
	for _, b := range s.Books {
		if only, limited := m.Only[m.Each]; !limited || len(common(only, b.ID)) > 0 {
			ids = append(ids, b.ID)
		}
	}
	return ids
}

func (f *fit) compute(s *Study, data *table.Table) {
	f.result = report.ModelResult{Name: f.model.Name, About: f.model.About, Book: f.book, Model: f.model.Model}
	fitted, err := f.model.Fit(data.Select(f.model.rows(data, f.book)))
	if err != nil {
		f.result.Failed = sentence(err)
		for _, q := range f.asked {
			f.silent = append(f.silent, fmt.Sprintf("“%s” has no answer, since the model %s could not be fitted.", s.Questions[q].Words, named(f.model.Name, f.book)))
		}
		return
	}
	fitted.Seconds = 0 // results hold nothing that depends on the clock
	f.result.Fit = fitted
	for _, q := range f.asked {
		answer, err := hypotheses.Ask(s.Questions[q], fitted)
		if err != nil {
			f.silent = append(f.silent, fmt.Sprintf("“%s” has no answer from the model %s. %s", s.Questions[q].Words, named(f.model.Name, f.book), sentence(err)))
			continue
		}
		answer.Book = f.book
		f.answers = append(f.answers, answer)
		f.of = append(f.of, q)
	}
}

// collect puts models and answers into the results: models as the study file
// has them, answers in the order of the questions and, within one, of the
// books.
func (s *Study) collect(results *report.Results, fits []*fit) {
	for _, f := range fits {
		results.Models = append(results.Models, f.result)
		results.Notes = append(results.Notes, f.silent...)
	}
	for q := range s.Questions {
		for _, f := range fits {
			for k, of := range f.of {
				if of == q {
					results.Answers = append(results.Answers, f.answers[k])
				}
			}
		}
	}
	hypotheses.Adjust(results.Answers)
}

// Unanswered are sentences on the models that could not be fitted, each with
// its line in the study file, and on the questions that got no answer; none
// where all went well.
func (s *Study) Unanswered(results *report.Results) []string {
	var out []string
	for _, m := range results.Models {
		if m.Fit == nil {
			out = append(out, fmt.Sprintf("%s, line %d: the model %s could not be fitted. %s", s.Path, s.modelLine(m.Name), named(m.Name, m.Book), m.Failed))
		}
	}
	return append(out, results.Notes...)
}

func (s *Study) modelLine(name string) int {
	i := slices.IndexFunc(s.Models, func(m Model) bool { return m.Name == name })
	return s.where.line("model", i, "name")
}

// named is a model's name in words, with the book where it is fitted in one.
func named(model, book string) string {
	if book == "" {
		return "“" + model + "”"
	}
	return "“" + model + "” in " + book
}

// runAll runs the parts on all processors. Each writes only to its own place,
// so that the order in which they end makes no difference.
func runAll(parts []part, progress Progress) {
	next := make(chan part)
	var workers sync.WaitGroup
	var told sync.Mutex
	done := 0
	for range min(len(parts), runtime.GOMAXPROCS(0)) {
		workers.Go(func() {
			for p := range next {
				p.do()
				told.Lock()
				done++
				if progress != nil {
					progress(done, len(parts), p.name)
				}
				told.Unlock()
			}
		})
	}
	for _, p := range parts {
		next <- p
	}
	close(next)
	workers.Wait()
}

// sentence is an error as a sentence of its own.
func sentence(err error) string {
	words := []rune(strings.TrimSpace(err.Error()))
	if len(words) == 0 {
		return ""
	}
	text := strings.ToUpper(string(words[:1])) + string(words[1:])
	if !strings.HasSuffix(text, ".") {
		text += "."
	}
	return text
}
