package mixed_test

import (
	"bytes"
	"math"
	"strings"
	"testing"

	"thumbed/models/mixed"
)

// TestMarginalMeans holds means to contrasts of lme4's fits over the reference
// grid, with lmerTest's degrees of freedom (make-inference.R). Tolerance 1e-5,
// and 1e-3 for degrees of freedom.
func TestMarginalMeans(t *testing.T) {
	for name, column := range map[string]string{"Oats": "Variety", "cake": "recipe"} {
		want := loadInference(t, name).Means
		got, err := inferenceModels[name].fit(t, "restricted").MarginalMeans([]string{column}, mixed.EqualWeights, nil)
		if err != nil {
			t.Fatal(err)
		}
		for k, m := range got.Means {
			near(t, m.Mean.Term, m.Mean.Estimate, want.Estimate[k], 1e-5, 0)
			near(t, m.Mean.Term+" se", m.Mean.SE, want.SE[k], 1e-4, 0)
			near(t, m.Mean.Term+" df", m.Mean.DF, want.DF[k], 1e-3, 0)
		}
		var b bytes.Buffer
		if err := got.Text(&b); err != nil || !strings.Contains(b.String(), "Differences") {
			t.Errorf("text %q (%v)", b.String(), err)
		}
	}
}

// TestMarginalMeansByRows: averaged over the rows used, the mean of the means,
// weighted by how often each level occurs, is that of the fitted fixed part; on
// a balanced table both weights agree.
func TestMarginalMeansByRows(t *testing.T) {
	fit := inferenceModels["cake"].fit(t, "restricted")
	equal, errE := fit.MarginalMeans([]string{"recipe"}, mixed.EqualWeights, nil)
	rows, errR := fit.MarginalMeans([]string{"recipe"}, mixed.RowWeights, nil)
	if errE != nil || errR != nil {
		t.Fatal(errE, errR)
	}
	for k := range rows.Means {
		near(t, rows.Means[k].Mean.Term, rows.Means[k].Mean.Estimate, equal.Means[k].Mean.Estimate, 1e-9, 0)
	}
	data := simulate(21, 6, 40, 4, usualTruth)
	m := parse(t, "levels.picture = [\"no\", \"yes\"]\n"+strings.Replace(studyModel, "\"place\"]", "\"place\", [\"picture\", \"place\"]]", 1))
	got, err := fitted(t, m, data).MarginalMeans([]string{"picture"}, mixed.RowWeights, nil)
	if err != nil {
		t.Fatal(err)
	}
	place := 0.0
	for _, v := range data.Column("place").Numbers {
		place += v / float64(data.Rows())
	}
	c := fitted(t, m, data).Fixed
	near(t, "no", got.Means[0].Mean.Estimate, c[0].Estimate+place*c[2].Estimate, 1e-9, 0)
	near(t, "yes", got.Means[1].Mean.Estimate, c[0].Estimate+c[1].Estimate+place*(c[2].Estimate+c[3].Estimate), 1e-9, 0)
	d := got.Differences()
	near(t, "difference", d[0].Estimate, c[1].Estimate+place*c[3].Estimate, 1e-9, 1e-12)
	set, err := fitted(t, m, data).MarginalMeans([]string{"picture"}, mixed.EqualWeights, map[string]float64{"place": 2})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "no at 2", set.Means[0].Mean.Estimate, c[0].Estimate+2*c[2].Estimate, 1e-9, 0)
}

// TestMarginalMeansRefuse: what cannot be averaged is told.
func TestMarginalMeansRefuse(t *testing.T) {
	fit := inferenceModels["Oats"].fit(t, "restricted")
	for _, columns := range [][]string{nil, {"nitro"}, {"Block"}, {"Variety", "Variety"}} {
		if _, err := fit.MarginalMeans(columns, mixed.EqualWeights, nil); err == nil {
			t.Errorf("means by %q were given", columns)
		}
	}
	if _, err := fit.MarginalMeans([]string{"Variety"}, "some", nil); err == nil {
		t.Error("unknown weights were taken")
	}
	if _, err := fit.MarginalMeans([]string{"Variety"}, mixed.EqualWeights, map[string]float64{"nitro": math.NaN()}); err == nil {
		t.Error("a value that is no number was taken")
	}
}

// TestRSquared holds the shares of variance to the formulas of Nakagawa and
// Schielzeth (2013) and Johnson (2014) on lme4's fits (make-inference.R).
// Tolerance 2e-4: variances of the reference's fits have relative errors of
// their own of that order.
func TestRSquared(t *testing.T) {
	for name := range inferenceModels {
		want := loadInference(t, name).R2
		got := inferenceModels[name].fit(t, "restricted").RSquared()
		near(t, name+" fixed", got.Fixed, want.Fixed, 2e-4, 1e-9)
		near(t, name+" random", got.Random, want.Random, 2e-4, 0)
		near(t, name+" residual", got.Residual, want.Residual, 2e-4, 0)
		near(t, name+" marginal", got.Marginal, want.Marginal, 2e-4, 1e-9)
		near(t, name+" conditional", got.Conditional, want.Conditional, 2e-4, 0)
	}
}

// TestModesReference holds conditional modes and their standard deviations to
// lme4's. Tolerance 1e-3 of the largest: the reference's fits stop at a
// tolerance of their own.
func TestModesReference(t *testing.T) {
	terms := map[string]string{"(Intercept)": "intercept"}
	for name := range inferenceModels {
		want := loadInference(t, name).Modes
		if want.Value == nil {
			continue
		}
		at := map[string]int{}
		for k := range want.Value {
			term := want.Term[k]
			if ours, ok := terms[term]; ok {
				term = ours
			}
			at[strings.ReplaceAll(want.Factor[k], ":", " ")+"|"+strings.ReplaceAll(want.Group[k], ":", " / ")+"|"+term] = k
		}
		fit := inferenceModels[name].fit(t, "restricted")
		for _, mode := range fit.RandomEffects() {
			k, ok := at[strings.Join(mode.By, " ")+"|"+mode.Group+"|"+mode.Term]
			if !ok {
				t.Fatalf("%s: the reference has no %v %s %s", name, mode.By, mode.Group, mode.Term)
			}
			near(t, name+" "+mode.Group+" "+mode.Term, mode.Value, want.Value[k], 1e-3, 1e-3*want.SD[k])
			near(t, name+" "+mode.Group+" "+mode.Term+" sd", mode.SD, want.SD[k], 1e-3, 0)
		}
		if len(fit.RandomEffects()) != len(want.Value) {
			t.Errorf("%s: %d modes, reference %d", name, len(fit.RandomEffects()), len(want.Value))
		}
	}
}
