package profile

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"
	"pgregory.net/rapid"

	"thumbed/models/codex"
)

// inventedBook is a book of single-column sections, each of so many pages, one
// after the other, with two flyleaf pages before them.
func inventedBook(sections ...int) *codex.Book {
	b := &codex.Book{ID: "invented"}
	add := func(section int) {
		i := len(b.Pages)
		b.Pages = append(b.Pages, codex.Page{
			Label:    codex.PageLabel{Folio: codex.Folio{Number: i/2 + 1}, Side: codex.Side(i % 2)},
			Leaf:     i / 2,
			Position: i + 1,
			Section:  section,
		})
	}
	add(-1)
	add(-1)
	for s, pages := range sections {
		section := codex.Section{Name: fmt.Sprintf("section %d", s+1), Kind: "prayer"}
		for range pages {
			section.Pages = append(section.Pages, len(b.Pages))
			add(s)
		}
		b.Sections = append(b.Sections, section)
	}
	return b
}

// Cochran (1977), Sampling Techniques, section 2.8, example: signatures on a
// sample of 50 of 676 petition sheets; estimated total 19,888, 80 % limits
// 18,107 and 21,669, hence a standard error of 1,391 (from memory; the table of
// sheets sums to the book's 1,471 signatures and s² = 229.0).
func TestAreaAgreesWithCochran(t *testing.T) {
	signatures := map[int]int{42: 23, 41: 4, 36: 1, 32: 1, 29: 1, 27: 2, 23: 1, 19: 1, 16: 2, 15: 2, 14: 1, 11: 1, 10: 1, 9: 1, 7: 1, 6: 3, 5: 2, 4: 1, 3: 1}
	b := inventedBook(676)
	var pages []measured
	for value, sheets := range signatures {
		for range sheets {
			pages = append(pages, measured{page: 2 + 13*len(pages), value: float64(value), df: math.Inf(1)})
		}
	}
	areas, _ := areasOf(b, pages)
	if len(areas) != 1 || areas[0].Pages != 676 || areas[0].Measured != 50 {
		t.Fatalf("got %+v", areas)
	}
	a := areas[0]
	if math.Round(a.Total) != 19888 {
		t.Errorf("total %.1f, want 19888", a.Total)
	}
	const z = 1.28 // as the book rounds it
	for _, limit := range []struct{ got, want float64 }{{a.Total - z*a.TotalSE, 18107}, {a.Total + z*a.TotalSE, 21669}} {
		if math.Abs(limit.got-limit.want) > 2 { // the book rounds s to 15.13
			t.Errorf("80 %% limit %.1f, want %.0f", limit.got, limit.want)
		}
	}
	if a.DF != 49 {
		t.Errorf("degrees of freedom %g, want 49", a.DF)
	}
}

// With every page measured nothing but the error of measuring is left.
func TestAreaOfWholeSectionHasMeasuringErrorOnly(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 30).Draw(t, "pages")
		b := inventedBook(n)
		var pages []measured
		sum, errors := 0.0, 0.0
		for i := range n {
			p := measured{page: i + 2, value: rapid.Float64Range(0, 2).Draw(t, "value"), variance: rapid.Float64Range(1e-6, 0.1).Draw(t, "variance"), df: 17}
			pages, sum, errors = append(pages, p), sum+p.value, errors+p.variance
		}
		areas, notes := areasOf(b, pages)
		if len(areas) != 1 || len(notes) != 0 {
			t.Fatalf("areas %v, notes %v", areas, notes)
		}
		a := areas[0]
		if math.Abs(a.Total-sum) > 1e-9 || math.Abs(a.TotalSE-math.Sqrt(errors)) > 1e-9 || math.Abs(a.DF-17) > 1e-6 {
			t.Fatalf("total %g se %g df %g, want %g %g 17", a.Total, a.TotalSE, a.DF, sum, math.Sqrt(errors))
		}
		if math.Abs(a.PerPage*float64(n)-a.Total) > 1e-9 || math.Abs(a.PerPageHigh*float64(n)-a.TotalHigh) > 1e-9 {
			t.Fatalf("per page and total disagree: %+v", a)
		}
	})
}

func TestAreaRefusesAndWarnsInWords(t *testing.T) {
	b := inventedBook(6, 5, 8)
	one := []measured{{page: 2, value: 0.1, variance: 1e-4, df: 9}, {page: 8, value: 0.2, variance: 1e-4, df: 9}}
	areas, notes := areasOf(b, one)
	if len(areas) != 0 || len(notes) != 2 || !strings.Contains(notes[0], "measure more pages") {
		t.Errorf("one page a section: %v %v", areas, notes)
	}
	var early []measured
	for i := range 4 {
		early = append(early, measured{page: 13 + i, value: 0.1 * float64(i), variance: 1e-4, df: 9})
	}
	areas, notes = areasOf(b, early)
	if len(areas) != 1 || areas[0].Section != 2 || len(notes) != 1 || !strings.Contains(notes[0], "all lie after 9r") {
		t.Errorf("section measured at its beginning only: %v %q", areas, notes)
	}
}

// The interval of the sum of true wear holds it in 95 % of all sections, where
// all pages are measured and where 20 % or 50 % are not, with sections of 4 to
// 40 pages, alike in their scatter or not, and a repeatability pooled from 20
// degrees of freedom that all pages of a book share.
//
// 300 books of 10 sections. Sections of one book share their repeatability, so
// the tolerance counts books, not sections: over books the share inside has a
// standard deviation of about 0.09 (all measured) or 0.07, so its mean is known
// to 0.005; three of those are allowed, and half a hundredth more for the
// approximations of Satterthwaite and of the shared scatter.
func TestAreaIntervalCoverage(t *testing.T) {
	sizes := []int{4, 5, 6, 8, 10, 12, 16, 20, 30, 40}
	for _, unlike := range []float64{0, 0.5} {
		for _, missing := range []float64{0, 0.2, 0.5} {
			share := areaCoverage(sizes, unlike, missing)
			t.Logf("scatters spread %.1f, %2.0f %% not measured: coverage %.4f", unlike, 100*missing, share)
			if low, high := 0.93, 0.97; share < low || share > high {
				t.Errorf("scatters spread %.1f, %.0f %% not measured: the interval holds the true sum in %.1f %% of the sections", unlike, 100*missing, 100*share)
			}
		}
	}
}

func areaCoverage(sizes []int, unlike, missing float64) float64 {
	const repeatability, df = 0.02, 20
	books := runs(300, 4000)
	b := inventedBook(sizes...)
	inside, all := 0.0, 0.0
	for seed := range uint64(books) {
		r := rand.New(rand.NewPCG(seed, 29))
		chi := 0.0
		for range df {
			z := r.NormFloat64()
			chi += z * z / df
		}
		var pages []measured
		truth := make([]float64, len(sizes))
		for s, section := range b.Sections {
			level, spread := 0.1+0.4*r.Float64(), 0.05*math.Exp(unlike*r.NormFloat64())
			left := int(math.Round(missing * float64(len(section.Pages))))
			for k, i := range r.Perm(len(section.Pages)) {
				true_ := level + spread*r.NormFloat64()
				truth[s] += true_
				if k < left {
					continue
				}
				pages = append(pages, measured{
					page:     section.Pages[i],
					value:    true_ + repeatability*r.NormFloat64(),
					variance: repeatability * repeatability * chi,
					df:       df,
				})
			}
		}
		areas, _ := areasOf(b, pages)
		for _, a := range areas {
			all++
			if a.TotalLow <= truth[a.Section] && truth[a.Section] <= a.TotalHigh {
				inside++
			}
		}
	}
	return inside / all
}

// Sections whose scatters are alike are nearly pooled; sections far apart keep
// their own; a section without one takes the common.
func TestLenderLendsAsFarAsSectionsAgree(t *testing.T) {
	own := []scatter{{1, 9}, {1.1, 9}, {0.9, 9}, {0, 0}}
	alike := learn(own)
	for _, s := range own[:3] {
		lent := alike.lend(s)
		near(t, "shared variance", lent.variance, 1, 0.05)
		if lent.df < 12 || lent.df > 27 {
			t.Errorf("degrees of freedom %g of 9 own and 27 in all", lent.df)
		}
	}
	near(t, "common variance", alike.lend(own[3]).variance, 1, 0.1)
	apart := learn([]scatter{{1, 50}, {100, 50}, {1e-2, 50}, {10, 50}, {1e-3, 50}})
	lent := apart.lend(scatter{100, 50})
	near(t, "own variance", lent.variance, 100, 0.15)
	if lent.df < 40 || lent.df > 60 {
		t.Errorf("%g degrees of freedom, beside 50 of its own and sections unlike it", lent.df)
	}
	if s := learn(make([]scatter, 3)).lend(scatter{}); s.df != 0 {
		t.Errorf("nothing known, yet %g degrees of freedom", s.df)
	}
}

// The grid against the library's F density.
func TestCommonLikelihoodIsThatOfF(t *testing.T) {
	s := scatter{variance: 0.7, df: 5}
	c := common{variance: 1.3, df: 8}
	got := c.logLikelihood([]scatter{s}) + logConstant(s.df, c.df) - math.Log(s.variance)
	want := distuv.F{D1: s.df, D2: c.df}.LogProb(s.variance/c.variance) - math.Log(c.variance)
	near(t, "log density of F", got, want, 1e-12)
	c.df = math.Inf(1)
	got = c.logLikelihood([]scatter{s}) + logConstant(s.df, c.df) - math.Log(s.variance)
	scale := s.df / c.variance
	want = distuv.ChiSquared{K: s.df}.LogProb(s.variance*scale) + math.Log(scale)
	near(t, "log density of χ²", got, want, 1e-12)
}
