package mixed

import "thumbed/models/table"

// A Model is a linear mixed model, in TOML and the same in Go. The TOML form
// is the design's: keys outcome, scale, estimate, fixed, levels, random,
// residual.
type Model struct {
	Outcome  string              `toml:"outcome" json:"outcome"`
	Scale    string              `toml:"scale,omitempty" json:"scale"`       // "identity" (default) or "log"
	Estimate string              `toml:"estimate,omitempty" json:"estimate"` // "restricted" (default) or "full"
	Fixed    []Term              `toml:"fixed" json:"fixed"`
	Levels   map[string][]string `toml:"levels,omitempty" json:"levels,omitempty"`
	Random   []Random            `toml:"random,omitempty" json:"random,omitempty"`
	Residual Residual            `toml:"residual,omitempty" json:"residual"`
}

// A Term is one column, or the product of several. In TOML a single column is
// a string and a product an inner list.
type Term []string

// A Random is a random term: by which columns its groups are named and which
// terms vary between them.
type Random struct {
	By         []string `toml:"by" json:"by"` // in TOML a string or a list
	Terms      []string `toml:"terms" json:"terms"`
	Correlated bool     `toml:"correlated" json:"correlated"`
}

// A Residual describes the errors of single rows.
type Residual struct {
	KnownSD string   `toml:"known_sd,omitempty" json:"known_sd,omitempty"`
	Along   string   `toml:"along,omitempty" json:"along,omitempty"`
	Within  string   `toml:"within,omitempty" json:"within,omitempty"`
	Limit   *float64 `toml:"limit,omitempty" json:"limit,omitempty"`
}

// A Coefficient is one fixed effect, or a contrast of several.
type Coefficient struct {
	Term     string  `json:"term"`
	Estimate float64 `json:"estimate"`
	SE       float64 `json:"se"`
	DF       float64 `json:"df"`
	T        float64 `json:"t"`
	P        float64 `json:"p"`
	Low      float64 `json:"low"`  // 95 % interval
	High     float64 `json:"high"` // 95 % interval
}

// A RandomFit is one random term as estimated.
type RandomFit struct {
	By          []string    `json:"by"`
	Terms       []string    `json:"terms"`
	SD          []float64   `json:"sd"`
	Correlation [][]float64 `json:"correlation"`
	Groups      int         `json:"groups"`
}

// A ResidualFit is the residual as estimated.
type ResidualFit struct {
	SD  float64 `json:"sd"`
	Rho float64 `json:"rho"`
}

// A Fit is a fitted model. Its JSON keys are a promise.
type Fit struct {
	N         int           `json:"n"`
	Estimate  string        `json:"estimate"`
	LogLik    float64       `json:"loglik"`
	Criterion float64       `json:"criterion"`
	Converged bool          `json:"converged"`
	Boundary  []string      `json:"boundary"`
	Seconds   float64       `json:"seconds"`
	Fixed     []Coefficient `json:"fixed"`
	Random    []RandomFit   `json:"random"`
	Residual  ResidualFit   `json:"residual"`
	Notes     []string      `json:"notes"`
}

// The functions this room must give:
//
//	ParseModel(file string, data []byte) (Model, error)   all problems at once, as *table.Fault
//	(Model) Fit(*table.Table) (*Fit, error)
//	(*Fit) Contrast(name string, weights map[string]float64) (Coefficient, error)   weights by term name
//	(*Fit) Covariance() *mat.SymDense                                               of the fixed effects
//	(*Fit) Modes() []Mode                                                           conditional modes by group
var _ = table.Problem{}
