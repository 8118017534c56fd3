package dropoff

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"strconv"
	"strings"
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

// claimed are the claims whose false alarms are counted.
var claimed = []string{"steps", "a change of any kind", string(LevelAndSlope), string(JoinedLines), string(LevelAndScatter)}

// A tally of false alarms: series in which each is claimed, of all.
type tally struct {
	claims [5]int
	all    int
}

func (a *tally) add(b tally) {
	for k, n := range b.claims {
		a.claims[k] += n
	}
	a.all += b.all
}

// within tells whether no rate is above one by more than three standard errors of
// its estimate.
func (a tally) within(rate float64) bool {
	limit := rate + 3*math.Sqrt(rate*(1-rate)/float64(a.all))
	return float64(slices.Max(a.claims[:])) <= limit*float64(a.all)
}

// String is the rates as cells of a table.
func (a tally) String() string {
	var b strings.Builder
	for _, n := range a.claims {
		fmt.Fprintf(&b, " %.1f |", 100*float64(n)/float64(a.all))
	}
	return b.String()
}

// alarmsIn counts false alarms in series of one level.
func alarmsIn(t *testing.T, kind kindOfNoise, n int, rho float64, series int) tally {
	t.Helper()
	out := tally{all: series}
	for seed := range uint64(series) {
		s := Series{Values: autoregressive(kind, n, rho, seed)}
		found, err := Segment(s, Options{})
		if err != nil {
			t.Fatal(err)
		}
		if len(found.Changes) > 0 {
			out.claims[0]++
		}
		if found.Compared != nil && found.Compared.Best != NoChange {
			out.claims[1]++
		}
		for k, shape := range claimed[2:] {
			found, err := SegmentBy(Shape(shape), s, Options{})
			if err != nil {
				t.Fatal(err)
			}
			if len(found.Bends) > 0 {
				out.claims[2+k]++
			}
		}
	}
	return out
}

// TestFalseAlarms: in series of one level with the noise of real books, steps
// are reported, a change of any kind is claimed, and one of each other kind of
// change, in at most 5 of 100 cases. A cell of the table, and all together, may
// exceed that by three standard errors of the estimate. The table is written to
// FALSE_ALARMS.md. Slow; THUMBED_SERIES is how many series a cell has, else 1,000,
// for which the standard error at 5 % is 0.7.
func TestFalseAlarms(t *testing.T) {
	slow(t)
	series := 1000
	if given := os.Getenv("THUMBED_SERIES"); given != "" {
		var err error
		if series, err = strconv.Atoi(given); err != nil || series < 1 {
			t.Fatalf("THUMBED_SERIES is %q: give a whole number above 0", given)
		}
	}
	var all tally
	lengths := []int{30, 60, 120}
	tables := map[int]string{}
	for _, n := range lengths {
		t.Run(fmt.Sprintf("%d rows", n), func(t *testing.T) {
			var b strings.Builder
			for _, kind := range kindsOfNoise() {
				for _, rho := range []float64{0, 0.3, 0.6} {
					cell := alarmsIn(t, kind, n, rho, series)
					row := fmt.Sprintf("| %s | %d | %.1f |%v", kind.name, n, rho, cell)
					t.Log(row)
					fmt.Fprintln(&b, row)
					if !cell.within(0.05) {
						t.Errorf("%s, %d rows, correlation %.1f: too many false alarms", kind.name, n, rho)
					}
					all.add(cell)
				}
			}
			tables[n] = b.String()
		})
	}
	t.Logf("all together: %v", all)
	if !all.within(0.05) {
		t.Error("too many false alarms all together")
	}
	if len(tables) < len(lengths) {
		return // not all were asked for
	}
	var b strings.Builder
	fmt.Fprintf(&b, falseAlarmsHead, series, 100*math.Sqrt(0.05*0.95/float64(series)), strings.Join(claimed, " | "), strings.Repeat(" --- |", 3+len(claimed)))
	for _, n := range lengths {
		b.WriteString(tables[n])
	}
	fmt.Fprintf(&b, "| all together | | |%v\n", all)
	if err := os.WriteFile("FALSE_ALARMS.md", []byte(b.String()), 0o644); err != nil {
		t.Fatal(err)
	}
}

const falseAlarmsHead = `# How often a change is claimed where there is none

Written by TestFalseAlarms of this package with THUMBED_SLOW=1. Series of one level
are drawn, with autoregressive noise: normal; heavy-tailed; and normal with all
values below a floor at the floor. The numbers are the share of series, in per
cent, in which a change is claimed: steps; a change of any kind, gradual ones among
them, by the comparison of accounts; and each other kind by itself. %d series a
cell; the standard error of a share of 5 is %.1f.

| noise | rows | correlation | %s |
|%s
`

// TestFalseAlarmsOfLongSeries: the same of series that are too long to be drawn
// again in full, by 200 each. Slow.
func TestFalseAlarmsOfLongSeries(t *testing.T) {
	slow(t)
	var all tally
	for _, kind := range kindsOfNoise() {
		for _, n := range []int{6000, 20000, 60000} {
			for _, rho := range []float64{0, 0.3, 0.6} {
				cell := alarmsIn(t, kind, n, rho, 200)
				t.Logf("| %s | %d | %.1f |%v", kind.name, n, rho, cell)
				if !cell.within(0.05) {
					t.Errorf("%s, %d rows, correlation %.1f: too many false alarms", kind.name, n, rho)
				}
				all.add(cell)
			}
		}
	}
	t.Logf("all together: %v", all)
}

// TestCoverageOfPlaces: a step of two and a half standard deviations is found in
// at least 95 of 100 series with normal, independent noise, in 70 where neighbours
// are alike, in 80 where tails are heavy, and in half where both are. Where one change
// is reported, the 95 % interval of its place holds the true place in at least 93 of 100
// cases, and that of its size the true size in at least 90; where neighbours are
// alike and tails heavy at once, so that those found were helped by the noise, the
// place in at least 88. Slow.
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
			normal := kind.name == "normal"
			leastFound, least := 0.95, 0.93
			switch {
			case rho > 0 && normal:
				leastFound = 0.7
			case rho > 0:
				leastFound, least = 0.5, 0.88
			case !normal:
				leastFound = 0.8
			}
			if float64(found)/series < leastFound {
				t.Errorf("%s, correlation %.1f: found too seldom", kind.name, rho)
			}
			if share < least || float64(sizes)/float64(found) < 0.9 {
				t.Errorf("%s, correlation %.1f: held too seldom", kind.name, rho)
			}
		}
	}
}

// TestCoverageOfSizes: the 95 % intervals of the sizes of other kinds of change hold
// the truth in at least 90 of 100 series of 60 rows in which one change is claimed,
// and that of its place in at least 93; in at least 85 and 80 where neighbours are
// alike, since few changes are then claimed and those were helped by the noise. Slow.
func TestCoverageOfSizes(t *testing.T) {
	slow(t)
	const series, n, place = 300, 60, 30
	for _, c := range []struct {
		shape Shape
		make  func(i int, noise float64) float64 // of row i, from 1
		sizes []float64
	}{
		{LevelAndSlope, func(i int, e float64) float64 {
			if i <= place {
				return 0.05*float64(i) + e
			}
			return 3 - 0.15*float64(i-place-1) + e
		}, []float64{3 - 0.05*(place+1), -0.2}},
		{JoinedLines, func(i int, e float64) float64 { return -0.2*max(float64(i-place), 0) + e }, []float64{-0.2}},
		{LevelAndScatter, func(i int, e float64) float64 {
			if i <= place {
				return e
			}
			return -2 + 3*e
		}, []float64{-2, 3}},
	} {
		for _, rho := range []float64{0, 0.4} {
			found, held := 0, 0
			sizes := make([]int, len(c.sizes))
			for seed := range uint64(series) {
				values := autoregressive(kindsOfNoise()[0], n, rho, seed)
				for i := range values {
					values[i] = c.make(i+1, values[i])
				}
				shaped, err := SegmentBy(c.shape, Series{Values: values}, Options{})
				if err != nil {
					t.Fatal(err)
				}
				if len(shaped.Bends) != 1 {
					continue
				}
				found++
				b := shaped.Bends[0]
				if b.Low <= place && place <= b.High {
					held++
				}
				for k, size := range b.Sizes {
					if size.Low <= c.sizes[k] && c.sizes[k] <= size.High {
						sizes[k]++
					}
				}
			}
			share := func(k int) float64 { return float64(k) / float64(found) }
			leastSize, leastPlace := 0.9, 0.93
			if rho > 0 {
				leastSize, leastPlace = 0.85, 0.8
			}
			t.Logf("%s, correlation %.1f: one change in %d of %d; its place held in %.3f", c.shape, rho, found, series, share(held))
			if share(held) < leastPlace {
				t.Errorf("%s, correlation %.1f: the place was held too seldom", c.shape, rho)
			}
			for k := range sizes {
				t.Logf("  size %d held in %.3f", k+1, share(sizes[k]))
				if share(sizes[k]) < leastSize {
					t.Errorf("%s, correlation %.1f: size %d was held too seldom", c.shape, rho, k+1)
				}
			}
		}
	}
}

// TestStepsAmongAlikeNeighbours: a step of two and a half standard deviations is
// found in most of 20 series whose neighbours have a correlation of 0.4, although
// about one level it makes them look much more alike. At the 79 of 100 that
// TestCoverageOfPlaces measures, fewer than 11 come up in 1 of 300 cases.
func TestStepsAmongAlikeNeighbours(t *testing.T) {
	found := 0
	for seed := range uint64(20) {
		values := autoregressive(kindsOfNoise()[0], 60, 0.4, 1000+seed)
		for i := 36; i < 60; i++ {
			values[i] -= 2.5
		}
		c, err := Segment(Series{Values: values}, Options{})
		if err != nil {
			t.Fatal(err)
		}
		if len(c.Changes) > 0 {
			found++
		}
	}
	if found < 11 {
		t.Errorf("a step was found in %d of 20 series", found)
	}
}
