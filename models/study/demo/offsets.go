package demo

import "math/rand/v2"

// offsets are what readings of pages have in common, drawn once for a study.
type offsets struct {
	spread                    Offsets
	day, observer, instrument map[string]float64
	placing                   *rand.Rand
}

// offsets draws those of all days, observers and instruments, in the order of
// the days.
func (s *Scenario) offsets(seed uint64) *offsets {
	o := &offsets{spread: s.Offsets, day: map[string]float64{}, observer: map[string]float64{}, instrument: map[string]float64{},
		placing: draws(seed, offsetStream, 1)}
	rng := draws(seed, offsetStream, 0)
	draw := func(of map[string]float64, label string, sd float64) {
		if _, drawn := of[label]; !drawn {
			of[label] = sd * rng.NormFloat64()
		}
	}
	for _, day := range s.Days {
		draw(o.day, day.Date, s.Offsets.Day)
		draw(o.observer, day.Observer, s.Offsets.Observer)
		draw(o.instrument, day.Instrument, s.Offsets.Instrument)
	}
	return o
}

// of is the offset of one page's readings on a day.
func (o *offsets) of(day *Day) float64 {
	return o.day[day.Date] + o.observer[day.Observer] + o.instrument[day.Instrument] + o.spread.Placing*o.placing.NormFloat64()
}
