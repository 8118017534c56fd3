package hypotheses

import (
	"strings"

	"thumbed/models/wording"
)

// Called gives the effect words of its own in the sentences of the answer, as
// [Question.Effect] makes them.
func (a *Answer) Called(words string) {
	a.Of = words
	a.word()
}

// of names the effect: in the scholar's words where they are known, else in the usual ones.
func (a *Answer) of() string {
	if a.Of != "" {
		return a.Of
	}
	return a.Question.Effect(nil, nil)
}

// Effect is what a question asks of its model, in words: a term, or terms less
// others. levels are those of the model's columns, the baseline first.
func (q Question) Effect(labels wording.Labels, levels map[string][]string) string {
	var with, less []string
	for _, term := range sortedTerms(q.Contrast) {
		switch weight := q.Contrast[term]; {
		case weight > 0:
			with = append(with, labels.Term(term, levels))
		case weight < 0:
			less = append(less, labels.Term(term, levels))
		}
	}
	switch {
	case len(less) == 0:
		return strings.Join(with, " and ")
	case len(with) == 0:
		return "the want of " + strings.Join(less, " and ")
	}
	return strings.Join(with, " and ") + " less " + strings.Join(less, " and ")
}
