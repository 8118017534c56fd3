package readings

import (
	"math"
	"math/rand/v2"
	"testing"
)

// TestDetermineAgreesWithTheLog: what a page comes to by itself, with the
// repeatability that the log found, is what the log says of it: numbers, bounds
// and standard errors.
func TestDetermineAgreesWithTheLog(t *testing.T) {
	books := testBooks(t)
	fine, floor, ceiling := plain, plain, plain
	fine.repeat = 0.002
	floor.instrument.Floor, floor.low, floor.high = 0.15, -0.02, 0.05
	ceiling.instrument.Ceiling, ceiling.low, ceiling.high = 0.5, 0.3, 0.6
	ceiling.instrument.Tile = 0.4
	for name, p := range map[string]plan{"plain": plain, "fine": fine, "at the floor": floor, "at the ceiling": ceiling} {
		log, _ := p.log(books, rand.New(rand.NewPCG(4, 2026)))
		result := mustWear(t, log, Options{})
		sd := result.Precision.Repeatability
		sitting := log.Instruments[0].Determiner(sd, sd)
		bounds := 0
		for _, want := range result.Wear {
			var page, zero []float64
			for _, r := range log.Readings {
				switch {
				case r.Page != want.Page:
				case r.Target == OnPage:
					page = append(page, r.Density)
				case r.Target == OnZero:
					zero = append(zero, r.Density)
				}
			}
			got, ok := sitting.Of(page, zero)
			if !ok || got.Limit != want.Limit || math.Abs(got.Wear-want.Density) > 1e-9 || math.Abs(got.SE-want.SE) > 1e-9 {
				t.Errorf("%s, page %d: determined %+v (%v); the log has %g, %g, %q", name, want.Page, got, ok, want.Density, want.SE, want.Limit)
			}
			if want.Limit != Measured {
				bounds++
			}
		}
		if (name == "at the floor" || name == "at the ceiling") && bounds == 0 {
			t.Errorf("%s: no page is a bound, so that nothing is tested", name)
		}
	}
}

// TestDetermineSilence: a page and a zero at the floor say nothing.
func TestDetermineSilence(t *testing.T) {
	in := Instrument{Floor: 0, Ceiling: 2, Resolution: 0.01}
	sitting := in.Determiner(0.01, 0.01)
	if got, ok := sitting.Of([]float64{0}, []float64{0}); ok {
		t.Errorf("determined %+v", got)
	}
	for shown, want := range map[float64]float64{-0.3: 0, 0.014: 0.01, 2.5: 2} {
		if got := in.Show(shown); math.Abs(got-want) > 1e-12 {
			t.Errorf("%g is shown as %g", shown, got)
		}
	}
}
