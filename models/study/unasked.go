package study

import "thumbed/models/dropoff"

// unasked is the chance that may be taken, over all books together, that something is
// claimed that nobody asked for and that is not there: a change of habit, a stop along
// the hours, a text set below the first.
const unasked = 0.05

// among is what every book's results stand among: the errors that pages share, and
// the share of unasked that each series of pages and each ranking has, all alike
// (Bonferroni).
func (s *Study) among() dropoff.Among {
	var out dropoff.Among
	if wear, err := s.Wear(); err == nil {
		out.Shared = wear.Shared
	}
	claims := 0
	for _, b := range s.Books {
		claims += 2 + len(Sets(b)) // habits along the book, the ranking, and the hours
	}
	out.Level = unasked / float64(max(claims, 1))
	return out
}
