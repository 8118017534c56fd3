package demo

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strconv"
)

// A reading is one row of a table of readings.
type reading struct {
	book, page, date, time, instrument, observer, target, spot, tried, density, excluded, note string
}

// Hours of the measuring day, in seconds after midnight.
const (
	opens  = 9*3600 + 1800
	noon   = 12*3600 + 1800
	again  = 13*3600 + 1800
	closes = 17 * 3600
)

// A session is one measuring day at work.
type session struct {
	scenario   *Scenario
	day        *Day
	instrument *Instrument
	observer   *Observer
	rng        *rand.Rand
	clock      int // seconds after midnight
	rows       []reading
}

// A target is a page to be measured, with the density of its untouched
// parchment.
type target struct {
	book string
	page *Page
	zero float64
}

// measure is a whole day: the tile in the morning, around noon and at the end,
// and between these the pages, each with its zeros.
func (s *Scenario) measure(number int, targets []target, rng *rand.Rand) ([]reading, error) {
	day := &s.Days[number]
	w := &session{scenario: s, day: day, rng: rng, clock: opens}
	instrument := slices.IndexFunc(s.Instruments, func(i Instrument) bool { return i.ID == day.Instrument })
	observer := slices.IndexFunc(s.Observers, func(o Observer) bool { return o.ID == day.Observer })
	if instrument < 0 || observer < 0 {
		return nil, fmt.Errorf("measuring day %s: no instrument %s or no observer %s", day.Date, day.Instrument, day.Observer)
	}
	w.instrument, w.observer = &s.Instruments[instrument], &s.Observers[observer]
	w.tile()
	slip := rng.IntN(len(targets))
	for i, t := range targets {
		if w.clock < noon && w.clock+600 > noon {
			w.tile()
			w.clock = again
			w.tile()
		}
		w.page(t)
		if i == slip && number%3 == 1 {
			w.slip(t)
		}
	}
	w.tile()
	if w.clock > closes {
		return nil, fmt.Errorf("measuring day %s: the reading room closes before the work is done", day.Date)
	}
	return w.rows, nil
}

func (w *session) tile() {
	for range 3 {
		w.read(reading{target: "tile"}, w.instrument.Tile)
	}
}

// page takes the zeros and the placings of one page: two and three, now and
// then one fewer or one more.
func (w *session) page(t target) {
	for range w.about(2) {
		w.read(reading{book: t.book, page: t.page.Label, target: "zero"}, t.zero)
	}
	for range w.about(3) {
		w.place(t, "")
	}
}

// place is one placing on the page, on the fixed spot or on the darkest of
// several.
func (w *session) place(t target, excluded string) {
	density := t.zero + t.page.Wear + w.observer.Bias
	row := reading{book: t.book, page: t.page.Label, target: "page", spot: "fixed", excluded: excluded}
	if w.day.Darkest {
		tried := w.scenario.Darkest.Tried[w.rng.IntN(len(w.scenario.Darkest.Tried))]
		row.spot, row.tried = "darkest", strconv.Itoa(tried)
		darkest := math.Inf(-1)
		for range tried {
			darkest = max(darkest, w.rng.NormFloat64())
		}
		density += w.scenario.Darkest.Spread * darkest
	}
	w.read(row, density)
}

// slip is a placing that went wrong and was marked so in the log.
func (w *session) slip(t target) {
	worse := t
	page := *t.page
	page.Wear += 0.3
	worse.page = &page
	w.place(worse, "slipped off the cockled edge")
}

// read adds one reading of a true density to the log: with the drift of the
// hour and the noise of a placing, rounded, and cut at the instrument's limits.
func (w *session) read(row reading, density float64) {
	share := float64(w.clock-opens) / float64(closes-opens)
	density += w.day.Drift[0] + share*(w.day.Drift[1]-w.day.Drift[0])
	density += w.instrument.Noise * w.rng.NormFloat64()
	density = math.Round(density/w.instrument.Resolution) * w.instrument.Resolution
	density = min(max(density, w.instrument.Floor), w.instrument.Ceiling)
	row.density = strconv.FormatFloat(density, 'f', 2, 64)
	row.date, row.instrument, row.observer = w.day.Date, w.day.Instrument, w.day.Observer
	row.time = fmt.Sprintf("%02d:%02d:%02d", w.clock/3600, w.clock/60%60, w.clock%60)
	w.rows = append(w.rows, row)
	w.clock += 40 + w.rng.IntN(16)
}

// about is mostly n, now and then one fewer or one more.
func (w *session) about(n int) int {
	switch w.rng.IntN(10) {
	case 0:
		return n - 1
	case 1:
		return n + 1
	}
	return n
}
