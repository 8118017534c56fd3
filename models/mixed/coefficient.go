package mixed

import "math"

// A Coefficient is one fixed effect, or a contrast of several.
type Coefficient struct {
	Term     string  `json:"term"`
	Estimate float64 `json:"estimate"`
	SE       float64 `json:"se"`   // standard error
	DF       float64 `json:"df"`   // degrees of freedom of t
	T        float64 `json:"t"`    // estimate divided by its standard error
	P        float64 `json:"p"`    // two-sided
	Low      float64 `json:"low"`  // 95 % interval
	High     float64 `json:"high"` // 95 % interval
}

// A RandomFit is one random term as estimated.
type RandomFit struct {
	By          []string    `json:"by"`
	Terms       []string    `json:"terms"`
	SD          []float64   `json:"sd"`          // in the order of Terms
	Correlation [][]float64 `json:"correlation"` // full matrix, in the order of Terms
	Groups      int         `json:"groups"`
}

// A ResidualFit is the residual as estimated.
type ResidualFit struct {
	SD  float64 `json:"sd"`
	Rho float64 `json:"rho"` // correlation at distance 1 along; 0 where none is modelled
	// Levels are the standard deviations by level, where the model has residual
	// levels; SD is then that of the first.
	Levels []LevelSpread `json:"levels,omitempty"`
}

// A LevelSpread is the residual standard deviation of rows of one level.
type LevelSpread struct {
	Level string  `json:"level"`
	SD    float64 `json:"sd"`
}

// A Fit is a fitted model. Its JSON keys are a promise. Its methods share the
// room that the fit was made in: ask one fit one question at a time.
type Fit struct {
	N                int           `json:"n"`         // rows used
	Estimate         string        `json:"estimate"`  // "restricted" or "full"
	LogLik           float64       `json:"loglik"`    // restricted where restricted
	MinusTwiceLogLik float64       `json:"criterion"` // −2 · LogLik
	Converged        bool          `json:"converged"`
	Boundary         []string      `json:"boundary"`
	Seconds          float64       `json:"seconds"`
	Fixed            []Coefficient `json:"fixed"`
	Random           []RandomFit   `json:"random"`
	Smooth           []SmoothFit   `json:"smooth,omitempty"`
	Residual         ResidualFit   `json:"residual"`
	Method           string        `json:"method"` // how standard errors and degrees of freedom came about
	Notes            []string      `json:"notes"`

	model Model
	d     *design
	like  *likelihood
	phi   []float64 // the variance parameters at the end
	slope []float64 // the criterion's gradient there
	sigma float64   // residual standard deviation in the outcome's unit in the likelihood
	cov   covariance
	kr    *KenwardRoger // nil where inference is after Satterthwaite
}

// A RandomEffect is the conditional mode of one random effect: the prediction, given
// the data and the estimated parameters, of how one group departs from the
// fixed effects.
type RandomEffect struct {
	By    []string `json:"by"`
	Group string   `json:"group"` // labels joined by " / " where By names several columns
	Term  string   `json:"term"`
	Value float64  `json:"value"`
	SD    float64  `json:"sd"` // conditional standard deviation, all parameters held at their estimates
}

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }
