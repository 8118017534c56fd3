package hypotheses

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"thumbed/models/profile"
	"thumbed/models/table"
)

// A Family says how the answers of one family are adjusted.
type Family struct {
	Name string `toml:"name" json:"name"` // as the questions have it; empty for those that name none
	// what is held at 5 %: the chance of any false claim (where not given; “holm”
	// means the same), or the rate of false claims among all that are made
	Adjust string `toml:"adjust" json:"adjust" words:"any false claim / holm / false discovery"`
}

// The ways of adjusting: the chance of any false claim is held, or the share of
// false claims among all that are made, which suits many questions of one kind, each
// of which will be looked into again.
const (
	anyFalse       = "any false claim"
	anyFalseBefore = "holm" // what it was called in study files until intervals were adjusted with it
	falseDiscovery = "false discovery"
)

// Check gives what is wrong with how a family is adjusted, with the key in
// Column; families are the names that questions use.
func (f Family) Check(families []string) []table.Problem {
	var ps []table.Problem
	if !slices.Contains(families, f.Name) {
		ps = append(ps, table.Problem{Column: "name", Value: f.Name, Expected: "a family that some question names: " + strings.Join(families, ", "), Remedy: meant(f.Name, families)})
	}
	if ways := []string{anyFalse, falseDiscovery}; !slices.Contains(append(ways, anyFalseBefore, ""), f.Adjust) {
		ps = append(ps, table.Problem{Column: "adjust", Value: f.Adjust, Expected: anyFalse + " or " + falseDiscovery, Remedy: meant(f.Adjust, ways)})
	}
	return ps
}

// An Adjustment says over what answers are adjusted.
type Adjustment struct {
	Families []Family // that are not adjusted as usual
	// Separately holds the chance of a false claim in each family by itself; else it is
	// held over all families together.
	Separately bool
	// Elsewhere are answers of fits that are not at hand, adjusted together with these.
	Elsewhere int
}

// Together tells whether answers to two questions are adjusted together.
func (how Adjustment) Together(a, b Question) bool {
	return how.poolOf(a.Family) == how.poolOf(b.Family)
}

// A pool is answers that are adjusted together.
type pool struct {
	family string
	rate   bool
}

// poolOf is that of the answers of a family.
func (how Adjustment) poolOf(family string) pool {
	rate := slices.ContainsFunc(how.Families, func(f Family) bool { return f.Name == family && f.Adjust == falseDiscovery })
	if rate || how.Separately {
		return pool{family, rate}
	}
	return pool{}
}

// Adjust settles answers in place: all those adjusted together share one chance of
// 5 % that any of their intervals misses the truth, and so that any yes or no is
// false. Within one fit the intervals are simultaneous by the joint distribution of
// the contrasts' t (Hochberg and Tamhane 1987); the fits share the chance by
// Bonferroni's inequality, each by its number of questions.
//
// A family that holds the rate of false discoveries stands by itself: answers are
// selected as Benjamini and Hochberg (1995, J. R. Stat. Soc. B 57, 289–300) do, and
// R selected of m have intervals at 1 − 0.05·R/m, of which on average at most 5 %
// miss (Benjamini and Yekutieli 2005, J. Am. Stat. Assoc. 100, 71–81).
//
// Where a model is fitted book by book, each book's answer counts.
func Adjust(answers []Answer, how Adjustment) {
	pools := map[pool][]*Answer{}
	for i := range answers {
		p := how.poolOf(answers[i].Question.Family)
		pools[p] = append(pools[p], &answers[i])
	}
	for p, members := range pools {
		if p.rate {
			holdRate(members, how.Elsewhere)
		} else {
			holdAny(members, how.Elsewhere)
		}
		for _, a := range members {
			a.Together, a.Rate = len(members)+how.Elsewhere, p.rate
			a.settle()
		}
	}
}

// manyFits is from how many fits their contrasts are no longer taken jointly:
// Bonferroni's inequality over all of them then costs little and no time.
const manyFits = 100

// holdAny holds the chance of any false claim, which so many answers elsewhere share.
func holdAny(answers []*Answer, elsewhere int) {
	type fit struct{ model, book, added string }
	fits := map[fit][]*Answer{}
	for _, a := range answers {
		of := fit{a.Question.Model, a.Book, ""}
		if a.Rests != nil {
			of.added = strings.Join(append(slices.Clone(a.Rests.Added), a.Rests.Sources...), ", ")
		}
		fits[of] = append(fits[of], a)
	}
	all := float64(len(answers) + elsewhere)
	for _, members := range fits {
		// whatever order they come in, the same digits
		slices.SortStableFunc(members, func(a, b *Answer) int { return strings.Compare(a.Question.Words, b.Question.Words) })
		share := float64(len(members)) / all
		outside := func(p float64) float64 { return min(1, p*float64(len(members))) }
		each := level / all
		if len(fits) < manyFits && len(members) > 1 {
			d := jointOf(members)
			outside, each = d.outside, d.each(level*share)
		} else if len(members) == 1 {
			each = level * share
		}
		for _, a := range members {
			a.Level = each
			a.Adjusted = min(1, outside(a.claimsYes())/share)
			if a.Against != nil {
				no := min(1, outside(a.claimsNo())/share)
				a.AgainstAdjusted = &no
			}
		}
	}
}

// holdRate holds the rate of false discoveries, yes and no alike being discoveries;
// none of the answers elsewhere counts as one.
func holdRate(answers []*Answer, elsewhere int) {
	m := float64(len(answers) + elsewhere)
	claims := make([]float64, len(answers)) // the level at which each would just claim something
	for i, a := range answers {
		claims[i] = min(a.claimsYes(), a.claimsNo())
	}
	adjusted := profile.FalseDiscovery(claims)
	selected := 0.0
	for i, q := range adjusted {
		adjusted[i] = min(1, q*m/float64(len(answers)))
		if adjusted[i] <= level {
			selected++
		}
	}
	for i, a := range answers {
		a.Level = level * max(1, selected) / m
		rate := func(p float64) float64 {
			if p <= claims[i] {
				return adjusted[i]
			}
			return max(adjusted[i], min(1, p*m/max(1, selected)))
		}
		a.Adjusted = rate(a.claimsYes())
		if a.Against != nil {
			no := rate(a.claimsNo())
			a.AgainstAdjusted = &no
		}
	}
}

// Holm adjusts p-values by the step-down procedure of Holm (1979, Scand. J.
// Stat. 6, 65–70): rejecting those with an adjusted value at or below α keeps
// the chance of any false rejection at most α, whatever the dependence between
// the tests. The order is kept. A NaN stands for a test that could not be made:
// it stays NaN and is not counted.
func Holm(p []float64) []float64 {
	adjusted := slices.Clone(p)
	var order []int
	for i, v := range p {
		if !math.IsNaN(v) {
			order = append(order, i)
		}
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(p[a], p[b]) })
	greatest := 0.0
	for k, i := range order {
		greatest = math.Max(greatest, math.Min(1, p[i]*float64(len(order)-k)))
		adjusted[i] = greatest
	}
	return adjusted
}
