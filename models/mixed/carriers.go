package mixed

import "thumbed/models/table"

// Carriers tell how much each row carries of a contrast of fixed effects by least
// squares: weights'β = Σ Weight·outcome, so that each is the part of the contrast's
// own regressor that the other fixed effects do not explain, up to one factor.
type Carriers struct {
	Rows   []int // of the table, those that a fit uses
	Weight []float64
	Left   []float64 // the outcome less its least-squares fit, on the model's scale
}

// Carriers lays the model over a table, without fitting it. Weights are as in
// [Fit.Contrast]; the error is that of [Model.Check], or tells what is wrong with
// the weights.
func (m Model) Carriers(t *table.Table, weights map[string]float64) (Carriers, error) {
	s, err := m.layOver(t)
	if err != nil {
		return Carriers{}, err
	}
	return s.d.carriers(weights)
}

// Carriers are those of a contrast in the table that was fitted.
func (f *Fit) Carriers(weights map[string]float64) (Carriers, error) { return f.d.carriers(weights) }

func (d *design) carriers(weights map[string]float64) (Carriers, error) {
	by, err := (&Fit{d: d}).contrastWeights("contrast", weights)
	if err != nil {
		return Carriers{}, err
	}
	w := d.fixed.toBasis(by)
	out := Carriers{Rows: d.rows, Weight: make([]float64, d.n), Left: make([]float64, d.n)}
	for i := range out.Weight {
		out.Left[i] = d.fixed.left[i] * d.fixed.scale
		for j, v := range w {
			out.Weight[i] += v * d.fixed.q[i*d.fixed.p+j]
		}
	}
	return out, nil
}
