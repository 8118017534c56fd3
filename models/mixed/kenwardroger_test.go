package mixed_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"thumbed/models/table"
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
			fit := fitted(t, parse(t, r.Model), loadTable(t, r.Data))
			if fit.Method != "Kenward–Roger" {
				t.Errorf("method %q", fit.Method)
			}
			for k, c := range fit.Fixed {
				near(t, c.Term+" se", c.SE, want.KRSE[k], 1e-3, 0)
				near(t, c.Term+" df", c.DF, want.KRDF[k], 1e-3, 0)
				near(t, c.Term+" t", c.T, c.Estimate/c.SE, 1e-12, 0)
				near(t, c.Term+" covariance", math.Sqrt(fit.Covariance().At(k, k)), c.SE, 1e-9, 0)
			}
			checked++
		})
	}
	if checked < 9 {
		t.Errorf("only %d datasets have reference values", checked)
	}
}

// TestMethodIsNamed: how degrees of freedom came about stands on the fit, with the
// reason where it is not after Kenward and Roger.
func TestMethodIsNamed(t *testing.T) {
	data := simulate(3, 6, 40, 4, usualTruth)
	crossed := "outcome = \"wear\"\nfixed = [\"picture\"]\n[[random]]\nby = \"book\"\nterms = [\"intercept\"]\n[[random]]\nby = \"reader\"\nterms = [\"intercept\"]\n"
	for _, c := range []struct {
		text, want string
		data       *table.Table
	}{
		{studyModel, "Kenward–Roger", data},
		{studyModel + "[residual]\nlimit = 1.0\n", "Kenward–Roger", data},
		{"estimate = \"full\"\n" + studyModel, "Satterthwaite: the Kenward–Roger adjustment is made for the restricted likelihood", data},
		{satterthwaiteText + studyModel, "Satterthwaite: asked for in the model", data},
		{"outcome = \"wear\"\nfixed = [\"picture\"]\n", "least squares, exact", data},
		// thousands of books that readers tie together
		{crossed, "Kenward–Roger", simulate(4, 2600, 2, 3, usualTruth)},
	} {
		if got := fitted(t, parse(t, c.text), c.data).Method; !strings.HasPrefix(got, c.want) {
			t.Errorf("method %q, want %q; model %s", got, c.want, c.text)
		}
	}
}

// TestZeroVarianceKeepsItsDegrees: a variance of zero leaves the degrees of freedom of the
// groups, not those of the rows. The yield of Dyestuff2 has a batch variance
// estimated as zero; six batches of five tell of the mean with 5 degrees of freedom,
// as the analysis of variance has it (simulated data of Box and Tiao 1973, section 5.1).
func TestZeroVarianceKeepsItsDegrees(t *testing.T) {
	fit := fitted(t, parse(t, "outcome = \"Yield\"\nfixed = []\n[[random]]\nby = \"Batch\"\nterms = [\"intercept\"]\n"), loadTable(t, "Dyestuff2.csv"))
	if len(fit.Boundary) != 1 {
		t.Fatalf("boundary %q", fit.Boundary)
	}
	near(t, "degrees of freedom", fit.Fixed[0].DF, 5, 1e-6, 0)
}

// TestDesignKeepsItsDegrees: with variances of zero between sections and between
// quires that cross them, an effect between eight sections has no fewer degrees of
// freedom than the analysis of variance of sections gives it: 8 − 2.
func TestDesignKeepsItsDegrees(t *testing.T) {
	for seed := range uint64(20) {
		r := rand.New(rand.NewPCG(seed, 78))
		var section, quire, evening []string
		var wear []float64
		for i := range 64 {
			section, quire = append(section, fmt.Sprint(i/8)), append(quire, fmt.Sprint((i+4)/16))
			evening, wear = append(evening, []string{"no", "yes"}[i/8%2]), append(wear, 0.2+0.03*r.NormFloat64())
		}
		data := tableOf(table.Labels("section", section), table.Labels("quire", quire), table.Labels("evening", evening), table.Numbers("wear", wear))
		fit := fitted(t, parse(t, "outcome = \"wear\"\nfixed = [\"evening\"]\n[[random]]\nby = \"section\"\nterms = [\"intercept\"]\n[[random]]\nby = \"quire\"\nterms = [\"intercept\"]\n"), data)
		if df := fit.Fixed[1].DF; len(fit.Boundary) > 0 && df < 6 {
			t.Errorf("seed %d: %g degrees of freedom", seed, df)
		}
	}
}
