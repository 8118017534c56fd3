package mixed

import "slices"

// designDegrees are the degrees of freedom that a contrast of fixed effects has by
// the design alone, were it balanced: of each effect those of the groups that carry
// it, the fewest of all effects with a weight. Groups carry an effect that is the
// same in all rows of each of them, and one that itself varies between them; their
// degrees of freedom are their number less the effects that they carry and less
// those of the groups that hold them (containment; Littell and others 2006, section
// 5.5).
//
// Where a variance is estimated as zero those after Kenward and Roger may fall far
// below, since all that the variance might be counts against an estimate that has
// none of it.
func (d *design) designDegrees(weights []float64) float64 {
	least := float64(d.n - len(weights))
	for f := range d.factors {
		if d.factors[f].spline == nil {
			least -= float64(len(d.factors[f].groups) * d.factors[f].k)
		}
	}
	for f := range d.factors {
		fac := &d.factors[f]
		if fac.spline != nil {
			continue
		}
		own := d.ownDegrees(f)
		for j, w := range weights {
			if w != 0 && d.carried[f][j] {
				least = min(least, own)
			}
		}
	}
	return max(least, leastDegrees)
}

// ownDegrees are the degrees of freedom of a factor's groups.
func (d *design) ownDegrees(f int) float64 {
	fac := &d.factors[f]
	out := float64(len(fac.groups))
	for _, carried := range d.carried[f] {
		if carried {
			out--
		}
	}
	for e := range d.factors {
		outer := &d.factors[e]
		if e != f && outer.spline == nil && len(outer.groups) < len(fac.groups) && heldBy(fac.code, outer.code, len(fac.groups)) {
			out -= d.ownDegrees(e)
		}
	}
	return out
}

// carriedBy tells of each factor and column of a fixed effect whether the factor's
// groups carry it.
func (d *design) carriedBy(columns []column) [][]bool {
	out := make([][]bool, len(d.factors))
	for f := range d.factors {
		fac := &d.factors[f]
		for _, c := range columns {
			varies := slices.ContainsFunc(fac.z, func(z column) bool { return z.name == c.name })
			out[f] = append(out[f], varies || c.values == nil || constantWithin(c.values, fac.code, len(fac.groups)))
		}
	}
	return out
}

// heldBy tells whether each of the inner groups lies in one outer group.
func heldBy(inner, outer []int32, groups int) bool {
	of := make([]int32, groups)
	for i := range of {
		of[i] = -1
	}
	for i, g := range inner {
		if of[g] < 0 {
			of[g] = outer[i]
		}
		if of[g] != outer[i] {
			return false
		}
	}
	return true
}
