package hypotheses

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"thumbed/models/mixed"
	"thumbed/models/table"
)

// A FittedBy is a model with terms added for a question of it, and its fit.
type FittedBy[Fit any] struct {
	Added   []string // "section"; sections and quires are those of a book
	Sources []string // "day", "observer", "instrument"
	Model   mixed.Model
	Fit     Fit
}

// AskedOf are the answers that a model gives to questions.
type AskedOf[Fit any] struct {
	Answers []Answer // one a question; empty where Errs tells why there is none
	Errs    []error
	Extra   []FittedBy[Fit] // fits with terms added
}

// A Fitted is a [FittedBy], and Asked an [AskedOf], of a model of a measure.
type (
	Fitted = FittedBy[*mixed.Fit]
	Asked  = AskedOf[*mixed.Fit]
)

// asker puts questions to models of one kind.
type asker[Fit any] struct {
	terms  []string                                                     // fixed effects of the model that is asked
	widen  func(Question) (FittedBy[Fit], error)                        // the model that answers a question, not fitted
	fit    func(mixed.Model) (Fit, bool, error)                         // fits such a model, and tells whether the search came to its end
	answer func([]Question, FittedBy[Fit]) (all []Answer, errs []error) // answers questions by one model
}

// ask puts several questions to a model, each answered by the model itself or by one
// with what the question needs added, which is fitted once.
func (by asker[Fit]) ask(questions []Question, m mixed.Model, fit Fit) AskedOf[Fit] {
	out := AskedOf[Fit]{Answers: make([]Answer, len(questions)), Errs: make([]error, len(questions))}
	all := []FittedBy[Fit]{{Model: m, Fit: fit}}
	of := map[int][]int{} // the questions of each
	for i, q := range questions {
		if ps := q.Check(nil, by.terms); len(ps) > 0 {
			out.Errs[i] = inWords(ps)
			continue
		}
		with, err := by.widen(q)
		if err != nil {
			out.Errs[i] = err
			continue
		}
		k := slices.IndexFunc(all, func(f FittedBy[Fit]) bool {
			return slices.Equal(f.Added, with.Added) && slices.Equal(f.Sources, with.Sources)
		})
		if k < 0 {
			var converged bool
			if with.Fit, converged, err = by.fit(with.Model); err == nil && !converged {
				err = errors.New("the search for the best fit did not converge")
			}
			if err != nil {
				out.Errs[i] = fmt.Errorf("with what varies between %ss added, as this question needs, the model cannot be fitted: %w", strings.Join(slices.Concat(with.Added, with.Sources), "s and between "), err)
				continue
			}
			k = len(all)
			all = append(all, with)
		}
		of[k] = append(of[k], i)
	}
	out.Extra = all[1:]
	for k, f := range all {
		var some []Question
		for _, i := range of[k] {
			some = append(some, questions[i])
		}
		answers, errs := by.answer(some, f)
		for j, i := range of[k] {
			out.Answers[i], out.Errs[i] = answers[j], errs[j]
		}
	}
	return out
}

// AskOf puts several questions to a model and its fit, and finds what each answer
// rests on: pages are those that the model was to be fitted to. A question of what
// hardly varies inside groups that the model does not name (see [ungrouped]), or of
// what is mixed with a source of errors of unknown spread (see [confounders]), is
// answered by the model with these added, or refused.
func AskOf(questions []Question, m mixed.Model, fit *mixed.Fit, pages *table.Table, unknown []Unknown) Asked {
	return asker[*mixed.Fit]{
		terms: termsOf(fit),
		widen: func(q Question) (Fitted, error) { return over(pages, m, fit).widened(q, unknown) },
		fit: func(m mixed.Model) (*mixed.Fit, bool, error) {
			fit, err := m.Fit(pages)
			if err != nil {
				return nil, false, err
			}
			fit.Seconds = 0
			return fit, fit.Converged, nil
		},
		answer: func(some []Question, f Fitted) ([]Answer, []error) {
			answers, errs := AskAll(some, f.Fit)
			for k := range answers {
				if errs[k] == nil {
					answers[k].consider(f, pages)
				}
			}
			return answers, errs
		},
	}.ask(questions, m, fit)
}
