package dropoff_test

import (
	"testing"

	"thumbed/models/dropoff"
)

// BenchmarkSegment100 is a whole analysis of a book's hours: the changes, their
// probabilities, and whether noise alone would look so.
func BenchmarkSegment100(b *testing.B) {
	s := dropoff.Series{Values: steps(1, 100, 1, []float64{0, 3}, 60)}
	for b.Loop() {
		segment(b, s, dropoff.Options{})
	}
}
