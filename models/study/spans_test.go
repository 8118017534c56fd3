package study

import (
	"fmt"
	"slices"
	"testing"
)

// TestSpansOfDays: every day is left out once, in spans as even as can be, and of longer
// logs in fewer.
func TestSpansOfDays(t *testing.T) {
	for _, c := range []struct{ days, readings, spans int }{{3, 10, 3}, {20, 99_000, 20}, {250, 99_000, 20}, {250, 200_000, 10}, {250, 1_000_000, 4}, {2, 1_000_000, 2}} {
		var days []string
		for i := range c.days {
			days = append(days, fmt.Sprintf("day %03d", i))
		}
		got := spans(days, c.readings)
		shortest, longest := c.days, 0
		for _, span := range got {
			shortest, longest = min(shortest, len(span)), max(longest, len(span))
		}
		if len(got) != c.spans || !slices.Equal(slices.Concat(got...), days) || longest-shortest > 1 {
			t.Errorf("%d days of %d readings: %d spans of %d to %d days", c.days, c.readings, len(got), shortest, longest)
		}
	}
}
