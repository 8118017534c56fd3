package study

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"unicode"

	"thumbed/models/hypotheses"
	"thumbed/models/table"
)

// lookAhead reports what a run would fail on though every table is in
// order by itself: wear that cannot be had from the log, models that the pages
// measured cannot carry, contrasts of terms that a model will not have. The wear
// is computed for that, the models are not fitted.
func (s *Study) lookAhead(ps *table.Problems) {
	c := fileCheck{path: s.Path, file: &s.File, where: s.where, ps: ps}
	wear, err := s.Wear()
	var fault *table.Fault
	switch {
	case errors.As(err, &fault):
		ps.Add(fault.Problems...)
		return
	case err != nil:
		c.problem("", "a log from which the wear of pages can be computed", err.Error(), "measuring")
		return
	}
	if len(wear.Wear) == 0 && s.Log != nil {
		c.problem(strings.Join(s.Tables.Readings, ", "), "readings on pages, with a zero of each page", "measure pages, or correct the column target of the readings", "tables", "readings")
		return
	}
	data, err := s.Data()
	if err != nil {
		c.problem("", "wear that can be joined to the pages", err.Error(), "tables", "pages")
		return
	}
	found := s.modelProblems(data, func(*fit) bool { return true })
	if s.Looks != nil {
		found = found.Add(s.traceProblems()...)
	}
	for _, st := range found {
		ps.Add(st.Told())
	}
}

// A ModelProblem is what a run would meet in one model or in a question of it.
type ModelProblem struct {
	Problem table.Problem
	Books   []string // where the model is fitted book by book
}

// ModelProblems are several, each once.
type ModelProblems []ModelProblem

// Add puts problems to those known, with all books in which each is met.
func (known ModelProblems) Add(more ...ModelProblem) ModelProblems {
	for _, m := range more {
		k := slices.IndexFunc(known, func(st ModelProblem) bool { return st.kind() == m.kind() })
		if k < 0 {
			k, known = len(known), append(known, ModelProblem{Problem: m.Problem})
		}
		known[k].Books = append(known[k].Books, m.Books...)
	}
	return known
}

// kind is what problems of one kind have in common. Where a model is fitted book by
// book, numbers of rows, which differ from book to book, make no other kind.
func (st ModelProblem) kind() table.Problem {
	p := st.Problem
	p.Remedy = ""
	if st.Books != nil {
		noDigits := func(r rune) rune {
			if unicode.IsDigit(r) {
				return -1
			}
			return r
		}
		p.Value, p.Expected = strings.Map(noDigits, p.Value), strings.Map(noDigits, p.Expected)
	}
	return p
}

// mostNamed is how many books a problem names.
const mostNamed = 8

// Told is the problem with the books in which it is met.
func (st ModelProblem) Told() table.Problem {
	p, names := st.Problem, st.Books
	if len(names) == 0 {
		return p
	}
	more := ""
	if len(names) > mostNamed {
		names, more = names[:mostNamed], fmt.Sprintf(" and %d more books", len(names)-mostNamed)
	}
	p.Remedy += fmt.Sprintf(" (so it is in %s%s, where the model is fitted by itself: measure more there, or leave it out with only)", strings.Join(names, ", "), more)
	return p
}

// modelProblems looks ahead at some of the models: whether the pages can carry each, and
// whether it will have the terms that its questions speak of.
func (s *Study) modelProblems(data *table.Table, of func(*fit) bool) (found ModelProblems) {
	fits, _ := s.fits(data)
	for _, f := range fits {
		if !of(f) {
			continue
		}
		terms, err := f.result.Model.Terms(f.pages(data))
		var books []string
		if f.book != "" {
			books = []string{f.book}
		}
		for _, p := range kinds(err) {
			p.File, p.Line = s.Path, s.blamedLine(f.model, p.Column)
			found = found.Add(ModelProblem{p, books})
		}
		if terms != nil {
			for _, p := range s.checkTerms(f.result.Name, terms) {
				found = found.Add(ModelProblem{Problem: p})
			}
		}
		if err == nil {
			for _, p := range s.checkConfounded(f, terms, data) {
				found = found.Add(ModelProblem{p, books})
			}
		}
	}
	return found
}

// checkTerms checks the contrasts of a model's questions against the terms that
// it has.
func (s *Study) checkTerms(model string, terms []string) (found []table.Problem) {
	for q, question := range s.Questions {
		if question.Model != model {
			continue
		}
		for _, p := range question.Check(nil, terms) {
			found = append(found, s.where.Problem(s.Path, p.Value, p.Expected, p.Remedy, "question", q, p.Column))
		}
	}
	return found
}

// checkConfounded looks whether the questions of a model could be answered from the
// pages measured, or would be refused for what else differs between those that they
// compare: it says so while there is time to measure more.
func (s *Study) checkConfounded(f *fit, terms []string, data *table.Table) (found []table.Problem) {
	for q, question := range s.Questions {
		if question.Model != f.result.Name || len(question.Check(nil, terms)) > 0 {
			continue
		}
		if _, err := hypotheses.Widened(question, f.result.Model, f.pages(data), s.unknown(f.result.Model)); err != nil && len(kinds(err)) == 0 {
			found = append(found, s.where.Problem(s.Path, question.Words, "a question that the pages measured can answer: "+err.Error(), "measure more as it says, or take the question out", "question", q, "contrast"))
		}
	}
	return found
}
