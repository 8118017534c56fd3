package generalised

import (
	"errors"
	"strings"
	"testing"

	"thumbed/models/mixed"
	"thumbed/models/table"
)

// Every fault of a table or a model is told with its place and a remedy.
func TestProblems(t *testing.T) {
	const grades = "outcome = \"paint\"\nkind = \"grades\"\nfixed = [\"part\"]\n[levels]\npaint = [\"whole\", \"dulled\", \"bare\"]\n"
	const trials = "outcome = \"touched\"\nkind = \"yes or no\"\ntrials = \"looked\"\nfixed = []\n"
	const counts = "outcome = \"drops\"\nkind = \"counts\"\nexposure = \"area\"\nfixed = []\n"
	for _, c := range []struct {
		name, model, rows string
		want              []string
	}{
		{"an unknown grade", grades, "paint,part\nwhole,a\ndulled,b\nflaked,a\nbare,b\nwhole,b\n", []string{"line 4, column paint", `found "flaked"`, "whole, dulled, bare", "correct the row"}},
		{"a grade nobody gave", grades, "paint,part\nwhole,a\ndulled,b\ndulled,a\nwhole,b\n", []string{"column paint", `found "bare"`, "take it out of the levels"}},
		{"grades without levels", "outcome = \"paint\"\nkind = \"grades\"\nfixed = [\"part\"]\n", "paint,part\nwhole,a\ndulled,b\n", []string{"levels in rising order", "[levels]"}},
		{"a count below zero", counts, "drops,area\n3,1\n-1,2\n4,1\n", []string{"line 3, column drops", "whole number, zero or more"}},
		{"a count that is not whole", counts, "drops,area\n3,1\n1.5,2\n4,1\n", []string{"line 3, column drops", `found "1.5"`, "measure"}},
		{"no exposure", counts, "drops,area\n3,1\n1,0\n4,1\n", []string{"line 3, column area", "above zero"}},
		{"more successes than trials", trials, "touched,looked\n3,5\n4,3\n1,5\n", []string{"line 3, column touched", "at most as many successes as the 3 trials"}},
		{"a part of a trial", trials, "touched,looked\n3,5\n1,2.5\n1,5\n", []string{"line 3, column looked", "whole number of trials"}},
		{"always yes", trials, "touched,looked\n5,5\n3,3\n2,2\n", []string{"outcome that varies"}},
		{"one group", counts + "[[random]]\nby = \"book\"\nterms = [\"intercept\"]\n", "drops,area,book\n3,1,A\n1,1,A\n4,1,A\n", []string{"at least two groups"}},
		{"a group for each answer", "outcome = \"touched\"\nkind = \"yes or no\"\nfixed = []\n[levels]\ntouched = [\"no\", \"yes\"]\n[[random]]\nby = \"page\"\nterms = [\"intercept\"]\n", "touched,page\nno,a\nyes,b\nno,c\n", []string{"groups with several rows"}},
		{"no zero to inflate", "outcome = \"drops\"\nkind = \"counts\"\nzero_inflation = true\nfixed = []\n", "drops\n3\n1\n4\n", []string{"delete zero_inflation"}},
		{"no more zeros than the spread gives", "outcome = \"drops\"\nkind = \"counts\"\nzero_inflation = true\nfixed = []\n", "drops\n" + strings.Repeat("0\n1\n2\n1\n3\n2\n1\n1\n", 6), []string{"column drops", "zeros enough to tell", "delete zero_inflation"}},
		{"a kind that does not suit", "outcome = \"paint\"\nkind = \"counts\"\nfixed = []\n", "paint\nwhole\ndulled\n", []string{"line 2, column paint", `found "whole"`, "number"}},
		{"three answers", "outcome = \"paint\"\nkind = \"yes or no\"\nfixed = []\n[levels]\npaint = [\"whole\", \"dulled\", \"bare\"]\n", "paint\nwhole\ndulled\nbare\n", []string{"two levels", "grades"}},
		{"successes below zero", trials, "touched,looked\n3,5\n-1,3\n1,5\n", []string{"line 3, column touched", `found "-1"`, "successes among looked"}},
		{"no trial", trials, "touched,looked\n3,5\n0,0\n1,5\n", []string{"line 3, column looked", `found "0"`, "at least one", "nothing was looked at"}},
		{"an exposure below zero", counts, "drops,area\n3,1\n1,-2\n4,1\n", []string{"line 3, column area", `found "-2"`, "above zero"}},
		{"a number that is none", counts, "drops,area\n3,1\nmany,2\n4,1\n", []string{"line 3, column drops", `found "many"`, "number"}},
		{"an outcome that is no column", "outcome = \"wax\"\nkind = \"counts\"\nfixed = []\n", "drops\n3\n1\n", []string{"wax", "drops"}},
		{"trials that are no column", trials, "touched\n3\n4\n1\n", []string{"looked"}},
		{"a measure for yes or no", "outcome = \"wear\"\nkind = \"yes or no\"\nfixed = []\n", "wear\n0.31\n0.28\n0.35\n", []string{"column wear", `found "0.31, 0.28, 0.35"`, `take kind = "measure"`}},
		{"a measure for grades", "outcome = \"wear\"\nkind = \"grades\"\nfixed = []\n[levels]\nwear = [\"low\", \"high\"]\n", "wear\n0.31\n0.28\n0.35\n", []string{"line 2, column wear", `found "0.31"`, "one of the levels low, high"}},
		{"grades for a measure", "outcome = \"paint\"\nfixed = []\n", "paint\nwhole\ndulled\n", []string{"line 2, column paint", `found "whole"`, "number"}},
		{"one group of a slope", counts + "[[random]]\nby = \"book\"\nterms = [\"area\"]\n", "drops,area,book\n3,1,A\n1,2,A\n4,3,A\n", []string{"column book", `found "A"`, "at least two groups", "take this random term out"}},
		{"quadrature over the columns of three levels", "points = 9\n" + counts + "[[random]]\nby = \"book\"\nterms = [\"part\"]\n", "drops,area,book,part\n3,1,A,x\n1,1,B,y\n4,1,A,y\n2,2,B,x\n5,2,A,z\n3,2,B,z\n", []string{"column part", `found "2 columns that vary by book"`, "since points is 9", "write points = 1 in the model"}},
		{"collinear", "outcome = \"drops\"\nkind = \"counts\"\nfixed = [\"a\", \"b\"]\n", "drops,a,b\n3,1,2\n1,2,4\n4,3,6\n2,4,8\n5,0,0\n", []string{"determined by"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := Estimate(parsed(t, c.model), tableOf(t, c.rows))
			if err == nil {
				t.Fatal("no problem was told")
			}
			var fault *table.Fault
			if !errors.As(err, &fault) {
				t.Fatalf("no list of problems: %v", err)
			}
			for _, p := range fault.Problems {
				if p.File == "" || p.Column == "" && p.Expected != "a column of the table" || p.Value == "" || p.Expected == "" || p.Remedy == "" {
					t.Errorf("place, value, expectation and remedy are not all told: %+v", p)
				}
			}
			for _, want := range c.want {
				if !strings.Contains(err.Error(), want) {
					t.Errorf("%q is not in: %v", want, err)
				}
			}
		})
	}
}

// Keys that do not go with the kind, and words that are none.
func TestModelKeys(t *testing.T) {
	for _, c := range []struct{ model, want string }{
		{"outcome = \"w\"\nfixed = []\nlink = \"probit\"\n", `line 3, column link`},
		{"outcome = \"w\"\nkind = \"grade\"\nfixed = []\n", `"measure" or "grades" or "yes or no" or "counts"`},
		{"outcome = \"w\"\nkind = \"counts\"\nfixed = []\nlink = \"logit\"\n", `"log"`},
		{"outcome = \"w\"\nkind = \"counts\"\nfixed = []\nthresholds = \"free\"\n", "keys that go with kind"},
		{"outcome = \"w\"\nkind = \"grades\"\nfixed = []\nscale = \"log\"\n", "keys that go with kind"},
		{"outcome = \"w\"\nkind = \"grades\"\nfixed = []\nestimate = \"restricted\"\n", "full"},
		{"outcome = \"w\"\nkind = \"grades\"\nfixed = []\nthresholds = \"equal\"\nby_threshold = [\"part\"]\n", "free thresholds"},
		{"outcome = \"w\"\nkind = \"counts\"\nfixed = []\npoints = 0\n", "from 1 to 100"},
		{"outcome = \"w\"\nkind = \"counts\"\nfixed = []\npoints = 9\n", "model.toml, line 4, column points: found \"9\"; expected one random term with one column where points is above 1; delete points"},
		{"outcome = \"w\"\nkind = \"counts\"\nfixed = []\npoints = 9\n[[random]]\nby = \"book\"\nterms = [\"intercept\"]\n[[random]]\nby = \"part\"\nterms = [\"intercept\"]\n", "model.toml, line 4, column points"},
		{"outcome = \"w\"\nfixed = [\"part\"]\nmeans = [\"owner\"]\n", "model.toml, line 3, column means: found \"owner\""},
		{"outcome = \"w\"\nkind = \"counts\"\nfixed = []\nzero_inflation = \"yes\"\n", "list of columns"},
		{"outcome = \"w\"\nkind = \"yes or no\"\nfixed = []\n[residual]\nlimit = 0.1\n", "residual"},
	} {
		if _, err := mixed.ParseModel("model.toml", []byte(c.model)); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%q is not in: %v", c.want, err)
		}
	}
}

// Counts that spread less than Poisson's have no negative binomial: the fit is Poisson's
// and says so, never a size without end.
func TestCountsSpreadLessThanPoisson(t *testing.T) {
	const rows = "\n2,a\n3,b\n3,a\n4,b\n2,a\n4,b\n3,a\n3,b"
	data := tableOf(t, "drops,part"+strings.Repeat(rows, 5)+"\n")
	const model = "outcome = \"drops\"\nkind = \"counts\"\nfixed = [\"part\"]\nspread = \"%s\"\n"
	f, err := New(parsed(t, strings.Replace(model, "%s", "negative binomial", 1)), data)
	if err != nil {
		t.Fatal(err)
	}
	plain, err := New(parsed(t, strings.Replace(model, "%s", "Poisson", 1)), data)
	if err != nil {
		t.Fatal(err)
	}
	if f.Dispersion != 0 || !f.Converged || f.LogLik != plain.LogLik || !strings.Contains(strings.Join(f.Notes, " "), "spread no more than Poisson") {
		t.Errorf("size %g, converged %v, log likelihood %g (Poisson %g), notes %q", f.Dispersion, f.Converged, f.LogLik, plain.LogLik, f.Notes)
	}
}

// The engine of measures does not take other outcomes for numbers.
func TestMeasuresRefuseOtherKinds(t *testing.T) {
	m := parsed(t, "outcome = \"drops\"\nkind = \"counts\"\nfixed = []\n")
	if _, err := m.Fit(tableOf(t, "drops\n3\n1\n")); err == nil || !strings.Contains(err.Error(), "a model of a measure") {
		t.Errorf("the engine of measures said %v", err)
	}
	var r Result
	r, err := FitModel(m, tableOf(t, "drops\n3\n1\n"))
	if err != nil {
		t.Fatal(err)
	}
	if _, ok := r.(*Fit); !ok {
		t.Errorf("counts were fitted by %T", r)
	}
}
