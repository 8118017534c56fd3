package mixed

import (
	"encoding/json"
	"maps"
	"slices"

	"thumbed/models/table/document"
	"thumbed/models/wording"
)

// A Model is a mixed model, in TOML and the same in Go. [ParseModel] reads the
// TOML form, [Model.Fit] fits a linear one to a table; models of other kinds of
// outcome are fitted by the package generalised.
type Model struct {
	// Outcome names the column of the outcome: numbers; for grades and yes or no
	// labels.
	Outcome string `toml:"outcome" json:"outcome" required:"true"` // column of the outcome: numbers; for grades and yes or no labels
	// Kind is "measure" (the default, also when empty), "grades", "yes or no" or
	// "counts". Link to Points are of these alone.
	Kind string `toml:"kind,omitempty" json:"kind,omitempty" words:"measure / grades / yes or no / counts"` // what kind of outcome it is; measure where not given
	// Link is "logit" (the default), "probit" or "complementary log-log" for
	// grades and yes or no, "log" for counts.
	Link string `toml:"link,omitempty" json:"link,omitempty" words:"logit / probit / complementary log-log / log"` // what is linear in the effects: for grades and yes or no the logit where not given, for counts the log
	// Thresholds are "free" (the default), "symmetric" or "equal" distances;
	// grades only.
	Thresholds string `toml:"thresholds,omitempty" json:"thresholds,omitempty" words:"free / symmetric / equal"` // how the thresholds between grades lie; grades only, free where not given
	// ByThreshold are terms that have an effect of its own at each threshold
	// between grades.
	ByThreshold []Term `toml:"by_threshold,omitempty" json:"by_threshold,omitempty" kind:"list of texts, or of lists of texts"` // terms whose effect may differ by threshold; grades only
	// Trials names the column of the trials of which the outcome counts the
	// successes; yes or no only.
	Trials string `toml:"trials,omitempty" json:"trials,omitempty"` // column of the number of trials of which the outcome is the number of successes; yes or no only. Without it each row is one trial
	// Spread is "Poisson" (the default) or "negative binomial"; counts only.
	Spread string `toml:"spread,omitempty" json:"spread,omitempty" words:"Poisson / negative binomial"` // the distribution of counts; Poisson where not given
	// Exposure names the column that expected counts are proportional to.
	Exposure string `toml:"exposure,omitempty" json:"exposure,omitempty"` // column of numbers above zero to which the expected count is proportional: an area, a number of pages; counts only
	// ZeroInflation tells whether there are zeros beside those of the spread.
	ZeroInflation Inflation `toml:"zero_inflation,omitempty" json:"zero_inflation,omitzero" kind:"true, false, or list of texts, or of lists of texts"` // zeros beside those that the spread gives: false (where not given), true for one probability, or the terms that it depends on; counts only
	// Points is the number of quadrature points; 1 is Laplace's approximation, and so is 0
	// but for three or more grades under the probit.
	Points int `toml:"points,omitempty" json:"points,omitempty"` // points of adaptive Gauss–Hermite quadrature, where there is one random term with one column; 1 is Laplace's approximation, which is taken where not given but for three or more grades under the probit: these are then by expectation propagation
	// Scale is "identity" (the default, also when empty) or "log": the natural
	// logarithm of the outcome is modelled.
	Scale string `toml:"scale,omitempty" json:"scale,omitempty" words:"identity / log"` // whether the outcome is modelled as it is, or its natural logarithm; identity where not given
	// Estimate is "restricted" (the default, also when empty) or "full".
	Estimate string `toml:"estimate,omitempty" json:"estimate" words:"restricted / full"` // which likelihood the variances are estimated by; restricted where not given
	// Fixed are the fixed effects besides the intercept, which is always there.
	Fixed []Term `toml:"fixed" json:"fixed" kind:"list of texts, or of lists of texts"` // the fixed effects besides the intercept, which is always there: columns, and for products lists of columns
	// Levels gives the levels of columns of labels, the baseline first. A
	// column of labels not named here takes its levels in order of first
	// appearance.
	Levels map[string][]string `toml:"levels,omitempty" json:"levels,omitempty"` // the levels of columns of labels, the baseline first; else in order of first appearance
	// Random are the random terms; none makes the fit ordinary least squares.
	Random []Random `toml:"random,omitempty" json:"random,omitempty"` // what varies between groups; without any the fit is by ordinary least squares
	// Smooth are curves along a column.
	Smooth []Smooth `toml:"smooth,omitempty" json:"smooth,omitempty"` // curves along a column
	// DF says how degrees of freedom come about: "Kenward–Roger" (the default, also
	// when empty, wherever it can be computed) or "Satterthwaite".
	DF string `toml:"df,omitempty" json:"df,omitempty" words:"Kenward–Roger / Satterthwaite"` // how degrees of freedom come about; after Kenward and Roger where not given, wherever that can be computed
	// Residual describes the errors of single rows.
	Residual Residual `toml:"residual,omitempty" json:"residual"` // the errors of single rows
	// Labels are the words of columns and levels in sentences.
	Labels wording.Labels `toml:"labels,omitempty" json:"-"` // words of columns and of their levels in sentences, such as "half=second" = "the second half"; in a study they stand beside its own
	// What is asked of the fit besides its effects.
	Inference
}

// Words are those of a term of the model.
func (m Model) Words(term string) string { return m.Labels.Term(term, m.Levels) }

// A Term is one column, or the product of several. In TOML a single column is
// a string and a product an inner list.
type Term []string

// A Random is a random term: by which columns its groups are named and which
// terms vary between them.
type Random struct {
	// By names the groups: one column, or several where each combination of
	// their labels is a group (book and quire: the quire within the book). In
	// TOML and JSON one column is a string, several are a list.
	By []string `toml:"by" json:"by" required:"true" kind:"text, or list of texts"` // the column that names the groups, or several where each combination of their labels is a group (book and quire: the quire within the book)
	// Terms are what varies between groups: "intercept" and columns.
	Terms []string `toml:"terms" json:"terms" required:"true"` // what varies between the groups: intercept, and columns
	// Correlated tells whether the terms of a group may be correlated.
	Correlated bool `toml:"correlated" json:"correlated"` // whether the terms of one group may be correlated
}

// A Residual describes the errors of single rows.
type Residual struct {
	// KnownSD names a column of known standard deviations of measurement; its
	// square adds to the estimated residual variance.
	KnownSD string `toml:"known_sd,omitempty" json:"known_sd,omitempty"` // column of known standard deviations of measurement; their squares add to the residual variance
	// Along names the column of positions along which errors are
	// autocorrelated, Within the columns' groups inside which they are.
	Along  string `toml:"along,omitempty" json:"along,omitempty"`   // column of positions along which errors of neighbours are correlated (first-order autoregression)
	Within string `toml:"within,omitempty" json:"within,omitempty"` // column of the groups inside which they are
	// Limit: outcomes at or below it are censored there.
	Limit *float64 `toml:"limit,omitempty" json:"limit,omitempty" unit:"of the outcome"` // outcomes at or below this are censored there
	// Limits names a column that says of each row whether its outcome is a
	// value (empty) or only a bound: "below" or "above".
	Limits string `toml:"limits,omitempty" json:"limits,omitempty"` // column that says whether the row's outcome is a value (empty) or only a bound: below or above
	// Levels names a column by whose labels the residual spread differs.
	Levels string `toml:"levels,omitempty" json:"levels,omitempty"` // column by whose labels the residual spread differs
	// Offsets are errors shared by rows, with spreads known beforehand.
	Offsets []Offset `toml:"offsets,omitempty" json:"offsets,omitempty"` // errors shared by all rows of a label, such as a day's or an observer's, with spreads known beforehand
}

// structures are the kinds of structure that a residual can have, with what its keys say
// of each.
func (r Residual) structures() []structure {
	return []structure{
		&bounds{limit: r.Limit, limits: r.Limits},
		&levelSpreads{column: r.Levels},
		&knownErrors{column: r.KnownSD},
		&autoregression{along: r.Along, within: r.Within},
	}
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

// TOML writes the model as [ParseModel] reads it.
func (m Model) TOML() ([]byte, error) {
	terms := func(list []Term) []any {
		out := make([]any, len(list))
		for i, t := range list {
			out[i] = oneOrSeveral(t)
		}
		return out
	}
	return document.Text(struct {
		Model
		Fixed       []any `toml:"fixed"`
		ByThreshold []any `toml:"by_threshold,omitempty"`
	}{m, terms(m.Fixed), terms(m.ByThreshold)})
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
