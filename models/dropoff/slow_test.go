package dropoff

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"
)

// A kind of noise as real books have it.
type kindOfNoise struct {
	name string
	draw func(*rand.PCG) func() float64
	// floor is the value below which nothing is seen, in standard deviations
	// about the level; −Inf for none.
	floor float64
}

func kindsOfNoise() []kindOfNoise {
	normal := func(src *rand.PCG) func() float64 { return rand.New(src).NormFloat64 }
	heavy := func(src *rand.PCG) func() float64 {
		t := distuv.StudentsT{Sigma: 1 / math.Sqrt(3), Nu: 3, Src: src}
		return t.Rand
	}
	return []kindOfNoise{
		{"normal", normal, math.Inf(-1)},
		{"heavy tails (t with 3 degrees of freedom)", heavy, math.Inf(-1)},
		{"floor at −0.3 standard deviations", normal, -0.3},
	}
}

// autoregressive draws n values of noise with the correlation given, standard
// deviation 1.
func autoregressive(kind kindOfNoise, n int, rho float64, seed uint64) []float64 {
	draw := kind.draw(rand.NewPCG(seed, 8))
	out := make([]float64, n)
	last := 0.0
	for i := -50; i < n; i++ {
		last = rho*last + math.Sqrt(1-rho*rho)*draw()
		if i >= 0 {
			out[i] = max(last, kind.floor)
		}
	}
	return out
}

// TestFalseAlarms: in series of one level with the noise of real books, steps
// are reported, and a change of any kind is claimed, in at most 5 of 100 cases.
// Each cell of the table is 400 series; a cell may exceed 5 % by three standard
// errors of its estimate (3.3 points), all together by three of theirs (0.6
// points). Slow.
func TestFalseAlarms(t *testing.T) {
	slow(t)
	const series = 400
	steps, any, all := 0, 0, 0
	for _, kind := range kindsOfNoise() {
		for _, n := range []int{30, 60, 120} {
			for _, rho := range []float64{0, 0.3, 0.6} {
				inCell, anyInCell := 0, 0
				for seed := range uint64(series) {
					found, err := Segment(Series{Values: autoregressive(kind, n, rho, seed)}, Options{})
					if err != nil {
						t.Fatal(err)
					}
					if len(found.Changes) > 0 {
						inCell++
					}
					if found.Compared.Best != NoChange {
						anyInCell++
					}
				}
				t.Logf("%-42s %3d rows, correlation %.1f: steps %4.1f %%, any change %4.1f %%", kind.name, n, rho, 100*float64(inCell)/series, 100*float64(anyInCell)/series)
				if limit := 0.05 + 0.033; float64(inCell)/series > limit || float64(anyInCell)/series > limit {
					t.Errorf("%s, %d rows, correlation %.1f: too many false alarms", kind.name, n, rho)
				}
				steps, any, all = steps+inCell, any+anyInCell, all+series
			}
		}
	}
	t.Logf("all together: steps %.2f %%, any change %.2f %%", 100*float64(steps)/float64(all), 100*float64(any)/float64(all))
	if limit := 0.05 + 0.006; float64(steps)/float64(all) > limit || float64(any)/float64(all) > limit {
		t.Error("too many false alarms all together")
	}
}

// TestCoverageOfPlaces: where one change is reported, the 95 % interval of its
// place holds the true place in at least 93 of 100 cases, and that of its size
// the true size in at least 90; where neighbours are alike and tails heavy at
// once, so that only one change in six is found and those found were helped by
// the noise, in at least 80. Slow.
func TestCoverageOfPlaces(t *testing.T) {
	slow(t)
	const series, n, place = 500, 60, 36
	for _, kind := range kindsOfNoise()[:2] {
		for _, rho := range []float64{0, 0.4} {
			found, held, length, sizes := 0, 0, 0, 0
			for seed := range uint64(series) {
				values := autoregressive(kind, n, rho, seed)
				for i := place; i < n; i++ {
					values[i] -= 2.5
				}
				c, err := Segment(Series{Values: values}, Options{})
				if err != nil {
					t.Fatal(err)
				}
				if len(c.Changes) != 1 {
					continue
				}
				found++
				change := c.Changes[0]
				length += change.High - change.Low + 1
				if change.Low <= place && place <= change.High {
					held++
				}
				if change.SizeLow <= -2.5 && -2.5 <= change.SizeHigh {
					sizes++
				}
			}
			share := float64(held) / float64(found)
			t.Logf("%-42s correlation %.1f: one change in %.0f %%, its place held in %.1f %%, mean length %.1f rows; its size held in %.1f %%",
				kind.name, rho, 100*float64(found)/series, 100*share, float64(length)/float64(found), 100*float64(sizes)/float64(found))
			least, leastSize := 0.93, 0.90
			if rho > 0 && kind.name != "normal" {
				least, leastSize = 0.8, 0.8
			}
			if share < least || float64(sizes)/float64(found) < leastSize {
				t.Errorf("%s, correlation %.1f: held too seldom", kind.name, rho)
			}
		}
	}
}
