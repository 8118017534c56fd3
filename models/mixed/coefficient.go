package mixed

import "math"

// A Coefficient is one fixed effect, or a contrast of several.
type Coefficient struct {
	Term     string  `json:"term"`                           // intercept, a column, column=level, products joined by × ; of an answer its contrast
	Estimate float64 `json:"estimate" unit:"of the outcome"` // the estimate
	SE       float64 `json:"se" unit:"of the outcome"`       // its standard error
	DF       float64 `json:"df"`                             // degrees of freedom of t
	T        float64 `json:"t"`                              // estimate divided by its standard error
	P        float64 `json:"p"`                              // two-sided p-value
	Low      float64 `json:"low" unit:"of the outcome"`      // lower end of the 95 % interval
	High     float64 `json:"high" unit:"of the outcome"`     // upper end of the 95 % interval
	// LeavesOut are the columns of what pages share (book, section, quire, day, observer,
	// instrument) that the model does not name though hardly any two pages that the
	// effect compares are of one label, or though these are shared out unevenly: the
	// standard error and all that follows from it leave out what those differ by.
	LeavesOut []string `json:"leaves_out,omitempty"` // columns whose labels (sections, days, observers …) the effect compares and the model does not name: standard error, t, p and interval leave out what these differ by
}

// A RandomFit is one random term as estimated.
type RandomFit struct {
	By          []string    `json:"by" kind:"text, or list of texts"` // column or columns that name the groups
	Terms       []string    `json:"terms"`                            // what varies between the groups
	SD          []float64   `json:"sd" unit:"of the outcome"`         // standard deviations between groups, in the order of terms
	Correlation [][]float64 `json:"correlation"`                      // correlations of the terms, a full matrix in their order
	Groups      int         `json:"groups"`                           // number of groups
}

// A ResidualFit is the residual as estimated.
type ResidualFit struct {
	SD  float64 `json:"sd" unit:"of the outcome"` // standard deviation of single rows; where it differs by level, that of the first
	Rho float64 `json:"rho"`                      // correlation of rows at distance 1; 0 where none is modelled
	// Levels are the standard deviations by level, where the model has residual
	// levels; SD is then that of the first.
	Levels []LevelSpread `json:"levels,omitempty"` // standard deviations by level, where the model lets them differ
}

// A LevelSpread is the residual standard deviation of rows of one level.
type LevelSpread struct {
	Level string  `json:"level"`                    // label of the column
	SD    float64 `json:"sd" unit:"of the outcome"` // standard deviation of its rows
}

// A Fit is a fitted model. Its JSON keys are a promise. Its methods share the
// room that the fit was made in: ask one fit one question at a time.
type Fit struct {
	N                int           `json:"n"`                                  // rows that the fit rests on
	Estimate         string        `json:"estimate" words:"restricted / full"` // which likelihood the variances were estimated by
	LogLik           float64       `json:"loglik"`                             // logarithm of the likelihood, restricted where restricted
	MinusTwiceLogLik float64       `json:"criterion"`                          // −2 times loglik
	Converged        bool          `json:"converged"`                          // whether the search for the greatest likelihood came to its end
	Boundary         []string      `json:"boundary"`                           // the random terms whose variance is estimated as zero or whose correlation as ±1; empty where none
	Seconds          float64       `json:"seconds" unit:"s"`                   // how long the fit took; 0 in results, which hold nothing that depends on the clock
	Fixed            []Coefficient `json:"fixed"`                              // the fixed effects, the intercept first
	Random           []RandomFit   `json:"random"`                             // the random terms, in the order of the model
	Smooth           []SmoothFit   `json:"smooth,omitempty"`                   // the curves, in the order of the model
	Residual         ResidualFit   `json:"residual"`                           // the errors of single rows
	// how standard errors and degrees of freedom of the fixed effects came about:
	// Kenward–Roger, or Satterthwaite with the reason, or least squares where that is
	// exact
	Method     string `json:"method"`
	Inferences        // the notes, and the rest by [Fit.Infer]

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
