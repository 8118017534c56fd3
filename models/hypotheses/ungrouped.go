package hypotheses

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"thumbed/models/mixed"
	"thumbed/models/student"
	"thumbed/models/table"
	"thumbed/models/wording"
)

// mostBetween is the share of what carries a contrast that may lie between groups
// which the model does not name. Above it pages of a group are hardly more evidence
// than one of them (common practice, no source; ungrouped_test.go holds the rate of
// false claims).
const mostBetween = 0.9

// leastFree is the fewest degrees of freedom between groups with which what varies
// between them can be told from the contrast.
const leastFree = 2

// ungrouped are groups of pages (book, day, section, quire) which the model does
// not name though the contrast hardly varies inside them: over 90 % of what carries
// it lies between them. Whatever else differs between such groups would be taken
// for the effect, with an error as if every page were a witness of its own. They are
// to be added to the model as random intercepts, the coarsest first.
//
// Those named apart are looked at elsewhere. The error says in words why the question
// cannot be answered: the last of them are too few groups.
func ungrouped(q Question, l laid, apart ...string) ([]mixed.Random, error) {
	c, err := l.Carriers(q.Contrast)
	if err != nil {
		return nil, err
	}
	named := namedGroups(l.model, l.pages)
	var added []mixed.Random
	for _, g := range groupings {
		label := groupLabels(l.pages, g.by, g.within)
		if label == nil || slices.Contains(apart, g.by) || shared(l.model, g.by) {
			continue
		}
		share, groups := between(c, label)
		if !(share > mostBetween) || groups*5 > len(c.Rows)*4 || groups < 2 || covered(c, label, named) {
			continue
		}
		by := []string{g.by}
		if g.within != "" {
			by = []string{g.within, g.by}
		}
		added = append(added, mixed.Random{By: by, Terms: []string{intercept}})
		if free := groups - l.betweenTerms(label); free < leastFree {
			return added, fmt.Errorf("%s hardly varies inside a %s, and there are only %s: what else differs between them is not distinguishable from it; %s",
				q.effect(), g.by, wording.Plain(groups, g.by, g.by+"s"), moreOf(g.by))
		}
		named = append(named, label)
	}
	return added, nil
}

// shared tells whether the model holds what differs between groups as an error that
// their rows share, with a spread that is known.
func shared(m mixed.Model, by string) bool {
	return slices.ContainsFunc(m.Residual.Offsets, func(o mixed.Offset) bool { return o.By == by || o.By == by+"_offset" })
}

// moreOf says what to do where there are too few groups.
func moreOf(by string) string {
	switch by {
	case "day":
		return "measure some pages of each of the days again on another, or ask of more books"
	case "book":
		return "measure more books"
	}
	return "measure more of them, or ask this of several books"
}

// namedGroups are the groups of the model's random intercepts.
func namedGroups(m mixed.Model, pages *table.Table) []func(row int) string {
	var out []func(row int) string
	for _, r := range m.Random {
		if slices.Contains(r.Terms, intercept) {
			out = append(out, labelsOf(pages, r.By))
		}
	}
	return out
}

// labelsOf joins the labels of some columns in each row; empty where one is missing.
func labelsOf(pages *table.Table, by []string) func(row int) string {
	return func(row int) string {
		var parts []string
		for _, name := range by {
			label := pages.Column(name).Label(row)
			if label == "" {
				return ""
			}
			parts = append(parts, label)
		}
		return strings.Join(parts, "\x00")
	}
}

// covered tells whether the model names groups that the contrast hardly varies
// inside either, each of which holds some of these groups whole: what varies between
// these is then part of what varies between those.
func covered(c mixed.Carriers, label func(row int) string, named []func(row int) string) bool {
	return slices.ContainsFunc(named, func(outer func(row int) string) bool {
		share, _ := between(c, outer)
		in := map[string]string{}
		for _, row := range c.Rows {
			l := label(row)
			if l == "" {
				continue
			}
			if before, known := in[l]; known && before != outer(row) {
				return false
			}
			in[l] = outer(row)
		}
		return share > mostBetween
	})
}

// A laid is a model laid over the pages that it is asked of.
type laid struct {
	mixed.Laid
	model mixed.Model
	pages *table.Table
}

func lay(m mixed.Model, pages *table.Table) (laid, error) {
	over, err := m.Lay(pages)
	return laid{over, m, pages}, err
}

// over is a model that was fitted to pages.
func over(pages *table.Table, m mixed.Model, fit *mixed.Fit) laid { return laid{fit.Laid(), m, pages} }

// betweenTerms counts the fixed effects that hardly vary inside groups, the
// intercept among them: each takes one of the groups' degrees of freedom.
func (l laid) betweenTerms(label func(row int) string) int {
	n := 1
	for _, term := range l.Terms() {
		if term == intercept {
			continue
		}
		if c, err := l.Carriers(map[string]float64{term: 1}); err == nil {
			if share, _ := between(c, label); share > mostBetween {
				n++
			}
		}
	}
	return n
}

// Widened is the model that answers a question: with the groups of [ungrouped] and
// the sources of [confounders] added, where there are any. Nothing is fitted. The
// error says in words why the question cannot be answered.
func Widened(q Question, m mixed.Model, pages *table.Table, unknown []Unknown) (Fitted, error) {
	l, err := lay(m, pages)
	if err != nil {
		return Fitted{Model: m}, err
	}
	return l.widened(q, unknown)
}

func (l laid) widened(q Question, unknown []Unknown) (Fitted, error) {
	out, sources, err := l.needed(q, unknown)
	if err != nil {
		return out, err
	}
	for _, s := range sources {
		out.Sources = append(out.Sources, s.By)
		out.Model = s.in(out.Model)
	}
	return out, nil
}

// needed is the model with the groups of [ungrouped] added, and the sources of
// [confounders] that it needs besides. The error says why the question cannot be
// answered; those that keep it from that are named then too.
func (l laid) needed(q Question, unknown []Unknown) (with Fitted, sources []Source, err error) {
	with.Model = l.model
	var known []string
	for _, u := range unknown {
		known = append(known, u.By)
	}
	groups, few := ungrouped(q, l, known...)
	if len(groups) > 0 {
		with.Model.Random = append(slices.Clone(l.model.Random), groups...)
		with.Added = namesOf(groups)
	}
	if len(unknown) == 0 {
		return with, nil, few
	}
	if len(groups) > 0 {
		if l, err = lay(with.Model, l.pages); err != nil {
			return with, nil, cmp.Or(few, err)
		}
	}
	sources, divided := confounders(q, l, unknown)
	return with, sources, cmp.Or(few, divided)
}

// LeftOut tells each effect of a fit, but for the intercept, which compares no pages,
// what makes its standard error too small: groups that a question of it would have to
// have added, or for want of which it would be refused, and sources of unknown spread
// that bear on it more than on pages drawn by chance. What these differ by stands in the
// scatter of pages, and so in the standard error, as far as that.
func LeftOut(m mixed.Model, fit *mixed.Fit, pages *table.Table, unknown []Unknown) {
	l := over(pages, m, fit)
	for i := range fit.Fixed {
		effect := &fit.Fixed[i]
		if effect.Term == intercept {
			continue
		}
		with, sources, _ := l.needed(Question{Contrast: map[string]float64{effect.Term: 1}}, unknown)
		effect.LeavesOut = with.Added
		for _, s := range sources {
			if s.bears > 1+hardlyBears {
				effect.LeavesOut = append(effect.LeavesOut, s.By)
			}
		}
	}
}

func namesOf(added []mixed.Random) []string {
	var names []string
	for _, r := range added {
		names = append(names, r.By[len(r.By)-1])
	}
	return names
}

// consider tells the answer what it rests on, and which variances came out as zero, or so
// near it that zero is left open, though the question compares their groups.
func (a *Answer) consider(by Fitted, pages *table.Table) {
	c, err := by.Fit.Laid().Carriers(a.Question.Contrast)
	if err != nil {
		return // the fit stands, so there is none
	}
	rests := restOn(a.Question, by.Model, pages, c)
	rests.Added, rests.Sources = by.Added, by.Sources
	rests.Sentence = rests.sentence()
	a.Rests = rests
	columns, _ := asked(a.Question, by.Model)
	single := float64(by.Fit.N - len(by.Fit.Fixed)) // degrees of freedom that single pages leave
	fewest := math.Inf(1)                           // … that any stratum leaves in which the contrast lies
	var zero [][2]int                               // places of those that may make it too short
	atEdge := len(by.Fit.Boundary) > 0
	for i, r := range by.Fit.Random {
		label := labelsOf(pages, r.By)
		share, groups := between(c, label)
		single -= float64(groups - 1)
		for k, term := range r.Terms {
			slope := slices.ContainsFunc(columns, func(column string) bool { return term == column || strings.HasPrefix(term, column+"=") })
			switch {
			case slope:
				fewest = min(fewest, float64(groups-1))
			case term == intercept && share > mostBetween:
				fewest = min(fewest, float64(groups-over(pages, by.Model, by.Fit).betweenTerms(label)))
			}
			if bears := slope || term == intercept && share > littleBetween; bears && by.Fit.NearZero([2]int{i, k}) {
				atEdge = true
				a.AtZero = append(a.AtZero, groupsNamed(r.By, term))
				// Where the contrast lies between the groups as a whole, what counts for it is
				// the mean square between them, and a variance at zero only draws that up to
				// the larger one within: on the groups' degrees of freedom the interval errs
				// towards width. Where it lies there in part, it may be too short.
				if !slope && share <= mostBetween {
					zero = append(zero, [2]int{i, k})
				}
			}
		}
	}
	if len(zero) > 0 && a.Against != nil {
		a.off = &mixed.Coefficient{}
		a.off.Estimate, a.off.SE, _ = by.Fit.ContrastOff(a.Question.Contrast, zero) // without it no “no” is claimed
	}
	if design := min(single, fewest); atEdge && design > a.Effect.DF {
		a.ofDesign(design)
	}
	a.settle()
}

// ofDesign takes the degrees of freedom that the design leaves the contrast: the
// groups of the stratum that it lies in, less the fixed effects there, as in a
// balanced layout (Searle, Casella and McCulloch 1992, Variance components, chapter 4).
// Where a variance came out as zero or near it, degrees of freedom made from the curvature
// there fall far below them, since the likelihood ends at that edge.
func (a *Answer) ofDesign(df float64) {
	a.Effect.DF, a.ByDesign = df, true
	a.Effect.P = student.TwoSided(a.Effect.T, df)
	a.alone()
}

// littleBetween is the share of what carries a contrast between groups below which
// what varies between them hardly bears on it.
const littleBetween = 0.1

// groupsNamed names what varies between groups.
func groupsNamed(by []string, term string) string {
	of := by[len(by)-1] + "s"
	if term == intercept {
		return of
	}
	return of + " (in what " + term + " does)"
}
