package generalised

import (
	"io"

	"thumbed/models/mixed"
	"thumbed/models/table"
)

// A Result is a fitted model of any kind of outcome: a [*mixed.Fit] of a measure, a
// [*Fit] of the others.
type Result interface {
	Model() mixed.Model
	Text(w io.Writer) error
}

// FitModel fits a model to a table by the engine of its kind of outcome, and of other
// kinds than measures tells all that a reader wants: adjusted means and diagnosis too.
func FitModel(m mixed.Model, t *table.Table) (Result, error) {
	if m.IsMeasure() {
		f, err := m.Fit(t)
		if err != nil {
			return nil, err
		}
		return f, nil
	}
	f, err := New(m, t)
	if err != nil {
		return nil, err
	}
	return f, f.tellAll()
}
