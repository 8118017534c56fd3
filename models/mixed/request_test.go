package mixed_test

import (
	"context"
	"encoding/json"
	"math"
	"os"
	"strings"
	"testing"

	"thumbed/models/mixed"
	"thumbed/models/table"
)

// inferred fits a model with what it asks for.
func inferred(t *testing.T, text string, data *table.Table) *mixed.Fit {
	t.Helper()
	f := fitted(t, parse(t, text), data)
	if err := f.Infer(context.Background(), mixed.Inferring{Table: data, Simulate: true}); err != nil {
		t.Fatal(err)
	}
	return f
}

// TestInferenceByKeys: what a model asks for by its keys is what the methods give, held
// to lme4 and pbkrtest (testdata/reference/mixed/make-inference.R), and each reaches
// the JSON.
func TestInferenceByKeys(t *testing.T) {
	const model = "outcome = \"yield\"\nfixed = [\"Variety\", \"nitro\"]\n[[random]]\nby = \"Block\"\nterms = [\"intercept\"]\n[[random]]\nby = [\"Block\", \"Variety\"]\nterms = [\"intercept\"]\n"
	data := loadTable(t, "Oats.csv")
	f := inferred(t, "intervals = \"profile\"\ntests = true\nmeans = [\"Variety\"]\nvariance_shares = true\n"+model, data)
	plain := fitted(t, parse(t, model), data)
	tests, err := plain.TermTests()
	if err != nil || len(f.Tests) != 2 || f.Tests[0].P != tests[0].P {
		t.Errorf("tests %+v, %+v, %v", f.Tests, tests, err)
	}
	// a balanced design: the rows as they are and equal weights are one
	means, err := plain.MarginalMeans([]string{"Variety"}, mixed.EqualWeights, nil)
	if err != nil {
		t.Fatal(err)
	}
	for k, m := range f.Adjusted {
		near(t, m.Level, m.Mean, means.Means[k].Mean.Estimate, 1e-9, 0)
		near(t, m.Level, m.High, means.Means[k].Mean.High, 1e-9, 0)
	}
	text, err := json.Marshal(f)
	if err != nil {
		t.Fatal(err)
	}
	var keys map[string]any
	if err := json.Unmarshal(text, &keys); err != nil {
		t.Fatal(err)
	}
	for _, key := range []string{"intervals", "tests", "means", "variance_shares"} {
		if keys[key] == nil {
			t.Errorf("the JSON has no %s: %s", key, text)
		}
	}
}

// TestBootstrapIntervalOfAMean: in a balanced one-way layout the interval of the mean is
// exactly Student's with one degree of freedom less than groups (Dyestuff: Davies and
// Goldsmith 1972, table 6.1; lme4's estimate and standard error), and that of the
// studentised bootstrap comes near.
func TestBootstrapIntervalOfAMean(t *testing.T) {
	f := inferred(t, "outcome = \"Yield\"\nfixed = []\nintervals = \"bootstrap\"\nreplicates = 1999\n[[random]]\nby = \"Batch\"\nterms = [\"intercept\"]\n", loadTable(t, "Dyestuff.csv"))
	i := f.Intervals.Parameters[0]
	half := 2.570582 * 19.383 // t of 5 degrees of freedom
	if math.Abs(i.Low-(1527.5-half)) > 0.08*half || math.Abs(i.High-(1527.5+half)) > 0.08*half {
		t.Errorf("%g to %g; exactly %g to %g", i.Low, i.High, 1527.5-half, 1527.5+half)
	}
}

// TestPredictUnread: rows whose outcome is empty are predicted as Predict does, which
// predict_test.go holds to lme4, and others left alone.
func TestPredictUnread(t *testing.T) {
	text, err := os.ReadFile("../../testdata/reference/mixed/sleepstudy.csv")
	if err != nil {
		t.Fatal(err)
	}
	lines := strings.Split(string(text), "\n")
	lines[4] = ",3,308"
	var ps table.Problems
	data := table.Read("sleep.csv", []byte(strings.Join(lines, "\n")), &ps)
	const model = "outcome = \"Reaction\"\nfixed = [\"Days\"]\npredictions = true\n[[random]]\nby = \"Subject\"\nterms = [\"intercept\"]\n"
	f := inferred(t, model, data)
	want, err := f.Predict(data.Select([]int{3}), mixed.Predicting{})
	if err != nil {
		t.Fatal(err)
	}
	p := f.Predictions
	if len(p) != 1 || p[0].Row != 4 || p[0].Where != "line 5" || p[0].Mean != want[0].Estimate || *p[0].RowHigh != want[0].RowHigh {
		t.Errorf("%+v, by Predict %+v", p, want)
	}
}

// TestInfluenceUnasked: an effect that one book of eight carries is told (invented).
func TestInfluenceUnasked(t *testing.T) {
	var b strings.Builder
	b.WriteString("wear,part,book\n")
	for book := range 8 {
		for row := range 6 {
			wear, part := "0.1"+string(rune('0'+(3*book+7*row)%5)), "text"
			if row%2 == 1 {
				part = "picture"
				if book == 0 {
					wear = "0.5"
				}
			}
			b.WriteString(wear + "," + part + ",b" + string(rune('0'+book)) + "\n")
		}
	}
	var ps table.Problems
	f := inferred(t, "outcome = \"wear\"\nfixed = [\"part\"]\n[levels]\npart = [\"text\", \"picture\"]\n[[random]]\nby = \"book\"\nterms = [\"intercept\"]\n", table.Read("wear.csv", []byte(b.String()), &ps))
	if said := strings.Join(f.Diagnosed, " "); !strings.Contains(said, "without book b0") {
		t.Errorf("of the book that carries the effect is said %q; %+v", said, f.Fixed)
	}
}

// TestRequestSaysWhatIsWrong: keys of inference with wrong values, each with its line.
func TestRequestSaysWhatIsWrong(t *testing.T) {
	_, err := mixed.ParseModel("m.toml", []byte("outcome = \"y\"\nfixed = [\"x\"]\nintervals = \"exact\"\nreplicates = 5\ntests = \"yes\"\n"))
	for _, want := range []string{"m.toml, line 3", "line 4", "line 5", `"profile"`, "true or false"} {
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("the message lacks %q: %v", want, err)
		}
	}
}
