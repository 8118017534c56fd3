package dropoff

import (
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// TestARowApartHidesNoStep: in a book whose levels differ by many standard
// deviations one stained page must neither hide the steps nor be one. Twelve
// standard deviations between neighbouring levels are found in every series, by
// whatever test.
func TestARowApartHidesNoStep(t *testing.T) {
	for seed := range uint64(10) {
		for _, rho := range []float64{0, 0.5} {
			values := autoregressive(kindsOfNoise()[0], 150, rho, seed)
			for i := range values {
				switch {
				case i >= 124:
					values[i] += 2
				case i >= 85:
					values[i] += 12
				}
			}
			values[20] += 30
			found, err := Segment(Series{Values: values}, Options{})
			if err != nil {
				t.Fatal(err)
			}
			var after []int
			for _, change := range found.Changes {
				after = append(after, change.After)
			}
			if !slices.Contains(after, 85) || !slices.Contains(after, 124) {
				t.Errorf("seed %d, correlation %.1f: changes after %d; 85 and 124 are to be among them", seed, rho, after)
			}
			if notes := strings.Join(found.Notes, " "); !strings.Contains(notes, "Row 21 stands far apart") {
				t.Errorf("seed %d: the row apart is not named: %s", seed, notes)
			}
		}
	}
}

// TestJoinedTouchesOnlyRowsApart: a series without rows apart stays as it is, one
// with a row apart gets it between its neighbours, and neither shifting nor scaling
// the values changes which rows these are.
func TestJoinedTouchesOnlyRowsApart(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		values := autoregressive(kindsOfNoise()[0], rapid.IntRange(40, 80).Draw(t, "rows"), 0, rapid.Uint64().Draw(t, "seed"))
		at := rapid.IntRange(1, len(values)-2).Draw(t, "row")
		values[at] += 100
		out, apart := Series{Values: values}.joined()
		if !slices.Equal(apart, []int{at + 1}) || out.Values[at] != (values[at-1]+values[at+1])/2 {
			t.Fatalf("row %d stands apart; said %d", at+1, apart)
		}
		scale, shift := rapid.Float64Range(0.01, 100).Draw(t, "scale"), rapid.Float64Range(-10, 10).Draw(t, "shift")
		moved := slices.Clone(values)
		for i := range moved {
			moved[i] = shift + scale*moved[i]
		}
		if _, again := (Series{Values: moved}).joined(); !slices.Equal(again, apart) {
			t.Fatalf("scaled by %g and shifted by %g rows %d stand apart, before %d", scale, shift, again, apart)
		}
		if _, none := out.joined(); len(none) > 0 {
			t.Fatalf("once joined, rows %d stand apart", none)
		}
	})
}
