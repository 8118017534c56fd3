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
	Name   string `toml:"name" json:"name"`     // as the questions have it; empty: those that name none
	Adjust string `toml:"adjust" json:"adjust"` // "holm" (the default) or "false discovery"
}

// The ways of adjusting: the chance of any false claim in a family is held, or
// the share of false claims among all that are made, which suits many questions
// of one kind, each of which will be looked into again.
const (
	holm           = "holm"
	falseDiscovery = "false discovery"
)

// Check gives what is wrong with how a family is adjusted, with the key in
// Column; families are the names that questions use.
func (f Family) Check(families []string) []table.Problem {
	var ps []table.Problem
	if !slices.Contains(families, f.Name) {
		ps = append(ps, table.Problem{Column: "name", Value: f.Name, Expected: "a family that some question names: " + strings.Join(families, ", "), Remedy: meant(f.Name, families)})
	}
	if ways := []string{holm, falseDiscovery}; !slices.Contains(append(ways, ""), f.Adjust) {
		ps = append(ps, table.Problem{Column: "adjust", Value: f.Adjust, Expected: "holm or false discovery", Remedy: meant(f.Adjust, ways)})
	}
	return ps
}

// Adjust settles answers in place among their families: P and Against are each
// adjusted over the answers of one family, by Holm's method or as the family
// says, and verdicts and sentences follow the adjusted values. Where a model is
// fitted book by book, each book's answer counts.
func Adjust(answers []Answer, ways ...Family) {
	rate := map[string]bool{}
	for _, f := range ways {
		rate[f.Name] = f.Adjust == falseDiscovery
	}
	families := make(map[string][]int)
	for i, a := range answers {
		families[a.Question.Family] = append(families[a.Question.Family], i)
	}
	for name, members := range families {
		adjustFamily(answers, members, rate[name])
	}
}

func adjustFamily(answers []Answer, members []int, rate bool) {
	by := Holm
	if rate {
		by = profile.FalseDiscovery
	}
	p, against := make([]float64, len(members)), make([]float64, len(members))
	for k, i := range members {
		p[k], against[k] = answers[i].P, math.NaN()
		if answers[i].Against != nil {
			against[k] = *answers[i].Against
		}
	}
	p, against = by(p), by(against)
	for k, i := range members {
		a := &answers[i]
		a.Together, a.Adjusted, a.Rate = len(members), p[k], rate
		if a.Against != nil {
			a.AgainstAdjusted = &against[k]
		}
		a.settle()
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
