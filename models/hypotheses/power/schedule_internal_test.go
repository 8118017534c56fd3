package power

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"thumbed/models/codex"
	"thumbed/models/readings"
)

// The instrument of a drawn campaign drifts within the day, and the tile takes it off:
// corrected as a study does, wear is as far from the truth as that of a steady
// instrument; left alone, it is farther by what the drift makes of it.
func TestDriftWithinADayIsDrawnAndTakenOff(t *testing.T) {
	const pages, tile = 120, 0.5
	s := &Setting{Measuring: Measuring{Instrument: readings.Instrument{ID: "bench", Floor: -1, Ceiling: 4, Resolution: 0.001, Tile: tile},
		OnPage: 0.005, OnZero: 0.005, OnTile: 0.005, Zeros: 2, Ground: 0.1, Correction: readings.DriftScale}, Cost: Cost{Placing: 30}}
	book := &codex.Book{ID: "b"}
	var sittings []Sitting
	var places [][2]int
	wear := make([]float64, pages)
	for i := range pages {
		label, err := codex.ParsePage(fmt.Sprintf("%d%c", i/2+1, "rv"[i%2]))
		if err != nil {
			t.Fatal(err)
		}
		book.Pages = append(book.Pages, codex.Page{Label: label, Section: -1})
		places, wear[i] = append(places, [2]int{0, i}), 0.4
		day, at := fmt.Sprintf("2000-01-%02d", 1+i/20), 9+7*float64(i%20)/20
		if i%5 == 0 {
			sittings = append(sittings, Sitting{Row: -1, Day: day, Observer: "A", Hour: at - 0.05, Placings: 3})
		}
		sittings = append(sittings, Sitting{Row: i, Day: day, Observer: "A", Hour: at, Placings: 2, Zeros: 2})
		if i%20 == 19 {
			sittings = append(sittings, Sitting{Row: -1, Day: day, Observer: "A", Hour: 16, Placings: 3})
		}
	}
	error := func(drift float64, correction readings.Drift) float64 {
		s.Drift = drift
		log := readings.NewLog([]readings.Instrument{s.Instrument}, s.place(wear, sittings, places, rand.New(rand.NewPCG(3, 4))), []*codex.Book{book})
		result, err := log.Wear(readings.Options{Drift: correction})
		if err != nil {
			t.Fatal(err)
		}
		sum := 0.0
		for _, w := range result.Wear {
			sum += (w.Density - 0.4) * (w.Density - 0.4)
		}
		return math.Sqrt(sum / float64(len(result.Wear)))
	}
	steady, corrected, left := error(0, readings.DriftScale), error(0.1, readings.DriftScale), error(0.1, readings.DriftNone)
	// of a drift of 0.1 at the tile's 0.5 wear of 0.4 has 0.08 at the day's end, 0.046 on
	// average over a straight day (the root of a third)
	if corrected > 1.15*steady || left < 0.02 || left > 0.1 {
		t.Errorf("errors of wear: %.4f of a steady instrument, %.4f corrected, %.4f left alone", steady, corrected, left)
	}
	// An offset goes from a page and its zero alike, which are read within minutes.
	s.Correction = readings.DriftOffset
	if offset := error(0.1, readings.DriftNone); offset > 1.3*steady {
		t.Errorf("an offset that drifts moves wear by %.4f, of a steady instrument %.4f", offset, steady)
	}
}
