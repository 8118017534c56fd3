package traces

import (
	"fmt"
	"math"
	"slices"

	"thumbed/models/codex"
	"thumbed/models/mixed"
	"thumbed/models/table"
	"thumbed/models/wording"
)

// An Allowance is a feature measured with error, and what was put in its place.
type Allowance struct {
	Column      string  `json:"column"`      // the feature
	Errors      string  `json:"errors"`      // column of its standard errors
	Pages       int     `json:"pages"`       // with a value
	SD          float64 `json:"sd"`          // of the true feature, beyond what the other features tell
	Error       float64 `json:"error"`       // root mean square of the standard errors
	Reliability float64 `json:"reliability"` // mean share of true variation, beyond what the other features tell
	Words       string  `json:"words"`       // what was done, and its limits
}

// leastReliable is the reliability below which an allowance is refused: what is left
// is mostly error, and its correction mostly the assumption (common practice, no
// source).
const leastReliable = 0.2

// Allow puts the expected true value in the place of a feature that was measured with
// error of known size, given what was measured and the other features of the page:
// regression calibration (Carroll, Ruppert, Stefanski and Crainiceanu 2006,
// Measurement error in nonlinear models, chapter 4). In a linear model it is the
// method of moments of Fuller (1987, Measurement error models, section 2.2); in models
// of grades, of yes or no and of counts it is an approximation, good while the effect
// times the error stays small. rows is the table to be fitted, pages hold each page
// once; both have the columns named. The other features are columns of pages.
func Allow(rows, pages *table.Table, column, errors string, others []mixed.Term, levels map[string][]string) (*table.Table, Allowance, error) {
	out := Allowance{Column: column, Errors: errors}
	value, se := pages.Column(column), pages.Column(errors)
	if value == nil || se == nil || !value.IsNumber() || !se.IsNumber() {
		return nil, out, fmt.Errorf("%s, and %s with its standard errors, must be columns of numbers of pages that hold some: code a share of the things twice, or leave the errors out", column, errors)
	}
	m := mixed.Model{Outcome: column, Scale: "identity", Estimate: "restricted", Levels: map[string][]string{}, Residual: mixed.Residual{KnownSD: errors}}
	for _, term := range others {
		if slices.ContainsFunc(term, func(name string) bool { return pages.Column(name) == nil || name == column }) {
			continue
		}
		m.Fixed = append(m.Fixed, term)
		for _, name := range term {
			if l, given := levels[name]; given {
				m.Levels[name] = l
			}
		}
	}
	if m.Fixed == nil {
		m.Fixed = []mixed.Term{}
	}
	var used []int
	books := map[string]bool{}
	for i := range pages.Rows() {
		if !value.Missing(i) && !se.Missing(i) && se.Number(i) > 0 {
			used = append(used, i)
			books[pages.Column(codex.ColumnBook).Label(i)] = true
		}
	}
	if len(books) > 1 {
		m.Random = []mixed.Random{{By: []string{codex.ColumnBook}, Terms: []string{"intercept"}}}
	}
	some := pages.Select(used)
	fit, err := m.Fit(some)
	if err != nil {
		return nil, out, fmt.Errorf("what %s is without its error cannot be estimated: %w", column, err)
	}
	truth := map[[2]string]float64{}
	out.SD = fit.Residual.SD
	square := 0.0
	for _, r := range fit.Residuals() {
		e := some.Column(errors).Number(r.Row)
		share := out.SD * out.SD / (out.SD*out.SD + e*e)
		truth[[2]string{some.Column(codex.ColumnBook).Label(r.Row), some.Column(codex.ColumnPage).Label(r.Row)}] = r.Fitted + share*r.Value
		out.Pages++
		square += e * e
		out.Reliability += share
	}
	out.Error = math.Sqrt(square / float64(out.Pages))
	out.Reliability /= float64(out.Pages)
	if out.Reliability < leastReliable {
		return nil, out, fmt.Errorf("of what %s varies by beyond the other features only %s is no error of measuring, too little to correct for: measure or code more pages again, or leave the feature out", column, wording.Percent(out.Reliability))
	}
	values := missing(rows.Rows())
	for i := range values {
		if v, ok := truth[[2]string{rows.Column(codex.ColumnBook).Label(i), rows.Column(codex.ColumnPage).Label(i)}]; ok {
			values[i] = v
		}
	}
	out.Words = fmt.Sprintf("The feature %s is measured with an error of %s (root mean square); of what it varies by beyond the other features %s is no error. Its expected true value stands in its place (regression calibration: Carroll and others 2006; Fuller 1987). "+
		"The limits: errors are taken as independent of each other and of the outcome, their size as known, and the interval does not hold what is unknown of it.", column, wording.Fixed(out.Error, wording.Decimals(out.Error)), wording.Percent(out.Reliability))
	return rows.With(table.Numbers(column, values)), out, nil
}
