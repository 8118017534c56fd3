package hypotheses

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"thumbed/models/mixed"
	"thumbed/models/table"
)

// How much a group must bear to be left out in turn, and to decide an answer.
const (
	worthTrying = 0.25 // approximate change of the estimate in its standard errors, or share of what carries it
	deciding    = 1    // change of the estimate in its standard errors
	mostTried   = 4    // groups of one kind
)

// Decide looks whether the verdict hangs on one page, section, quire, day or book: it
// fits the model again without each group that carries or moves much of the estimate
// (by the change of least squares when its rows are left out; Belsley, Kuh and Welsch
// 1980, section 2.1). A group decides where the verdict without it is another since the
// estimate moves, by a standard error or more, and not only for want of pages; or where
// without it nothing is left to answer from. An open answer is decided by nothing.
func (a *Answer) Decide(by Fitted, pages *table.Table) {
	if a.Rests == nil || a.Verdict == Open {
		return
	}
	a.Rests.Decide, a.Rests.Decided = nil, ""
	laid := by.Fit.Laid()
	c, err := laid.Carriers(a.Question.Contrast)
	if err != nil {
		return
	}
	for _, kind := range kindsOfGroups(pages) {
		var found []DecidedBy
		for _, g := range a.mayDecide(worth(c, laid.Left, kind.label, a.Effect.SE), kind.label, by, pages) {
			if d, decides := a.without(g, kind, by.Model, pages); decides {
				found = append(found, d)
			}
		}
		if len(found) == 1 { // of several none decides alone
			a.Rests.Decide = append(a.Rests.Decide, found[0])
		}
	}
	if len(a.Rests.Decide) > 0 {
		a.Rests.Decided = a.decided(a.Rests.Decide[0])
	}
	a.word()
}

type groupKind struct {
	by     string
	within string // the column that its labels are one in; empty where they are by themselves
	label  func(row int) string
}

// kindsOfGroups are the groups that are left out, the smallest first.
func kindsOfGroups(pages *table.Table) []groupKind {
	var out []groupKind
	for _, g := range slices.Backward(groupings) {
		if label := groupLabels(pages, g.by, g.within); label != nil {
			out = append(out, groupKind{g.by, g.within, label})
		}
	}
	if label := groupLabels(pages, "page", "book"); label != nil {
		out = append([]groupKind{{"page", "book", label}}, out...)
	}
	return out
}

// worth lists the groups that may decide, those that bear most first; left is what least
// squares leave in the k-th of the rows.
func worth(c mixed.Carriers, left func(k int) float64, label func(row int) string, se float64) []string {
	carried, moved := map[string]float64{}, map[string]float64{}
	var order []string
	all := 0.0
	for k, row := range c.Rows {
		g := label(row)
		if g == "" {
			continue
		}
		if _, known := carried[g]; !known {
			order = append(order, g)
		}
		carried[g] += c.Weight[k] * c.Weight[k]
		moved[g] += c.Weight[k] * left(k)
		all += c.Weight[k] * c.Weight[k]
	}
	if len(order) < 2 {
		return nil
	}
	bears := func(g string) float64 {
		share := carried[g] / all
		return max(share, math.Abs(moved[g])/(se*max(1-share, 0.1)))
	}
	order = slices.DeleteFunc(order, func(g string) bool { return bears(g) < worthTrying })
	slices.SortStableFunc(order, func(a, b string) int { return cmp.Compare(bears(b), bears(a)) })
	return order[:min(mostTried, len(order))]
}

// mayDecide leaves of some groups those without which the estimate, by an
// approximation ([mixed.Fit.ContrastWithout]), may move so that the verdict is another.
// The approximation may be wrong by half or to the double, and, since it holds the
// variances, by [heldMisses] standard errors a group with all the pages would.
func (a *Answer) mayDecide(groups []string, label func(row int) string, by Fitted, pages *table.Table) []string {
	rows := make([][]int, len(groups))
	for row := range pages.Rows() {
		if k := slices.Index(groups, label(row)); k >= 0 {
			rows[k] = append(rows[k], row)
		}
	}
	about, err := by.Fit.ContrastWithout(a.Question.Contrast, rows)
	if err != nil {
		return groups
	}
	var out []string
	for k, group := range groups {
		moved := about[k] - a.Effect.Estimate
		more := heldMisses * a.Effect.SE * float64(len(rows[k])) / float64(by.Fit.N)
		far := math.IsNaN(moved)
		for _, by := range []float64{0.5 * moved, moved, 2 * moved} {
			far = far || a.decides(by-more) || a.decides(by) || a.decides(by+more)
		}
		if far {
			out = append(out, group)
		}
	}
	return out
}

// heldMisses is how far an estimate without most of the pages may be from that with
// variances held, in standard errors of the answer.
const heldMisses = 4

// decides tells whether an estimate as precise as the answer's, but so far away from
// it, gives another verdict.
func (a *Answer) decides(moved float64) bool {
	other := *a
	other.Effect.Estimate += moved
	return math.Abs(moved) >= deciding*a.Effect.SE && other.At(a.Level).Verdict != a.Verdict
}

// without answers the question without one group.
func (a *Answer) without(group string, kind groupKind, m mixed.Model, pages *table.Table) (d DecidedBy, decides bool) {
	var rows []int
	d = DecidedBy{By: kind.by, Group: group, Verdict: Open, Estimate: math.NaN(), Low: math.NaN(), High: math.NaN()}
	outcome := pages.Column(m.Outcome)
	for row := range pages.Rows() {
		if kind.label(row) != group {
			rows = append(rows, row)
			continue
		}
		d.label = pages.Column(kind.by).Label(row)
		if kind.within != "" {
			d.book = pages.Column(kind.within).Label(row)
		}
		if !outcome.Missing(row) {
			d.Pages++
		}
	}
	fit, err := m.Fit(pages.Select(rows))
	if err != nil || !fit.Converged {
		return d, !hasContrast(m, pages.Select(rows), a.Question)
	}
	other, err := Ask(a.Question, fit)
	if err != nil {
		return d, true
	}
	other = other.At(a.Level)
	d.Estimate, d.Low, d.High, d.Verdict = other.Effect.Estimate, other.Effect.Low, other.Effect.High, other.Verdict
	// as precise as with the group: what is lost is not that there are fewer pages
	return d, d.Verdict != a.Verdict && a.decides(d.Estimate-a.Effect.Estimate)
}

// hasContrast tells whether some complete pages still have each level that a question
// asks about.
func hasContrast(m mixed.Model, pages *table.Table, q Question) bool {
	needed := m.Needed()
	for _, l := range q.levels(m, pages) {
		there := false
		for row := range pages.Rows() {
			there = there || pages.Column(l[0]).Label(row) == l[1] &&
				!slices.ContainsFunc(needed, func(name string) bool { return pages.Column(name).Missing(row) })
		}
		if !there {
			return false
		}
	}
	return true
}

// decided says on what the verdict hangs.
func (a *Answer) decided(d DecidedBy) string {
	what := d.By + " " + d.label
	if d.book != "" && a.Book == "" && a.severalBooks() {
		what += " of " + d.book
	}
	if math.IsNaN(d.Estimate) {
		return fmt.Sprintf("All of it comes from the %s: without that nothing is left to answer from.", what)
	}
	return fmt.Sprintf("One %s decides it: without the %s the answer would be “%s”, the effect being %s.", d.By, what, d.Verdict, a.amount(d.Estimate, true))
}

func (a *Answer) severalBooks() bool {
	return slices.ContainsFunc(a.Rests.Groups, func(g GroupsOf) bool { return g.By == "book" && g.Groups > 1 })
}
