package readers

import (
	"gonum.org/v1/gonum/mat"
)

// A stability is what came of parting drawn clouds anew.
type stability struct {
	jaccard []float64 // one a group: mean over the draws
	kept    []float64 // one a point: share of its draws in which it came into the group most like its own
}

// A drawn is a cloud drawn from another: which of its points each point is.
type drawn struct {
	*cloud
	from []int
}

// stable parts drawn clouds into as many groups and compares: for each group the
// Jaccard similarity to that group of the draw which is most like it, both seen
// on the points drawn, each counted once (Hennig 2007, Computational Statistics &
// Data Analysis 52, 258–271, section 2).
func (p *partition) stable(o Options, stream int, draw func(b int) drawn) stability {
	k, n := len(p.medoids), len(p.of)
	similar, again := make([][]float64, o.Draws), make([][]int8, o.Draws)
	each(o.Draws, func(b int) {
		d := draw(b)
		other := d.part(k, o.draws(stream, o.Draws+b))
		similar[b], again[b] = p.compare(other, d.from)
	})
	out := stability{jaccard: make([]float64, k), kept: make([]float64, n)}
	for g := range k {
		sum, seen := 0.0, 0.0
		for b := range similar {
			if s := similar[b][g]; s >= 0 {
				sum += s
				seen++
			}
		}
		out.jaccard[g] = sum / max(seen, 1)
	}
	for i := range n {
		stayed, seen := 0.0, 0.0
		for b := range again {
			if again[b][i] >= 0 {
				seen++
				stayed += float64(again[b][i])
			}
		}
		out.kept[i] = stayed / max(seen, 1)
	}
	return out
}

// compare gives the similarity of each group to the most similar one of the
// other partition, −1 where no point of it was drawn, and for each point whether
// it is in that one: 1, 0, or −1 where it was not drawn.
func (p *partition) compare(other *partition, from []int) (similar []float64, again []int8) {
	k := len(p.medoids)
	group := make([]int, len(p.of)) // of each point in the other partition
	for i := range group {
		group[i] = -1
	}
	for at, i := range from {
		group[i] = other.of[at]
	}
	own, others, both := make([]float64, k), make([]float64, k), make([]float64, k*k)
	for i, g := range group {
		if g >= 0 {
			own[p.of[i]]++
			others[g]++
			both[p.of[i]*k+g]++
		}
	}
	similar = make([]float64, k)
	like := make([]int, k)
	for a := range k {
		similar[a] = -1
		for b := range k {
			if union := own[a] + others[b] - both[a*k+b]; own[a] > 0 && both[a*k+b]/union > similar[a] {
				similar[a], like[a] = both[a*k+b]/union, b
			}
		}
	}
	again = make([]int8, len(p.of))
	for i, g := range group {
		switch {
		case g < 0:
			again[i] = -1
		case g == like[p.of[i]]:
			again[i] = 1
		}
	}
	return similar, again
}

// otherReaders draws as many readers from these, with replacement.
func (c *cloud) otherReaders(o Options) func(b int) drawn {
	return func(b int) drawn {
		draws := o.draws(resampled, b)
		from := make([]int, c.n)
		for i := range from {
			from[i] = draws.IntN(c.n)
		}
		return drawn{c.pick(from), from}
	}
}

// otherReadings draws each curve again with its errors.
func (c *cloud) otherReadings(errors []*mat.Dense, o Options) func(b int) drawn {
	from := make([]int, c.n)
	for i := range from {
		from[i] = i
	}
	return func(b int) drawn {
		draws := o.draws(remeasured, b)
		again := newCloud(c.n, c.d)
		copy(again.x, c.x)
		for i, r := range errors {
			addNormal(again.point(i), r, draws)
		}
		return drawn{again, from}
	}
}
