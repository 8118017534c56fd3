package readings

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"
)

// drawRows draws the rows of a log without problems: several days, two
// instruments and observers, fixed and darkest spots, tiles, limits and
// exclusions. Each row has its own minute, so that none looks copied.
func drawRows(t *rapid.T) []string {
	var rows []string
	minute := 0
	add := func(where, day, instrument, observer, rest string) {
		minute++
		rows = append(rows, fmt.Sprintf("%s,%s,%02d:%02d:%02d,%s,%s,%s", where, day, 8+minute/3600, minute/60%60, minute%60, instrument, observer, rest))
	}
	density := func(low, high int) string {
		return fmt.Sprintf("%.2f", float64(rapid.IntRange(low, high).Draw(t, "density"))/100)
	}
	for day := range rapid.IntRange(1, 3).Draw(t, "days") {
		date := fmt.Sprintf("2026-03-%02d", day+1)
		for range rapid.IntRange(2, 4).Draw(t, "tiles") {
			add(",", date, "D1", "ann", "tile,,,"+density(78, 83)+",,")
		}
		for page := range rapid.IntRange(1, 4).Draw(t, "pages") {
			where := fmt.Sprintf("ardel,%dr", page+1)
			for _, observer := range []string{"ann", "bob"}[:rapid.IntRange(1, 2).Draw(t, "observers")] {
				for range rapid.IntRange(2, 3).Draw(t, "zeros") {
					add(where, date, "D1", observer, "zero,,,"+density(15, 20)+",,")
				}
				spot := rapid.SampledFrom([]string{"fixed,1", "fixed,", "darkest,1", "darkest,5"}).Draw(t, "spot")
				for range rapid.IntRange(1, 3).Draw(t, "placings") {
					reason := rapid.SampledFrom([]string{"", "", "", "slipped"}).Draw(t, "excluded")
					add(where, date, "D1", observer, "page,"+spot+","+rapid.SampledFrom([]string{density(30, 60), density(30, 60), "2.00"}).Draw(t, "shown")+","+reason+",")
				}
			}
		}
	}
	return rows
}

// The order of rows, and how they are spread over files, changes nothing, to
// the last digit.
func TestOrderOfRowsChangesNothing(t *testing.T) {
	books := testBooks(t)
	rapid.Check(t, func(rt *rapid.T) {
		rows := drawRows(rt)
		options := Options{Drift: rapid.SampledFrom([]Drift{DriftNone, DriftOffset, DriftScale, DriftEither}).Draw(rt, "drift"), SpotSpread: 0.04}
		first, ps := loadTexts(t, books, testInstruments, header+strings.Join(rows, "\n")+"\n")
		if ps.Err() != nil {
			rt.Fatal(ps.Err())
		}
		shuffled := rapid.Permutation(rows).Draw(rt, "order")
		cut := rapid.IntRange(1, len(rows)-1).Draw(rt, "cut")
		second, ps := loadTexts(t, books, testInstruments, header+strings.Join(shuffled[:cut], "\n")+"\n", header+strings.Join(shuffled[cut:], "\n")+"\n")
		if ps.Err() != nil {
			rt.Fatal(ps.Err())
		}
		a, errA := first.Wear(options)
		b, errB := second.Wear(options)
		if fmt.Sprint(errA) != fmt.Sprint(errB) {
			rt.Fatalf("one order fails with %v, the other with %v", errA, errB)
		}
		if errA != nil {
			return
		}
		// The list of exclusions names files and lines, which did change.
		if d := cmp.Diff(a, b, cmpopts.EquateNaNs(), cmpopts.IgnoreFields(Excluded{}, "File", "Line")); d != "" {
			rt.Error(d)
		}
	})
}

// Adding a constant to every placing and zero of a sitting changes no wear:
// each page is measured against its own zero. (The shift stays clear of the
// floor, near which a cell no longer tells the repeatability.)
func TestConstantOfASittingCancels(t *testing.T) {
	books := testBooks(t)
	rapid.Check(t, func(rt *rapid.T) {
		p := plain
		p.days, p.pages, p.drift = 2, 5, 0.03
		log, _ := p.log(books, rand.New(rand.NewPCG(rapid.Uint64().Draw(rt, "seed"), 1)))
		options := Options{Drift: rapid.SampledFrom([]Drift{DriftNone, DriftOffset}).Draw(rt, "drift")}
		before := mustWear(t, log, options)
		shift := rapid.Float64Range(-0.05, 0.1).Draw(rt, "shift")
		page := rapid.IntRange(0, 4).Draw(rt, "page")
		for i := range log.Readings {
			if r := &log.Readings[i]; r.Page == page && r.Day == "2026-03-01" {
				r.Density += shift
			}
		}
		after := mustWear(t, log, options)
		for i, w := range after.Wear {
			if math.Abs(w.Density-before.Wear[i].Density) > 1e-12 || math.Abs(w.SE-before.Wear[i].SE) > 1e-12 {
				rt.Errorf("page %d went from %+v to %+v", w.Page, before.Wear[i], w)
			}
		}
	})
}

// Without limits the estimate is the mean placing less the mean zero of each
// block, weighted by 1/(1/n + 1/m), and its variance the reciprocal of the
// weights' sum: worked here directly.
func TestEstimateIsWeightedDifference(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		const variance = 0.0004
		var data []datum
		weights, sum := 0.0, 0.0
		blocks := rapid.IntRange(1, 4).Draw(rt, "blocks")
		for block := range blocks {
			var means [2]float64
			var counts [2]float64
			for side, zero := range []bool{false, true} {
				for range rapid.IntRange(1, 5).Draw(rt, "readings") {
					v := rapid.Float64Range(0, 2).Draw(rt, "density")
					data = append(data, datum{value: v, variance: variance, zero: zero, block: block})
					means[side] += v
					counts[side]++
				}
				means[side] /= counts[side]
			}
			weight := 1 / (1/counts[0] + 1/counts[1])
			weights += weight
			sum += weight * (means[0] - means[1])
		}
		e, ok := solve(data, blocks)
		total := 0.0
		for _, share := range e.share {
			total += share
		}
		if !ok || math.Abs(e.wear-sum/weights) > 1e-12 || math.Abs(total-variance/weights) > 1e-15 {
			rt.Errorf("wear %g with variance %g; expected %g with %g", e.wear, total, sum/weights, variance/weights)
		}
	})
}

// Whatever stands at a limit, the estimate is finite, and moves up when any
// placing does.
func TestEstimateRisesWithPlacings(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		blocks := rapid.IntRange(1, 3).Draw(rt, "blocks")
		var data []datum
		for block := range blocks {
			for _, zero := range []bool{false, true} {
				for range rapid.IntRange(1, 3).Draw(rt, "readings") {
					limits := []Limit{Measured, Measured, Below, Above}
					if zero {
						limits = limits[:3]
					}
					data = append(data, datum{value: rapid.Float64Range(0, 2).Draw(rt, "density"), variance: 0.01, zero: zero, block: block,
						limit: rapid.SampledFrom(limits).Draw(rt, "limit")})
				}
			}
		}
		before, ok := solve(data, blocks)
		if !ok {
			return
		}
		if math.IsNaN(before.wear) || math.IsInf(before.wear, 0) {
			rt.Fatalf("wear of %g from %+v", before.wear, data)
		}
		for i := range data {
			if !data[i].zero {
				data[i].value += 0.01
			}
		}
		after, _ := solve(data, blocks)
		if after.wear < before.wear-1e-9 {
			rt.Errorf("all placings rose and the wear fell from %g to %g: %+v", before.wear, after.wear, data)
		}
	})
}
