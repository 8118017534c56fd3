package generalised

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"thumbed/models/mixed"
	"thumbed/models/table"
)

// A Result is a fitted model of any kind of outcome: a [*mixed.Fit] of a measure, a
// [*Fit] of the others.
type Result interface {
	Model() mixed.Model
	// Infer makes what the model asks for besides effects, and what must be known
	// unasked.
	Infer(ctx context.Context, o mixed.Inferring) error
	// Compared takes over a comparison with another model, and Refuse notes why
	// something cannot be given.
	Compared(c mixed.Comparison)
	Refuse(what string, err error)
}

// Estimate fits a model to a table by the engine of its kind of outcome.
func Estimate(m mixed.Model, t *table.Table) (Result, error) {
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
	return f, nil
}

// FitModel fits a model to a table by the engine of its kind of outcome, and tells
// all that a reader wants: what the model asks for, but a comparison with another
// model, and what must be known unasked.
func FitModel(m mixed.Model, t *table.Table) (Result, error) {
	f, err := Estimate(m, t)
	if err != nil {
		return nil, err
	}
	return f, f.Infer(context.Background(), mixed.Inferring{Table: t, Simulate: true})
}

// CompareModels compares a model with another by the likelihood ratio, each fitted to
// the rows that both can use. Measures whose fixed effects differ are fitted by full
// likelihood for it. It fails where neither model holds the other.
func CompareModels(m, other mixed.Model, name string, t *table.Table) (mixed.Comparison, error) {
	out := mixed.Comparison{With: name}
	if m.Kind != other.Kind && m.IsMeasure() != other.IsMeasure() {
		return out, fmt.Errorf("the two models are of unlike kinds of outcome; expected the same")
	}
	t = bothUse(t, m, other)
	how := ""
	if m.IsMeasure() && (m.Estimate != "full" || other.Estimate != "full") && !sameTerms(m.Fixed, other.Fixed) {
		m.Estimate, other.Estimate = "full", "full"
		how = " Both were fitted by full likelihood for it, since their fixed effects differ."
	}
	own, err := Estimate(m, t)
	if err != nil {
		return out, err
	}
	its, err := Estimate(other, t)
	if err != nil {
		return out, fmt.Errorf("%s cannot be fitted: %w", name, err)
	}
	out.RatioTest, err = ratioOf(its, own)
	out.Larger = err == nil
	if err != nil {
		var turned error
		if out.RatioTest, turned = ratioOf(own, its); turned != nil {
			return out, errors.Join(err, turned)
		}
	}
	out.Note += how
	return out, nil
}

func ratioOf(smaller, larger Result) (mixed.RatioTest, error) {
	if a, ok := smaller.(*mixed.Fit); ok {
		return a.RatioTest(larger.(*mixed.Fit))
	}
	return Compare(smaller.(*Fit), larger.(*Fit))
}

func sameTerms(a, b []mixed.Term) bool {
	return slices.EqualFunc(a, b, func(x, y mixed.Term) bool { return slices.Equal(x, y) })
}

// bothUse are the rows that have all that both models need.
func bothUse(t *table.Table, m, other mixed.Model) *table.Table {
	var rows []int
	needed := append(m.Needed(), other.Needed()...)
	for i := range t.Rows() {
		if !slices.ContainsFunc(needed, func(name string) bool {
			c := t.Column(name)
			return c != nil && c.Missing(i)
		}) {
			rows = append(rows, i)
		}
	}
	if len(rows) == t.Rows() {
		return t
	}
	return t.Select(rows)
}
