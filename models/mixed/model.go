package mixed

import (
	"encoding/json"
	"maps"
	"slices"
)

// A Model is a mixed model, in TOML and the same in Go. [ParseModel] reads the
// TOML form, [Model.Fit] fits a linear one to a table; models of other kinds of
// outcome are fitted by the package generalised.
type Model struct {
	// Outcome names the column of the outcome: numbers; for grades and yes or no
	// labels.
	Outcome string `toml:"outcome" json:"outcome"`
	// Kind is "measure" (the default, also when empty), "grades", "yes or no" or
	// "counts". Link to Points are of these alone.
	Kind string `toml:"kind,omitempty" json:"kind,omitempty"`
	// Link is "logit" (the default), "probit" or "complementary log-log" for
	// grades and yes or no, "log" for counts.
	Link string `toml:"link,omitempty" json:"link,omitempty"`
	// Thresholds are "free" (the default), "symmetric" or "equal" distances;
	// grades only.
	Thresholds string `toml:"thresholds,omitempty" json:"thresholds,omitempty"`
	// ByThreshold are terms that have an effect of its own at each threshold
	// between grades.
	ByThreshold []Term `toml:"by_threshold,omitempty" json:"by_threshold,omitempty"`
	// Trials names the column of the trials of which the outcome counts the
	// successes; yes or no only.
	Trials string `toml:"trials,omitempty" json:"trials,omitempty"`
	// Spread is "Poisson" (the default) or "negative binomial"; counts only.
	Spread string `toml:"spread,omitempty" json:"spread,omitempty"`
	// Exposure names the column that expected counts are proportional to.
	Exposure string `toml:"exposure,omitempty" json:"exposure,omitempty"`
	// ZeroInflation tells whether there are zeros beside those of the spread.
	ZeroInflation Inflation `toml:"zero_inflation,omitempty" json:"zero_inflation,omitzero"`
	// Points is the number of quadrature points; 0 and 1 are Laplace's
	// approximation.
	Points int `toml:"points,omitempty" json:"points,omitempty"`
	// Scale is "identity" (the default, also when empty) or "log": the natural
	// logarithm of the outcome is modelled.
	Scale string `toml:"scale,omitempty" json:"scale"`
	// Estimate is "restricted" (the default, also when empty) or "full".
	Estimate string `toml:"estimate,omitempty" json:"estimate"`
	// Fixed are the fixed effects besides the intercept, which is always there.
	Fixed []Term `toml:"fixed" json:"fixed"`
	// Levels gives the levels of columns of labels, the baseline first. A
	// column of labels not named here takes its levels in order of first
	// appearance.
	Levels map[string][]string `toml:"levels,omitempty" json:"levels,omitempty"`
	// Random are the random terms; none makes the fit ordinary least squares.
	Random []Random `toml:"random,omitempty" json:"random,omitempty"`
	// Smooth are curves along a column.
	Smooth []Smooth `toml:"smooth,omitempty" json:"smooth,omitempty"`
	// DF says how degrees of freedom come about: "Kenward–Roger" (the default, also
	// when empty, wherever it can be computed) or "Satterthwaite".
	DF string `toml:"df,omitempty" json:"df,omitempty"`
	// Residual describes the errors of single rows.
	Residual Residual `toml:"residual,omitempty" json:"residual"`
}

// A Term is one column, or the product of several. In TOML a single column is
// a string and a product an inner list.
type Term []string

// A Random is a random term: by which columns its groups are named and which
// terms vary between them.
type Random struct {
	// By names the groups: one column, or several where each combination of
	// their labels is a group (book and quire: the quire within the book). In
	// TOML and JSON one column is a string, several are a list.
	By []string `toml:"by" json:"by"`
	// Terms are what varies between groups: "intercept" and columns.
	Terms []string `toml:"terms" json:"terms"`
	// Correlated tells whether the terms of a group may be correlated.
	Correlated bool `toml:"correlated" json:"correlated"`
}

// A Residual describes the errors of single rows.
type Residual struct {
	// KnownSD names a column of known standard deviations of measurement; its
	// square adds to the estimated residual variance.
	KnownSD string `toml:"known_sd,omitempty" json:"known_sd,omitempty"`
	// Along names the column of positions along which errors are
	// autocorrelated, Within the columns' groups inside which they are.
	Along  string `toml:"along,omitempty" json:"along,omitempty"`
	Within string `toml:"within,omitempty" json:"within,omitempty"`
	// Limit: outcomes at or below it are known only to be at or below it.
	Limit *float64 `toml:"limit,omitempty" json:"limit,omitempty"`
	// Limits names a column that says of each row whether its outcome is a
	// value (empty) or only a bound: "below" or "above".
	Limits string `toml:"limits,omitempty" json:"limits,omitempty"`
	// Levels names a column by whose labels the residual spread differs.
	Levels string `toml:"levels,omitempty" json:"levels,omitempty"`
	// Offsets are errors shared by rows, with spreads known beforehand.
	Offsets []Offset `toml:"offsets,omitempty" json:"offsets,omitempty"`
}

// oneOrSeveral is the JSON form of column names: a string where there is one,
// a list where there are several, as the model's TOML has them.
func oneOrSeveral(names []string) any {
	if len(names) == 1 {
		return names[0]
	}
	return names
}

// MarshalJSON writes a term as its TOML form: a string, or a list for a product.
func (t Term) MarshalJSON() ([]byte, error) { return json.Marshal(oneOrSeveral(t)) }

// MarshalJSON writes by as its TOML form.
func (r Random) MarshalJSON() ([]byte, error) {
	type plain Random
	return json.Marshal(struct {
		By any `json:"by"`
		plain
	}{oneOrSeveral(r.By), plain(r)})
}

// MarshalJSON writes by as the model's TOML has it.
func (r RandomFit) MarshalJSON() ([]byte, error) {
	type plain RandomFit
	return json.Marshal(struct {
		By any `json:"by"`
		plain
	}{oneOrSeveral(r.By), plain(r)})
}

// Needed are the columns in which a row must have a value to be in a fit of the
// model.
func (m Model) Needed() []string {
	names, _ := m.needed()
	return names
}

// Columns are the columns of a table that a fit of the model looks at, each once.
func (m Model) Columns() []string {
	names, _ := m.needed()
	more := append(slices.Sorted(maps.Keys(m.Levels)), m.Residual.Limits)
	for _, o := range m.Residual.Offsets {
		more = append(more, o.By)
	}
	for _, name := range more {
		if name != "" && !slices.Contains(names, name) {
			names = append(names, name)
		}
	}
	return names
}

// full tells whether the full likelihood is asked for.
func (m Model) full() bool { return m.Estimate == "full" }

// logarithmic tells whether the outcome is modelled on the log scale.
func (m Model) logarithmic() bool { return m.Scale == "log" }
