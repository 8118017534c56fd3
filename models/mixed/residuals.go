package mixed

import "math"

// A RowResidual is what the fit leaves of one row's outcome.
type RowResidual struct {
	Row    int     `json:"row"`    // of the table fitted, from 0
	Fitted float64 `json:"fitted"` // fixed effects and conditional modes, on the model's scale
	Value  float64 `json:"value"`  // outcome less Fitted
	// Standardised is the residual in units of its standard deviation; along an
	// autocorrelation it is what the rows before do not foretell.
	Standardised float64 `json:"standardised"`
}

// Residuals are the conditional residuals of the rows used, in their order.
func (f *Fit) Residuals() []RowResidual {
	f.like.criterion(f.phi)
	raw := f.like.leftOver()
	standard := f.like.standardise(raw, f.sigma)
	out := make([]RowResidual, f.d.n)
	for i, row := range f.d.rows {
		value := raw[i] * f.d.fixed.scale
		out[i] = RowResidual{Row: row, Fitted: f.d.outcome[i] - value, Value: value, Standardised: standard[i]}
	}
	return out
}

// remainder is the outcome's remainder that the likelihood was last given.
func (l *likelihood) remainder() []float64 {
	if l.weighing != nil {
		return l.weighing.left
	}
	return l.s.d.fixed.left
}

// leftOver are the conditional residuals in the unit of the remainder, where
// criterion was last computed.
func (l *likelihood) leftOver() []float64 { return l.leftOverOf(l.remainder()) }

func (l *likelihood) leftOverOf(left []float64) []float64 {
	beta := make([]float64, l.s.p)
	l.trial.Coefficients(beta)
	effects := l.trial.Modes(beta)
	out := make([]float64, l.s.n)
	for i := range out {
		out[i] = left[i] - l.s.Predicted(i, beta, effects)
	}
	return out
}

// standardise takes residuals to independent ones of standard deviation one, as
// far as the residual's structure says, σ being what it is relative to.
func (l *likelihood) standardise(raw []float64, sigma float64) []float64 {
	out := make([]float64, len(raw))
	if l.weighing == nil {
		for i, v := range raw {
			out[i] = v / sigma
		}
		return out
	}
	state, runs := l.weighing.state, l.s.d.errors.split()
	if runs == nil {
		for i, v := range raw {
			h, known, _ := state.row(int32(i))
			out[i] = v / (sigma * math.Sqrt(h*h+known))
		}
		return out
	}
	carried := []float64{0}
	for _, run := range runs {
		w := make([]float64, len(run))
		for k, i := range run {
			w[k] = raw[i]
		}
		state.whiten(run, w, 1, carried)
		for k, i := range run {
			out[i] = w[k] / sigma
		}
	}
	return out
}
