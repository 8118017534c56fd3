package readings

import (
	"slices"
)

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
	excess float64 // how many spreads between spots were subtracted from the value
	rows   int
	limits int // rows at a limit
}

// entries turns the readings of a page into what its estimate needs: one entry
// a zero and a placing on the fixed spot, one a search for the darkest spot.
// Readings of a day and instrument stand against the zeros of their own
// observer, or, where one observer has none, against all of that day and
// instrument; shared tells that this happened. The entries hold until those of another
// page are made.
func (w *weighing) entries(readings []placed, kind Spot) (entries []entry, blocks int, shared bool) {
	entries = w.room[:0]
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
	w.room = entries
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
	if cell[0].Target == OnPage && kind == darkestSpot {
		runs(cell, sameTried, func(searches []placed) { add(w.spots.entry(searches, w.ofReading(cell[0].Instrument), share)) })
		return entries
	}
	for _, p := range cell {
		e := entry{hour: p.Hour, share: share, rows: 1}
		e.datum = datum{value: p.value, variance: w.ofReading(cell[0].Instrument) + share, limit: p.Limit, zero: p.Target == OnZero}
		if p.Limit != Measured {
			e.limits = 1
		}
		add(e)
	}
	return entries
}
