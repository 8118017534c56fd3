package profile

import (
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/gonum/stat"
	"pgregory.net/rapid"

	"thumbed/models/readings"
)

// Benjamini and Hochberg (1995), section 4.1: fifteen p-values of a trial of
// thrombolysis; at rate 0.05 the four smallest are rejected, where Bonferroni
// rejects three (from memory). The adjusted values are those of R's p.adjust.
func TestFalseDiscoveryAgreesWithBenjaminiHochberg(t *testing.T) {
	p := []float64{0.0001, 0.0004, 0.0019, 0.0095, 0.0201, 0.0278, 0.0298, 0.0344, 0.0459, 0.3240, 0.4262, 0.5719, 0.6528, 0.7590, 1.0000}
	q := FalseDiscovery(p)
	rejected := 0
	for _, v := range q {
		if v <= 0.05 {
			rejected++
		}
	}
	if rejected != 4 {
		t.Errorf("%d rejected at 0.05, want 4", rejected)
	}
	ref := numbers(t, "adjusted.csv")
	for i := range p {
		if p[i] != ref["p"][i] {
			t.Fatalf("row %d of the reference has p = %g", i, ref["p"][i])
		}
		near(t, "adjusted p", q[i], ref["bh"][i], 1e-12)
	}
}

func TestFalseDiscoveryProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := rapid.SliceOfN(rapid.Float64Range(0, 1), 1, 40).Draw(t, "p")
		q := FalseDiscovery(p)
		perm := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1)).Perm(len(p))
		shuffled := make([]float64, len(p))
		for i, k := range perm {
			shuffled[i] = p[k]
		}
		again := FalseDiscovery(shuffled)
		withHole := FalseDiscovery(append(slices.Clone(p), math.NaN()))
		for i := range p {
			if q[i] < p[i] || q[i] > 1 {
				t.Fatalf("p = %g became %g", p[i], q[i])
			}
			if withHole[i] != q[i] {
				t.Fatal("a test not made changed the others")
			}
			for j := range p {
				if p[i] < p[j] && q[i] > q[j] {
					t.Fatal("the order of the p-values is not kept")
				}
			}
		}
		for i, k := range perm {
			if again[i] != q[k] {
				t.Fatal("the order of the tests matters")
			}
		}
	})
}

// Constants of the robust scatter against simulation: 40,000 normal samples of
// each size, where the mean of the scale is known to 0.3 % and degrees of
// freedom to 1 %; the formulas were fitted, hence the tolerances.
func TestRobustConstants(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 5))
	for _, n := range []int{3, 4, 5, 6, 7, 9, 10, 13, 20, 41} {
		const runs = 40_000
		scale, logs, middle := 0.0, make([]float64, runs), make([]float64, runs)
		x := make([]float64, n)
		for k := range runs {
			for i := range x {
				x[i] = r.NormFloat64()
			}
			scale += mad(x) / runs
			logs[k], middle[k] = math.Log(robustScatter(x).variance), median(x)
		}
		near(t, "unbiased scale", scale, 1, 0.015)
		near(t, "variance of the median", stat.Variance(middle, nil), medianVariance(n), 0.03)
		if n < leastGroup {
			continue
		}
		df := robustScatter(x).df
		mean, variance := stat.MeanVariance(logs, nil)
		near(t, "variance of log scatter", variance, logChiVariance(df), 0.05)
		if off := mean - logChiMean(df); math.Abs(off) > 0.04 {
			t.Errorf("n = %d: log scatter is off by %.3f", n, off)
		}
	}
}

// Mean and variance of log χ²/df by simulation-free numerical integration over
// its density.
func logChiMoments(df float64) (mean, variance float64) {
	var mass, first, second float64
	const step = 0.002
	for x := -25.0; x < 6; x += step { // x = log(χ²/df)
		density := math.Exp(df / 2 * (x - math.Exp(x) + 1))
		mass += density
		first += x * density
		second += x * x * density
	}
	mean = first / mass
	return mean, second/mass - mean*mean
}

func logChiMean(df float64) float64     { m, _ := logChiMoments(df); return m }
func logChiVariance(df float64) float64 { _, v := logChiMoments(df); return v }

// drawn gives wear for all pages of sections, of which the pages named are
// lifted by so much.
func drawn(r *rand.Rand, sizes []int, unlike float64, lift map[int]float64) []measured {
	b := inventedBook(sizes...)
	var pages []measured
	for _, section := range b.Sections {
		level, spread := 0.1+0.4*r.Float64(), 0.03*math.Exp(unlike*r.NormFloat64())
		for _, page := range section.Pages {
			const se = 0.012
			pages = append(pages, measured{page: page, value: level + lift[page] + spread*r.NormFloat64() + se*r.NormFloat64(), variance: se * se, df: 50})
		}
	}
	return pages
}

var hoursLike = []int{6, 24, 8, 30, 22, 12, 12, 12, 14, 10, 20, 16, 40, 5, 4, 7}

// runs is the number of simulated books: some by default, many where
// THUMBED_SLOW asks for them.
func runs(some, many int) int {
	if os.Getenv("THUMBED_SLOW") != "" {
		return many
	}
	return some
}

// The false-discovery rate over simulated books: without any page that stands
// out, and with ten lifted pages. Three standard errors of the rate (at most
// that of a share of 0.05) are allowed. The rate must hold too where the
// sections' scatters are unlike (a spread of 0.4 in their logarithm: half as
// much again, or more, for one in six).
func TestStandoutsKeepTheirRate(t *testing.T) {
	b := inventedBook(hoursLike...)
	for _, unlike := range []float64{0, 0.4} {
		for _, lifted := range []int{0, 10} {
			falseShare, found := 0.0, 0.0
			books := float64(runs(100, 2000))
			for seed := range uint64(books) {
				r := rand.New(rand.NewPCG(seed, 41))
				lift := map[int]float64{}
				for _, i := range r.Perm(len(b.Pages) - 2)[:lifted] {
					lift[i+2] = 0.2
				}
				all, _ := standoutsOf(b, drawn(r, hoursLike, unlike, lift))
				wrong, right := 0.0, 0.0
				for _, s := range all {
					switch {
					case s.Q > falseDiscoveryRate:
					case lift[s.Page] > 0:
						right++
					default:
						wrong++
					}
				}
				if wrong > 0 {
					falseShare += wrong / (wrong + right) / books
				}
				if lifted > 0 {
					found += right / float64(lifted) / books
				}
			}
			t.Logf("scatters spread %.1f, %d lifted: false-discovery rate %.4f, found %.3f", unlike, lifted, falseShare, found)
			if falseShare > 0.05+3*math.Sqrt(0.05*0.95/books) {
				t.Errorf("scatters spread %.1f, %d lifted: false-discovery rate %.3f", unlike, lifted, falseShare)
			}
			if lifted > 0 && found < 0.75 {
				t.Errorf("scatters spread %.1f: only %.0f %% of pages lifted by six scatters are found", unlike, 100*found)
			}
		}
	}
}

// Several pictures in a short section must not hide each other: 3 of 8 pages
// lifted by six times the scatter.
func TestStandoutsInOneSectionDoNotHideEachOther(t *testing.T) {
	b := inventedBook(hoursLike...)
	section := b.Sections[2].Pages // 8 pages
	lift := map[int]float64{section[0]: 0.2, section[3]: 0.2, section[5]: 0.2}
	found := 0.0
	books := float64(runs(100, 2000))
	for seed := range uint64(books) {
		all, _ := standoutsOf(b, drawn(rand.New(rand.NewPCG(seed, 43)), hoursLike, 0, lift))
		for _, s := range all {
			if s.Q <= falseDiscoveryRate && lift[s.Page] > 0 {
				found += 1.0 / 3 / books
			}
		}
	}
	t.Logf("found %.3f", found)
	if found < 0.85 {
		t.Errorf("only %.0f %% of three lifted pages in a section of eight are found", 100*found)
	}
}

// A book opened for looking: half of every section's pages have pictures, all
// touched alike. They must be found, and the plain pages left alone.
func TestStandoutsWhereHalfThePagesArePictures(t *testing.T) {
	b := inventedBook(hoursLike...)
	lift := map[int]float64{}
	for _, section := range b.Sections {
		for k, page := range section.Pages {
			if k%2 == 0 && k+1 < len(section.Pages) {
				b.Pages[page].Picture = true
				lift[page] = 0.2
			}
		}
	}
	found, falseShare := 0.0, 0.0
	books := float64(runs(100, 2000))
	for seed := range uint64(books) {
		all, _ := standoutsOf(b, drawn(rand.New(rand.NewPCG(seed, 47)), hoursLike, 0, lift))
		right, wrong := 0.0, 0.0
		for _, s := range all {
			switch {
			case s.Q > falseDiscoveryRate:
			case lift[s.Page] > 0:
				right++
			default:
				wrong++
			}
		}
		found += right / float64(len(lift)) / books
		falseShare += wrong / max(1, right+wrong) / books
	}
	t.Logf("found %.3f, false-discovery rate %.4f", found, falseShare)
	if found < 0.95 || falseShare > 0.05 {
		t.Errorf("%.0f %% of touched pictures found, false-discovery rate %.3f", 100*found, falseShare)
	}
}

// Raising one page never lowers its excess nor raises its p; and pages at a
// limit are taken for what they are.
func TestStandoutMonotoneAndLimits(t *testing.T) {
	b := inventedBook(10, 12)
	rapid.Check(t, func(t *rapid.T) {
		pages := drawn(rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 2)), []int{10, 12}, 0, nil)
		i := rapid.IntRange(0, len(pages)-1).Draw(t, "page")
		before, _ := standoutsOf(b, pages)
		pages[i].limit = readings.Below
		without, _ := standoutsOf(b, pages)
		if len(without) != len(before)-1 {
			t.Fatal("a page below the floor was tested")
		}
		pages[i].limit = readings.Above
		pages[i].value += 0.5
		after, _ := standoutsOf(b, pages)
		for k := range after {
			if after[k].Page == pages[i].page {
				if !after[k].AtLeast || after[k].P > before[k].P || after[k].Excess < before[k].Excess {
					t.Fatalf("before %+v, after %+v", before[k], after[k])
				}
			}
		}
	})
}

// In short sections only pictures are tested, against the section's own few
// pages; sections with most pages above the ceiling have no level.
func TestStandoutGroups(t *testing.T) {
	sizes := []int{3, 2, 3, 12}
	b := inventedBook(sizes...)
	b.Pages[b.Sections[0].Pages[1]].Picture = true
	b.Pages[b.Sections[1].Pages[0]].Picture = true
	b.Pages[b.Sections[1].Pages[1]].Picture = true
	pages := drawn(rand.New(rand.NewPCG(1, 1)), sizes, 0, nil)
	tested, notes := standoutsOf(b, pages)
	all := strings.Join(notes, " ")
	if len(tested) != 13 || !strings.Contains(all, "Fewer than 4 pages without a picture were measured in section 1; section 3:") || !strings.Contains(all, "No picture was tested in section 2:") {
		t.Errorf("%d tested, notes %q", len(tested), notes)
	}
	for i := range pages {
		if pages[i].page >= b.Sections[3].Pages[5] {
			pages[i].limit = readings.Above
		}
	}
	tested, notes = standoutsOf(b, pages)
	if all := strings.Join(notes, " "); len(tested) != 1 || !strings.Contains(all, "of 12 pages without a picture that were measured there, 7 are censored (at least a bound), so the level to compare with") {
		t.Errorf("%d tested, notes %q", len(tested), notes)
	}
	tested, notes = standoutsOf(inventedBook(1), drawn(rand.New(rand.NewPCG(1, 1)), []int{1}, 0, nil))
	if all := strings.Join(notes, " "); len(tested) != 0 || !strings.Contains(all, "no section has pages enough to tell how far pages scatter") {
		t.Errorf("%d tested, notes %q", len(tested), notes)
	}
}

// The excess of a picture in a short section is that above its own section,
// whatever the others of its kind bear: three offices of three pages, of levels
// far apart, each opened by a picture that is worn by 0.1 more. The interval
// holds the excess over the section's expected level at least at its rate.
func TestStandoutsOfShortSectionsHoldTheirOwnLevel(t *testing.T) {
	sizes := []int{3, 3, 3, 12, 20}
	b := inventedBook(sizes...)
	levels := []float64{0, 0.15, 0.05}
	held, tried := 0, 0
	for seed := range uint64(runs(200, 2000)) {
		lift := map[int]float64{}
		for i, level := range levels {
			for _, page := range b.Sections[i].Pages {
				lift[page] = level
			}
			opening := b.Sections[i].Pages[0]
			lift[opening] += 0.1
			b.Pages[opening].Picture = true
		}
		r := rand.New(rand.NewPCG(seed, 53))
		pages := drawn(r, sizes, 0, lift)
		truth := map[int]float64{} // of the picture's own wear above its section's
		for _, p := range pages {
			truth[p.page] = p.value
		}
		all, _ := standoutsOf(b, pages)
		for _, s := range all {
			if !b.Pages[s.Page].Picture {
				continue
			}
			tried++
			if section := b.Sections[b.Pages[s.Page].Section]; math.Abs(s.Excess-(truth[s.Page]-(truth[section.Pages[1]]+truth[section.Pages[2]])/2)) > 1e-12 {
				t.Fatalf("excess %g is not that above the section's own pages", s.Excess)
			}
			if s.Low <= 0.1 && 0.1 <= s.High {
				held++
			}
		}
	}
	t.Logf("held %d of %d", held, tried)
	// Four standard errors of a rate of 0.95 over 600 intervals are 0.036.
	if rate := float64(held) / float64(tried); tried == 0 || rate < 0.91 {
		t.Errorf("%d of %d intervals hold the picture's expected excess", held, tried)
	}
}

// Readings to the last digit of the instrument tie; a section without any
// scatter must neither divide by zero nor let everything stand out.
func TestStandoutsOnTies(t *testing.T) {
	b := inventedBook(10, 10)
	var pages []measured
	for i := range 20 {
		pages = append(pages, measured{page: i + 2, value: 0.05, variance: leastVariance, df: math.Inf(1)})
	}
	pages[4].value = 0.30
	tested, _ := standoutsOf(b, pages)
	for _, s := range tested {
		if math.IsNaN(s.P) || (s.Page == pages[4].page) != (s.Q <= falseDiscoveryRate) {
			t.Errorf("page %d: P %g, Q %g", s.Page, s.P, s.Q)
		}
	}
}

// Scatter with a long tail upward is noticed, normal scatter is not taken for
// such: over 100 books the note comes with its chance of 5 % on normal books (at
// most 13 of 100, the 99.9 % point of the binomial) and on most lognormal ones.
func TestLongTailIsSaid(t *testing.T) {
	for _, c := range []struct {
		long   bool
		lo, hi int
	}{{false, 0, 13}, {true, 70, 100}} {
		said := 0
		for seed := range uint64(100) {
			r := rand.New(rand.NewPCG(seed, 47))
			b := inventedBook(hoursLike...)
			pages := drawn(r, hoursLike, 0.3, nil)
			for i := range pages {
				if c.long {
					pages[i].value = 0.2 * math.Exp(0.5*r.NormFloat64())
				}
			}
			_, notes := standoutsOf(b, pages)
			if strings.Contains(strings.Join(notes, " "), "tail of ordinary wear") {
				said++
			}
		}
		if said < c.lo || said > c.hi {
			t.Errorf("long tail %v: said for %d books of 100", c.long, said)
		} else {
			t.Logf("long tail %v: said for %d books of 100", c.long, said)
		}
	}
}

// The rank sum against its mean and variance worked by hand.
func TestRankSum(t *testing.T) {
	var values []float64
	var marked []bool
	for i := range 50 {
		values, marked = append(values, float64(i)), append(marked, i%2 == 0)
	}
	// the marked are 1, 3, … 49: sum 625, mean 637.5, variance 25·25·51/12
	near(t, "p", rankSum(values, marked), 0.5*math.Erfc(-12.5/math.Sqrt(625*51/12.0)/math.Sqrt2), 1e-12)
	if p := rankSum([]float64{1, 2, 3}, []bool{true, false, true}); p != 1 {
		t.Errorf("three values give p = %g", p)
	}
}
