package profile

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"

	"thumbed/models/codex"
	"thumbed/models/readings"
)

func rankedArea(section, measured, pages int, wear, se float64) Area {
	return Area{Section: section, Measured: measured, Pages: pages, PerPage: wear, PerPageSE: se, DF: 30}
}

func TestRankParts(t *testing.T) {
	p := &Profile{Areas: []Area{
		rankedArea(0, 8, 8, 0.10, 0.003), rankedArea(1, 2, 12, 0.90, 0.300), rankedArea(2, 8, 8, 0.30, 0.003),
		rankedArea(3, 1, 1, 0.295, 0.010), rankedArea(4, 4, 9, 0.20, 0.010),
	}}
	r := p.Rank()
	sections := func(areas []Area) (out []int) {
		for _, a := range areas {
			out = append(out, a.Section)
		}
		return out
	}
	for name, c := range map[string]struct{ got, want []int }{
		"order": {sections(r.Order), []int{2, 3, 4, 0}}, "alike": {sections(r.Alike), []int{3}}, "sparse": {sections(r.Sparse), []int{1}},
	} {
		if len(c.got) != len(c.want) {
			t.Fatalf("%s: %v, want %v", name, c.got, c.want)
		}
		for i := range c.got {
			if c.got[i] != c.want[i] {
				t.Errorf("%s: %v, want %v", name, c.got, c.want)
			}
		}
	}
	if r := (&Profile{Areas: p.Areas[:1]}).Rank(); len(r.Order) != 1 || r.Alike != nil {
		t.Errorf("one section: %+v", r)
	}
}

// Of ten sections equally worn it is hardly ever claimed that one is more worn
// than all others: at most 5 in 100 of 2,000 books, less three standard errors.
func TestRankClaimsNothingOfEqualSections(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 61))
	claimed := 0
	const books = 2000
	for range books {
		p := &Profile{}
		for i := range 10 {
			p.Areas = append(p.Areas, rankedArea(i, 8, 8, 0.2+0.01*r.NormFloat64(), 0.01))
		}
		if len(p.Rank().Alike) == 0 {
			claimed++
		}
	}
	if claimed > 130 {
		t.Errorf("claimed in %d of %d books", claimed, books)
	}
}

// Upper percentage points of the studentized range with infinite degrees of freedom
// (Pearson and Hartley 1966, Biometrika Tables for Statisticians I, table 29; from
// memory): the one-sided p of a pair at reach q/√2 is beyond the range with 5 and 1 %.
func TestBeyondRange(t *testing.T) {
	for _, c := range []struct {
		k        int
		q, level float64
	}{{2, 2.772, 0.05}, {3, 3.314, 0.05}, {10, 4.474, 0.05}, {20, 5.012, 0.05}, {3, 4.120, 0.01}, {10, 5.157, 0.01}} {
		if got := beyondRange(c.k, distuv.UnitNormal.CDF(-c.q/math.Sqrt2)); math.Abs(got-c.level) > 0.0003 {
			t.Errorf("the range of %d passes %.3f with %.5f, not %.2f", c.k, c.q, got, c.level)
		}
	}
	if beyondRange(30, 0) != 0 || beyondRange(30, 0.6) != 1 || beyondRange(30, 1e-12) < 0 {
		t.Error("the ends")
	}
}

// lengthsOfTexts are those of a book of four quires of sixteen pages.
var lengthsOfTexts = []int{6, 4, 4, 4, 4, 4, 4, 4, 4, 10, 10, 6}

// readAlike is a book whose texts are all worn alike, but for a raised one; pages
// scatter by 0.015, quires by so much, and a picture adds 0.05.
func readAlike(seed uint64, quires, raised float64) (*codex.Book, []readings.Wear) {
	r := rand.New(rand.NewPCG(seed, 1984))
	b := &codex.Book{ID: "B"}
	level := 0.0
	for s, pages := range lengthsOfTexts {
		b.Sections = append(b.Sections, codex.Section{Name: textName(s)})
		for k := range pages {
			i := len(b.Pages)
			b.Sections[s].Pages = append(b.Sections[s].Pages, i)
			b.Pages = append(b.Pages, codex.Page{Label: codex.PageLabel{Folio: codex.Folio{Number: i/2 + 1}, Side: codex.Side(i % 2)},
				Leaf: i / 2, Position: i + 1, Section: s, Picture: k == 1 && pages > 4, Incipit: k == 0})
			if i%2 == 0 {
				b.Leaves = append(b.Leaves, codex.Leaf{Quire: i / 16})
			}
		}
	}
	var wear []readings.Wear
	for i, p := range b.Pages {
		if i%16 == 0 {
			level = 0.2 + quires*r.NormFloat64()
		}
		w := level + 0.015*r.NormFloat64() + 0.007*r.NormFloat64()
		if p.Section == 9 {
			w += raised
		}
		if p.Picture {
			w += 0.05
		}
		wear = append(wear, readings.Wear{Page: i, Density: w, SE: 0.007, DF: 60})
	}
	return b, wear
}

// ranked ranks its texts at 5 %.
func ranked(t *testing.T, b *codex.Book, wear []readings.Wear) Ranking {
	t.Helper()
	pages, err := gather(b, 0, wear, nil)
	if err != nil {
		t.Fatal(err)
	}
	p := &Profile{}
	p.Areas, _ = areasOf(b, pages)
	p.beaten = compareTexts(b, 0, wear, nil).beaten(p.order().Order)
	return p.Rank()
}

// oracleLeavesOut counts the texts that generalised least squares with the true
// covariance leaves out by the same rule.
func oracleLeavesOut(b *codex.Book, wear []readings.Wear, quires float64) int {
	n, k := len(wear), len(b.Sections)
	v, x, y := mat.NewSymDense(n, nil), mat.NewDense(n, k+1, nil), mat.NewVecDense(n, nil)
	for i := range n {
		for j := i; j < n; j++ {
			if i/16 == j/16 {
				v.SetSym(i, j, quires*quires)
			}
		}
		v.SetSym(i, i, quires*quires+0.015*0.015+0.007*0.007)
		x.Set(i, b.Pages[i].Section, 1)
		x.Set(i, k, asNumber(b.Pages[i].Picture))
		y.SetVec(i, wear[i].Density)
	}
	var chol mat.Cholesky
	chol.Factorize(v)
	var vx, precision, covariance mat.Dense
	var xy, beta mat.VecDense
	_ = chol.SolveTo(&vx, x)
	precision.Mul(x.T(), &vx)
	_ = covariance.Inverse(&precision)
	xy.MulVec(vx.T(), y)
	beta.MulVec(&covariance, &xy)
	out := 0
	for i := range k {
		least := 1.0
		for j := range k {
			se := math.Sqrt(covariance.At(i, i) + covariance.At(j, j) - 2*covariance.At(i, j))
			if j != i {
				least = min(least, beyondRange(k, distuv.UnitNormal.CDF(-(beta.AtVec(j)-beta.AtVec(i))/se)))
			}
		}
		if least <= 0.05 {
			out++
		}
	}
	return out
}

// Where all texts are read alike, one is left out in at most 5 % of the books,
// however much quires differ; where one is read more, most of the others are, beside
// an oracle that knows the spreads.
func TestTextsThatMayBeReadMost(t *testing.T) {
	for _, quires := range []float64{0, 0.005, 0.015} {
		books := runs(40, 1000)
		any, own, oracles := 0, 0.0, 0.0
		for seed := range uint64(books) {
			b, wear := readAlike(seed, quires, 0)
			if r := ranked(t, b, wear); len(r.Alike) < len(r.Order)-1 {
				any++
			}
			b, wear = readAlike(seed, quires, 0.06)
			r := ranked(t, b, wear)
			own += float64(len(r.Order)-1-len(r.Alike)) / float64(books)
			oracles += float64(oracleLeavesOut(b, wear, quires)) / float64(books)
		}
		share := float64(any) / float64(books)
		t.Logf("quires differ by %g: a text is left out where all are alike in %.1f %% of %d books; where one is worn 0.06 more, %.1f of 11 others are, by the oracle %.1f", quires, 100*share, books, own, oracles)
		if limit := 0.05 + 3.3*math.Sqrt(0.05*0.95/float64(books)); share > limit {
			t.Errorf("quires differ by %g: a text is left out in %.1f %% of books where all are alike", quires, 100*share)
		}
		if own < 0.5*oracles {
			t.Errorf("quires differ by %g: %.1f texts are left out, by the oracle %.1f", quires, own, oracles)
		}
	}
}

// TestTextsOfUnknownObservers: where each half of a book was read by another observer,
// and nothing tells what they differ by, no text of one half is set below one of the
// other; where both read every other leaf, texts are set apart as ever.
func TestTextsOfUnknownObservers(t *testing.T) {
	shared := []readings.Source{{By: "observer", Why: "measure some pages again", Levels: []string{"A", "B"}}}
	half := lengthsOfTexts[0] + 8*4 // pages before the tenth text, which is raised
	for name, by := range map[string]func(page int) int{
		"apart":   func(page int) int { return min(page/half, 1) },
		"crossed": func(page int) int { return page / 2 % 2 },
	} {
		b, wear := readAlike(3, 0, 0.2)
		for i := range wear {
			wear[i].Shared = []readings.Loading{{Level: by(i), Weight: 1}}
		}
		pages, err := gather(b, 0, wear, nil)
		if err != nil {
			t.Fatal(err)
		}
		p := &Profile{}
		p.Areas, _ = areasOf(b, pages)
		p.beaten = compareTexts(b, 0, wear, shared).beaten(p.order().Order)
		if divided := p.Divided(b, wear, shared); len(divided) != map[string]int{"apart": 1, "crossed": 0}[name] {
			t.Errorf("%s: the first text is divided from others by %v", name, divided)
		}
		r := p.Rank()
		other := 0 // texts of the first half that may be worn most
		for _, a := range r.Alike {
			if a.Section < 9 {
				other++
			}
		}
		if want := map[string]int{"apart": 9, "crossed": 0}[name]; r.Order[0].Section != 9 || other != want || len(r.Alike) != want {
			t.Errorf("%s: first text %d, beside it %d, of the first half %d, want %d", name, r.Order[0].Section, len(r.Alike), other, want)
		}
	}
}

// TestIntervalsOfThoseThatStandOut: of ten pages tested two stand out at 5 %, so that
// their intervals are at 1 − 0.05·2/10 = 99 %: with infinite degrees of freedom 2.5758
// standard errors either way, those of the others 1.9600 (tables of the normal distribution).
func TestIntervalsOfThoseThatStandOut(t *testing.T) {
	p := &Profile{}
	for i := range 10 {
		p.Tests = append(p.Tests, Standout{Page: i, Excess: 0.1, SE: 0.01, DF: math.Inf(1), Q: []float64{0.001, 0.5}[min(i/2, 1)]})
	}
	p.At(unasked)
	if len(p.Standouts) != 2 {
		t.Fatalf("%d stand out", len(p.Standouts))
	}
	if s := p.Standouts[1]; math.Abs(s.Low-(0.1-0.025758)) > 1e-6 || math.Abs(p.Tests[1].High-(0.1+0.025758)) > 1e-6 {
		t.Errorf("%g to %g", s.Low, p.Tests[1].High)
	}
	if s := p.Tests[5]; math.Abs(s.High-(0.1+0.0196)) > 1e-6 {
		t.Errorf("not selected: up to %g", s.High)
	}
}
