package readings

import (
	"errors"
	"fmt"
	"math"
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
	stated bool   // the repeatability is what the source of all readings states
	margin *pools // by which cells must keep clear of the limits; nil before it is known
	spots  spotPlan
	shared sharedPlan

	share   []float64 // roundingShare of each instrument, density²
	wear    []Wear
	between betweenPool // observers with their instruments
	again   betweenPool // days, of one observer and instrument
	odd     oddities

	room   []entry   // for those of one page, at work
	values []float64 // for those of one cell
}

// oddities are what the notes tell of.
type oddities struct {
	otherKind, otherKindPages int      // readings left out since the page has those of the other kind of spot
	sharedZeros               int      // pages where an observer used another's zeros
	noPlacing                 int      // pages with zeros alone
	unclear                   []string // pages at the floor, zero and all
	beyondTiles               int      // readings before the first or after the last tile reading of their day
}

// ordered gives the log with its readings in their order, also where the log
// was made by hand.
func (l *Log) ordered() *Log {
	compare := orderOf(l.books)
	for i := 1; i < len(l.Readings); i++ {
		if compare(&l.Readings[i-1], &l.Readings[i]) > 0 {
			sorted := *l
			sorted.Readings = sortReadings(l.Readings, l.books)
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
	for r := range w.log.left() {
		if r.Target == OnTile || r.Excluded != "" {
			continue
		}
		p := placed{Reading: r, value: r.Density, line: -1}
		if lines, has := index[r.dayKey()]; has {
			at := w.drift.lineAt(lines, r.Hour)
			line := &w.drift.lines[at]
			if p.line, p.value = at, line.correct(r.Density, r.Hour); line.correction.scale() > 0 && !(1+line.departure(r.Hour)/line.certified > 0) {
				return fmt.Errorf("the tile readings of %s on %s make no scale: at %s they would stand at %.2f of the tile's certified density; check them and the certificate, or choose offset instead of %s",
					w.log.Instruments[r.Instrument].ID, r.Day, clock(r.Hour), 1+line.departure(r.Hour)/line.certified, line.correction)
			}
			if line.spread > 0 && (r.Hour < line.dayFrom || r.Hour > line.dayTo) {
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

func (w *weighing) settleSpots() error { return w.spots.settle(w.kept, w.pools, w.options.SpotSpread) }

// eachPage calls f with the kept readings of each page, in the log's order.
func (w *weighing) eachPage(f func([]placed)) {
	runs(w.kept, func(a, b *Reading) bool { return a.Book == b.Book && a.Page == b.Page }, f)
}

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
		w.odd.unclear = append(w.odd.unclear, w.log.books[book].PageCalled(w.log.pageLabel(book, page)))
		return
	}
	sittings := bySitting(entries)
	sat := w.sittings(sittings, &e, blocks)
	out := Wear{Book: book, Page: page, Density: e.wear - w.shared.offset(sat), Limit: e.limit, Spot: string(kind), Shared: w.shared.loadings(sat)}
	w.addError(&out, entries, e, sat)
	for _, s := range sat {
		out.Sat = append(out.Sat, Sitting{s.names[0], s.names[1], s.names[2], s.weight})
	}
	for i := range entries {
		en := &entries[i]
		if en.zero {
			out.Zeros += en.rows
		} else {
			out.Placings += en.rows
		}
		out.AtLimit += en.limits
	}
	out.Sittings = len(sittings)
	w.addCoverage(&out)
	w.wear = append(w.wear, out)
	w.compare(sittings, blocks)
}

// addCoverage gives the wear on the scale of area coverage. A page cannot be
// covered by less than nothing or more than wholly, so that the value stops at
// 0 and 1.
func (w *weighing) addCoverage(out *Wear) {
	within := math.Min(math.Max(out.Density, 0), w.options.Solid)
	out.Coverage = coverage(within, w.options.Solid)
	out.CoverageSE = out.SE * coverageSlope(within, w.options.Solid)
}

// sittings are those of a page with their weights: the sums of the pulls of their
// placings on the page. Where each sitting gives the wear by itself, the spread of
// placing anew counts in the weights too, and the estimate is brought to them.
func (w *weighing) sittings(sittings [][]entry, e *estimate, blocks int) []weighted {
	var sat []weighted
	i := 0 // of the page's entries
	for _, entries := range sittings {
		placed, weight := false, 0.0
		for k := range entries {
			if !entries[k].zero {
				placed = true
				weight += e.derivative[i]
			}
			i++
		}
		if placed {
			sat = append(sat, weighted{w.names(entries[0].sitting), weight})
		}
	}
	if len(sat) < 2 || len(sat) < len(sittings) || w.shared.placing == 0 {
		return sat
	}
	level := determinations(each(sittings), blocks)
	if len(level) != len(sat) {
		return sat
	}
	weights, total := make([]float64, len(sat)), 0.0
	for k, d := range level {
		weights[k] = 1 / (d.variance + w.shared.placing)
		total += weights[k]
	}
	e.wear, i = 0, 0
	for k, d := range level {
		ratio := weights[k] / total / sat[k].weight
		sat[k].weight = weights[k] / total
		e.wear += sat[k].weight * d.value
		for range sittings[k] {
			e.derivative[i] *= ratio
			e.share[i] *= ratio * ratio
			i++
		}
	}
	return sat
}
