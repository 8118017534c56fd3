package readings

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/mat"
)

// Spreads are standard deviations of density that a study states, from a published
// or pilot source; 0 where it states none.
type Spreads struct {
	Day, Observer, Instrument float64
	// Placing is that of placing the instrument anew on a page, on another day or
	// by another observer, beyond repeatability.
	Placing float64
	From    string // where they come from, in words
}

// of is the spread stated for a source.
func (s Spreads) of(source int) float64 {
	return [...]float64{s.Day, s.Observer, s.Instrument}[source]
}

// A sharedPlan is what sittings differ by.
type sharedPlan struct {
	placing   float64 // variance of placing anew, density²
	placingDF float64
	placed    bool // placing is known: estimated or stated
	again     int  // pages measured again that tell it
	many      bool // more levels than are estimated together

	sources []Source
	index   [3]map[string]int // level of each day, observer, instrument
	at      [3]int            // first offset of each source among all
	total   int               // offsets
	solved  bool              // offsets are told in part by pages measured again
	offsets []float64
	// factor is the lower triangle whose product with its transpose is the
	// covariance of the offsets, given the pages measured again; in the order of
	// factored.
	factor   *mat.TriDense
	order    []int // offsets in the order of the factor: instruments and observers before days
	position []int // of each offset in that order
}

// names are the day, observer and instrument of a sitting.
func (w *weighing) names(s sitting) [3]string {
	return [3]string{s.day, s.observer, w.log.Instruments[s.instrument].ID}
}

// settleShared finds what placing anew, days, observers and instruments add to the
// errors of wear.
func (w *weighing) settleShared() error {
	w.shared.gather(w)
	pages := w.repeatedPages()
	w.shared.again = len(pages)
	w.shared.estimate(pages, w.options.Spreads)
	w.shared.explain(w)
	return nil
}

// gather lists the levels of the sources: those of kept readings on pages.
func (s *sharedPlan) gather(w *weighing) {
	for source := range s.index {
		s.index[source] = map[string]int{}
	}
	for i := range w.kept {
		p := &w.kept[i]
		if p.Target == OnPage {
			for source, name := range w.names(sitting{p.Day, p.Instrument, p.Observer}) {
				if name != "" {
					s.index[source][name] = 0
				}
			}
		}
	}
	for source, index := range s.index {
		levels := make([]string, 0, len(index))
		for name := range index {
			levels = append(levels, name)
		}
		slices.Sort(levels)
		for k, name := range levels {
			index[name] = k
		}
		s.sources = append(s.sources, Source{By: sourceNames[source], Levels: levels})
		s.at[source] = s.total
		s.total += len(levels)
	}
}

// offsetsOf are the offsets that a sitting has: of sources with two levels or more.
func (s *sharedPlan) offsetsOf(names [3]string) []int {
	var out []int
	for source, name := range names {
		if len(s.sources[source].Levels) > 1 && name != "" {
			out = append(out, s.at[source]+s.index[source][name])
		}
	}
	return out
}

// repeatedPages are the pages whose wear can be had from two sittings or more, each
// by itself.
func (w *weighing) repeatedPages() []repeatedPage {
	var pages []repeatedPage
	w.eachPage(func(readings []placed) {
		first := readings[0]
		if !slices.ContainsFunc(readings, func(p placed) bool {
			return p.Day != first.Day || p.Instrument != first.Instrument || p.Observer != first.Observer
		}) {
			return
		}
		kind, _ := w.spots.kindOf(readings)
		if kind == "" {
			return
		}
		entries, blocks, _ := w.entries(readings, kind)
		sittings := bySitting(entries)
		level := determinations(each(sittings), blocks)
		if len(level) < 2 {
			return
		}
		var page repeatedPage
		for i, d := range level {
			page.values = append(page.values, d.value)
			page.variances = append(page.variances, d.variance)
			page.levels = append(page.levels, w.shared.offsetsOf(w.names(sittings[i][0].sitting)))
		}
		pages = append(pages, page)
	})
	return pages
}

// estimate fits the spreads and the offsets.
func (s *sharedPlan) estimate(pages []repeatedPage, stated Spreads) {
	pages = s.bounded(pages)
	linked := &spreadModel{pages: pages, penalised: true}
	// Only offsets that pages measured again speak of are estimated.
	at := map[int]int{}
	var offsets []int
	for _, page := range pages {
		for _, levels := range page.levels {
			for _, o := range levels {
				if _, known := at[o]; !known {
					at[o] = 0
					offsets = append(offsets, o)
				}
			}
		}
	}
	slices.Sort(offsets)
	for k, o := range offsets {
		at[o] = k
		linked.source = append(linked.source, s.sourceOf(o))
	}
	for i := range pages {
		for _, levels := range pages[i].levels {
			for k := range levels {
				levels[k] = at[levels[k]]
			}
		}
	}
	linked.fixed = s.start(linked, stated)
	sd, point := linked.fit()
	s.settlePlacing(linked, sd[0], stated.Placing)
	for k := range s.sources {
		s.sources[k].SD = sd[1+k]
		if !s.sources[k].Known {
			s.sources[k].SD = 0
		}
	}
	s.factorise(offsets, point)
	s.unlinkedFreedom(linked, offsets, point)
}

// sourceOf is the source of an offset.
func (s *sharedPlan) sourceOf(offset int) int {
	source := 0
	for k := range s.at {
		if offset >= s.at[k] && len(s.sources[k].Levels) > 0 {
			source = k
		}
	}
	return source
}

// start says which spreads are stated, which are known and which are to be
// estimated, with their degrees of freedom: those of differences that the source
// alone can explain, or, where two sources always change together, that they share.
func (s *sharedPlan) start(m *spreadModel, stated Spreads) []float64 {
	fixed := []float64{math.NaN(), math.NaN(), math.NaN(), math.NaN()}
	if stated.Placing > 0 {
		fixed[0] = stated.Placing
	} else if len(m.pages) == 0 {
		fixed[0] = 0
	}
	all := m.rank(0, 1, 2)
	for k := range s.sources {
		source := &s.sources[k]
		if source.Known = false; len(source.Levels) < 2 {
			fixed[1+k] = 0
			continue
		}
		if given := stated.of(k); given > 0 {
			source.Known, source.From = true, Stated
			source.SpreadDF, source.DF = math.Inf(1), math.Inf(1)
			fixed[1+k] = given
			continue
		}
		alone := m.rank(k)
		if alone == 0 {
			fixed[1+k] = 0
			continue
		}
		others := slices.DeleteFunc([]int{0, 1, 2}, func(o int) bool { return o == k })
		source.Known, source.From = true, measuredAgain
		source.SpreadDF = math.Max(1, float64(all-m.rank(others...)))
		source.DF = source.SpreadDF
	}
	return fixed
}

// settlePlacing keeps what was found of placing anew.
func (s *sharedPlan) settlePlacing(m *spreadModel, sd, stated float64) {
	differences := 0
	for _, page := range m.pages {
		differences += len(page.values) - 1
	}
	s.placed = len(m.pages) > 0 || stated > 0
	if sd > leastSpread*(1+1e-6) {
		s.placing = sd * sd
	}
	s.placingDF = math.Max(1, float64(differences-m.rank(0, 1, 2)))
	if stated > 0 {
		s.placingDF = math.Inf(1)
	}
}

// bounded leaves out what is too much to be estimated together: of more than
// mostLinked days those on which fewest pages were measured again.
func (s *sharedPlan) bounded(pages []repeatedPage) []repeatedPage {
	count := map[int]int{}
	for _, page := range pages {
		for _, levels := range page.levels {
			for _, o := range levels {
				count[o]++
			}
		}
	}
	if s.many = len(count) > mostLinked; !s.many {
		return pages
	}
	var offsets []int
	for o := range count {
		offsets = append(offsets, o)
	}
	slices.SortFunc(offsets, func(a, b int) int { return cmp.Or(cmp.Compare(count[b], count[a]), cmp.Compare(a, b)) })
	kept := map[int]bool{}
	for _, o := range offsets[:mostLinked] {
		kept[o] = true
	}
	return slices.DeleteFunc(slices.Clone(pages), func(page repeatedPage) bool {
		return slices.ContainsFunc(page.levels, func(levels []int) bool {
			return slices.ContainsFunc(levels, func(o int) bool { return !kept[o] })
		})
	})
}

// factorise gives every offset its expectation and the triangle of the covariance
// of all. Offsets of a source whose spread is not known are not among them.
func (s *sharedPlan) factorise(linked []int, point *spreadPoint) {
	s.offsets = make([]float64, s.total)
	s.position = make([]int, s.total)
	at := map[int]int{}
	if !s.many {
		s.solved = len(linked) > 0
		for k, o := range linked {
			at[o] = k
			s.offsets[o] = point.offsets.AtVec(k)
		}
	}
	for _, source := range []int{2, 1, 0} { // few levels first
		if !s.sources[source].Known {
			continue
		}
		for level := range s.sources[source].Levels {
			o := s.at[source] + level
			if _, told := at[o]; told {
				s.order = append(s.order, o)
			}
		}
	}
	n := len(s.order)
	for k, o := range s.order {
		s.position[o] = k
	}
	if n == 0 {
		return
	}
	left := mat.NewSymDense(n, nil)
	for i, a := range s.order {
		for j, b := range s.order[i:] {
			left.SetSym(i, i+j, point.left.At(at[a], at[b]))
		}
		left.SetSym(i, i, left.At(i, i)*(1+1e-12)+1e-18)
	}
	var chol mat.Cholesky
	if chol.Factorize(left) {
		s.factor = mat.NewTriDense(n, mat.Lower, nil)
		chol.LTo(s.factor)
	}
}

// unlinkedFreedom raises the degrees of freedom of the sources where every two
// sittings' offsets are linked by pages measured again, so that little hangs on the
// spread itself: with κ the greatest share of the variance of any difference that
// stays unknown, the relative variance of what stays is κ² of the spread's and
// (1 − κ)² of the placings'.
func (s *sharedPlan) unlinkedFreedom(m *spreadModel, offsets []int, point *spreadPoint) {
	if !s.solved {
		return
	}
	for k := range s.sources {
		for level := range s.sources[k].Levels {
			if len(s.sources[k].Levels) > 1 && s.sources[k].Known && !slices.Contains(offsets, s.at[k]+level) {
				return // an offset of which nothing is told
			}
		}
	}
	var groups [][]int
	seen := map[string]bool{}
	for _, page := range m.pages {
		for _, levels := range page.levels {
			if key := fmt.Sprint(levels); !seen[key] {
				seen[key] = true
				groups = append(groups, levels)
			}
		}
	}
	worst := 0.0
	for i := range groups {
		for j := range i {
			before, after := 0.0, 0.0
			difference := slices.Concat(groups[i], groups[j])
			sign := func(k int) float64 { return map[bool]float64{true: 1, false: -1}[k < len(groups[i])] }
			for k, a := range difference {
				for l, b := range difference {
					both := sign(k) * sign(l)
					after += both * point.left.At(a, b)
					if a == b {
						sd := s.sources[m.source[a]].SD
						before += both * sd * sd
					}
				}
			}
			if before > leastSpread*leastSpread {
				worst = math.Max(worst, math.Min(1, after/before))
			}
		}
	}
	for k := range s.sources {
		if source := &s.sources[k]; source.From == measuredAgain {
			source.DF = 1 / (worst*worst/source.SpreadDF + (1-worst)*(1-worst)/s.placingDF)
		}
	}
}

// loadings are those of sittings with weights, by source and level.
func (s *sharedPlan) loadings(sat []weighted) (loads []Loading) {
	weights := make(map[int]float64)
	for _, one := range sat {
		for _, o := range s.offsetsOf(one.names) {
			weights[o] += one.weight
		}
	}
	linked := make([]float64, len(s.order))
	some := false
	for o, weight := range weights {
		if k := s.position[o]; s.factor != nil && k < len(s.order) && s.order[k] == o {
			linked[k], some = weight, true
			continue
		}
		source := s.sourceOf(o)
		loads = append(loads, Loading{source, o - s.at[source], weight})
	}
	if some {
		for j, o := range s.order {
			source := s.sourceOf(o)
			sd, sum := s.sources[source].SD, 0.0
			for i := j; i < len(linked); i++ {
				sum += linked[i] * s.factor.At(i, j)
			}
			if load := sum / sd; math.Abs(load) > 1e-6 {
				loads = append(loads, Loading{source, o - s.at[source], load})
			}
		}
	}
	slices.SortFunc(loads, func(a, b Loading) int { return cmp.Or(cmp.Compare(a.Source, b.Source), cmp.Compare(a.Level, b.Level)) })
	return loads
}

// offset is what sittings with weights read too high.
func (s *sharedPlan) offset(sat []weighted) float64 {
	total := 0.0
	for _, one := range sat {
		for _, o := range s.offsetsOf(one.names) {
			total += one.weight * s.offsets[o]
		}
	}
	return total
}

// A weighted is a sitting of a page with its weight.
type weighted struct {
	names  [3]string
	weight float64
}

// list are the sources with two levels or more.
func (s *sharedPlan) list() (sources []Source, place []int) {
	place = make([]int, len(s.sources))
	for k, source := range s.sources {
		place[k] = -1
		if len(source.Levels) > 1 {
			place[k] = len(sources)
			sources = append(sources, source)
		}
	}
	return sources, place
}

// explain says of each source that is not known what to do.
func (s *sharedPlan) explain(w *weighing) {
	for k := range s.sources {
		source := &s.sources[k]
		if source.Known || len(source.Levels) < 2 {
			continue
		}
		source.Why = fmt.Sprintf("No page was measured by two of the %ss %s, so nothing tells what %ss differ by. Measure %d pages or more of each with another too, drawn by chance over its pages, or state %s_spread under [measuring] with its source.",
			source.By, named(source.Levels), source.By, w.enough(), source.By)
		if source.By == ByDay {
			source.Why = strings.Replace(source.Why, "measured by two of the days", "measured on two of the days", 1)
			source.Why = strings.Replace(source.Why, "of each with another too", "of each day on another day too", 1)
		}
	}
}

// telling is the standard error, density, to which pages measured again should tell
// the difference of two days (common practice, no source: half of what is often
// found between days and observers, 0.01).
const telling = 0.005

// enough is how many pages two days must share, so that what they differ by is
// known to telling; at least five.
func (w *weighing) enough() int {
	sitting := w.repeat.variance()*(1.0/3+1.0/2) + w.shared.placing
	return max(5, int(math.Ceil(2*sitting/(telling*telling)-1e-9)))
}
