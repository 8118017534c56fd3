package readings

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"thumbed/models/codex"
)

// A plan is a way of measuring, with the truth behind it.
type plan struct {
	pages, placings, zeros, days int
	repeat                       float64 // standard deviation of a reading
	instrument                   Instrument
	kind                         Spot
	tried                        []int   // by page, in turn
	single                       int     // every so many pages the spots are logged one by one
	spread                       float64 // between spots, repeatability included
	sameSpots                    bool    // repeated searches meet the same spots
	drift                        float64 // offset from morning to evening
	gain                         float64 // the scale's change from morning to evening
	low, high                    float64 // range of the true wear
	between, anew                float64 // standard deviations of what the days' placings on pages differ by, and of placing anew
}

var plain = plan{pages: 30, placings: 3, zeros: 2, days: 1, repeat: 0.012, low: 0.05, high: 0.6, kind: Fixed,
	instrument: Instrument{ID: "D1", Floor: 0, Ceiling: 2, Resolution: 0.01, Tile: 0.8}}

// log draws a log of the plan, with the true wear (on the mean spot, where the
// darkest is sought) of each page of the first book.
func (p plan) log(books []*codex.Book, rng *rand.Rand) (*Log, []float64) {
	l := &Log{Instruments: []Instrument{p.instrument}, books: books}
	truth := make([]float64, p.pages)
	for page := range truth {
		truth[page] = p.low + (p.high-p.low)*rng.Float64()
	}
	for day := range p.days {
		name := fmt.Sprintf("2026-03-%02d", day+1)
		add := func(r Reading, density, hour float64) {
			r.Day, r.Hour = name, hour
			share := (hour - 9) / 8
			shown := density*(1+p.gain*share) + p.drift*share
			r.Density = math.Round(shown/p.instrument.Resolution) * p.instrument.Resolution
			r.Density = math.Min(math.Max(r.Density, p.instrument.Floor), p.instrument.Ceiling)
			r.Limit = p.instrument.Limit(r.Density)
			l.Readings = append(l.Readings, r)
		}
		for _, hour := range []float64{9, 9, 13, 13, 17, 17} {
			add(Reading{Book: -1, Page: -1, Target: OnTile, Tried: 1}, p.instrument.Tile+p.repeat*rng.NormFloat64(), hour)
		}
		offset := p.between * rng.NormFloat64()
		for page, wear := range truth {
			wear += offset + p.anew*rng.NormFloat64()
			hour := 9 + 8*float64(page)/float64(p.pages)
			ground := 0.15 + 0.05*rng.NormFloat64()*0.2
			for range p.zeros {
				add(Reading{Page: page, Target: OnZero, Tried: 1}, ground+p.repeat*rng.NormFloat64(), hour)
			}
			p.place(page, ground+wear, hour, rng, add)
		}
	}
	return l, truth
}

// place draws the placings on one page.
func (p plan) place(page int, level, hour float64, rng *rand.Rand, add func(Reading, float64, float64)) {
	if p.kind == Fixed {
		for range p.placings {
			add(Reading{Page: page, Target: OnPage, Spot: Fixed, Tried: 1}, level+p.repeat*rng.NormFloat64(), hour)
		}
		return
	}
	tried := p.tried[page%len(p.tried)]
	between := math.Sqrt(p.spread*p.spread - p.repeat*p.repeat)
	spots := make([]float64, tried)
	draw := func() {
		for i := range spots {
			spots[i] = between * rng.NormFloat64()
		}
	}
	draw()
	if p.single > 0 && page%p.single == 0 {
		for _, spot := range spots {
			add(Reading{Page: page, Target: OnPage, Spot: darkestSpot, Tried: 1}, level+spot+p.repeat*rng.NormFloat64(), hour)
		}
		return
	}
	for i := range p.placings {
		if i > 0 && !p.sameSpots {
			draw()
		}
		darkest := math.Inf(-1)
		for _, spot := range spots {
			darkest = math.Max(darkest, spot+p.repeat*rng.NormFloat64())
		}
		add(Reading{Page: page, Target: OnPage, Spot: darkestSpot, Tried: tried}, level+darkest, hour)
	}
}

// study runs many logs of a plan and gives the share of pages whose 95 %
// interval holds the truth, and the mean error.
func (p plan) study(t *testing.T, logs int, options Options, shift float64) (covered, bias float64) {
	t.Helper()
	books := testBooks(t)
	var inside, pages float64
	for k := range logs {
		log, truth := p.log(books, rand.New(rand.NewPCG(uint64(k), 2026)))
		for _, w := range mustWear(t, log, options).Wear {
			at := truth[w.Page] + shift
			if low, high := w.Interval(0.95); low <= at && at <= high {
				inside++
			}
			if w.Limit == Measured {
				bias += w.Density - at
			}
			pages++
		}
	}
	return inside / pages, bias / pages
}

// The truth lies in 95 % of the 95 % intervals. Monte-Carlo error: 6,000 pages
// give 0.28 %; pages of one log share their repeatability, so that 4 times it
// is allowed each way, and 2 points upwards where the method is said to be
// cautious.
func TestTruthIsCovered(t *testing.T) {
	with := func(change func(*plan)) plan {
		p := plain
		change(&p)
		return p
	}
	largest := func(n int) float64 { mean, _ := Largest(n); return mean }
	const spread = 0.04
	cases := []struct {
		name       string
		plan       plan
		options    Options
		shift      float64
		least, top float64
	}{
		{"fixed spot", plain, Options{}, 0, 0.939, 0.961},
		{"fixed spot, single placings", with(func(p *plan) { p.placings = 1 }), Options{}, 0, 0.939, 0.961},
		// Two days cannot tell that days differ by nothing: cautious.
		{"two days that do not differ", with(func(p *plan) { p.days = 2 }), Options{}, 0, 0.939, 1},
		{"two days that differ", with(func(p *plan) { p.days, p.between = 2, 0.01 }), Options{}, 0, 0.939, 1},
		{"six days that differ, placed anew", with(func(p *plan) { p.days, p.between, p.anew, p.pages = 6, 0.01, 0.006, 10 }), Options{}, 0, 0.93, 0.97},
		{"days that differ as the study states", with(func(p *plan) { p.days, p.between, p.anew, p.pages = 2, 0.01, 0.006, 10 }),
			Options{Spreads: Spreads{Day: 0.01, Placing: 0.006}}, 0, 0.93, 0.97},
		{"drift corrected", with(func(p *plan) { p.drift = 0.05 }), Options{Drift: DriftOffset}, 0, 0.939, 0.961},
		{"scale corrected", with(func(p *plan) { p.gain = 0.1 }), Options{Drift: DriftScale}, 0, 0.93, 0.965},
		{"finer than the display", with(func(p *plan) { p.repeat = 0.001 }), Options{}, 0, 0.939, 1},
		{"as fine as the display", with(func(p *plan) { p.repeat = 0.003 }), Options{}, 0, 0.939, 0.98},
		{"at the ceiling in part", with(func(p *plan) {
			p.low, p.high, p.placings = 0.62, 0.66, 6
			p.instrument.Ceiling = 0.8
			p.instrument.Tile, p.repeat, p.days = 0.4, 0.03, 2
		}), Options{}, 0, 0.93, 0.97},
		{"darkest of equal numbers", with(func(p *plan) { p.kind, p.tried, p.single, p.spread, p.placings = darkestSpot, []int{4}, 3, spread, 1 }),
			Options{}, spread * largest(4), 0.935, 0.965},
		{"darkest of unequal numbers", with(func(p *plan) {
			p.kind, p.tried, p.single, p.spread, p.placings = darkestSpot, []int{3, 3, 6}, 4, spread, 1
		}),
			Options{}, spread * largest(3), 0.935, 0.965},
		{"darkest, searched afresh", with(func(p *plan) { p.kind, p.tried, p.single, p.spread = darkestSpot, []int{3, 3, 6}, 4, spread }),
			Options{}, spread * largest(3), 0.93, 0.985},
		{"darkest, same spots again", with(func(p *plan) {
			p.kind, p.tried, p.single, p.spread, p.sameSpots = darkestSpot, []int{3, 3, 6}, 4, spread, true
		}),
			Options{}, spread * largest(3), 0.93, 0.97},
		{"darkest, afresh, spread not told", with(func(p *plan) { p.kind, p.tried, p.spread = darkestSpot, []int{4}, spread }),
			Options{}, spread * largest(4), 0.935, 0.965},
		{"darkest, spread given", with(func(p *plan) { p.kind, p.tried, p.spread, p.placings = darkestSpot, []int{3, 3, 6}, spread, 1 }),
			Options{SpotSpread: spread}, spread * largest(3), 0.935, 0.965},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			covered, bias := c.plan.study(t, 200, c.options, c.shift)
			t.Logf("covered %.2f %%, bias %+.5f", 100*covered, bias)
			if covered < c.least || covered > c.top {
				t.Errorf("%.2f %% covered; expected %.1f to %.1f", 100*covered, 100*c.least, 100*c.top)
			}
		})
	}
}

// Drift put in is taken out: without correction a page measured with its zero
// moments apart keeps no offset, but a page whose zero was read in the morning
// and itself in the evening does; the scale's drift stays in every page.
func TestDriftIsRemoved(t *testing.T) {
	p := plain
	p.gain = 0.2
	_, kept := p.study(t, 50, Options{}, 0)
	_, taken := p.study(t, 50, Options{Drift: DriftScale}, 0)
	if math.Abs(kept) < 0.02 || math.Abs(taken) > 0.002 {
		t.Errorf("a scale drift biases by %+.4f uncorrected and %+.4f corrected", kept, taken)
	}
	rows := `,,2026-03-09,09:00,D1,ann,tile,,,0.80,,
,,2026-03-09,17:00,D1,ann,tile,,,0.88,,
ardel,1r,2026-03-09,09:00,D1,ann,zero,,,0.20,,
ardel,1r,2026-03-09,09:00,D1,ann,zero,,,0.20,,
ardel,1r,2026-03-09,17:00,D1,ann,page,fixed,1,0.58,,
`
	log := mustLoad(t, rows)
	near(t, "wear uncorrected", mustWear(t, log, Options{}).Wear[0].Density, 0.38, 1e-12)
	near(t, "wear corrected", mustWear(t, log, Options{Drift: DriftOffset}).Wear[0].Density, 0.30, 1e-12)
}

// Pages on which more spots were tried look more worn, until corrected.
func TestMoreSpotsBiasUntilCorrected(t *testing.T) {
	p := plain
	p.pages, p.kind, p.tried, p.spread, p.placings, p.single = 60, darkestSpot, []int{2, 2, 10}, 0.05, 1, 0
	books := testBooks(t)
	two, _ := Largest(2)
	ten, _ := Largest(10)
	var raw, corrected, n float64
	for k := range 60 {
		log, truth := p.log(books, rand.New(rand.NewPCG(uint64(k), 7)))
		naive := map[int]float64{}
		zeros := map[int]float64{}
		for _, r := range log.Readings {
			switch r.Target {
			case OnPage:
				naive[r.Page] = r.Density
			case OnZero:
				zeros[r.Page] += r.Density / float64(p.zeros)
			}
		}
		for _, w := range mustWear(t, log, Options{SpotSpread: 0.05}).Wear {
			if w.Page%3 == 2 { // ten tried
				raw += naive[w.Page] - zeros[w.Page] - truth[w.Page]
				corrected += w.Density - truth[w.Page]
				n++
			}
		}
	}
	// Monte-Carlo error of the mean of 1,200 pages: 0.05 · 0.59 / √1200 = 0.0009.
	near(t, "excess without correction", raw/n, 0.05*ten, 0.004)
	near(t, "excess with correction, that of two", corrected/n, 0.05*two, 0.004)
}
