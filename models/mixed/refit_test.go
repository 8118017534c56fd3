package mixed_test

import (
	"math/rand/v2"
	"strings"
	"testing"

	"thumbed/models/mixed"
	"thumbed/models/table"
)

// TestRefitIsFit: a refit to another outcome is the fit to a table with that
// outcome, for each kind of residual.
func TestRefitIsFit(t *testing.T) {
	data := simulate(12, 6, 40, 4, usualTruth)
	n := data.Rows()
	r := rand.New(rand.NewPCG(1, 2))
	se, along, outcome := make([]float64, n), make([]float64, n), make([]float64, n)
	for i := range n {
		se[i] = 0.1 + 0.2*r.Float64()
		along[i] = float64(i % 40)
		outcome[i] = data.Column("wear").Numbers[i] + 0.3*r.NormFloat64()
	}
	for _, c := range []*table.Column{table.Numbers("se", se), table.Numbers("along", along)} {
		if err := data.Add(c); err != nil {
			t.Fatal(err)
		}
	}
	other := changed(data, "wear", func(*table.Column) *table.Column { return table.Numbers("wear", outcome) })
	for _, residual := range []string{"", "known_sd = \"se\"\n", "along = \"along\"\nwithin = \"book\"\n", "levels = \"picture\"\n", "limit = 1.8\n"} {
		m := parse(t, studyModel+"[residual]\n"+residual)
		refitter := fitted(t, m, data).Refitter()
		m.DF = "Satterthwaite" // whose standard errors hold the variances for known, as a refit's do
		want := fitted(t, m, other)
		for range 2 { // the second time from the first one's leavings
			got, err := refitter.Refit(outcome)
			if err != nil {
				t.Fatal(err)
			}
			if !got.Converged {
				t.Errorf("%q: did not converge", residual)
			}
			near(t, residual+" criterion", got.MinusTwiceLogLik, want.MinusTwiceLogLik, 1e-8, 0)
			for k, c := range want.Fixed {
				near(t, residual+c.Term, got.Fixed[k], c.Estimate, 1e-5, 1e-5*c.SE)
				if strings.HasPrefix(residual, "limit") { // the fit's holds what bounds share with the variances besides
					if ratio := got.SE[k] / c.SE; ratio > 1 || ratio < 0.97 {
						t.Errorf("%s: standard error %g, the fit's %g", c.Term, got.SE[k], c.SE)
					}
					continue
				}
				near(t, residual+c.Term+" se", got.SE[k], c.SE, 1e-5, 0)
			}
			random, left := refitter.Variances(got)
			near(t, residual+" residual", left.SD, want.Residual.SD, 1e-5, 0)
			for k := range random {
				near(t, residual+" deviation", random[k].SD[0], want.Random[k].SD[0], 1e-4, 1e-5)
			}
		}
	}
	if _, err := fitted(t, parse(t, studyModel), data).Refitter().Refit(outcome[1:]); err == nil {
		t.Error("an outcome of another length")
	}
}

// BenchmarkRefit is one fit of a parametric bootstrap of sleepstudy, without
// its drawing.
func BenchmarkRefit(b *testing.B) {
	var fit *mixed.Fit
	var data *table.Table
	for _, r := range loadReferences(b) {
		if r.Name == "sleepstudy, intercept and slope correlated" {
			data = loadTable(b, r.Data)
			fit = fitted(b, parse(b, r.Model), data)
		}
	}
	r := rand.New(rand.NewPCG(1, 1))
	outcomes := make([][]float64, 64)
	for k := range outcomes {
		outcomes[k] = make([]float64, data.Rows())
		for i, v := range data.Column("Reaction").Numbers {
			outcomes[k][i] = v + 25*r.NormFloat64()
		}
	}
	refitter := fit.Refitter()
	b.ReportAllocs()
	k := 0
	for b.Loop() {
		if _, err := refitter.Refit(outcomes[k%len(outcomes)]); err != nil {
			b.Fatal(err)
		}
		k++
	}
}
