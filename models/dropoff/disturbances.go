package dropoff

import (
	"fmt"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"

	"thumbed/models/codex"
	"thumbed/models/table"
)

// A disturbance is a feature of pages that draws or spares the hand whatever
// the office, and is removed before offices are compared.
type disturbance struct {
	column string
	words  string
	effect string // name of its term in the fitted model
}

// disturbances are removed in this order, as far as the pages allow.
var disturbances = []disturbance{
	{codex.ColumnPicture, "pictures", "picture=yes"},
	{codex.FeatureFacing, "pictures on the facing page", "facing=yes"},
	{codex.ColumnIncipit, "incipit pages", "incipit=yes"},
	{columnEnds, "the outermost leaves of the book", columnEnds},
}

// leastDF are the degrees of freedom that removing a disturbance must leave.
const leastDF = 5

// leastEnds is by how much the column of ends must vary for its effect to be
// removed: pages far inside the book do not feel its ends, and say nothing of
// them.
const leastEnds = 0.1

// chooseDisturbances takes the disturbances that vary over the pages beyond
// the offices, or texts, and those already taken, as long as enough pages are left. What
// only pages at the instrument's limits tell of has no estimate, and stays in.
func (a *adjustment) chooseDisturbances() {
	var design [][]float64
	a.used, design, a.notes = a.disturbing(a.by, a.levels)
	a.fullLeverage = fullLeverage(design[:len(a.levels)], design[len(a.levels):])
}

// tellsWithin tells whether the pages of each level of a column tell all of the
// disturbances that pages tell at all.
func (a *adjustment) tellsWithin(column string, levels []string) bool {
	used, _, _ := a.disturbing(column, levels)
	all, _, _ := a.disturbing(a.by, a.levels)
	return len(used) == len(all)
}

// disturbing gives the disturbances that can be removed beside the means of the levels
// of a column, the columns of both, and notes of those that stay in.
func (a *adjustment) disturbing(by string, levels []string) (used []disturbance, design [][]float64, notes []string) {
	labels := a.table.Column(by).Text()
	for _, level := range levels {
		design = append(design, indicator(labels, level))
	}
	within := indicator(a.table.Column(columnLimit).Text(), "")
	for _, d := range disturbances {
		values := d.values(a.table)
		low, high := bounds(values)
		switch {
		case low == high || (d.column == columnEnds && high-low < leastEnds):
			continue
		case a.table.Rows()-len(design)-1 < leastDF:
			notes = append(notes, fmt.Sprintf("Too few pages were measured to remove the effect of %s: beware where offices differ in them.", d.words))
		case rank(append(design, values)) <= len(design):
			notes = append(notes, fmt.Sprintf("The effect of %s is not distinguishable from that of the offices and of what was removed already, and stays in.", d.words))
		case rank(masked(append(design, values), within)) <= len(design):
			notes = append(notes, fmt.Sprintf("Only pages at the instrument's floor or ceiling tell the effect of %s, so that no number can be given for it, and it stays in: beware where offices differ in them.", d.words))
		default:
			design = append(design, values)
			used = append(used, d)
		}
	}
	return used, design, notes
}

// values are those of the disturbance's column in a table: 1 for yes.
func (d disturbance) values(t *table.Table) []float64 {
	if column := t.Column(d.column); d.column != columnEnds {
		return indicator(column.Text(), "yes")
	}
	return t.Column(d.column).Numbers
}

// masked are columns with zero in the rows in which the mask is zero.
func masked(columns [][]float64, mask []float64) [][]float64 {
	out := make([][]float64, len(columns))
	for j, column := range columns {
		out[j] = floats.MulTo(make([]float64, len(mask)), column, mask)
	}
	return out
}

func indicator(labels []string, label string) []float64 {
	out := make([]float64, len(labels))
	for i, l := range labels {
		if l == label {
			out[i] = 1
		}
	}
	return out
}

// rank is the number of columns that are not mixtures of the others.
func rank(columns [][]float64) int {
	m := mat.NewDense(len(columns[0]), len(columns), nil)
	for j, column := range columns {
		m.SetCol(j, column)
	}
	var svd mat.SVD
	if !svd.Factorize(m, mat.SVDNone) {
		return 0
	}
	return svd.Rank(1e-9)
}
