package dropoff

import (
	"fmt"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"

	"thumbed/models/codex"
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
// the offices and those already taken, as long as enough pages are left. What
// only pages at the instrument's limits tell of has no estimate, and stays in.
func (a *adjustment) chooseDisturbances() {
	design := make([][]float64, 0, len(a.offices)+len(disturbances))
	office := a.table.Column(codex.ColumnOffice).Text()
	for _, name := range names(a.offices) {
		design = append(design, indicator(office, name))
	}
	offices := len(design)
	within := indicator(a.table.Column(columnLimit).Text(), "")
	for _, d := range disturbances {
		column := a.table.Column(d.column)
		values := column.Numbers
		if d.column != columnEnds {
			values = indicator(column.Text(), "yes")
		}
		low, high := bounds(values)
		switch {
		case low == high || (d.column == columnEnds && high-low < leastEnds):
			continue
		case a.table.Rows()-len(design)-1 < leastDF:
			a.notes = append(a.notes, fmt.Sprintf("Too few pages were measured to remove the effect of %s: beware where offices differ in them.", d.words))
		case rank(append(design, values)) <= len(design):
			a.notes = append(a.notes, fmt.Sprintf("The effect of %s cannot be told from that of the offices and of what was removed already, and stays in.", d.words))
		case rank(masked(append(design, values), within)) <= len(design):
			a.notes = append(a.notes, fmt.Sprintf("Only pages at the instrument's floor or ceiling tell the effect of %s, so that no number can be given for it, and it stays in: beware where offices differ in them.", d.words))
		default:
			design = append(design, values)
			a.used = append(a.used, d)
		}
	}
	a.fullLeverage = fullLeverage(design[:offices], design[offices:])
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
