package table

import (
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"
)

// What is written as shares is read back, whatever the labels hold, to the nine
// digits that are written.
func TestSharesComeBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		shares := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) Share {
			return Share{
				Label:  rapid.SampledFrom([]string{"2026-03-09", "A + B", "HB", "bench 2", "A + 3", "×"}).Draw(t, "label"),
				Weight: rapid.OneOf(rapid.Just(1.0), rapid.Float64Range(-2, -1e-9), rapid.Float64Range(1e-9, 2)).Draw(t, "weight"),
			}
		}), 0, 5).Draw(t, "shares")
		back, err := ParseShares(WriteShares(shares))
		if err != nil {
			t.Fatal(err)
		}
		if d := cmp.Diff(shares, back, cmpopts.EquateApprox(1e-8, 0), cmpopts.EquateEmpty()); d != "" {
			t.Error(d)
		}
	})
}

func FuzzShares(f *testing.F) {
	for _, cell := range []string{"", "HB", "HB × 0.5 + SV × 0.5", " × 1", "a × 1 + ", "a × 1e", "a × -0.25"} {
		f.Add(cell)
	}
	f.Fuzz(func(t *testing.T, cell string) {
		shares, err := ParseShares(cell)
		if err != nil {
			return
		}
		again, err := ParseShares(WriteShares(shares))
		if err != nil {
			t.Fatalf("%q was read and written as %q, which is not read: %v", cell, WriteShares(shares), err)
		}
		if len(again) > len(shares) {
			t.Errorf("%q has %d shares, and written again %d", cell, len(shares), len(again))
		}
	})
}
