package mixed_test

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"thumbed/models/mixed"
	"thumbed/models/table"
)

func newTable(t testing.TB, columns ...*table.Column) *table.Table {
	t.Helper()
	out, err := table.New(columns...)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// TestPredictions holds predictions to lme4's predict and their standard errors
// to dense matrices in R (Henderson 1975), see make-inference.R. Tolerance 1e-4:
// the reference's fits stop at a tolerance of their own.
func TestPredictions(t *testing.T) {
	for name, rows := range map[string]*table.Table{
		"sleepstudy-correlated": newTable(t, table.Labels("Subject", []string{"308", "309", "372"}), table.Numbers("Days", []float64{0, 4.5, 12})),
		"Penicillin":            newTable(t, table.Labels("plate", []string{"a", "x"}), table.Labels("sample", []string{"F", "A"})),
	} {
		fit, want := inferenceModels[name].fit(t, "restricted"), loadInference(t, name).Predict
		for _, population := range []bool{true, false} {
			got, err := fit.Predict(rows, mixed.Predicting{Population: population})
			if err != nil {
				t.Fatal(err)
			}
			for i, p := range got {
				center, se := want.Conditional, want.ConditionalSE
				if population {
					center, se = want.Population, want.PopulationSE
				}
				near(t, name, p.Estimate, center[i], 1e-5, 0)
				near(t, name+" se", p.SE, se[i], 1e-4, 0)
				if (len(p.Known) == 0) != population {
					t.Errorf("known groups %q", p.Known)
				}
				// a new row varies by the residual, and by the groups not known
				own := fit.Residual.SD * fit.Residual.SD
				if population && name == "Penicillin" {
					own += math.Pow(fit.Random[0].SD[0], 2) + math.Pow(fit.Random[1].SD[0], 2)
				}
				if !population || name == "Penicillin" {
					near(t, name+" row", p.RowSD, math.Sqrt(p.SE*p.SE+own), 1e-9, 0)
				}
			}
		}
	}
}

// TestPredictionOfCoefficients: the prediction of a population row at the
// baseline is the intercept, with its degrees of freedom and interval.
func TestPredictionOfCoefficients(t *testing.T) {
	fit := inferenceModels["Orthodont"].fit(t, "restricted")
	got, err := fit.Predict(newTable(t, table.Numbers("age", []float64{0}), table.Labels("Sex", []string{"Male"})), mixed.Predicting{})
	if err != nil {
		t.Fatal(err)
	}
	c := fit.Fixed[0]
	near(t, "estimate", got[0].Estimate, c.Estimate, 1e-9, 0)
	near(t, "se", got[0].SE, c.SE, 1e-9, 0)
	near(t, "df", got[0].DF, c.DF, 1e-3, 0)
	near(t, "low", got[0].Low, c.Low, 1e-4, 0)
}

// TestPredictionProblems: every mistake of the new rows is told with its place.
func TestPredictionProblems(t *testing.T) {
	fit := inferenceModels["Orthodont"].fit(t, "restricted")
	_, err := fit.Predict(newTable(t, table.Cells("age", []string{"8", ""}), table.Labels("Sex", []string{"male", "Female"})), mixed.Predicting{})
	if err == nil || !strings.Contains(err.Error(), "male") || !strings.Contains(err.Error(), "age") {
		t.Errorf("error %v", err)
	}
	if _, err := fit.Predict(newTable(t, table.Numbers("age", []float64{8})), mixed.Predicting{}); err == nil || !strings.Contains(err.Error(), "Sex") {
		t.Errorf("error %v", err)
	}
	if _, err := fit.Predict(newTable(t, table.Numbers("age", []float64{8})), mixed.Predicting{Level: 2}); err == nil {
		t.Error("a level of 2 was taken")
	}
}

// TestPredictionCovers: over 200 simulated studies of ten books the 95 % interval
// of a new row of a new book holds it, and that of the mean holds the mean, on
// both scales. A share of 200 within three standard errors is 90.4 to 99.6 %.
func TestPredictionCovers(t *testing.T) {
	const studies = 200
	for _, scale := range []string{"identity", "log"} {
		m := parse(t, "outcome = \"wear\"\nscale = \""+scale+"\"\nfixed = [\"place\"]\n[[random]]\nby = \"book\"\nterms = [\"intercept\"]\n")
		rows, means, outcomes := 0, 0, 0
		for seed := range uint64(studies) {
			r := rand.New(rand.NewPCG(seed, 23))
			var book []string
			var place, wear []float64
			draw := func(label string, n int) {
				effect := 0.4 * r.NormFloat64()
				for range n {
					x := r.Float64()
					book, place = append(book, label), append(place, x)
					wear = append(wear, 1+0.5*x+effect+0.5*r.NormFloat64())
				}
			}
			for b := range 10 {
				draw(string(rune('a'+b)), 8)
			}
			draw("new", 1)
			truth := wear[80]
			if scale == "log" {
				for i, v := range wear {
					wear[i] = math.Exp(v)
				}
			}
			data := newTable(t, table.Labels("book", book[:80]), table.Numbers("place", place[:80]), table.Numbers("wear", wear[:80]))
			got, err := fitted(t, m, data).Predict(newTable(t, table.Labels("book", book[80:]), table.Numbers("place", place[80:])), mixed.Predicting{})
			if err != nil {
				t.Fatal(err)
			}
			p, mean := got[0], 1+0.5*place[80]
			if p.RowLow <= truth && truth <= p.RowHigh {
				rows++
			}
			if p.Low <= mean && mean <= p.High {
				means++
			}
			expected := mean
			if scale == "log" {
				expected = math.Exp(mean + (0.16+0.25)/2)
			}
			if p.Outcome.Low <= expected && expected <= p.Outcome.High {
				outcomes++
			}
		}
		for what, n := range map[string]int{"rows": rows, "means": means, "means in the outcome's unit": outcomes} {
			share := float64(n) / studies
			t.Logf("%s scale: intervals of %s hold the truth in %.1f %%", scale, what, 100*share)
			if share < 0.904 || share > 0.996 {
				t.Errorf("%s scale: 95 %% intervals of %s hold the truth in %.1f %%", scale, what, 100*share)
			}
		}
	}
}

// TestPredictionOfCurve: a fit with a curve predicts its own rows' fitted curve.
func TestPredictionOfCurve(t *testing.T) {
	data := loadTable(t, "mcycle.csv")
	fit := fitted(t, parse(t, "outcome = \"accel\"\nfixed = []\n[[smooth]]\ncolumn = \"times\"\nbends = 18\n"), data)
	at := []float64{5, 14.6, 30, 50}
	curve, err := fit.Curve(0, "", at)
	if err != nil {
		t.Fatal(err)
	}
	got, err := fit.Predict(newTable(t, table.Numbers("times", at)), mixed.Predicting{})
	if err != nil {
		t.Fatal(err)
	}
	for i := range at {
		near(t, "difference along the curve", got[i].Estimate-got[0].Estimate, curve[i].Estimate-curve[0].Estimate, 1e-8, 1e-8)
	}
}
