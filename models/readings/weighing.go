package readings

import (
	"errors"
	"math"
	"slices"
	"sort"
)

// A placed is a kept reading on a page or its zero, corrected for drift.
type placed struct {
	*Reading
	value float64
	line  int // index into the drift lines; −1 where the day has none
}

// A weighing is the way from a log to its result.
type weighing struct {
	log     *Log
	options Options

	kept  []placed // in the log's order
	drift driftTable

	pools
	margin *pools // by which cells must keep clear of the limits; nil before it is known
	spots  spotPlan

	share   []float64 // roundingShare of each instrument, density²
	wear    []Wear
	between betweenPool
	odd     oddities
}

// oddities are what the notes tell of.
type oddities struct {
	otherKind, otherKindPages int // readings left out since the page has those of the other kind of spot
	sharedZeros               int // pages where an observer used another's zeros
	noPlacing                 int // pages with zeros alone
	unclear                   []string
	beyondTiles               int // readings before the first or after the last tile reading of their day
}

// ordered gives the log with its readings in their order, also where the log
// was made by hand.
func (l *Log) ordered() *Log {
	for i := 1; i < len(l.Readings); i++ {
		if compareReadings(&l.Readings[i-1], &l.Readings[i]) > 0 {
			sorted := *l
			sorted.Readings = sortReadings(l.Readings)
			return &sorted
		}
	}
	return l
}

// correctDrift fits the drift lines and corrects the kept readings by them.
func (w *weighing) correctDrift() error {
	w.drift = w.log.fitDrifts(w.options.Drift)
	index := w.drift.index()
	if w.options.Drift != DriftNone {
		if err := w.log.missingTiles(index); err != nil {
			return err
		}
	}
	w.kept = make([]placed, 0, len(w.log.Readings))
	for i := range w.log.Readings {
		r := &w.log.Readings[i]
		if r.Target == OnTile || r.Excluded != "" {
			continue
		}
		p := placed{Reading: r, value: r.Density, line: -1}
		if at, has := index[r.dayKey()]; has {
			line := &w.drift.lines[at]
			p.line, p.value = at, line.correct(r.Density, r.Hour)
			if line.spread > 0 && (r.Hour < line.from || r.Hour > line.to) {
				w.odd.beyondTiles++
			}
		}
		w.kept = append(w.kept, p)
	}
	if len(w.kept) == 0 {
		return errors.New("the log has no kept reading on any page, so there is no wear to compute; add readings, or take back exclusions")
	}
	return nil
}

// runs calls f for each run of readings that same holds together.
func runs(readings []placed, same func(a, b *Reading) bool, f func([]placed)) {
	for start := 0; start < len(readings); {
		end := start + 1
		for end < len(readings) && same(readings[start].Reading, readings[end].Reading) {
			end++
		}
		f(readings[start:end])
		start = end
	}
}

func sameCell(a, b *Reading) bool { return compareSitting(a, b) == 0 }

// pool gathers the repeatability and the spread between spots from all cells
// that keep clear of the instruments' limits.
func (w *weighing) pool() error {
	w.pools = w.gather()
	first := w.pools
	w.margin = &first
	if clear := w.gather(); clear.repeat.df > 0 {
		w.pools = clear
	} else {
		w.margin = nil
	}
	if w.repeat.df == 0 {
		return errors.New("no page and no zero has two readings by one observer with one instrument on one day, so nothing tells how well readings repeat, and no standard error can be given; place the instrument at least twice on the zero or the fixed spot of some pages, and log each placing as its own row")
	}
	w.share = make([]float64, len(w.log.Instruments))
	for i, in := range w.log.Instruments {
		w.share[i] = roundingShare(w.repeat.sd(), in.Resolution)
	}
	w.drift.settle(w.log, w.repeat)
	return nil
}

// pools hold what the cells of a log scatter.
type pools struct {
	onPage, onZero pool // repeatability, by target
	repeat         pool // both
	singles        pool // spots of a page, logged one by one
	searches       pool // repeated searches for the darkest spot, in units of the variance of the largest
}

// clearance is how many standard deviations the mean of a cell must keep from
// a limit. Cells that meet a limit are no measure of scatter, and to pool only
// those of their neighbours that happen not to would make it look too small.
const clearance = 3

// gather pools the cells that [weighing.clear] lets through.
func (w *weighing) gather() pools {
	var p pools
	runs(w.kept, sameCell, func(cell []placed) {
		if cell[0].Spot != Darkest {
			p.like(cell).add(w.clear(cell), 1)
			return
		}
		runs(cell, sameTried, func(searches []placed) {
			scale := 1.0
			if n := searches[0].Tried; n > 1 {
				scale = w.spots.of(n).variance
			}
			p.like(searches).add(w.clear(searches), scale)
		})
	})
	p.repeat.join(p.onPage)
	p.repeat.join(p.onZero)
	return p
}

// like gives the pool that cells such as this one go into.
func (p *pools) like(cell []placed) *pool {
	switch {
	case cell[0].Target == OnZero:
		return &p.onZero
	case cell[0].Spot == Fixed:
		return &p.onPage
	case cell[0].Tried > 1:
		return &p.searches
	}
	return &p.singles
}

// clear gives the values of a cell that meets no limit and, once a first pool
// tells how far readings scatter, keeps clear of the limits; else none.
func (w *weighing) clear(cell []placed) []float64 {
	values := make([]float64, 0, len(cell))
	mean := 0.0
	for _, p := range cell {
		if p.Limit != Measured {
			return nil
		}
		values = append(values, p.value)
		mean += p.Density / float64(len(cell))
	}
	if w.margin == nil {
		return values
	}
	if scatter := w.margin.like(cell); scatter.df > 0 {
		in, margin := w.log.Instruments[cell[0].Instrument], clearance*scatter.sd()
		if mean-margin < in.Floor || mean+margin > in.Ceiling {
			return nil
		}
	}
	return values
}

func (w *weighing) settleSpots() error { return w.spots.settle(w.kept, w.pools, w.options.SpotSpread) }

// weighPage computes the wear of one page from its kept readings.
func (w *weighing) weighPage(readings []placed) {
	book, page := readings[0].Book, readings[0].Page
	kind, others := w.spots.kindOf(readings)
	if kind == "" {
		w.odd.noPlacing++
		return
	}
	if others > 0 {
		w.odd.otherKind += others
		w.odd.otherKindPages++
	}
	entries, blocks, shared := w.entries(readings, kind)
	if shared {
		w.odd.sharedZeros++
	}
	data := make([]datum, len(entries))
	for i := range entries {
		data[i] = entries[i].datum
	}
	e, ok := solve(data, blocks)
	if !ok {
		w.odd.unclear = append(w.odd.unclear, w.log.books[book].ID+" "+w.log.pageLabel(book, page))
		return
	}
	out := Wear{Book: book, Page: page, Density: e.wear, Limit: e.limit, Spot: string(kind)}
	w.addError(&out, entries, e)
	for i := range entries {
		en := &entries[i]
		if en.zero {
			out.Zeros += en.rows
		} else {
			out.Placings += en.rows
		}
		out.AtLimit += en.limits
		if i == 0 || en.sitting != entries[i-1].sitting {
			out.Sittings++
		}
	}
	w.addCoverage(&out)
	w.wear = append(w.wear, out)
	w.compareGroups(entries, blocks)
}

// A sitting is a day, an instrument and an observer.
type sitting struct {
	day        string
	instrument int
	observer   string
}

// An entry is a datum with where it comes from.
type entry struct {
	datum
	sitting
	hour   float64
	line   int     // drift line; −1 without
	share  float64 // of variance: rounding that placings of a side share, density²
	spot   float64 // of variance: from the spread between spots, density²
	search float64 // of variance: from repeated searches for the darkest spot, density²
	excess float64 // how many spreads between spots were taken off the value
	rows   int
	limits int // rows at a limit
}

// entries turns the readings of a page into what its estimate needs: one entry
// a zero and a placing on the fixed spot, one a search for the darkest spot.
// Readings of a day and instrument stand against the zeros of their own
// observer, or, where one observer has none, against all of that day and
// instrument; shared tells that this happened.
func (w *weighing) entries(readings []placed, kind Spot) (entries []entry, blocks int, shared bool) {
	sameDay := func(a, b *Reading) bool { return a.Day == b.Day && a.Instrument == b.Instrument }
	sameObserver := func(a, b *Reading) bool { return a.Observer == b.Observer }
	runs(readings, sameDay, func(day []placed) {
		together := false
		runs(day, sameObserver, func(own []placed) {
			together = together || hasPlacing(own, kind) && !hasZero(own)
		})
		shared = shared || together
		sameBlock := func(a, b *Reading) bool { return together || sameObserver(a, b) }
		runs(day, sameBlock, func(block []placed) {
			if !hasPlacing(block, kind) {
				return // zeros alone
			}
			runs(block, sameCell, func(cell []placed) {
				entries = w.cellEntries(entries, cell, kind, blocks)
			})
			blocks++
		})
	})
	return entries, blocks, shared
}

func hasPlacing(readings []placed, kind Spot) bool {
	return slices.ContainsFunc(readings, func(p placed) bool { return p.Target == OnPage && p.Spot == kind })
}

func hasZero(readings []placed) bool {
	return slices.ContainsFunc(readings, func(p placed) bool { return p.Target == OnZero })
}

// cellEntries appends the entries of one cell.
func (w *weighing) cellEntries(entries []entry, cell []placed, kind Spot, block int) []entry {
	if cell[0].Target == OnPage && cell[0].Spot != kind {
		return entries
	}
	share := w.share[cell[0].Instrument]
	add := func(e entry) {
		e.block = block
		e.sitting = sitting{cell[0].Day, cell[0].Instrument, cell[0].Observer}
		e.line = cell[0].line
		entries = append(entries, e)
	}
	if cell[0].Target == OnPage && kind == Darkest {
		runs(cell, sameTried, func(searches []placed) { add(w.spots.entry(searches, w.repeat.variance(), share)) })
		return entries
	}
	for _, p := range cell {
		e := entry{hour: p.Hour, share: share, rows: 1}
		e.datum = datum{value: p.value, variance: w.repeat.variance() + share, limit: p.Limit, zero: p.Target == OnZero}
		if p.Limit != Measured {
			e.limits = 1
		}
		add(e)
	}
	return entries
}

// addCoverage gives the wear on the scale of area coverage. A page cannot be
// covered by less than nothing or more than wholly, so that the value stops at
// 0 and 1.
func (w *weighing) addCoverage(out *Wear) {
	within := math.Min(math.Max(out.Density, 0), w.options.Solid)
	out.Coverage = coverage(within, w.options.Solid)
	out.CoverageSE = out.SE * coverageSlope(within, w.options.Solid)
}

// compareGroups puts the page into the comparison of observers and
// instruments, as far as each has a number of its own for it.
func (w *weighing) compareGroups(entries []entry, blocks int) {
	first := entries[0].sitting
	if !slices.ContainsFunc(entries, func(e entry) bool {
		return e.observer != first.observer || e.instrument != first.instrument
	}) {
		return
	}
	groups := map[string][]datum{}
	owner := make([]string, blocks)
	for _, e := range entries {
		name := w.groupName(e.sitting)
		if e.limit != Measured || owner[e.block] != "" && owner[e.block] != name {
			return
		}
		owner[e.block] = name
		groups[name] = append(groups[name], e.datum)
	}
	if len(groups) < 2 {
		return
	}
	names := make([]string, 0, len(groups))
	for name := range groups {
		names = append(names, name)
	}
	sort.Strings(names)
	var level []determination
	for _, name := range names {
		if e, ok := solve(groups[name], blocks); ok {
			d := determination{value: e.wear}
			for _, share := range e.share {
				d.variance += share
			}
			level = append(level, d)
		}
	}
	w.between.add(level)
}

// groupName names an observer with an instrument.
func (w *weighing) groupName(s sitting) string {
	instrument := w.log.Instruments[s.instrument].ID
	if s.observer == "" {
		return instrument
	}
	return s.observer + " with " + instrument
}
