package profile

import (
	"math/rand/v2"
	"testing"
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
