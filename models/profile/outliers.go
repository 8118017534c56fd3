package profile

import (
	"math"
	"strings"

	"thumbed/models/codex"
	"thumbed/models/readings"
)

// standsApart is from how many standard deviations of the difference a value
// stands apart from its neighbours. Of normal values one in some hundred million
// does, of such with heavy tails (Student's t with 3 degrees of freedom) one in
// some hundred.
const standsApart = 6

// Outliers gives the indices of values that stand apart from both their neighbours:
// to the same side of them, by more than chance between single values would bring,
// and by far more than these stand apart from each other. The first and the last
// are held against the two next to them. variances are those of single values
// about what they share with their neighbours, of measuring too, in the square of
// the values' unit. Such a value is no level of anything; as one it would bend what
// is said of its neighbours.
func Outliers(values, variances []float64) []int {
	n := len(values)
	if n < 3 {
		return nil
	}
	var out []int
	for i, v := range values {
		a, b := Beside(i, n)
		one, other := v-values[a], v-values[b]
		off, between := min(math.Abs(one), math.Abs(other)), math.Abs(one-other)
		if one*other > 0 && 4*between <= off && off > standsApart*math.Sqrt(variances[i]+max(variances[a], variances[b])) {
			out = append(out, i)
		}
	}
	return out
}

// Beside gives the two of n values, three or more, against which that with index i
// is held: its neighbours; for the first and the last the two next to them.
func Beside(i, n int) (a, b int) {
	switch i {
	case 0:
		return 2, 1
	case n - 1:
		return n - 2, n - 3
	}
	return i - 1, i + 1
}

// leastApart is the fewest pages of text among which one is said to stand apart,
// and leastSharing the fewest of its own section: the one page of a prayer that was
// loved more than all others is that prayer's level, and no stain.
const (
	leastApart   = 10
	leastSharing = 3
)

// stained tells which pages of text stand apart from the pages of text on either
// side, each held against the scatter between neighbours: the median absolute
// difference, which a few steps and stains do not lengthen. Such a page is left
// out of the curve: a stain, a drop of wax or a page that was kissed is not what
// its section shares. stretches are the sections by position from first.
func stained(b *codex.Book, pages []measured, stretches []int, first int) []bool {
	out := make([]bool, len(pages))
	var at []int
	var values []float64
	sharing := map[int]int{}
	stretch := func(i int) int { return stretches[b.Pages[pages[i].page].Position-first] }
	for i, p := range pages {
		if !b.Pages[p.page].Picture && p.limit != readings.Below {
			at, values = append(at, i), append(values, p.value)
			sharing[stretch(i)]++
		}
	}
	if len(values) < leastApart {
		return out
	}
	var steps, own []float64
	for k := 1; k < len(values); k++ {
		steps = append(steps, math.Abs(values[k]-values[k-1]))
		own = append(own, pages[at[k]].variance+pages[at[k-1]].variance)
	}
	sd := 1.4826 * median(steps)
	scatter := max(sd*sd-median(own), 0) / 2
	variances := make([]float64, len(values))
	for k, i := range at {
		variances[k] = scatter + pages[i].variance
	}
	for _, k := range Outliers(values, variances) {
		out[at[k]] = sharing[stretch(at[k])] >= leastSharing
	}
	return out
}

// apartNote names the pages that the curve leaves out; empty where there are none.
func apartNote(b *codex.Book, pages []int) string {
	var named []string
	for _, page := range pages {
		named = append(named, nameOf(b, page))
	}
	switch len(named) {
	case 0:
		return ""
	case 1:
		return "f. " + named[0] + " stands far apart from the pages of text on either side, and the curve leaves it out; the area of its section does not. If it is a stain, exclude its readings and say why."
	}
	return "ff. " + strings.Join(named, ", ") + " stand far apart from the pages of text on either side, and the curve leaves them out; the areas of their sections do not. What is a stain, exclude with its readings and say why."
}
