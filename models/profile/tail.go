package profile

import (
	"math"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

// suspectTail is the chance below which pages are said to scatter further
// upward than downward; fewestTail the pages on either side that the test needs.
const (
	suspectTail = 0.05
	fewestTail  = 20
)

// longTail tells whether the pages that do not stand out scatter further above
// the level of their section than below it. Then P, which takes the scatter to
// be normal, is too small, and some standouts are the tail of ordinary wear.
// The distances above are set against those below, each relative to its
// section's own scatter, by the rank-sum test (Wilcoxon 1945, Biometrics Bull.
// 1, 80–83), with the normal approximation.
func longTail(groups []group, out [][]bool) bool {
	var distance []float64
	var upward []bool
	for g := range groups {
		if groups[g].short {
			continue
		}
		kept := others(groups[g].pages, out[g], -1)
		level, scale := median(kept), mad(kept)
		if scale == 0 {
			continue
		}
		for _, v := range kept {
			if v != level {
				distance = append(distance, math.Abs(v-level)/scale)
				upward = append(upward, v > level)
			}
		}
	}
	return rankSum(distance, upward) < suspectTail
}

// rankSum is the one-sided p-value that the marked values tend to be greater
// than the others; 1 where there are too few of either.
func rankSum(values []float64, marked []bool) float64 {
	stat.SortWeightedLabeled(values, marked, nil)
	sum, n := 0.0, 0.0
	for i, above := range marked {
		if above {
			sum += float64(i + 1)
			n++
		}
	}
	m := float64(len(values)) - n
	if n < fewestTail || m < fewestTail {
		return 1
	}
	z := (sum - n*(n+m+1)/2) / math.Sqrt(n*m*(n+m+1)/12)
	return distuv.UnitNormal.Survival(z)
}
