package hypotheses

import (
	"cmp"
	"fmt"
	"maps"
	"slices"

	"thumbed/models/mixed"
	"thumbed/models/wording"
)

// An Unknown is a source of errors that pages share (the day, the observer, the
// instrument) of which nobody knows how much its levels differ by.
type Unknown struct {
	By  string // the column that names its levels
	Why string // a sentence that says what to do
}

// A Source is one that bears on a question.
type Source struct {
	By     string
	Groups int
	levels []string
	share  float64 // of what carries the contrast, between its levels
	bears  float64 // variance that it adds to the contrast's, in that of pages, were its levels to differ as much as pages do
}

// in is a model with the source added.
func (s Source) in(m mixed.Model) mixed.Model {
	if s.Groups > mostFixed || s.share > mostBetween {
		m.Random = append(slices.Clone(m.Random), mixed.Random{By: []string{s.By}, Terms: []string{intercept}})
		return m
	}
	m.Fixed = append(slices.Clone(m.Fixed), mixed.Term{s.By})
	m.Levels = maps.Clone(m.Levels)
	if m.Levels == nil {
		m.Levels = map[string][]string{}
	}
	m.Levels[s.By] = s.levels
	return m
}

// mostFixed is up to how many levels of a source are fixed effects (common practice,
// no source: fewer hardly tell a spread).
const mostFixed = 4

// hardlyBears is the variance that a source would add to the contrast's, in that of
// pages, were its levels to differ as much as pages do, below which it is left out.
const hardlyBears = 0.1

// confounders are the sources of unknown spread that bear on a question: its pages
// were not shared out evenly over their levels. They are to be added to the model, as
// fixed effects where there are four levels or fewer and they cross what is asked
// about, else as random intercepts, so that pages are compared within a level.
//
// The error says that the question is confounded with a source, the first of those that
// are among them: hardly any two pages that it compares are of one level, and there are
// too few levels for their spread, or the model's own effects divide its pages as they do.
func confounders(q Question, l laid, unknown []Unknown) ([]Source, error) {
	var out []Source
	var allowed []string // for: in the model, or to be added
	var refused error
	pages := l.pages
	for _, u := range unknown {
		column := pages.Column(u.By)
		if column == nil {
			continue
		}
		if namedIn(l.model, u.By) {
			allowed = append(allowed, u.By)
			continue
		}
		c, err := l.Carriers(q.Contrast)
		if err != nil {
			return nil, err
		}
		share, groups := between(c, column.Label)
		bears := share * float64(len(c.Rows)) / float64(groups)
		if groups < 2 || bears < hardlyBears {
			continue
		}
		levels, _ := pages.Select(c.Rows).Column(u.By).Levels()
		source := Source{By: u.By, Groups: groups, levels: levels, share: share, bears: bears}
		divided := share > mostBetween && groups-l.betweenTerms(column.Label) < leastFree
		if !divided {
			if slices.ContainsFunc(allowed, func(by string) bool { return sameGroups(c, pages.Column(by).Label, column.Label) }) {
				continue // another name for what is there already
			}
			_, err := source.in(l.model).Lay(pages)
			divided = err != nil // its levels are mixtures of the model's effects
		}
		if out = append(out, source); divided {
			refused = cmp.Or(refused, fmt.Errorf("the pages that it compares were measured by different %ss (%s), and what these differ by is not known. %s", u.By, wording.Plain(groups, u.By, u.By+"s"), u.Why))
			continue
		}
		allowed = append(allowed, u.By)
	}
	return out, refused
}

// namedIn tells whether a model has a column among its fixed effects or groups.
func namedIn(m mixed.Model, name string) bool {
	return slices.ContainsFunc(m.Fixed, func(t mixed.Term) bool { return slices.Contains(t, name) }) ||
		slices.ContainsFunc(m.Random, func(r mixed.Random) bool { return slices.Equal(r.By, []string{name}) })
}

// sameGroups tells whether each of these groups lies in one of those.
func sameGroups(c mixed.Carriers, these, those func(row int) string) bool {
	in := map[string]string{}
	for _, row := range c.Rows {
		if before, known := in[these(row)]; known && before != those(row) {
			return false
		}
		in[these(row)] = those(row)
	}
	return true
}
