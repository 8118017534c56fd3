package mixed_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"runtime"
	"strconv"
	"strings"
	"sync"
	"testing"

	"thumbed/models/mixed"
	"thumbed/models/table"

	"gonum.org/v1/gonum/stat/distuv"
)

// A coverageDesign is one plan of the coverage study.
type coverageDesign struct {
	name, about, model string
	pages              []int // of each book
	draw               func(d coverageDesign, r *rand.Rand) *table.Table
	truth              []float64 // of the parameters, in the order of Parameters
	spreads            []string  // what the parameters after the fixed effects are
	slope              float64   // sd of the picture's effect between books, where books are few
	few                bool
}

// The truth of every study, invented.
const (
	truePicture, trueLay              = 0.4, 0.3
	trueBook, trueSlope, trueQuire, e = 0.5, 0.3, 0.25, 0.5
	trueRho                           = 0.6
	pagesOfQuire                      = 8
)

const coverageFixed = `outcome = "wear"
fixed = ["picture", "lay"]
[levels]
picture = ["no", "yes"]
lay = ["no", "yes"]
`

const coverageFew = coverageFixed + `[[random]]
by = "book"
terms = ["intercept", "picture"]
`

// drawFew makes one study of a few books.
func (d coverageDesign) drawFew(r *rand.Rand) *table.Table {
	var book, picture, lay []string
	var wear []float64
	for b, pages := range d.pages {
		level, slope := trueBook*r.NormFloat64(), d.slope*r.NormFloat64()
		owner, share := "no", 0.0
		if b%2 == 1 {
			owner, share = "yes", trueLay
		}
		for p := range pages {
			y, label := 1+level+share+e*r.NormFloat64(), "no"
			if r.IntN(2) == 0 || p == 0 {
				y, label = y+truePicture+slope, "yes"
			}
			book, picture, lay, wear = append(book, fmt.Sprint(b+1)), append(picture, label), append(lay, owner), append(wear, y)
		}
	}
	return tableOf(table.Labels("book", book), table.Labels("picture", picture), table.Labels("lay", lay), table.Numbers("wear", wear))
}

func coverageDesigns() []coverageDesign {
	even := func(books, pages int) []int {
		out := make([]int, books)
		for b := range out {
			out[b] = pages
		}
		return out
	}
	uneven := make([]int, 20)
	for b := range uneven {
		uneven[b] = 8 + (b*b*7)%57
	}
	quires := coverageDesign{draw: coverageDesign.drawQuires, truth: []float64{1, truePicture, trueLay, trueBook, trueSlope, trueQuire, e},
		spreads: []string{"sd between books", "sd of picture between books", "sd between quires", "sd between single pages"},
		model: coverageFixed + `[[random]]
by = "book"
terms = ["intercept", "picture"]
[[random]]
by = ["book", "quire"]
terms = ["intercept"]
`}
	along := coverageDesign{draw: coverageDesign.drawAlong, truth: []float64{1, truePicture, trueLay, trueBook, e, trueRho},
		spreads: []string{"sd between books", "sd between single pages", "correlation of neighbours"},
		model: coverageFixed + `[[random]]
by = "book"
terms = ["intercept"]
[residual]
along = "page"
within = "book"
`}
	plan := func(d coverageDesign, name, about string, pages []int) coverageDesign {
		d.name, d.about, d.pages = name, about, pages
		return d
	}
	few := func(books int, slope float64) coverageDesign {
		d := plan(coverageDesign{draw: coverageDesign.drawFew, slope: slope, few: true, truth: []float64{1, truePicture, trueLay, trueBook, slope, e},
			spreads: []string{"sd between books", "sd of picture between books", "sd between single pages"}, model: coverageFew},
			fmt.Sprintf("%d books, picture's effect differing by %g", books, slope), fmt.Sprintf("%d books of 60 pages, pictures on half of them at random; no quires", books), even(books, 60))
		return d
	}
	return []coverageDesign{
		plan(quires, "balanced", "20 books of 32 pages, every fourth with a picture", even(20, 32)),
		plan(quires, "unbalanced", "20 books of 8 to 64 pages, pictures at random, more of them in longer books", uneven),
		plan(quires, "small", "6 books of 32 pages, every fourth with a picture", even(6, 32)),
		plan(along, "neighbours alike", "12 books of 40 pages, every tenth lost, pictures at random, neighbouring pages correlated; no quires and no slope", even(12, 40)),
		few(3, 0), few(3, 0.2), few(4, 0), few(4, 0.2), few(6, 0), few(6, 0.2), few(12, 0), few(12, 0.2),
	}
}

// drawAlong makes one study in which neighbouring pages are alike.
func (d coverageDesign) drawAlong(r *rand.Rand) *table.Table {
	var book, picture, lay []string
	var page, wear []float64
	for b, pages := range d.pages {
		level, noise := trueBook*r.NormFloat64(), r.NormFloat64()
		owner, share := "no", 0.0
		if b%2 == 1 {
			owner, share = "yes", trueLay
		}
		for p := range pages {
			noise = trueRho*noise + math.Sqrt(1-trueRho*trueRho)*r.NormFloat64()
			if p%10 == 6 {
				continue // a lost page
			}
			y, label := 1+level+share+e*noise, "no"
			if r.IntN(4) == 0 || p == 0 {
				y, label = y+truePicture, "yes"
			}
			book, page = append(book, fmt.Sprint(b+1)), append(page, float64(p+1))
			picture, lay, wear = append(picture, label), append(lay, owner), append(wear, y)
		}
	}
	return tableOf(table.Labels("book", book), table.Numbers("page", page), table.Labels("picture", picture), table.Labels("lay", lay), table.Numbers("wear", wear))
}

func tableOf(columns ...*table.Column) *table.Table {
	t, err := table.New(columns...)
	if err != nil {
		panic(err)
	}
	return t
}

// drawQuires makes one study of books with quires.
func (d coverageDesign) drawQuires(r *rand.Rand) *table.Table {
	var book, quire, picture, lay []string
	var wear []float64
	for b, pages := range d.pages {
		level, slope, own := trueBook*r.NormFloat64(), trueSlope*r.NormFloat64(), 0.0
		owner, share := "no", 0.0
		if b%2 == 1 {
			owner, share = "yes", trueLay
		}
		for p := range pages {
			if p%pagesOfQuire == 0 {
				own = trueQuire * r.NormFloat64()
			}
			shown := p%4 == 1
			if d.name == "unbalanced" {
				shown = r.Float64() < 0.1+0.006*float64(pages) || p == 0
			}
			y, label := 1+level+share+own+e*r.NormFloat64(), "no"
			if shown {
				y, label = y+truePicture+slope, "yes"
			}
			book, quire = append(book, fmt.Sprint(b+1)), append(quire, fmt.Sprint(p/pagesOfQuire+1))
			picture, lay, wear = append(picture, label), append(lay, owner), append(wear, y)
		}
	}
	return tableOf(table.Labels("book", book), table.Labels("quire", quire), table.Labels("picture", picture), table.Labels("lay", lay), table.Numbers("wear", wear))
}

// coverageEffects are the fixed effects, in order.
var coverageEffects = []string{"intercept", "picture=yes", "lay=yes"}

// A coverageCount counts the studies whose intervals hold the truth.
type coverageCount struct {
	normal, satterthwaite, kenwardRoger [3]int
	profile                             [4]int
	open                                [4]int // of those, with an open end at zero
	dfS, dfK                            [3]float64
	boundary, failed                    int
}

// look counts one study.
func (c *coverageCount) look(m mixed.Model, data *table.Table, truth []float64) error {
	fit, err := m.Fit(data)
	if err != nil {
		return err
	}
	if !fit.Converged {
		c.failed++
		return nil
	}
	if len(fit.Boundary) > 0 {
		c.boundary++
	}
	kr, err := fit.KenwardRoger()
	if err != nil {
		return err
	}
	holds := func(low, high, truth float64) int {
		if low <= truth && truth <= high {
			return 1
		}
		return 0
	}
	half := distuv.UnitNormal.Quantile(0.975)
	adjusted := kr.Fixed()
	for j, s := range fit.Fixed {
		c.normal[j] += holds(s.Estimate-half*s.SE, s.Estimate+half*s.SE, truth[j])
		c.satterthwaite[j] += holds(s.Low, s.High, truth[j])
		c.kenwardRoger[j] += holds(adjusted[j].Low, adjusted[j].High, truth[j])
		c.dfS[j] += s.DF
		c.dfK[j] += adjusted[j].DF
	}
	if len(truth) == 6 && truth[4] == 0 {
		return nil // an interval that begins at zero holds a zero
	}
	intervals, err := fit.Profile(0.95)
	if err != nil {
		return err
	}
	for j, i := range intervals[3:] {
		c.profile[j] += holds(i.Low, i.High, truth[3+j])
		if i.OpenLow {
			c.open[j]++
		}
	}
	return nil
}

// run counts all studies of a design, in parallel; each study has a seed of its
// own, and counts do not depend on the order in which they are added.
func (d coverageDesign) run(t *testing.T, studies int) coverageCount {
	m := parse(t, satterthwaiteText+d.model)
	counts := make([]coverageCount, studies)
	errs := make([]error, studies)
	var wait sync.WaitGroup
	next := make(chan int)
	for range runtime.GOMAXPROCS(0) {
		wait.Add(1)
		go func() {
			defer wait.Done()
			for k := range next {
				errs[k] = counts[k].look(m, d.draw(d, rand.New(rand.NewPCG(uint64(k), uint64(len(d.pages))))), d.truth)
			}
		}()
	}
	for k := range studies {
		next <- k
	}
	close(next)
	wait.Wait()
	var sum coverageCount
	for k, c := range counts {
		if errs[k] != nil {
			t.Fatalf("%s, study %d: %v", d.name, k, errs[k])
		}
		for j := range 3 {
			sum.normal[j] += c.normal[j]
			sum.satterthwaite[j] += c.satterthwaite[j]
			sum.kenwardRoger[j] += c.kenwardRoger[j]
			sum.dfS[j] += c.dfS[j]
			sum.dfK[j] += c.dfK[j]
		}
		for j := range 4 {
			sum.profile[j] += c.profile[j]
			sum.open[j] += c.open[j]
		}
		sum.boundary += c.boundary
		sum.failed += c.failed
	}
	return sum
}

// TestCoverage simulates studies and counts how often 95 % intervals hold the
// truth: 2,000 studies of each design with THUMBED_SLOW=1, or as many as
// COVERAGE_STUDIES says, whose table is then written to COVERAGE.md; 40 of each otherwise. An interval passes where its
// share is within three standard errors of 95 %, with 1.5 % more allowed below
// (intervals with estimated variances are approximate) and none above (with few
// groups they are cautious).
func TestCoverage(t *testing.T) {
	studies := 40
	slow := os.Getenv("THUMBED_SLOW") != ""
	if slow {
		studies = 2000
		if n, err := strconv.Atoi(os.Getenv("COVERAGE_STUDIES")); err == nil {
			studies = n
		}
	}
	least := 0.95 - 3*math.Sqrt(0.95*0.05/float64(studies)) - 0.015
	var page strings.Builder
	page.WriteString(coverageHead)
	for _, d := range coverageDesigns() {
		c := d.run(t, studies)
		n := float64(studies - c.failed)
		if c.failed > studies/100 {
			t.Errorf("%s: %d of %d fits did not converge", d.name, c.failed, studies)
		}
		fmt.Fprintf(&page, "\n## %s\n\n%s. %d studies, %d fits did not converge; in %.1f %% a variance was estimated as zero.\n\n", strings.ToUpper(d.name[:1])+d.name[1:], d.about, studies, c.failed, 100*float64(c.boundary)/n)
		page.WriteString("| fixed effect | normal | Satterthwaite | mean df | Kenward–Roger | mean df |\n| --- | --- | --- | --- | --- | --- |\n")
		for j, name := range coverageEffects {
			fmt.Fprintf(&page, "| %s | %.1f | %.1f | %.1f | %.1f | %.1f |\n", name, 100*float64(c.normal[j])/n, 100*float64(c.satterthwaite[j])/n, c.dfS[j]/n, 100*float64(c.kenwardRoger[j])/n, c.dfK[j]/n)
			for method, held := range map[string]int{"Satterthwaite": c.satterthwaite[j], "Kenward–Roger": c.kenwardRoger[j]} {
				// with few books Satterthwaite's is what the other is there to mend
				if share := float64(held) / n; share < least && !(d.few && method == "Satterthwaite") {
					t.Errorf("%s: the %s interval of %s holds the truth in %.1f %%", d.name, method, name, 100*share)
				}
			}
		}
		page.WriteString("\n| standard deviation, correlation | profile of the restricted likelihood | of the intervals, open at zero |\n| --- | --- | --- |\n")
		for j, name := range d.spreads {
			if d.few && d.slope == 0 {
				continue
			}
			share := float64(c.profile[j]) / n
			fmt.Fprintf(&page, "| %s | %.1f | %.1f |\n", name, 100*share, 100*float64(c.open[j])/n)
			if share < least {
				t.Errorf("%s: the profile interval of the %s holds the truth in %.1f %%", d.name, name, 100*share)
			}
		}
	}
	t.Logf("\n%s", page.String())
	if slow {
		if err := os.WriteFile("COVERAGE.md", []byte(page.String()), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

const coverageHead = `# How often intervals hold the truth

Written by TestCoverage of this package with THUMBED_SLOW=1. Invented studies are
drawn from a known truth and fitted by restricted likelihood; the numbers are the
share of studies, in per cent, whose 95 % interval holds the truth. The standard
error of a share near 95 is 0.5 over 2,000 studies, 1.3 over 300.

The truth: mean 1, pages with a picture 0.4 more, books of lay owners 0.3 more
(every second book); standard deviations of 0.5 between books, 0.3 of the
picture's effect between books, 0.25 between quires of eight pages, 0.5 between
pages; where neighbouring pages are alike, their correlation is 0.6. The model
fitted is the one drawn from. Where books are few, the picture's effect differs
between them as the heading says; a fit reports Kenward and Roger's intervals
wherever they can be computed.

"normal" takes the standard error and 1.96, as if the variances were known: it is
what the degrees of freedom are there to mend.
`
