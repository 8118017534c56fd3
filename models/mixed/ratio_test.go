package mixed_test

import (
	"bytes"
	"math"
	"strings"
	"testing"

	"thumbed/models/mixed"
)

// TestRatioTests holds likelihood-ratio tests to lme4's anova, whose p takes no
// account of variances' being at an edge: there ours is from the mixture.
// Tolerance 1e-5 of the statistic: the reference's fits stop at their own.
func TestRatioTests(t *testing.T) {
	data := loadTable(t, "sleepstudy.csv")
	full := func(text string) *mixed.Fit { return fitted(t, parse(t, "estimate = \"full\"\n"+text), data) }
	large := full(sleepText)
	want := loadInference(t, "sleepstudy-correlated")

	got, err := full("outcome = \"Reaction\"\nfixed = []\n" + strings.SplitN(sleepText, "\n", 3)[2]).RatioTest(large)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "statistic", got.Statistic, want.RatioFixed.Chisq, 1e-5, 0)
	near(t, "p", got.P, want.RatioFixed.P, 1e-4, 0)

	got, err = full("outcome = \"Reaction\"\nfixed = [\"Days\"]\n[[random]]\nby = \"Subject\"\nterms = [\"intercept\"]\n").RatioTest(large)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "statistic", got.Statistic, want.Ratio.Chisq, 1e-5, 0)
	if len(got.Mixture) != 2 || got.Mixture[0] != (mixed.ChiSquaredShare{DF: 1, Weight: 0.5}) || got.Mixture[1] != (mixed.ChiSquaredShare{DF: 2, Weight: 0.5}) || got.Cautious {
		t.Errorf("mixture %+v", got.Mixture)
	}
	// half of χ²₂, whose tail is exp(−x/2), and half of χ²₁
	near(t, "p", got.P, 0.5*math.Exp(-got.Statistic/2)+0.5*math.Erfc(math.Sqrt(got.Statistic/2)), 1e-8, 0)
}

// TestRatioMixtures: which mixture each step from a smaller to a larger model
// has.
func TestRatioMixtures(t *testing.T) {
	data := simulate(11, 8, 40, 5, usualTruth)
	base := "outcome = \"wear\"\nfixed = [\"picture\"]\n"
	book := "[[random]]\nby = \"book\"\nterms = [\"intercept\"]\n"
	quire := "[[random]]\nby = [\"book\", \"quire\"]\nterms = [\"intercept\"]\n"
	reader := "[[random]]\nby = \"reader\"\nterms = [\"intercept\"]\n"
	slope := "[[random]]\nby = \"book\"\nterms = [\"intercept\", \"place\"]\n"
	for _, c := range []struct {
		name, small, large string
		mixture            []mixed.ChiSquaredShare
		cautious           bool
	}{
		{"one variance", base, base + book, []mixed.ChiSquaredShare{{DF: 0, Weight: 0.5}, {DF: 1, Weight: 0.5}}, false},
		{"two variances", base + book, base + book + quire + reader, []mixed.ChiSquaredShare{{DF: 0, Weight: 0.25}, {DF: 1, Weight: 0.5}, {DF: 2, Weight: 0.25}}, false},
		{"a slope by itself", base + book, base + slope, []mixed.ChiSquaredShare{{DF: 0, Weight: 0.5}, {DF: 1, Weight: 0.5}}, false},
		{"a slope with its correlation", base + book, base + slope + "correlated = true\n", []mixed.ChiSquaredShare{{DF: 1, Weight: 0.5}, {DF: 2, Weight: 0.5}}, false},
		{"the correlation alone", base + slope, base + slope + "correlated = true\n", []mixed.ChiSquaredShare{{DF: 1, Weight: 1}}, false},
		{"both at once", base, base + slope + "correlated = true\n", []mixed.ChiSquaredShare{{DF: 3, Weight: 1}}, true},
		{"levels of the residual", base + book, base + book + "[residual]\nlevels = \"picture\"\n", []mixed.ChiSquaredShare{{DF: 1, Weight: 1}}, false},
		{"a fixed effect and a variance", base, "outcome = \"wear\"\nfixed = [\"picture\", \"place\"]\n" + book, []mixed.ChiSquaredShare{{DF: 1, Weight: 0.5}, {DF: 2, Weight: 0.5}}, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			full := "estimate = \"full\"\n"
			got, err := fitted(t, parse(t, full+c.small), data).RatioTest(fitted(t, parse(t, full+c.large), data))
			if err != nil {
				t.Fatal(err)
			}
			if text(t, got.Mixture) != text(t, c.mixture) || got.Cautious != c.cautious {
				t.Errorf("mixture %+v, cautious %v; expected %+v", got.Mixture, got.Cautious, c.mixture)
			}
			if got.P <= 0 || got.P > 1 {
				t.Errorf("p = %g", got.P)
			}
			var b bytes.Buffer
			if err := got.Text(&b); err != nil || !strings.Contains(b.String(), "Tested: ") {
				t.Errorf("text %q (%v)", b.String(), err)
			}
		})
	}
}

// TestRatioRefuses: fits that do not compare are refused in words.
func TestRatioRefuses(t *testing.T) {
	data := simulate(12, 6, 40, 4, usualTruth)
	fit := func(text string) *mixed.Fit { return fitted(t, parse(t, text), data) }
	book := "[[random]]\nby = \"book\"\nterms = [\"intercept\"]\n"
	reader := "[[random]]\nby = \"reader\"\nterms = [\"intercept\"]\n"
	base := fit("outcome = \"wear\"\nfixed = [\"picture\"]\n" + book)
	for name, c := range map[string]struct {
		small, large *mixed.Fit
		word         string
	}{
		"fixed parts":   {base, fit("outcome = \"wear\"\nfixed = [\"picture\", \"place\"]\n" + book), "fixed part"},
		"estimates":     {base, fit("estimate = \"full\"\noutcome = \"wear\"\nfixed = [\"picture\"]\n" + book), "same estimate"},
		"not nested":    {base, fit("outcome = \"wear\"\nfixed = [\"picture\"]\n" + reader), "neither holds"},
		"other outcome": {base, fit("outcome = \"place\"\nfixed = [\"picture\"]\n" + book), "outcomes"},
		"other rows":    {base, fitted(t, parse(t, "outcome = \"wear\"\nfixed = [\"picture\"]\n"+book), data.Select(allBut(data.Rows(), 7))), "rows"},
	} {
		if _, err := c.small.RatioTest(c.large); err == nil || !strings.Contains(err.Error(), c.word) {
			t.Errorf("%s: error %v, expected one that names %q", name, err, c.word)
		}
	}
	if _, err := fit("outcome = \"wear\"\nfixed = []\n").RatioTest(base); err == nil {
		t.Error("restricted likelihoods of different fixed parts were compared")
	}
}

// allBut are the numbers below n without one.
func allBut(n, out int) []int {
	var rows []int
	for i := range n {
		if i != out {
			rows = append(rows, i)
		}
	}
	return rows
}
