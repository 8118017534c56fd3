package mixed

import "thumbed/models/table"

// Carriers tell how much each row carries of a contrast of fixed effects by least
// squares: weights'β = Σ Weight·outcome, so that each is the part of the contrast's
// own regressor that the other fixed effects do not explain, up to one factor.
type Carriers struct {
	Rows   []int // of the table, those that a fit uses
	Weight []float64
}

// A Laid is a model laid over a table, fitted or not.
type Laid struct{ d *design }

// Lay lays the model over a table. The error is that of [Model.Check].
func (m Model) Lay(t *table.Table) (Laid, error) {
	s, err := m.layOver(t)
	return Laid{s.d}, err
}

// Laid is the model over the table that was fitted.
func (f *Fit) Laid() Laid { return Laid{f.d} }

// Terms are the names of the fixed effects, as in [Model.Terms].
func (l Laid) Terms() []string { return l.d.fixed.names }

// Left is the outcome less its least-squares fit, on the model's scale, in the k-th of
// the rows that are used.
func (l Laid) Left(k int) float64 { return l.d.fixed.left[k] * l.d.fixed.scale }

// Carriers are those of a contrast. Weights are as in [Fit.Contrast]; the error tells
// what is wrong with them.
func (l Laid) Carriers(weights map[string]float64) (Carriers, error) {
	d := l.d
	by, err := (&Fit{d: d}).contrastWeights("contrast", weights)
	if err != nil {
		return Carriers{}, err
	}
	w := d.fixed.toBasis(by)
	out := Carriers{Rows: d.rows, Weight: make([]float64, d.n)}
	for i := range out.Weight {
		for j, v := range w {
			out.Weight[i] += v * d.fixed.q[i*d.fixed.p+j]
		}
	}
	return out, nil
}
