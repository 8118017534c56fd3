package study

import "thumbed/models/dropoff"

// unasked is the chance that may be taken, over all books together, that something is
// claimed that nobody asked for and that is not there: a change of habit, a stop along
// the hours, a last office worn otherwise than the first, a text said not to be read
// most, a page that stands out, two readers told apart.
const unasked = 0.05

// among is what every book's results stand among: the errors that pages share, and
// the share of unasked that each kind of claim of each book and set of hours has, all
// alike (Bonferroni); pairs of readers that nobody named are one kind.
func (s *Study) among() dropoff.Among {
	var out dropoff.Among
	if m := s.Measuring; m.Saturation > 0 {
		out.Saturation = &dropoff.Saturation{Density: m.Saturation, SE: m.SaturationError, Source: m.SaturationSource}
	}
	if wear, err := s.Wear(); err == nil {
		out.Shared = wear.Shared
	}
	claims := 0
	for _, b := range s.Books {
		claims += 3 + 2*len(Sets(b)) // habits, ranking, pages that stand out; changes along the hours, the last office
	}
	if len(s.Comparisons) == 0 && len(allPairs(s.commonSets())) > 0 {
		claims++
	}
	out.Level = unasked / float64(max(claims, 1))
	return out
}
