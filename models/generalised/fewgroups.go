package generalised

import (
	"math"

	"thumbed/models/wording"
)

// Few groups. An effect of a column that is the same in all rows of each group of a
// random term is known from as many pieces of evidence as there are groups, however
// many rows they have. Its interval and p are by Student's t with as many degrees of
// freedom as there are groups more than such effects (containment; Pinheiro and Bates
// 2000, section 2.4.2), and with the standard error enlarged by √(groups/(groups −
// effects)), which is what maximum likelihood takes off a variance between groups that
// restricted likelihood does not. Both are exact in balanced linear models and
// approximate here; COVERAGE.md says how well they do. An adjusted mean, averaged over
// groups, rests on them as the intercept does.

// Way says how the standard error, the interval and p came about, with the degrees of
// freedom where there are some.
func (c Coefficient) Way() string {
	if c.DF == nil {
		return c.Method
	}
	return c.Method + " (" + wording.Fixed(*c.DF, 0) + " degrees of freedom)"
}

// evidence is what an effect's interval rests on.
type evidence struct {
	df      float64 // +∞ where the effect varies inside all groups
	enlarge float64 // of the standard error
}

// columnEvidence gives the evidence of every column of the patterns, the first being
// the intercept.
func (d *design) columnEvidence() []evidence {
	out := make([]evidence, d.columns)
	for c := range out {
		out[c] = evidence{math.Inf(1), 1}
	}
	for f := range d.random.factors {
		fac := &d.random.factors[f]
		if fac.groups >= d.n { // a group for each row
			continue
		}
		constant := d.constantIn(fac)
		effects := 0
		for _, is := range constant[:len(d.lay.Fixed)] {
			if is {
				effects++
			}
		}
		df := math.Max(1, float64(fac.groups-effects))
		for c, is := range constant {
			if is && df < out[c].df {
				out[c] = evidence{df, math.Sqrt(float64(fac.groups) / df)}
			}
		}
	}
	return out
}

// constantIn tells of each column whether it is the same in all rows of each group.
func (d *design) constantIn(fac *factor) []bool {
	first := make([]int32, fac.groups) // pattern of each group's first row, from 1
	out := make([]bool, d.columns)
	for c := range out {
		out[c] = true
	}
	for i, g := range fac.code {
		p := d.pattern[i]
		if first[g] == 0 {
			first[g] = p + 1
			continue
		}
		if first[g]-1 == p {
			continue
		}
		a, b := d.x[int(first[g]-1)*d.columns:], d.x[int(p)*d.columns:]
		for c := range out {
			out[c] = out[c] && a[c] == b[c]
		}
	}
	return out
}
