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
	if got, want := s.handling(0.15)/s.handling(0.30), math.Log(4.0/3)/math.Log(2); math.Abs(got-want) > 1e-12 {
		t.Errorf("handled %g as often; by hand %g", got, want)
	}
	if worn, _, _ := s.wornAs(math.Log(4.0/3)/math.Log(2), 0.30); math.Abs(worn-0.15) > 1e-12 {
		t.Errorf("worn %g; by hand 0.15", worn)
	}
}

// TestHandlingWithoutSaturation: for S without bound the interval is Fieller's.
func TestHandlingWithoutSaturation(t *testing.T) {
	first, last := OfficeShare{Wear: 0.30, SE: 0.02}, OfficeShare{Wear: 0.12, SE: 0.015}
	want, ok := fieller(last.Wear, first.Wear, last.SE*last.SE, first.SE*first.SE, 1e-4, 2.1)
	low, high := Saturation{Density: 1e6}.interval(last, first, 1e-4, 2.1)
	if !ok || math.Abs(low-want.low) > 1e-5 || math.Abs(high-want.high) > 1e-5 {
		t.Errorf("%g to %g; Fieller's is %g to %g", low, high, want.low, want.high)
	}
}

// TestHandlingHoldsTheTruth: pages handled 0.1 to 1.3 times as often as others, densities
// and S read with errors: intervals hold the true ratio in 95 of 100.
func TestHandlingHoldsTheTruth(t *testing.T) {
	r := rand.New(rand.NewPCG(12, 7))
	const studies = 4000
	for _, ratio := range []float64{0.1, 0.5, 1.3} {
		truth := Saturation{Density: 0.60}
		a := 0.30
		b, _, _ := truth.wornAs(ratio, a)
		held := 0
		for range studies {
			first, last := OfficeShare{Wear: a + 0.012*r.NormFloat64(), SE: 0.012}, OfficeShare{Wear: b + 0.015*r.NormFloat64(), SE: 0.015}
			stated := Saturation{Density: 0.60 + 0.04*r.NormFloat64(), SE: 0.04}
			if low, high := stated.interval(last, first, 0, student.Half(0.95, math.Inf(1))); low <= ratio && ratio <= high {
				held++
			}
		}
		// 99.9 % of Monte Carlo intervals around 95 %
		if share := float64(held) / studies; math.Abs(share-0.95) > 3.3*math.Sqrt(0.95*0.05/studies) {
			t.Errorf("handled %g times as often: %.1f %% of intervals hold it", ratio, 100*share)
		} else {
			t.Logf("handled %g times as often: %.1f %% of intervals hold it", ratio, 100*share)
		}
	}
}

// TestHandlingIsRefusedAtSaturation: where an office comes to S within the errors,
// nothing is told, with the reason.
func TestHandlingIsRefusedAtSaturation(t *testing.T) {
	c := &Decline{Offices: []OfficeShare{{Office: codex.Matins, Wear: 0.52, SE: 0.02}, {Office: codex.Compline, Wear: 0.2, SE: 0.02}}}
	if err := c.handle(nil, &Saturation{Density: 0.6, SE: 0.05, Source: "a trial"}); err != nil {
		t.Fatal(err)
	}
	if c.Handling == nil || !strings.HasPrefix(c.Handling.Refused, "Matins is worn 0.52") || c.Offices[1].Handled != nil {
		t.Errorf("%+v", c.Handling)
	}
}
