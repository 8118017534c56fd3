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
	margin *pools // by which cells must keep clear of the limits; nil before it is known
	spots  spotPlan

	share   []float64 // roundingShare of each instrument, density²
	wear    []Wear
	between betweenPool // observers with their instruments
	again   betweenPool // days, of one observer and instrument
	odd     oddities
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
	for i := range w.log.Readings {
		r := &w.log.Readings[i]
		if r.Target == OnTile || r.Excluded != "" {
			continue
		}
		p := placed{Reading: r, value: r.Density, line: -1}
		if at, has := index[r.dayKey()]; has {
			line := &w.drift.lines[at]
			if p.line, p.value = at, line.correct(r.Density, r.Hour); line.correction == DriftScale && !(line.at(r.Hour) > 0) {
				return fmt.Errorf("the tile readings of %s on %s make no scale: at %s they would stand at %.2f of the tile's certified density; check them and the certificate, or choose offset instead of scale",
					w.log.Instruments[r.Instrument].ID, r.Day, clock(r.Hour), line.at(r.Hour))
			}
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
	w.compare(entries, blocks)
}

// addCoverage gives the wear on the scale of area coverage. A page cannot be
// covered by less than nothing or more than wholly, so that the value stops at
// 0 and 1.
func (w *weighing) addCoverage(out *Wear) {
	within := math.Min(math.Max(out.Density, 0), w.options.Solid)
	out.Coverage = coverage(within, w.options.Solid)
	out.CoverageSE = out.SE * coverageSlope(within, w.options.Solid)
}
