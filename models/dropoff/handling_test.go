package dropoff

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"thumbed/models/codex"
	"thumbed/models/student"
)

// TestHandlingByHand: with S = 0.60, densities of 0.30 and 0.15 are a half and a quarter
// of it, handlings ln 2 = 0.693 and ln 4/3 = 0.288: their ratio is 0.4150 where that of
// wear is 0.5.
func TestHandlingByHand(t *testing.T) {
	s := Saturation{Density: 0.60}
	r, ok := s.ratio(OfficeShare{Wear: 0.15, SE: 0.01}, OfficeShare{Wear: 0.30, SE: 0.01}, 0, 2)
	if want := math.Log(4.0/3) / math.Log(2); !ok || math.Abs(r.value-want) > 1e-12 {
		t.Errorf("handled %g as often; by hand %g", r.value, want)
	}
	// standard errors of the handlings, 0.01/0.45 and 0.01/0.30, into Fieller's formula
	want, _ := fieller(math.Log(4.0/3), math.Log(2), 0.01*0.01/(0.45*0.45), 0.01*0.01/(0.3*0.3), 0, 2)
	if math.Abs(r.low-want.low) > 1e-12 || math.Abs(r.high-want.high) > 1e-12 {
		t.Errorf("%+v; by hand %+v", r, want)
	}
}

// TestHandlingWithoutSaturation: for S without bound the interval is Fieller's.
func TestHandlingWithoutSaturation(t *testing.T) {
	first, last := OfficeShare{Wear: 0.30, SE: 0.02}, OfficeShare{Wear: 0.12, SE: 0.015}
	want, ok := fieller(last.Wear, first.Wear, last.SE*last.SE, first.SE*first.SE, 1e-4, 2.1)
	got, _ := Saturation{Density: 1e6}.ratio(last, first, 1e-4, 2.1)
	if !ok || math.Abs(got.low-want.low) > 1e-5 || math.Abs(got.high-want.high) > 1e-5 {
		t.Errorf("%+v; Fieller's is %+v", got, want)
	}
}

// TestHandlingHoldsTheTruth: pages handled 0.1 to 2 times as often as others, densities
// and S read with errors: intervals hold the true ratio in 95 of 100.
func TestHandlingHoldsTheTruth(t *testing.T) {
	r := rand.New(rand.NewPCG(12, 7))
	const studies = 4000
	for _, c := range []struct{ ratio, first, se float64 }{{0.1, 0.30, 0.012}, {0.5, 0.30, 0.012}, {1.3, 0.30, 0.012}, {2, 0.30, 0.012}, {1, 0.10, 0.02}} {
		truth := Saturation{Density: 0.60}
		left := math.Pow(1-c.first/truth.Density, c.ratio) // what is still clean
		later := truth.Density * (1 - left)
		held := 0
		for range studies {
			first, last := OfficeShare{Wear: c.first + c.se*r.NormFloat64(), SE: c.se}, OfficeShare{Wear: later + 0.015*r.NormFloat64(), SE: 0.015}
			stated := Saturation{Density: 0.60 + 0.03*r.NormFloat64(), SE: 0.03}
			// where there is no interval, any ratio agrees
			if got, ok := stated.ratio(last, first, 0, student.Half(0.95, math.Inf(1))); !ok || got.low <= c.ratio && c.ratio <= got.high {
				held++
			}
		}
		t.Logf("handled %g times as often: %.1f %% of intervals hold it", c.ratio, 100*float64(held)/studies)
		// 99.9 % of Monte Carlo intervals around 95 %, and half a point for the delta method
		if share := float64(held) / studies; math.Abs(share-0.95) > 0.005+3.3*math.Sqrt(0.95*0.05/studies) {
			t.Errorf("handled %g times as often: %.1f %% of intervals hold it", c.ratio, 100*share)
		}
	}
}

// TestHandlingIsRefusedAtSaturation: where an office comes to S within the errors,
// nothing is told, with the reason.
func TestHandlingIsRefusedAtSaturation(t *testing.T) {
	c := &Decline{Offices: []OfficeShare{{Office: codex.Matins, Wear: 0.52, SE: 0.02}, {Office: codex.Compline, Wear: 0.2, SE: 0.02}}}
	c.handle(nil, &Saturation{Density: 0.6, SE: 0.05, Source: "a trial"})
	if c.Handling == nil || !strings.HasPrefix(c.Handling.Refused, "Matins is worn 0.52") || c.Offices[1].Handled != nil {
		t.Errorf("%+v", c.Handling)
	}
}

// TestHandlingIsRefusedNearSaturation: where the law's form decides, nothing is told
// though S is known well.
func TestHandlingIsRefusedNearSaturation(t *testing.T) {
	c := &Decline{Offices: []OfficeShare{{Office: codex.Matins, Wear: 0.43, SE: 0.01}, {Office: codex.Compline, Wear: 0.2, SE: 0.01}}}
	c.handle(nil, &Saturation{Density: 0.6, SE: 0.001, Source: "a trial"})
	if c.Handling == nil || !strings.Contains(c.Handling.Refused, "exact form") || c.Offices[1].Handled != nil {
		t.Errorf("%+v", c.Handling)
	}
}
