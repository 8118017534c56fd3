package hypotheses

import (
	"cmp"
	"math"
	"slices"
)

// Adjust settles answers in place among their families: P and Against are each
// adjusted by Holm's method over the answers of one family, and verdicts and
// sentences follow the adjusted values. Where a model is fitted book by book,
// each book's answer counts.
func Adjust(answers []Answer) {
	families := make(map[string][]int)
	for i, a := range answers {
		families[a.Question.Family] = append(families[a.Question.Family], i)
	}
	for _, members := range families {
		adjustFamily(answers, members)
	}
}

func adjustFamily(answers []Answer, members []int) {
	p, against := make([]float64, len(members)), make([]float64, len(members))
	for k, i := range members {
		p[k], against[k] = answers[i].P, math.NaN()
		if answers[i].Against != nil {
			against[k] = *answers[i].Against
		}
	}
	p, against = Holm(p), Holm(against)
	for k, i := range members {
		a := &answers[i]
		a.Together, a.Adjusted = len(members), p[k]
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
