package study

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"thumbed/models/table"
)

// lookAhead reports what a run would stumble over though every table is in
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
	if len(wear.Wear) == 0 {
		c.problem(strings.Join(s.Tables.Readings, ", "), "readings on pages, with a zero of each page", "measure pages, or correct the column target of the readings", "tables", "readings")
		return
	}
	data, err := s.Data()
	if err != nil {
		c.problem("", "wear that can be joined to the pages", err.Error(), "tables", "pages")
		return
	}
	fits, _ := s.fits(data)
	var stumbles []*stumble
	told := map[[2]string]bool{} // of which question what was told, which every book may find again
	for _, f := range fits {
		terms, err := f.result.Model.Terms(f.pages(data))
		stumbles = s.stumble(stumbles, f, kinds(err))
		if terms != nil {
			s.checkTerms(c, f.result.Name, terms, told)
		}
	}
	for _, st := range stumbles {
		ps.Add(st.told())
	}
}

// A stumble is what one model meets in one book or several.
type stumble struct {
	model   int
	problem table.Problem
	books   []string // where it is fitted book by book
}

// stumble adds what a fit meets, once for all books in which it is the same.
func (s *Study) stumble(known []*stumble, f *fit, problems []table.Problem) []*stumble {
	for _, p := range problems {
		k := slices.IndexFunc(known, func(st *stumble) bool {
			return st.model == f.model && st.problem.Column == p.Column && st.problem.Value == p.Value && st.problem.Expected == p.Expected
		})
		if k < 0 {
			p.File, p.Line = s.Path, s.blamedLine(f.model, p.Column)
			k, known = len(known), append(known, &stumble{model: f.model, problem: p})
		}
		if f.book != "" {
			known[k].books = append(known[k].books, f.book)
		}
	}
	return known
}

// told is the problem with the books in which it is met.
func (st *stumble) told() table.Problem {
	p := st.problem
	if st.books != nil {
		p.Remedy += fmt.Sprintf(" (so it is in %s, where the model is fitted by itself: measure more there, or leave it out with only)", strings.Join(st.books, ", "))
	}
	return p
}

// checkTerms checks the contrasts of a model's questions against the terms that
// it has, and notes what it told.
func (s *Study) checkTerms(c fileCheck, model string, terms []string, told map[[2]string]bool) {
	for q, question := range s.Questions {
		if question.Model != model {
			continue
		}
		for _, p := range question.Check(nil, terms) {
			key := [2]string{question.Words, p.Column + p.Value}
			if !told[key] {
				c.problem(p.Value, p.Expected, p.Remedy, "question", q, p.Column)
			}
			told[key] = true
		}
	}
}
