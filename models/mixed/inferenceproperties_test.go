package mixed_test

import (
	"context"
	"math"
	"testing"

	"thumbed/models/mixed"
	"thumbed/models/table"

	"pgregory.net/rapid"
)

// TestInferenceUnits: another unit of the outcome, and another zero, change
// intervals accordingly, and degrees of freedom, tests, shares of variance and
// influence not at all. Tolerance 1e-4: descents stop at another last digit.
func TestInferenceUnits(t *testing.T) {
	m := parse(t, "levels.picture = [\"no\", \"yes\"]\n"+studyModel)
	rapid.Check(t, func(t *rapid.T) {
		data := simulate(rapid.Uint64Range(0, 300).Draw(t, "seed"), 5, 24, 4, usualTruth)
		factor := rapid.SampledFrom([]float64{1e-4, 3, 1e5}).Draw(t, "factor")
		shift := rapid.SampledFrom([]float64{0, -7, 100}).Draw(t, "shift") * factor
		other := changed(data, "wear", func(c *table.Column) *table.Column {
			values := make([]float64, c.Len())
			for i, v := range c.Numbers {
				values[i] = v*factor + shift
			}
			return table.Numbers("wear", values)
		})
		a, b := told(t, fitted(t, m, data)), told(t, fitted(t, m, other))
		same := func(what string, got, want float64) {
			t.Helper()
			if math.IsNaN(got) && math.IsNaN(want) {
				return
			}
			if math.Abs(got-want) > 1e-3*(1e-2+math.Abs(want)) {
				t.Fatalf("%s: %.9g, wanted %.9g", what, got, want)
			}
		}
		for k := range a.kr {
			same("df", b.kr[k].DF, a.kr[k].DF)
			same("se", b.kr[k].SE/factor, a.kr[k].SE)
		}
		same("joint F", b.joint.F, a.joint.F)
		same("joint df", b.joint.DF, a.joint.DF)
		same("share", b.shares.Marginal, a.shares.Marginal)
		for g := range a.influence.Groups {
			for j := range a.influence.Groups[g].Shift {
				same("shift", b.influence.Groups[g].Shift[j], a.influence.Groups[g].Shift[j])
			}
		}
		for k, i := range a.profile {
			unit := factor
			if i.Kind == mixed.GroupCorrelation {
				unit = 1
			}
			zero := 0.0
			if i.Name == "intercept" {
				zero = shift
			}
			if !i.OpenHigh {
				same(i.Name+" high", (b.profile[k].High-zero)/unit, i.High)
			}
			if !i.OpenLow && i.Low > 1e-2 { // an end next to zero is as good as open
				same(i.Name+" low", (b.profile[k].Low-zero)/unit, i.Low)
			}
		}
	})
}

// Everything that a fit is asked in TestInferenceUnits.
type inferences struct {
	kr        []mixed.Coefficient
	joint     mixed.JointTest
	shares    mixed.RSquared
	influence *mixed.Influence
	profile   []mixed.Interval
}

func told(t *rapid.T, fit *mixed.Fit) inferences {
	kr, err := fit.KenwardRoger()
	if err != nil {
		t.Fatal(err)
	}
	out := inferences{kr: kr.Fixed(), shares: fit.RSquared()}
	if out.joint, err = fit.JointTest("both", []map[string]float64{{"picture=yes": 1}, {"place": 1}}); err != nil {
		t.Fatal(err)
	}
	if out.influence, err = fit.Influence(context.Background(), "book"); err != nil {
		t.Fatal(err)
	}
	if out.profile, err = fit.Profile(0.9); err != nil {
		t.Fatal(err)
	}
	return out
}
