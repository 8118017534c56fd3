package readings

import (
	"math/rand/v2"
	"strings"
	"testing"

	"thumbed/models/codex"
)

// A noonLog is three days of sixteen pages each, read by an instrument whose scale
// changes at noon on the second day, with tile readings in threes at the hours given;
// wrong is added to one of the morning's.
func noonLog(books []*codex.Book, rng *rand.Rand, hours []float64, gain, wrong float64) (*Log, []float64) {
	in := Instrument{ID: "D1", Floor: 0, Ceiling: 3, Resolution: 0.001, Tile: 0.8}
	l := &Log{Instruments: []Instrument{in}, books: books}
	truth := make([]float64, 48)
	for d, day := range []string{"2026-03-09", "2026-03-10", "2026-03-11"} {
		add := func(r Reading, density, hour float64) {
			r.Day, r.Hour = day, hour
			if d == 1 && hour > 12.5 {
				density *= 1 + gain
			}
			r.Density = in.Show(density + 0.006*rng.NormFloat64())
			l.Readings = append(l.Readings, r)
		}
		for k, hour := range hours {
			for n := range 3 {
				density := in.Tile
				if d == 1 && k == 0 && n == 1 {
					density += wrong
				}
				add(Reading{Book: -1, Page: -1, Target: OnTile, Tried: 1}, density, hour)
			}
		}
		for i := range 16 {
			page := 16*d + i
			truth[page] = 0.2 + 0.5*rng.Float64()
			hour := []float64{9.1, 13.2}[i/8] + 0.35*float64(i%8)
			for range 3 {
				add(Reading{Page: page, Target: OnZero, Tried: 1}, 0.15, hour)
				add(Reading{Page: page, Target: OnPage, Spot: Fixed, Tried: 1}, 0.15+truth[page], hour)
			}
		}
	}
	return l, truth
}

// What a jump means for wear is told by how days are corrected: one tile cannot tell a
// scale that changed from a zero that moved, and as an offset a scale's jump of 6 % leaves
// hardly an interval of that afternoon holding (0.03 in 60 logs like these).
func TestAJumpSaysWhatItMeans(t *testing.T) {
	books := testBooks(t)
	for correction, told := range map[Drift]string{
		DriftOffset: "% of the tile). The parts of the day before and after are corrected by lines of their own; readings between are taken to belong to the nearer. Look for what happened to the instrument. If its scale changed and not its zero, wear read after the jump is off by that share",
		DriftScale:  "The jump is taken as one of its scale",
	} {
		log, _ := noonLog(books, rand.New(rand.NewPCG(3, 11)), []float64{9, 12.2, 13, 17}, 0.06, 0)
		if text := strings.Join(mustWear(t, log, Options{Drift: correction}).Notes, "\n"); !strings.Contains(text, told) {
			t.Errorf("%s: %s", correction, text)
		}
	}
}

// A scale that changes at noon, and one wrong tile reading in the morning, are found
// with four times of tile readings a day, named, and leave the intervals of pages
// holding; with three times a day the jump cannot be seen, and that is told. Monte-Carlo
// error: 60 logs of 48 pages, 0.4 %; pages of a day share their line, so that four times
// it is allowed.
func TestJumpsAndWrongTileReadings(t *testing.T) {
	books := testBooks(t)
	four, three := []float64{9, 12.2, 13, 17}, []float64{9, 13, 17}
	for _, c := range []struct {
		name        string
		hours       []float64
		gain, wrong float64
		told        string
		least       float64
	}{
		{"nothing", four, 0, 0, "", 0.93},
		{"a jump", four, 0.06, 0, "The tile jumps within the day beyond chance: 2026-03-10 (D1) between 12:12 and 13:00", 0.93},
		{"a wrong reading", four, 0, 0.1, "are left out of the lines: 0.", 0.93},
		{"three times", three, 0.06, 0, "is not distinguishable from a bend, and is not corrected: 2026-03-09 (D1), 2026-03-10 (D1) and 2026-03-11 (D1)", 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			held, all, told := 0, 0, 0
			for seed := range uint64(60) {
				log, truth := noonLog(books, rand.New(rand.NewPCG(seed, 11)), c.hours, c.gain, c.wrong)
				r := mustWear(t, log, Options{Drift: DriftScale})
				for _, w := range r.Wear {
					if low, high := w.Interval(0.95); low <= truth[w.Page] && truth[w.Page] <= high {
						held++
					}
					all++
				}
				text := strings.Join(r.Notes, "\n")
				if c.told == "" && (strings.Contains(text, "jumps") || strings.Contains(text, "left out of the lines")) || c.told != "" && strings.Contains(text, c.told) {
					told++
				}
			}
			share := float64(held) / float64(all)
			t.Logf("%.1f %% held; %d of 60 logs told", 100*share, told)
			switch {
			case share < c.least:
				t.Errorf("%.1f %% of the intervals hold", 100*share)
			case c.told == "" && told > 4: // 1 % for each of two kinds of test; P(more than 4 of 60) < 0.1 %
				t.Errorf("%d of 60 quiet logs are blamed", told)
			case c.told != "" && told < 57:
				t.Errorf("%d of 60 logs say %q", told, c.told)
			}
		})
	}
}
