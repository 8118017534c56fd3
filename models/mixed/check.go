package mixed

import "thumbed/models/table"

// Check tells whether the model can be fitted to a table, without fitting it:
// it is the first stage of [Model.Fit] and finds what that finds. Its error is a
// [*table.Fault] with every problem: unknown columns, cells that are no numbers,
// no complete row, levels without rows, columns that others determine, random
// terms with one group, effects of which only bounds speak, and so on. What the
// model's columns have to be comes first: only where all of them are there are
// their rows looked at. It costs about as much as reading the table.
func (m Model) Check(t *table.Table) error {
	_, err := m.layOver(t)
	return err
}

// Terms names the fixed effects that a fit of the model to a table has, in the
// order of [Fit.Fixed] and as [Fit.Contrast] takes them: "intercept", "column"
// for numbers, "column=level" for labels, products joined by " × ". Its error is
// that of [Model.Check]; the names stand beside it as soon as the model's columns
// are there and some row is complete.
func (m Model) Terms(t *table.Table) ([]string, error) {
	l, err := m.Lay(t)
	return l.Terms(), err
}

// Model is the model that was fitted, as it was given.
func (f *Fit) Model() Model { return f.model }

// Rows are the rows of the table that the model took, those without a missing value.
func (f *Fit) Rows() []int { return f.d.rows }

// layOver is the first stage of a fit: the model over the table, as the shape of
// its normal equations. Beside an error the shape holds the design alone, as far
// as it could be made.
func (m Model) layOver(t *table.Table) (*system, error) {
	if !m.IsMeasure() {
		var ps table.Problems
		ps.Add(table.Problem{File: t.File, Column: m.Outcome, Value: m.Kind, Expected: "a model of a measure",
			Remedy: "what is asked here can be had of measures only: ask it of the measured wear, or fit this model by thumbed fit"})
		return &system{d: &design{model: m}}, ps.Err()
	}
	d, err := newDesign(m, t)
	if err != nil {
		return &system{d: d}, err
	}
	s := newSystem(d)
	return s, s.checkSize()
}
