package generalised

import (
	"encoding/json"
	"math"
	"os"
	"strings"
	"testing"

	"thumbed/models/mixed"
	"thumbed/models/table"
)

// What a model asks for by its keys, against lme4's profile, car's joint Wald test,
// lme4's likelihood ratio and prediction, and the shares of variance by their formulas
// (testdata/reference/generalised/make-inference.R).
func TestInferenceByKeys(t *testing.T) {
	var want struct {
		CBPP struct {
			Profile   struct{ Low, High []float64 }
			Period    struct{ Chisq, DF, P float64 }
			Ratio     float64
			Shares    mixed.RSquared
			Rows      []int
			Predicted []float64
		}
		Grouseticks struct {
			Year   struct{ Chisq, DF, P float64 }
			Shares mixed.RSquared
		}
	}
	text, err := os.ReadFile(references + "/inference.json")
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(text, &want); err != nil {
		t.Fatal(err)
	}
	data := readTable(t, "cbpp.csv")
	asked := parsed(t, "intervals = \"profile\"\ntests = true\nvariance_shares = true\nmeans = [\"period\"]\n"+cbppModel)
	result, err := FitModel(asked, data)
	if err != nil {
		t.Fatal(err)
	}
	f := result.(*Fit)
	c := want.CBPP
	// theirs begins with the deviation, and has 3.84 for the limit where 15 herds are few too
	for k, i := range f.Intervals.Parameters {
		at := (k + 1) % len(c.Profile.Low)
		if own := f.parameters()[k]; own.reach > chiSquare95 {
			own.reach = chiSquare95
			plain := f.profile(own)
			if !(i.Low < plain.Low && plain.High < i.High) {
				t.Errorf("%s: %.6f to %.6f is not wider than with many groups, %.6f to %.6f", i.Name, i.Low, i.High, plain.Low, plain.High)
			}
			i = plain
		}
		if math.Abs(i.Low-c.Profile.Low[at]) > 5e-4 || math.Abs(i.High-c.Profile.High[at]) > 5e-4 {
			t.Errorf("%s: %.6f to %.6f, theirs %.6f to %.6f", i.Name, i.Low, i.High, c.Profile.Low[at], c.Profile.High[at])
		}
	}
	sameTest := func(name string, got mixed.JointTest, chisq, df, p float64) {
		if got.NumDF != df || math.Abs(got.F*got.NumDF-chisq) > 2e-3*chisq || math.Abs(got.P-p) > 0.02*p {
			t.Errorf("%s: %+v, theirs χ² %g of %g, p %g", name, got, chisq, df, p)
		}
	}
	sameTest("period", f.Tests[0], c.Period.Chisq, c.Period.DF, c.Period.P)
	sameShares := func(name string, got *mixed.RSquared, want mixed.RSquared) {
		for _, v := range [][2]float64{{got.Fixed, want.Fixed}, {got.Random, want.Random}, {got.Residual, want.Residual}, {got.Marginal, want.Marginal}, {got.Conditional, want.Conditional}} {
			if math.Abs(v[0]-v[1]) > 1e-3*v[1] {
				t.Errorf("%s: shares %+v, theirs %+v", name, got, want)
			}
		}
	}
	sameShares("cbpp", f.Shares, c.Shares)
	if len(f.Adjusted) != 4 {
		t.Errorf("adjusted means %+v", f.Adjusted)
	}
	comparison, err := CompareModels(asked, parsed(t, strings.Replace(cbppModel, "fixed = [\"period\"]", "fixed = []", 1)), "constant.toml", data)
	if err != nil || !comparison.Larger || math.Abs(comparison.Statistic-c.Ratio) > 1e-3 || len(comparison.Mixture) != 1 || comparison.Mixture[0].DF != 3 {
		t.Errorf("comparison %+v, %v; theirs %g", comparison, err, c.Ratio)
	}

	// pages not yet read: the outcome of some rows is taken out
	cells := data.Column("incidence").Text()
	if cells == nil {
		for i := range data.Rows() {
			cells = append(cells, data.Column("incidence").Label(i))
		}
	}
	for _, row := range c.Rows {
		cells[row-1] = ""
	}
	gaps, err := table.New(table.Cells("incidence", cells), data.Column("size"), data.Column("period"), data.Column("herd"))
	if err != nil {
		t.Fatal(err)
	}
	result, err = FitModel(parsed(t, "predictions = true\n"+cbppModel), gaps)
	if err != nil {
		t.Fatal(err)
	}
	for k, p := range result.(*Fit).Predictions {
		if p.Row != c.Rows[k] || math.Abs(p.Mean-c.Predicted[k]) > 1e-4 || !(p.Low < p.Mean && p.Mean < p.High) || len(p.Known) != 1 {
			t.Errorf("prediction %+v, theirs %g", p, c.Predicted[k])
		}
	}

	ticks, err := FitModel(parsed(t, "outcome = \"TICKS\"\nkind = \"counts\"\ntests = true\nvariance_shares = true\nfixed = [\"YEAR\", \"height\"]\n[levels]\nYEAR = [\"95\", \"96\", \"97\"]\n[[random]]\nby = \"BROOD\"\nterms = [\"intercept\"]\n[[random]]\nby = \"LOCATION\"\nterms = [\"intercept\"]\n"), readTable(t, "grouseticks.csv"))
	if err != nil {
		t.Fatal(err)
	}
	g := ticks.(*Fit)
	// of the same standard errors: the degrees of freedom of few groups are ours alone
	year := g.Tests[0]
	if year.DF < 1e7 && year.F*year.NumDF > want.Grouseticks.Year.Chisq {
		t.Errorf("year: %+v, theirs χ² %g", year, want.Grouseticks.Year.Chisq)
	}
	sameShares("grouseticks", g.Shares, want.Grouseticks.Shares)
}

// A bootstrap interval of the deviation holds the profile's estimate, and the keys that
// a model cannot be obeyed in are told.
func TestInferenceBootstrapAndRefusals(t *testing.T) {
	result, err := FitModel(parsed(t, "intervals = \"bootstrap\"\nreplicates = 99\npredictions = true\n"+cbppModel), readTable(t, "cbpp.csv"))
	if err != nil {
		t.Fatal(err)
	}
	f := result.(*Fit)
	last := f.Intervals.Parameters[len(f.Intervals.Parameters)-1]
	if last.Kind != mixed.GroupDeviation || !(last.Low < last.Value && last.Value < last.High) {
		t.Errorf("%+v", last)
	}
	if !strings.Contains(strings.Join(f.Notes, " "), "No predictions: no row lacks its incidence") {
		t.Errorf("notes %q", f.Notes)
	}
	if _, err = mixed.ParseModel("model.toml", []byte("means = [\"herd\"]\n"+cbppModel)); err == nil || !strings.Contains(err.Error(), "columns of labels among the fixed effects") {
		t.Errorf("means of a column that is no effect: %v", err)
	}
}

// An effect that one group alone carries is told: of invented counts, one book of eight
// has all the difference.
func TestInfluenceUnasked(t *testing.T) {
	var b strings.Builder
	b.WriteString("smears,part,book\n")
	for book := range 8 {
		for row := range 6 {
			n, part := 2+(book+row)%2, "text"
			if row%2 == 1 {
				part = "picture"
				if book == 0 {
					n = 30
				}
			}
			b.WriteString(strings.Join([]string{string(rune('0' + n/10)), string(rune('0' + n%10)), ",", part, ",b", string(rune('0' + book)), "\n"}, ""))
		}
	}
	var ps table.Problems
	result, err := FitModel(parsed(t, "outcome = \"smears\"\nkind = \"counts\"\nfixed = [\"part\"]\n[levels]\npart = [\"text\", \"picture\"]\n[[random]]\nby = \"book\"\nterms = [\"intercept\"]\n"), table.Read("smears.csv", []byte(b.String()), &ps))
	if err != nil {
		t.Fatal(err)
	}
	if said := strings.Join(result.(*Fit).Diagnosed, " "); !strings.Contains(said, "picture (part)") || !strings.Contains(said, "without book b0") {
		t.Errorf("of the book that carries the effect is said %q", said)
	}
}
