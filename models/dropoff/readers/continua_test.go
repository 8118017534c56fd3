package readers

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"

	"gonum.org/v1/gonum/mat"
)

// continua are ways in which readers may be spread without a gap: place is a reader's
// place from 0 to 1 on the way, which may bend.
var continua = []struct {
	name    string
	place   func(r *rand.Rand) float64
	bend    bool // the way is three quarters of a circle in two dimensions
	unequal bool // errors differ tenfold between readers
}{
	{name: "uniform", place: (*rand.Rand).Float64},
	{name: "skewed", place: func(r *rand.Rand) float64 { return math.Min(1, r.ExpFloat64()/4) }},
	{name: "U-shaped", place: func(r *rand.Rand) float64 { // density 0.6 of the ends' in the middle
		for {
			if x := r.Float64(); r.Float64() < 0.6+0.4*(2*x-1)*(2*x-1) {
				return x
			}
		}
	}},
	{name: "bent in two dimensions", place: (*rand.Rand).Float64, bend: true},
	{name: "unequal errors", place: func(r *rand.Rand) float64 { return 0.5 + 0.1*r.NormFloat64() }, unequal: true},
	{name: "uniform, unequal errors", place: (*rand.Rand).Float64, unequal: true},
}

// spreadReaders draws n readers of a continuum, whose curves along eight offices fall
// the steeper the farther along the way they are, in two ways where it bends.
func spreadReaders(seed uint64, n, which int) []Shape {
	way := continua[which]
	draws := rand.New(rand.NewPCG(seed, uint64(which)))
	var out []Shape
	for i := range n {
		place := way.place(draws)
		u, v := 2*place-1, 0.0
		if way.bend {
			angle := 1.5 * math.Pi * place
			u, v = math.Cos(angle), math.Sin(angle)
		}
		se := 0.01
		if way.unequal {
			se = 0.003 * math.Pow(10, draws.Float64())
		}
		level := 0.3 * math.Exp(0.3*draws.NormFloat64())
		wear, cov := make([]float64, 8), mat.NewSymDense(8, nil)
		for j := range wear {
			along := float64(j)/3.5 - 1
			wear[j] = level*(1-0.6*u*along+0.5*v*(1.5*along*along-0.5)) + se*draws.NormFloat64()
			cov.SetSym(j, j, se*se)
		}
		if s, err := ShapeOf(fmt.Sprintf("reader %04d", i), wear, cov); err == nil {
			out = append(out, s)
		}
	}
	return out
}

// Readers who differ by degrees are not said to be of kinds: here in a few sets; how
// often in all is TestSlowContinua's to tell.
func TestContinuaAreNotParted(t *testing.T) {
	for which, way := range continua {
		claimed := 0
		for seed := range uint64(3) {
			g, err := Group(spreadReaders(seed, 60, which), Options{Seed: seed, References: 39, Draws: 30})
			if err != nil {
				t.Fatal(err)
			}
			if g.Verdict != None {
				claimed++
				continue
			}
			if g.Continuum == nil || g.Continuum.SD <= 0 || !(g.Continuum.Share > 0.5) && !way.bend {
				t.Errorf("%s: the continuum is not told: %+v", way.name, g.Continuum)
			}
		}
		if claimed > 1 { // of three at 5 %: seldom two
			t.Errorf("%s: kinds are claimed in %d of 3", way.name, claimed)
		}
	}
}

// The intervals of readers' places hold the true places. On a straight way the true
// place is the shape without errors, seen along the same axis.
func TestPlacesOnTheContinuumHold(t *testing.T) {
	noisy := spreadReaders(7, 300, 0)
	g, err := Group(noisy, Options{Seed: 1, References: 19, Draws: 20, Most: 2})
	if err != nil {
		t.Fatal(err)
	}
	// the same draws without errors: the shape of a place is 1 − 0.6u(j/3.5 − 1)
	draws := rand.New(rand.NewPCG(7, 0))
	truth := map[string]float64{}
	mean := 0.0
	for i := range 300 {
		u := 2*draws.Float64() - 1
		draws.NormFloat64()
		for range 8 {
			draws.NormFloat64()
		}
		at := 0.0
		for j, a := range g.Continuum.Axis {
			at += a * -0.6 * u * (float64(j)/3.5 - 1)
		}
		truth[fmt.Sprintf("reader %04d", i)] = at
		mean += at / 300
	}
	held := 0
	for _, m := range g.Members {
		if at := truth[m.Name] - mean; m.PlaceLow <= at && at <= m.PlaceHigh {
			held++
		}
	}
	if share := float64(held) / float64(len(g.Members)); share < 0.95-3*math.Sqrt(0.95*0.05/300) {
		t.Errorf("%.3f of the intervals hold the true place", share)
	}
	if g.Continuum.Share < 0.9 {
		t.Errorf("%.2f of what readers differ by lies along the axis", g.Continuum.Share)
	}
}

// adjustedRand is that of Hubert and Arabie (1985, Journal of Classification 2,
// 193–218, equation 5).
func adjustedRand(a, b []string) float64 {
	pairs := func(n float64) float64 { return n * (n - 1) / 2 }
	both, one, other := map[string]float64{}, map[string]float64{}, map[string]float64{}
	for i := range a {
		both[a[i]+"\x00"+b[i]]++
		one[a[i]]++
		other[b[i]]++
	}
	sum := func(m map[string]float64) float64 {
		s := 0.0
		for _, n := range m {
			s += pairs(n)
		}
		return s
	}
	expected := sum(one) * sum(other) / pairs(float64(len(a)))
	return (sum(both) - expected) / ((sum(one)+sum(other))/2 - expected)
}

// TestSlowContinua counts, for each continuum and number of readers, in how many sets
// kinds are claimed, and how well two kinds that are there are found; READERS_SETS,
// READERS_SIZES and READERS_WAYS (a part of their names, or of “two kinds”) choose how
// much. CONTINUA.md holds the table.
func TestSlowContinua(t *testing.T) {
	if os.Getenv("THUMBED_SLOW") == "" {
		t.Skip("takes an hour; THUMBED_SLOW=1 runs it")
	}
	sets, sizes := 100, []int{60, 200, 1000}
	if n, err := strconv.Atoi(os.Getenv("READERS_SETS")); err == nil {
		sets = n
	}
	if text := os.Getenv("READERS_SIZES"); text != "" {
		sizes = nil
		for word := range strings.SplitSeq(text, ",") {
			n, err := strconv.Atoi(word)
			if err != nil {
				t.Fatal(err)
			}
			sizes = append(sizes, n)
		}
	}
	all, of := 0, 0
	for _, n := range sizes {
		for which, way := range continua {
			if !strings.Contains(way.name, os.Getenv("READERS_WAYS")) {
				continue
			}
			claimed := 0
			for seed := range uint64(sets) {
				g, err := Group(spreadReaders(5000+seed, n, which), Options{Seed: seed})
				if err != nil {
					t.Fatal(err)
				}
				if g.Verdict != None {
					claimed++
				}
			}
			all, of = all+claimed, of+sets
			t.Logf("%d readers, %s: kinds claimed in %d of %d", n, way.name, claimed, sets)
		}
		if !strings.Contains("two kinds", os.Getenv("READERS_WAYS")) {
			continue
		}
		var rand []float64
		found := 0
		for seed := range uint64(sets) {
			g := grouped(t, curves(7000+seed, n, 0.4, 0.005, 0.02))
			var truth, letters []string
			for _, m := range g.Members {
				var number int
				fmt.Sscanf(m.Name, "reader %d", &number)
				truth, letters = append(truth, strconv.FormatBool(float64(number) < 0.4*float64(n))), append(letters, m.Letter)
			}
			if g.Verdict == All {
				found++
			}
			rand = append(rand, adjustedRand(truth, letters))
		}
		slices.Sort(rand)
		t.Logf("%d readers of two kinds: found in %d of %d, adjusted Rand index %.2f to %.2f, median %.2f", n, found, sets, rand[0], rand[len(rand)-1], rand[len(rand)/2])
		if rand[len(rand)/10] < 0.9 {
			t.Errorf("%d readers of two kinds: the adjusted Rand index of one set in ten is below %.2f", n, rand[len(rand)/10])
		}
	}
	if share := float64(all) / math.Max(1, float64(of)); share > 0.05+3*math.Sqrt(0.05*0.95/float64(of)) {
		t.Errorf("kinds are claimed in %.3f of %d sets without any", share, of)
	}
}
