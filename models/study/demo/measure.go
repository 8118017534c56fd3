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
	rng        *rand.Rand
	shared     *offsets
	clock      int // seconds after midnight
	rows       []reading
}

// A target is a page to be measured, with the density of its untouched
// parchment.
type target struct {
	book string
	page *Page
	zero float64

	offset float64 // of its readings on the day, density
}

// measure is a whole day: the tile in the morning, around noon and at the end,
// and between these the pages, each with its zeros.
func (s *Scenario) measure(number int, targets []target, shared *offsets, rng *rand.Rand) ([]reading, error) {
	day := &s.Days[number]
	w := &session{scenario: s, day: day, rng: rng, shared: shared, clock: opens}
	instrument := slices.IndexFunc(s.Instruments, func(i Instrument) bool { return i.ID == day.Instrument })
	if instrument < 0 {
		return nil, fmt.Errorf("measuring day %s: there is no instrument %s", day.Date, day.Instrument)
	}
	w.instrument = &s.Instruments[instrument]
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
		w.log(reading{target: "tile"}, w.instrument.Tile+w.noise())
	}
}

// page takes the zeros and the placings of one page: two and three, now and
// then one fewer or one more.
func (w *session) page(t target) {
	t.offset = w.shared.of(w.day)
	for range w.about(2) {
		w.log(reading{book: t.book, page: t.page.Label, target: "zero"}, t.zero+w.noise())
	}
	if w.day.Darkest && w.rng.IntN(w.scenario.Darkest.Singly) == 0 {
		for range w.scenario.Darkest.Spots {
			w.place(t, 1, "")
		}
		return
	}
	for range w.about(3) {
		w.place(t, w.tries(), "")
	}
}

// tries is how many spots are tried in search of the darkest; 0 on days that
// read the fixed spot.
func (w *session) tries() int {
	if !w.day.Darkest {
		return 0
	}
	return w.scenario.Darkest.Tried[w.rng.IntN(len(w.scenario.Darkest.Tried))]
}

// place is one placing on the page: on the fixed spot, or the darkest reading
// of so many spots tried (0: the fixed one).
func (w *session) place(t target, tried int, excluded string) {
	row := reading{book: t.book, page: t.page.Label, target: "page", spot: "fixed", excluded: excluded}
	noise := w.noise()
	if tried > 0 {
		row.spot, row.tried = "darkest", strconv.Itoa(tried)
		noise = math.Inf(-1)
		for range tried {
			noise = max(noise, w.scenario.Darkest.Spread*w.rng.NormFloat64()+w.noise())
		}
	}
	w.log(row, t.zero+t.page.Wear+t.offset+noise)
}

func (w *session) noise() float64 { return w.instrument.Noise * w.rng.NormFloat64() }

// slip is a placing that went wrong and was marked so in the log.
func (w *session) slip(t target) {
	worse := t
	page := *t.page
	page.Wear += 0.3
	worse.page = &page
	w.place(worse, w.tries(), "slipped off the cockled edge")
}

// log adds one reading to the log: the density at the probe with the drift of
// the hour, rounded, and cut at the instrument's limits.
func (w *session) log(row reading, density float64) {
	share := float64(w.clock-opens) / float64(closes-opens)
	density += w.day.Drift[0] + share*(w.day.Drift[1]-w.day.Drift[0])
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
