package dropoff

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
)

// noWeight is the weight of a page in its own adjusted value below which that
// value says nothing of the page.
const noWeight = 1e-8

// effectsOf gives D and (D'MD)⁻¹ D'M, which makes effects of the disturbances from
// values, by least squares beside the offices' means.
func effectsOf(offices, disturbances [][]float64) (d, effects *mat.Dense, err error) {
	n, k := len(offices[0]), len(disturbances)
	d, effects = mat.NewDense(n, k, nil), &mat.Dense{}
	own := mat.NewDense(n, k, nil) // MD
	for j, column := range disturbances {
		left := slices.Clone(column)
		for _, office := range offices { // they do not overlap
			if held := floats.Sum(office); held > 0 {
				floats.AddScaled(left, -floats.Dot(office, column)/held, office)
			}
		}
		d.SetCol(j, column)
		own.SetCol(j, left)
	}
	var products mat.Dense
	products.Mul(own.T(), own)
	return d, effects, effects.Solve(&products, own.T())
}

// adjusting gives what takes the disturbances out of a series of some of the rows as
// they were taken out of the one at hand; nil where nothing was.
func (a *adjustment) adjusting(rows []int) func([]float64) {
	if len(a.used) == 0 || len(rows) == 0 {
		return nil
	}
	kept := a.table.Select(rows)
	labels := kept.Column(a.by).Text()
	var offices, disturbances [][]float64
	for _, level := range a.levels {
		offices = append(offices, indicator(labels, level))
	}
	for _, d := range a.used {
		disturbances = append(disturbances, d.values(kept))
	}
	d, effects, err := effectsOf(offices, disturbances)
	if err != nil {
		return nil // without the rows left out no effect can be told from the offices
	}
	return func(values []float64) {
		var effect, removed mat.VecDense
		effect.MulVec(effects, mat.NewVecDense(len(values), values))
		removed.MulVec(d, &effect)
		floats.Sub(values, removed.RawVector().Data)
	}
}

// fullLeverage tells for each row whether the effects of the disturbances use up all
// that it says: the only page with a picture, say, tells the effect of pictures,
// and once that is subtracted, what is left of the page is what the others say.
// The weight of a row in its own adjusted value is 1 less its entry on the
// diagonal of D (D'MD)⁻¹ D'M, with D the disturbances and M what takes out the
// offices' means. That it is 0 does not depend on how the model weighs rows.
func fullLeverage(offices, disturbances [][]float64) []bool {
	n, k := len(offices[0]), len(disturbances)
	out := make([]bool, n)
	if k == 0 {
		return out
	}
	d, effects, err := effectsOf(offices, disturbances)
	if err != nil {
		return out // too nearly alike to tell any apart
	}
	for i := range out {
		weight := 1 - mat.Dot(d.RowView(i), effects.ColView(i))
		out[i] = math.Abs(weight) < noWeight
	}
	return out
}

// fullLeverageNote names the pages left out of the series since nothing of their own is
// left; empty where there are none.
func (a *adjustment) fullLeverageNote(h *hours) string {
	var pages []string
	for i, r := range h.rows {
		if a.fullLeverage[i] {
			pages = append(pages, h.book.Pages[r.page].Label.String())
		}
	}
	const why = "adjusted for that, nothing of %s own is left, and the series along the pages leaves %s out."
	switch len(pages) {
	case 0:
		return ""
	case 1:
		return fmt.Sprintf("f. %s alone tells one of the effects removed: "+why, pages[0], "its", "it")
	}
	return fmt.Sprintf("ff. %s each alone tell one of the effects removed: "+why, list(pages, "and"), "their", "them")
}
