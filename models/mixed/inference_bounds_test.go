package mixed_test

import (
	"context"
	"fmt"
	"math"
	"strings"
	"testing"

	"thumbed/models/mixed"
	"thumbed/models/table"
)

// TestInferenceWithBounds: where rows are only bounds every question is answered
// or refused in words, never by a number that means nothing.
func TestInferenceWithBounds(t *testing.T) {
	data := simulate(8, 8, 40, 4, usualTruth)
	text := "outcome = \"wear\"\nfixed = [\"picture\"]\n[[random]]\nby = \"book\"\nterms = [\"intercept\"]\n"
	m := parse(t, text+"[residual]\nlimit = 1.2\n")
	fit := fitted(t, m, data)
	intervals, err := fit.Profile(0.95)
	if err != nil {
		t.Fatal(err)
	}
	for _, i := range intervals {
		if i.Kind == mixed.FixedEffect {
			if !strings.Contains(i.Note, "bounds") || !math.IsNaN(i.Low) {
				t.Errorf("interval %+v", i)
			}
			continue
		}
		if !(i.Low <= i.Value && i.Value <= i.High) {
			t.Errorf("interval %+v", i)
		}
	}
	if l := (&mixed.Inferences{Intervals: &mixed.Intervals{Parameters: intervals}}).Listings(nil, nil); strings.Contains(fmt.Sprint(l), "NaN") {
		t.Errorf("listings %v", l)
	}
	boot, err := fit.Bootstrap(context.Background(), mixed.Bootstrapping{Replicates: 60, Seed: 2})
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range boot.Parameters {
		near(t, p.Name, p.Mean, p.Value, 0, (4/math.Sqrt(60)+0.2)*p.SD)
	}
	predictions, err := fit.Predict(data.Select([]int{0, 100}), mixed.Predicting{})
	if err != nil {
		t.Fatal(err)
	}
	// the same prediction, near enough, as the model without the limit gives
	all, err := fitted(t, parse(t, text), data).Predict(data.Select([]int{0, 100}), mixed.Predicting{})
	if err != nil {
		t.Fatal(err)
	}
	for k := range all {
		near(t, "prediction", predictions[k].Estimate, all[k].Estimate, 0, 2*all[k].SE)
		near(t, "its interval", predictions[k].RowHigh-predictions[k].RowLow, all[k].RowHigh-all[k].RowLow, 0.25, 0)
	}
	d, err := fit.Diagnose(context.Background(), mixed.Diagnosing{Table: data, Along: "place", Within: "book"})
	if err != nil {
		t.Fatal(err)
	}
	if len(d.NotDone) != 3 || len(d.Envelopes) != 0 || d.ResidualAutocorrelation != nil {
		t.Errorf("not done: %q", d.NotDone)
	}
}

// TestBootstrapRefuses: bounds told row by row are refused, not simulated.
func TestBootstrapRefuses(t *testing.T) {
	data := simulate(8, 6, 30, 4, usualTruth)
	side := make([]string, data.Rows())
	for i := range side {
		if i%9 == 0 {
			side[i] = "below"
		}
	}
	if err := data.Add(table.Cells("side", side)); err != nil {
		t.Fatal(err)
	}
	fit := fitted(t, parse(t, "outcome = \"wear\"\nfixed = [\"picture\"]\n[residual]\nlimits = \"side\"\n"), data)
	if _, err := fit.Bootstrap(context.Background(), mixed.Bootstrapping{Replicates: 30}); err == nil || !strings.Contains(err.Error(), "row by row") {
		t.Errorf("error %v", err)
	}
}

// TestInferenceOfCurve: a curve's bends have a profile interval, take part in
// the bootstrap and in the shares of variance.
func TestInferenceOfCurve(t *testing.T) {
	data := loadTable(t, "mcycle.csv")
	fit := fitted(t, parse(t, "outcome = \"accel\"\nfixed = []\n[[smooth]]\ncolumn = \"times\"\nbends = 12\n"), data)
	intervals, err := fit.Profile(0.95)
	if err != nil {
		t.Fatal(err)
	}
	for _, i := range intervals[2:] {
		if !(0 < i.Low && i.Low < i.Value && i.Value < i.High) {
			t.Errorf("interval %+v", i)
		}
	}
	if intervals[2].Kind != mixed.CurveDeviation {
		t.Errorf("parameter %+v", intervals[2])
	}
	shares := fit.RSquared()
	if shares.Marginal < 0.6 || shares.Random != 0 {
		t.Errorf("shares %+v: the curve explains most of this outcome", shares)
	}
	kr, err := fit.KenwardRoger()
	if err != nil {
		t.Fatal(err)
	}
	if c := kr.Fixed()[0]; !(c.SE >= fit.Fixed[0].SE) || !(c.DF > 1) {
		t.Errorf("adjusted intercept %+v, plain %+v", c, fit.Fixed[0])
	}
}
