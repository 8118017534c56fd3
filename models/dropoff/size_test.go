package dropoff

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"
)

// TestReportedIntervalHolds draws sizes and keeps those that are large enough to be
// reported: of these, too, at least 95 % of the intervals hold the true size, whatever it
// is, where the usual interval holds a size at the edge of what is seen far less often
// (Weinstein, Fithian and Benjamini 2013, section 2).
func TestReportedIntervalHolds(t *testing.T) {
	const least, draws = 4.0, 4_000
	rng := rand.New(rand.NewPCG(1, 2))
	for _, truth := range []float64{2.5, 3, 4, 5, 6, 12, -3} {
		reported, held, usual := 0.0, 0.0, 0.0
		for range draws {
			size := truth + rng.NormFloat64()
			if math.Abs(size) <= least {
				continue
			}
			reported++
			if low, high := reportedInterval(size, 1, math.Inf(1), least); low <= truth && truth <= high {
				held++
			}
			if low, high := reportedInterval(size, 1, math.Inf(1), 0); low <= truth && truth <= high {
				usual++
			}
		}
		slack := 4 * math.Sqrt(0.05*0.95/reported) // of a share drawn
		if held/reported < 0.95-slack {
			t.Errorf("true size %g: %.1f %% of %.0f intervals hold it", truth, 100*held/reported, reported)
		}
		if math.Abs(truth) <= 3 && usual/reported > 0.9 {
			t.Errorf("true size %g: the usual interval holds it in %.1f %%, so that this tests nothing", truth, 100*usual/reported)
		}
		if truth == 12 && math.Abs(held/reported-0.95) > slack {
			t.Errorf("far from the edge %.1f %% hold: wider than asked", 100*held/reported)
		}
	}
}

// TestReportedIntervalByHand solves the definition at one size: of those above 4 whose
// true size is the lower end, 2½ % come out at 5.5 or above.
func TestReportedIntervalByHand(t *testing.T) {
	upper := func(x float64) float64 { return math.Erfc(x/math.Sqrt2) / 2 }
	low, high := reportedInterval(5.5, 1, math.Inf(1), 4)
	if share := upper(5.5-low) / (upper(4-low) + upper(4+low)); math.Abs(share-0.025) > 1e-9 {
		t.Errorf("%.4f of those reported come out as large, not 0.025", share)
	}
	if usual := 5.5 + 1.959963984540054; math.Abs(high-usual) > 1e-9 {
		t.Errorf("the other end is %g, not %g", high, usual)
	}
	if mirrored, _ := reportedInterval(-5.5, 1, math.Inf(1), 4); mirrored != -high {
		t.Errorf("of a fall the far end is %g, not %g", mirrored, -high)
	}
	if low, _ := reportedInterval(4.1, 1, math.Inf(1), 4); low != 0 {
		t.Errorf("at the edge the near end is %g, not 0", low)
	}
}

// TestLeastReported: what is only just claimed is as large as it must be, and what is
// beyond all doubt is far from it.
func TestLeastReported(t *testing.T) {
	const beforehand = 1.0 / 150
	if least := leastReported(4.2, 1-doubtful, beforehand); math.Abs(least-4.2) > 1e-9 {
		t.Errorf("a change of probability %g: %g, not 4.2", doubtful, least)
	}
	if least := leastReported(-12, 1e-20, beforehand); least < 3 || least > 6 {
		t.Errorf("a change beyond doubt must be 4 or so, not %g", least)
	}
	if least := leastReported(2, 0.6, beforehand); least != 0 {
		t.Errorf("a change less likely than not is not told for its probability: %g", least)
	}
}

// TestSmallStepsAreNamed: a step whose interval begins at zero is named in the notes, and
// a large one beside it is not.
func TestSmallStepsAreNamed(t *testing.T) {
	s := Series{Labels: []string{"1r", "1v", "2r"}}
	c := Changes{Changes: []Change{{After: 1, Size: 0.05, SizeLow: 0, SizeHigh: 0.07}, {After: 2, Size: -0.3, SizeLow: -0.32, SizeHigh: -0.28}}}
	if note := c.smallNote(s); !strings.Contains(note, "The step after row 1r") || strings.Contains(note, "1v") {
		t.Errorf("%q", note)
	}
	c.Changes = append(c.Changes, Change{After: 3, Size: -0.05, SizeLow: -0.07, SizeHigh: 0})
	if note := c.smallNote(s); !strings.Contains(note, "rows 1r and 2r are") {
		t.Errorf("%q", note)
	}
	c.Changes = c.Changes[1:2]
	if note := c.smallNote(s); note != "" {
		t.Errorf("%q", note)
	}
}
