package outcome_test

import (
	"testing"

	"thumbed/models/mixed"
	"thumbed/models/outcome"
)

// What follows from the definitions: density is what a densitometer reads (ISO 5-4);
// area coverage is computed of it (Murray and Davies 1936), and has no unit; a
// difference of natural logarithms is the logarithm of a factor.
func TestWhatAnOutcomeIs(t *testing.T) {
	for _, c := range []struct {
		model                  mixed.Model
		unit, of, likelihood   string
		measured, read, shares bool
		scales                 []string
	}{
		{mixed.Model{Outcome: "wear"}, "density", "density", mixed.Measure, true, true, true, []string{"as area coverage", "on a logarithmic scale"}},
		{mixed.Model{Outcome: "wear", Scale: "log"}, "natural logarithm", "natural logarithm of wear", mixed.Measure, true, true, false, []string{"as area coverage", "as density"}},
		{mixed.Model{Outcome: "coverage"}, "", "coverage", mixed.Measure, true, false, false, []string{"as density", "on a logarithmic scale"}},
		{mixed.Model{Outcome: "rubbed", Kind: mixed.Grades}, outcome.OnLink, outcome.OnLink, mixed.Grades, false, false, false, nil},
		{mixed.Model{Outcome: "drops", Kind: mixed.Counts}, outcome.Logarithm, "natural logarithm of drops", mixed.Counts, false, false, false, nil},
	} {
		o := outcome.Of(c.model)
		if o.Unit != c.unit || o.UnitOf() != c.of || o.Likelihood != c.likelihood || o.Measured() != c.measured || o.Read() != c.read || o.SharesErrors() != c.shares {
			t.Errorf("%s, scale %q: %+v, %s", c.model.Outcome, c.model.Scale, o, o.UnitOf())
		}
		scales := o.Scales()
		if len(scales) != len(c.scales) {
			t.Fatalf("%s, scale %q: %d other scales; want %v", c.model.Outcome, c.model.Scale, len(scales), c.scales)
		}
		for i, s := range scales {
			m := c.model
			s.Change(&m)
			if s.Words != c.scales[i] || m.Outcome == c.model.Outcome && m.Scale == c.model.Scale {
				t.Errorf("%s, scale %q: %q leads to %s, %q", c.model.Outcome, c.model.Scale, s.Words, m.Outcome, m.Scale)
			}
		}
	}
}
