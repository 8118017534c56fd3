package profile

import (
	"cmp"
	"math"
	"slices"
)

// falseDiscoveryRate is the usual rate of false ones that is kept among the pages said
// to stand out, on the average over books, and among those that are left out of the
// level and the scatter that others are held against.
const falseDiscoveryRate = 0.05

// FalseDiscovery adjusts p-values by the step-up procedure of Benjamini and
// Hochberg (1995, J. R. Stat. Soc. B 57, 289–300): those with an adjusted value
// at or below q are rejected at false-discovery rate q, for independent tests
// and for those positively dependent on one another (Benjamini and Yekutieli
// 2001). The order is kept. A NaN stands for a test that could not be made: it
// stays NaN and is not counted.
func FalseDiscovery(p []float64) []float64 {
	adjusted := make([]float64, len(p))
	var order []int
	for i, v := range p {
		adjusted[i] = v
		if !math.IsNaN(v) {
			order = append(order, i)
		}
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(p[b], p[a]) })
	least := 1.0
	for k, i := range order { // from the greatest p down
		rank := len(order) - k
		least = math.Min(least, p[i]*(float64(len(order))/float64(rank)))
		adjusted[i] = least
	}
	return adjusted
}
