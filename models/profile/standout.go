package profile

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/stat"

	"thumbed/models/codex"
	"thumbed/models/readings"
	"thumbed/models/student"
)

// A Standout is a page whose wear stands above its own section's level.
//
// The level is the median of the section's other pages without a picture, and
// the scatter about it their median absolute deviation, moderated over the
// book's sections; pages that stand out themselves are left out of both, by
// turns until nothing changes, so that several of them in one section do not
// hide each other. Pages with a picture are tested but never count in level and
// scatter: in a book that was opened for looking they may be half of a section.
// P is the chance that a page drawn from those others, measured with
// this page's error, reads as high: Student's t on the degrees of freedom of
// the scatter. It takes pages to scatter normally about their level: where they
// have a long tail upward, pages of that tail stand out too (in simulations with
// wear that is lognormal inside each section, 4 of 190 pages), and a note says
// so. Q is P adjusted over all pages tested in the book (FalseDiscovery).
//
// What makes a page stand out is not asked here: an incipit, a picture, a
// stain or a repair; models tell them apart.
type Standout struct {
	Page    int     `json:"-"`                        // index into the book's Pages
	Level   float64 `json:"level" unit:"density"`     // median of the section's text pages without this one
	AtLeast bool    `json:"at_least"`                 // whether the page's wear is censored: at least a bound, and so excess and its interval too
	Excess  float64 `json:"excess" unit:"density"`    // wear above level
	SE      float64 `json:"excess_se" unit:"density"` // its standard error
	Low     float64 `json:"low" unit:"density"`       // lower end of its 95 % interval; of pages that stand out, of an interval for all of these
	High    float64 `json:"high" unit:"density"`      // upper end of that interval
	Drawn   float64 `json:"excess_sd" unit:"density"` // standard deviation of excess where the page is like the others: p is of excess by it
	P       float64 `json:"p"`                        // p-value against no excess, one-sided
	Q       float64 `json:"q"`                        // p adjusted over the pages tested in the book (Benjamini–Hochberg)
	DF      float64 `json:"df"`                       // degrees of freedom

	picture bool // the page has one
}

// leastGroup is the smallest number of measured pages whose median and scatter
// are worth a test.
const leastGroup = 4

// suspect is the chance below which a page is left out of level and scatter at
// the first turn, which judges by the lower half of each section.
const suspect = 0.005

// mostTurns bounds the rounds of leaving standouts out of the level.
const mostTurns = 20

// A group is the pages of a section, which are compared with one another.
type group struct {
	name     string
	pages    []measured // without a picture: they tell level and scatter
	pictures []measured
	// short: too few pages without a picture to tell a scatter. Only the pictures
	// are tested, with the scatter of other sections.
	short bool
}

// join puts a page to the group.
func (g *group) join(b *codex.Book, p measured) {
	if b.Pages[p.page].Picture {
		g.pictures = append(g.pictures, p)
	} else {
		g.pages = append(g.pages, p)
	}
}

// standoutsOf tests every page that can be tested, in the order of the pages.
func standoutsOf(b *codex.Book, pages []measured) ([]Standout, []string) {
	groups, notes := groupsOf(b, pages)
	own := make([][]bool, len(groups)) // left out of level and scatter
	for g := range groups {
		own[g] = make([]bool, len(groups[g].pages))
	}
	tested := testAll(groups, own, lowerScatter)
	mark(groups, own, tested, func(s Standout) bool { return s.P <= suspect })
	for range mostTurns {
		tested = testAll(groups, own, robustScatter)
		if !mark(groups, own, tested, func(s Standout) bool { return s.Q <= falseDiscoveryRate }) {
			break
		}
	}
	if len(tested) == 0 && len(groups) > 0 {
		notes = append(notes, "No page was tested for standing out: no section has pages enough to tell how far pages scatter.")
	}
	if longTail(groups, own) {
		notes = append(notes, "The pages of this book scatter further above the level of their sections than below it, even without those that stand out. Some that stand out may be the tail of ordinary wear: weigh them by their excess, not by p.")
	}
	slices.SortFunc(tested, func(a, b Standout) int { return a.Page - b.Page })
	intervals(tested, func(Standout) float64 { return missed })
	return tested, notes
}

// missed is the share of intervals that may miss.
const missed = 0.05

// intervals gives each excess its interval, of which the share that may miss is given.
// The pages of a section share their degrees of freedom.
func intervals(tested []Standout, miss func(Standout) float64) {
	type end struct{ df, share float64 }
	ends := map[end]float64{}
	for i := range tested {
		o := &tested[i]
		at := end{o.DF, miss(*o)}
		t, known := ends[at]
		if !known {
			t = student.Half(1-at.share, at.df)
			ends[at] = t
		}
		o.Low, o.High = o.Excess-t*o.SE, o.Excess+t*o.SE
	}
}

// groupsOf gathers the pages to compare, section by section. It says in words
// what is left out.
func groupsOf(b *codex.Book, pages []measured) ([]group, []string) {
	held := sectionPages(b, pages)
	seen := make(map[int]bool) // a page on which two sections meet is tested in the first
	var groups []group
	var bare, notes []string
	for i, section := range b.Sections {
		g := group{name: section.Name}
		for _, p := range held[i] {
			if !seen[p.page] {
				g.join(b, p)
			}
			seen[p.page] = true
		}
		switch {
		case len(g.pages) >= leastGroup:
			groups = append(groups, g)
		case len(g.pages) > 0:
			g.short = true
			groups = append(groups, g)
		case len(g.pictures) > 0:
			bare = append(bare, g.name)
		}
	}
	groups, unknown := dropUnknownLevels(groups)
	var short []string
	for _, g := range groups {
		if g.short {
			short = append(short, g.name)
		}
	}
	if len(short) > 0 {
		notes = append(notes, fmt.Sprintf("Fewer than %d pages without a picture were measured in %s: there only pages with pictures were tested, against those few and with the scatter of the book's other sections.", leastGroup, strings.Join(short, "; ")))
	}
	if len(bare) > 0 {
		notes = append(notes, fmt.Sprintf("No picture was tested in %s: no page without one was measured there to compare with.", strings.Join(bare, "; ")))
	}
	if outside := len(pages) - len(seen); outside > 0 {
		notes = append(notes, fmt.Sprintf("%d measured pages belong to no section and were not tested for standing out.", outside))
	}
	return groups, append(notes, unknown...)
}

// dropUnknownLevels refuses groups of which half or more of the pages are only
// lower bounds, since their level is then not known; notes say which.
func dropUnknownLevels(groups []group) (kept []group, notes []string) {
	for _, g := range groups {
		above := 0
		for _, p := range g.pages {
			if p.limit == readings.Above {
				above++
			}
		}
		if 2*above >= len(g.pages) {
			notes = append(notes, fmt.Sprintf("No page of %s was tested for standing out: %s, so the level to compare with is not known.", g.name, onlyBounds(above, len(g.pages))))
			continue
		}
		kept = append(kept, g)
	}
	return kept, notes
}

// onlyBounds says of how many pages without a picture, of so many, the wear is only
// a lower bound.
func onlyBounds(above, of int) string {
	if of == 1 {
		return "the one page without a picture that was measured there is censored (at least a bound)"
	}
	return fmt.Sprintf("of %d pages without a picture that were measured there, %d are censored (at least a bound)", of, above)
}

// testAll tests the pages of all groups against levels and scatters from which
// the pages marked out are left out. A page that is marked out itself counts in
// the scatter it is tested against, so that being marked does not make it
// stand out.
func testAll(groups []group, out [][]bool, tell func([]float64) scatter) []Standout {
	own := make([]scatter, len(groups))
	for g := range groups {
		if !groups[g].short {
			own[g] = groupScatter(groups[g].pages, out[g], -1, tell)
		}
	}
	lender := learn(append(slices.Clone(own), withinShort(groups)))
	var tested []Standout
	for g := range groups {
		clean := lender.lend(own[g])
		if clean.df == 0 {
			continue // standoutsOf says so
		}
		typical, shared := typicalVariance(groups[g].pages), meanLoad(groups[g].pages)
		levels := newLevels(groups[g].pages, out[g])
		for i, page := range groups[g].pages {
			if groups[g].short || page.limit == readings.Below {
				continue // below: its wear may lie anywhere under the floor
			}
			s := clean
			if out[g][i] {
				s.variance = lender.lend(groupScatter(groups[g].pages, out[g], i, tell)).variance
			}
			level, of := levels.without(page.value, out[g][i])
			tested = append(tested, against(page, level, of, s, typical, shared))
		}
		level, of := levels.whole()
		for _, page := range groups[g].pictures {
			if page.limit != readings.Below {
				tested = append(tested, against(page, level, of, clean, typical, shared))
			}
		}
	}
	p := make([]float64, len(tested))
	for i, s := range tested {
		p[i] = s.P
	}
	for i, q := range FalseDiscovery(p) {
		tested[i].Q = q
	}
	return tested
}

// against tests one page against the level of so many others.
// The level shares errors with the page as the mean of the pages that it is the
// median of does.
func against(page measured, level float64, others int, s scatter, typical float64, shared []load) Standout {
	ofLevel := s.variance*medianVariance(others) + total(variances(less(page.shared, shared)))
	out := Standout{Page: page.page, DF: s.df, Level: level, AtLeast: page.limit == readings.Above}
	out.Excess = page.value - out.Level
	out.SE = math.Sqrt(page.variance + ofLevel)
	drawn := math.Max(page.variance, s.variance+page.variance-typical)
	out.Drawn = math.Sqrt(drawn + ofLevel)
	out.P = student.CDF(-out.Excess/out.Drawn, s.df)
	return out
}

// withinShort is the scatter that the short sections together tell: the variance
// of their pages without a picture about the means of their sections.
func withinShort(groups []group) scatter {
	squares, df, typical := 0.0, 0.0, 0.0
	for _, g := range groups {
		if !g.short || len(g.pages) < 2 {
			continue
		}
		v := values(g.pages)
		free := float64(len(v) - 1)
		squares += free * stat.Variance(v, nil)
		typical += free * typicalVariance(g.pages)
		df += free
	}
	if df == 0 {
		return scatter{}
	}
	return scatter{variance: math.Max(squares, typical) / df, df: df}
}

// Levels give the median of a group without any one of its pages.
type levels struct {
	clean, all []float64 // sorted; clean without the pages marked out
}

func newLevels(pages []measured, out []bool) levels {
	var l levels
	for i, p := range pages {
		l.all = append(l.all, p.value)
		if !out[i] {
			l.clean = append(l.clean, p.value)
		}
	}
	slices.Sort(l.all)
	slices.Sort(l.clean)
	return l
}

// without gives the median of the pages not marked out, without the page of
// the given value, and their number; of all other pages where too few are left.
func (l levels) without(value float64, marked bool) (level float64, others int) {
	from, taken := l.clean, !marked
	if left := len(l.clean); left < leastGroup-1 || taken && left < leastGroup {
		from, taken = l.all, true
	}
	if !taken {
		return sortedMedian(from, -1), len(from)
	}
	at, _ := slices.BinarySearch(from, value)
	return sortedMedian(from, at), len(from) - 1
}

// whole gives the median of the pages not marked out and their number; of all
// where too few are left.
func (l levels) whole() (level float64, of int) {
	if len(l.clean) < leastGroup-1 {
		return sortedMedian(l.all, -1), len(l.all)
	}
	return sortedMedian(l.clean, -1), len(l.clean)
}

// groupScatter is the scatter that the pages not marked out tell, together with
// page i where it is one, with the error of measuring in it, which it cannot be
// below.
func groupScatter(pages []measured, out []bool, i int, tell func([]float64) scatter) scatter {
	s := tell(others(pages, out, i))
	s.variance = math.Max(s.variance, typicalVariance(pages))
	return s
}

// others gives the values of the pages not marked out and of page i; of all pages
// where too few are left.
func others(pages []measured, out []bool, i int) []float64 {
	var kept []float64
	for k, p := range pages {
		if !out[k] || k == i {
			kept = append(kept, p.value)
		}
	}
	if len(kept) < leastGroup-1 {
		return values(pages)
	}
	return kept
}

// typicalVariance is the median variance of measuring.
func typicalVariance(pages []measured) float64 {
	v := make([]float64, len(pages))
	for i, p := range pages {
		v[i] = p.variance
	}
	return median(v)
}

// mark marks the pages that stand out and reports whether any mark changed.
func mark(groups []group, out [][]bool, tested []Standout, leave func(Standout) bool) bool {
	stands := make(map[int]bool)
	for _, s := range tested {
		stands[s.Page] = leave(s)
	}
	changed := false
	for g := range groups {
		for i, p := range groups[g].pages {
			changed = changed || out[g][i] != stands[p.page]
			out[g][i] = stands[p.page]
		}
	}
	return changed
}

// nameOf writes a page as catalogues do.
func nameOf(b *codex.Book, page int) string { return b.Pages[page].Label.String() }

// limitNotes says how pages at a limit were taken.
func limitNotes(b *codex.Book, pages []measured) []string {
	var below, above []string
	for _, p := range pages {
		switch p.limit {
		case readings.Below:
			below = append(below, nameOf(b, p.page))
		case readings.Above:
			above = append(above, nameOf(b, p.page))
		}
	}
	var notes []string
	if len(below) > 0 {
		notes = append(notes, "Censored, at most what is given, since readings stand at an end of the instrument's scale: "+strings.Join(below, ", ")+". The curve takes each as censored; its section's area takes what the curve lets one expect there; it was not tested for standing out.")
	}
	if len(above) > 0 {
		notes = append(notes, "Censored, at least what is given, since readings stand at an end of the instrument's scale: "+strings.Join(above, ", ")+". The curve takes each as censored; its section's area takes what the curve lets one expect there, which leans on the neighbouring pages; an excess given for it is a lower bound.")
	}
	return notes
}
