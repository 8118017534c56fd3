package dropoff_test

import (
	"fmt"
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

// manySteps is a series of n rows with a change about every thousand rows.
func manySteps(n int) []float64 {
	var levels []float64
	var after []int
	for k := 0; 1000*k < n; k++ {
		levels = append(levels, float64(k*7%5))
		if k > 0 {
			after = append(after, 1000*k+k*37%300)
		}
	}
	return steps(1, n, 1, levels, after...)
}

// BenchmarkSegmentLong shows how the time grows with the rows: the exponent
// between two sizes is the logarithm of the ratio of times over that of sizes.
func BenchmarkSegmentLong(b *testing.B) {
	for _, n := range []int{1e3, 1e4, 1e5, 1e6} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			s := dropoff.Series{Values: manySteps(n)}
			b.ReportAllocs()
			for b.Loop() {
				segment(b, s, dropoff.Options{})
			}
		})
	}
}

// BenchmarkSegmentBy is a whole analysis of a long book, and of a series far longer,
// by each other kind of change, where there is one and where there is none.
func BenchmarkSegmentBy(b *testing.B) {
	for _, n := range []int{1000, 50000} {
		for _, shape := range []dropoff.Shape{dropoff.LevelAndSlope, dropoff.JoinedLines, dropoff.LevelAndScatter} {
			for name, rise := range map[string]float64{"none": 0, "bend": 5} {
				values := steps(1, n, 1, []float64{0})
				for i := range values {
					values[i] += rise * max(2*float64(i)/float64(n)-1, 0)
				}
				b.Run(fmt.Sprintf("%d/%s/%s", n, shape, name), func(b *testing.B) {
					for b.Loop() {
						if _, err := dropoff.SegmentBy(shape, dropoff.Series{Values: values}, dropoff.Options{}); err != nil {
							b.Fatal(err)
						}
					}
				})
			}
		}
	}
}
