package report

import (
	"maps"
	"slices"
	"strings"

	"thumbed/models/hypotheses"
)

// contrast is what a question asks of its model, in words: a term, or several
// terms against each other.
func (r *Results) contrast(q hypotheses.Question) string {
	var levels map[string][]string
	for _, m := range r.Models {
		if m.Name == q.Model {
			levels = m.Model.Levels
		}
	}
	var with, against []string
	for _, term := range slices.Sorted(maps.Keys(q.Contrast)) {
		switch weight := q.Contrast[term]; {
		case weight > 0:
			with = append(with, r.Labels.Term(term, levels))
		case weight < 0:
			against = append(against, r.Labels.Term(term, levels))
		}
	}
	switch {
	case len(against) == 0:
		return strings.Join(with, " and ")
	case len(with) == 0:
		return "being without " + strings.Join(against, " and ")
	}
	return strings.Join(with, " and ") + " less " + strings.Join(against, " and ")
}
