package mixed_test

import (
	"math"
	"strings"
	"testing"
)

// TestKenwardRoger holds standard errors and degrees of freedom to pbkrtest's
// on every published dataset that the reference fits by restricted likelihood.
// Tolerance 1e-3 relative: the reference's fit stops at a tolerance of its own,
// and degrees of freedom depend on variances by high powers.
func TestKenwardRoger(t *testing.T) {
	checked := 0
	for _, r := range loadReferences(t) {
		want := r.Restricted
		if want.KRDF == nil {
			continue
		}
		t.Run(r.Name, func(t *testing.T) {
			kr, err := fitted(t, parse(t, r.Model), loadTable(t, r.Data)).KenwardRoger()
			if err != nil {
				t.Fatal(err)
			}
			for k, c := range kr.Fixed() {
				near(t, c.Term+" se", c.SE, want.KRSE[k], 1e-3, 0)
				near(t, c.Term+" df", c.DF, want.KRDF[k], 1e-3, 0)
				near(t, c.Term+" t", c.T, c.Estimate/c.SE, 1e-12, 0)
				near(t, c.Term+" covariance", math.Sqrt(kr.Covariance().At(k, k)), c.SE, 1e-9, 0)
			}
			checked++
		})
	}
	if checked < 9 {
		t.Errorf("only %d datasets have reference values", checked)
	}
}

// TestKenwardRogerRefuses: full likelihood and bounds are told in words.
func TestKenwardRogerRefuses(t *testing.T) {
	data := simulate(3, 6, 40, 4, usualTruth)
	for text, want := range map[string]string{
		"estimate = \"full\"\n" + studyModel:     "restricted",
		studyModel + "[residual]\nlimit = 1.0\n": "bounds",
	} {
		_, err := fitted(t, parse(t, text), data).KenwardRoger()
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("error %v, expected one that names %q", err, want)
		}
	}
	// thousands of books that readers tie together
	crossed := "outcome = \"wear\"\nfixed = [\"picture\"]\n[[random]]\nby = \"book\"\nterms = [\"intercept\"]\n[[random]]\nby = \"reader\"\nterms = [\"intercept\"]\n"
	_, err := fitted(t, parse(t, crossed), simulate(4, 2600, 2, 3, usualTruth)).KenwardRoger()
	if err == nil || !strings.Contains(err.Error(), "2603") {
		t.Errorf("error %v, expected one that tells how many random effects hang together", err)
	}
}
