package mixed

import (
	"fmt"
	"slices"
	"strings"

	"thumbed/models/table"
)

// features gives the numbers that stand for a column in a model matrix at some
// place: one for a column of numbers, one for each level but the baseline for a
// column of labels. Means over a grid give means of these.
type features func(column string) []float64

// fixedRowOf is a row of X for given features.
func (d *design) fixedRowOf(of features) []float64 {
	row := []float64{1}
	for _, term := range d.model.Fixed {
		row = append(row, productOf(term, of)...)
	}
	for k, s := range d.model.Smooth { // each curve's straight line, once
		earlier := slices.ContainsFunc(d.model.Smooth[:k], func(e Smooth) bool { return e.Column == s.Column })
		if !earlier && !d.inFixed(s.Column) {
			row = append(row, of(s.Column)[0])
		}
	}
	return row
}

// inFixed tells whether a column of numbers is a fixed effect by itself.
func (d *design) inFixed(column string) bool {
	return slices.ContainsFunc(d.model.Fixed, func(t Term) bool { return len(t) == 1 && t[0] == column })
}

// productOf are the columns of a term, the first column's level varying fastest
// as in [layer.product].
func productOf(term Term, of features) []float64 {
	out := []float64{1}
	for _, name := range term {
		var next []float64
		for _, f := range of(name) {
			for _, so := range out {
				next = append(next, so*f)
			}
		}
		out = next
	}
	return out
}

// randomRowOf is a row of a factor's columns for given features, each in its
// unit.
func (d *design) randomRowOf(k int, of features) []float64 {
	fac := &d.factors[k]
	var row []float64
	switch {
	case fac.spline != nil:
		row = make([]float64, fac.k)
		fac.spline.at(of(d.model.Smooth[fac.smooth].Column)[0], row)
	default:
		for _, v := range fac.blocks {
			for _, name := range d.model.Random[v.random].Terms {
				if name == interceptName {
					row = append(row, 1)
					continue
				}
				row = append(row, of(name)...)
			}
		}
	}
	for c := range row {
		row[c] /= fac.unit(c)
	}
	return row
}

// indicators are the features of a label: its indicator among the levels but
// the baseline.
func indicators(levels []string, label string) []float64 {
	out := make([]float64, len(levels)-1)
	if k := slices.Index(levels, label); k > 0 {
		out[k-1] = 1
	}
	return out
}

// featureColumns are the columns of which a row of X and Z is made.
func (d *design) featureColumns() []string {
	var out []string
	add := func(name string) {
		if name != interceptName && !slices.Contains(out, name) {
			out = append(out, name)
		}
	}
	for _, t := range slices.Concat(d.model.Fixed, d.model.ZeroInflation) {
		for _, name := range t {
			add(name)
		}
	}
	for _, r := range d.model.Random {
		for _, name := range r.Terms {
			add(name)
		}
	}
	for _, s := range d.model.Smooth {
		add(s.Column)
	}
	return out
}

// checkRows reports what keeps a table's rows from being laid under the model:
// columns that are missing, cells that are empty or no numbers, labels that the
// model has no level for.
func (d *design) checkRows(t *table.Table) error {
	var ps table.Problems
	columns := d.featureColumns()
	if d.model.Residual.Levels != "" {
		columns = append(columns, d.model.Residual.Levels)
	}
	for _, name := range columns {
		c := t.Column(name)
		if c == nil {
			ps.Add(table.Problem{File: t.File, Value: name, Expected: "a column that the model uses", Remedy: "add the column " + name + " to the new rows"})
			continue
		}
		levels, label := d.levels[name]
		for i := range t.Rows() {
			switch {
			case c.Missing(i):
				ps.Add(table.Problem{File: t.File, Line: t.Line(i), Column: name, Expected: "a value", Remedy: "fill it in, or leave the row out"})
			case label && !slices.Contains(levels, c.Label(i)):
				ps.Add(table.Problem{File: t.File, Line: t.Line(i), Column: name, Value: c.Label(i), Expected: "one of the levels " + strings.Join(levels, ", "),
					Remedy: "the model was fitted without rows of this level and says nothing of it: correct the label, or leave the row out"})
			case !label && !finite(c.Number(i)):
				ps.Add(table.NumberProblem(t.File, t.Line(i), name, c.Label(i)))
			}
		}
	}
	return ps.Err()
}

// rowFeatures are the features of row i of a table that was checked.
func (d *design) rowFeatures(t *table.Table, i int) features {
	return func(name string) []float64 {
		c := t.Column(name)
		if levels, ok := d.levels[name]; ok {
			return indicators(levels, c.Label(i))
		}
		return []float64{c.Number(i)}
	}
}

// groupOf finds row i's group among those of a factor; −1 where it is none of
// them, or the table does not say.
func (fac *factor) groupOf(t *table.Table, i int, index map[string]int) int {
	if len(fac.by) == 0 { // one curve for all rows
		return 0
	}
	labels := make([]string, len(fac.by))
	for k, name := range fac.by {
		c := t.Column(name)
		if c == nil || c.Missing(i) {
			return -1
		}
		labels[k] = c.Label(i)
	}
	if g, ok := index[strings.Join(labels, groupSign)]; ok {
		return g
	}
	return -1
}

// groupSign joins the labels of a group that several columns name.
const groupSign = " / "

// groupIndex gives the number of each group by its label.
func (fac *factor) groupIndex() map[string]int {
	out := make(map[string]int, len(fac.groups))
	for g, label := range fac.groups {
		out[label] = g
	}
	return out
}

// columnMean gives the mean of a column of numbers over the rows used, from the
// fixed part; it fails where the column is not there by itself.
func (d *design) columnMean(name string) (float64, error) {
	j := slices.Index(d.fixed.names, name)
	if j < 0 {
		return 0, fmt.Errorf("%s is in the model only inside products or random terms, so that its mean is not known here: give its value", name)
	}
	p := d.fixed.p
	sum := 0.0
	for i := range d.n {
		q := d.fixed.q[i*p : (i+1)*p]
		for k := range j + 1 {
			sum += q[k] * d.fixed.r[k*p+j]
		}
	}
	return sum / float64(d.n), nil
}
