package mixed

import (
	"fmt"
	"math"
	"slices"
	"strings"
)

// A factor is one way of naming groups, with everything that varies between
// them: all random terms that share their by columns.
type factor struct {
	by     []string
	groups []string  // labels of the groups
	code   []int32   // n: the group of each row
	k      int       // columns that vary between groups
	z      []column  // k columns, each divided by its unit
	units  []float64 // the root mean square of each column before
	blocks []varying // its random terms, or its one smooth

	// where the factor is a smooth's bends
	spline *spline
	smooth int       // the model's smooth
	x      []float64 // n: the smooth's column
}

// varying is one random term inside a factor: its columns and whether they may
// be correlated.
type varying struct {
	random      int // the model's random term; −1 for a smooth's bends
	first, size int
	correlated  bool
	// shared tells that one variance serves all columns, as for the
	// coefficients of a smooth.
	shared bool
}

// unit is the length that a factor's column has been scaled by, see
// [layer.scaleColumns].
func (f *factor) unit(k int) float64 { return f.units[k] }

// readFactors gathers the random terms by the columns that name their groups.
func (l *layer) readFactors(d *design) {
	where := map[string]int{}
	for t, r := range l.model.Random {
		key := strings.Join(r.By, "\x00")
		f, known := where[key]
		if !known {
			f = len(d.factors)
			where[key] = f
			g := l.grouped(r.By...)
			d.factors = append(d.factors, factor{by: r.By, groups: g.groups, code: g.code})
		}
		fac := &d.factors[f]
		first := fac.k
		for _, name := range r.Terms {
			for _, c := range l.features(name) {
				if slices.ContainsFunc(fac.z, func(have column) bool { return have.name == c.name }) {
					l.problem("", c.name+" by "+strings.Join(r.By, ", "), "each term once for the same groups", "delete the repetition")
				}
				fac.z = append(fac.z, c)
				fac.k++
			}
		}
		fac.blocks = append(fac.blocks, varying{random: t, first: first, size: fac.k - first, correlated: r.Correlated})
	}
	for f := range d.factors {
		l.checkFactor(d, &d.factors[f])
		for e := range f {
			l.checkTwins(&d.factors[e], &d.factors[f])
		}
	}
	l.readSmooths(d)
	for f := range d.factors {
		d.factors[f].scaleColumns()
	}
}

// scaleColumns brings columns of unlike size to a common one, so that the
// variance parameters are of like size too. The columns are copied. Columns of
// one variance keep their sizes against each other.
func (f *factor) scaleColumns() {
	for k, c := range f.z {
		if c.values == nil {
			f.units = append(f.units, 1)
			continue
		}
		sum := 0.0
		for _, v := range c.values {
			sum += v * v
		}
		unit := math.Sqrt(sum / float64(len(c.values)))
		if unit == 0 {
			unit = 1
		}
		f.units = append(f.units, unit)
		scaled := make([]float64, len(c.values))
		for i, v := range c.values {
			scaled[i] = v / unit
		}
		f.z[k].values = scaled
	}
	if f.spline != nil {
		f.shareUnit()
	}
}

// shareUnit scales all columns by one number instead of each by its own.
func (f *factor) shareUnit() {
	sum := 0.0
	for _, u := range f.units {
		sum += u * u
	}
	unit := math.Sqrt(sum / float64(f.k))
	for k := range f.units {
		for i := range f.z[k].values {
			f.z[k].values[i] *= f.units[k] / unit
		}
		f.units[k] = unit
	}
}

// A grouping is the rows used by the groups that one or several columns name.
type grouping struct {
	groups []string // their labels, in order of first appearance
	code   []int32  // the group of each row used
}

// grouped is the grouping that columns name: of several, each combination of
// their labels that occurs is a group.
func (l *layer) grouped(by ...string) grouping {
	out := l.groupedBy(by[0])
	for _, name := range by[1:] {
		out = out.within(l.groupedBy(name))
	}
	return out
}

// groupedBy is the grouping that one column names.
func (l *layer) groupedBy(name string) grouping {
	if known, ok := l.groupings[name]; ok {
		return known
	}
	levels, codes := l.table.Column(name).Levels()
	out := grouping{code: make([]int32, len(l.rows))}
	number := make([]int32, len(levels)) // of each level's group, from 1; 0 before its first row used
	for k, i := range l.rows {
		at := &number[codes[i]]
		if *at == 0 {
			out.groups = append(out.groups, levels[codes[i]])
			*at = int32(len(out.groups))
		}
		out.code[k] = *at - 1
	}
	l.groupings[name] = out
	return out
}

// within pairs the groups up with those of another grouping. Rows of one group
// mostly follow one another, so that the pair before is tried first.
func (g grouping) within(inner grouping) grouping {
	out := grouping{code: make([]int32, len(g.code))}
	type pair struct{ outer, inner int32 }
	index := map[pair]int32{}
	before, at := pair{-1, -1}, int32(-1)
	for k, outer := range g.code {
		if p := (pair{outer, inner.code[k]}); p != before {
			number, known := index[p]
			if !known {
				number = int32(len(out.groups))
				index[p] = number
				out.groups = append(out.groups, g.groups[p.outer]+" / "+inner.groups[p.inner])
			}
			before, at = p, number
		}
		out.code[k] = at
	}
	return out
}

// checkFactor reports random terms that the table cannot tell.
func (l *layer) checkFactor(d *design, f *factor) {
	by := strings.Join(f.by, " and ")
	q := len(f.groups)
	switch {
	case q == 1:
		l.problem(by, f.groups[0], "at least two groups", "with one group its variance cannot be estimated: take this random term out")
		return
	case q == d.n && l.model.rowsMayBeGroups():
	case q == d.n:
		l.problem(by, fmt.Sprintf("%d groups in %d rows", q, d.n), "groups with several rows",
			"each group has one row, so that its variance is not distinguishable from the residual's: take this random term out")
		return
	case q*f.k >= d.n && !l.model.rowsMayBeGroups():
		l.problem(by, fmt.Sprintf("%d groups with %d terms each in %d rows", q, f.k, d.n), "more rows than random effects",
			"the terms are not distinguishable from the residual: take terms out of this random term")
		return
	}
	intercept := slices.ContainsFunc(f.z, func(c column) bool { return c.name == interceptName })
	for _, c := range f.z {
		if c.values == nil || !intercept {
			continue
		}
		if constantWithin(c.values, f.code, q) {
			l.problem(c.name, c.name+" by "+by, "a term that varies inside the groups of "+by,
				"it is the same in all rows of each group, so that it cannot vary between them: take it out of this random term")
		}
	}
}

// checkTwins reports terms that vary between groups which two columns name alike.
func (l *layer) checkTwins(a, b *factor) {
	if len(a.groups) != len(b.groups) || !heldBy(a.code, b.code, len(a.groups)) { // the numbers of the groups may differ
		return
	}
	one, other := strings.Join(a.by, " and "), strings.Join(b.by, " and ")
	for _, c := range b.z {
		if slices.ContainsFunc(a.z, func(have column) bool { return have.name == c.name }) {
			l.problem(other, c.name+" by "+one+" and by "+other, "random terms that can be told apart",
				one+" and "+other+" name the same groups of rows, so that their variances are one: take one of the two terms out")
		}
	}
}

// constantWithin tells whether a column has one value in each group.
func constantWithin(values []float64, code []int32, groups int) bool {
	first := make([]float64, groups)
	seen := make([]bool, groups)
	for i, g := range code {
		if !seen[g] {
			seen[g], first[g] = true, values[i]
		} else if values[i] != first[g] {
			return false
		}
	}
	return true
}
