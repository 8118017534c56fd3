package mixed_test

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"thumbed/models/mixed"
	"thumbed/models/table"
)

// wearTable is an invented table: three books of eight pages.
const wearTable = `book,page,quire,place,half,picture,hand,wear,wear_se,same,code,empty
A,1,a,0.1,0.05,no,left,0.10,0.01,1,7,
A,2,a,0.2,0.10,yes,left,0.21,0.01,1,7,
A,3,a,0.3,0.15,no,left,0.12,0.01,1,7,
A,4,b,0.4,0.20,yes,left,0.25,0.01,1,7,
A,5,b,0.5,0.25,no,left,0.13,0.01,1,7,
A,6,b,0.6,0.30,no,left,0.11,0.01,1,7,
A,7,b,0.7,0.35,yes,left,0.26,0.01,1,7,
A,8,b,0.8,0.40,no,left,0.16,0.01,1,7,
B,1,a,0.1,0.05,yes,right,0.34,0.02,1,7,
B,2,a,0.2,0.10,no,right,0.20,0.02,1,7,
B,3,a,0.3,0.15,yes,right,0.33,0.02,1,7,
B,4,b,0.4,0.20,no,right,0.21,0.02,1,7,
B,5,b,0.5,0.25,no,right,0.20,0.02,1,7,
B,6,b,0.6,0.30,yes,right,0.36,0.02,1,7,
B,7,b,0.7,0.35,no,right,0.25,0.02,1,7,
B,8,b,0.8,0.40,no,right,0.24,0.02,1,7,
C,1,a,0.1,0.05,no,right,0.05,0.01,1,7,
C,2,a,0.2,0.10,yes,right,0.14,0.01,1,7,
C,3,a,0.3,0.15,no,right,0.06,0.01,1,7,
C,4,b,0.4,0.20,yes,right,0.17,0.01,1,7,
C,5,b,0.5,0.25,no,right,0.08,0.01,1,7,
C,6,b,0.6,0.30,no,right,0.07,0.01,1,7,
C,7,b,0.7,0.35,yes,right,0.19,0.01,1,7,
C,8,b,0.8,0.40,no,right,0.10,0.01,1,7,
`

func readTable(t testing.TB, text string) *table.Table {
	t.Helper()
	var ps table.Problems
	out := table.Read("wear.csv", []byte(text), &ps)
	if err := ps.Err(); err != nil {
		t.Fatal(err)
	}
	return out
}

// fitProblem gives what a model and a table together are told; no problem fails.
func fitProblem(t *testing.T, model, data string) string {
	t.Helper()
	m, err := mixed.ParseModel("model.toml", []byte(model))
	if err == nil {
		_, err = m.Fit(readTable(t, data))
		if checked := m.Check(readTable(t, data)); fmt.Sprint(checked) != fmt.Sprint(err) {
			t.Errorf("the check alone says\n%v\nand the fit\n%v", checked, err)
		}
	}
	if err == nil {
		t.Fatal("fitted without a word")
	}
	var fault *table.Fault
	if errors.As(err, &fault) {
		for _, p := range fault.Problems {
			if p.Expected == "" || p.Remedy == "" {
				t.Errorf("a problem without expectation or remedy: %s", p)
			}
		}
	}
	return err.Error()
}

func TestProblemsAreTold(t *testing.T) {
	const book = "\n[[random]]\nby = \"book\"\nterms = [\"intercept\"]\n"
	swap := strings.NewReplacer
	for _, c := range []struct {
		name, model, data string
		want              []string
	}{
		{"not TOML", "outcome = wear\n", wearTable, []string{"model.toml, line 1", "quotation marks"}},
		{"key twice", "outcome = \"wear\"\noutcome = \"wear\"\nfixed = []\n", wearTable, []string{"model.toml, line 2", "each key once"}},
		{"nothing", "", wearTable, []string{"the key outcome", "the key fixed"}},
		{"unknown key", "outcome = \"wear\"\nfixd = []\nfixed = []\n", wearTable, []string{"line 2", "did you mean fixed?"}},
		{"unknown random key", "outcome = \"wear\"\nfixed = []" + book + "corelated = true\n", wearTable, []string{"line 6", "corelated", "did you mean correlated?"}},
		{"wrong types, all at once", "outcome = 3\nfixed = \"picture\"\nscale = \"logarithm\"\nlevels = 3\nresidual = 4\nrandom = 5\nestimate = true\n", wearTable,
			[]string{"line 1", "line 2", "line 3", "line 4", "line 5", "line 6", "line 7"}},
		{"single bracket", "outcome = \"wear\"\nfixed = []\n[random]\nby = \"book\"\n", wearTable, []string{"line 3", "[[random]] in double brackets"}},
		{"no terms", "outcome = \"wear\"\nfixed = []\n[[random]]\nby = \"book\"\n", wearTable, []string{"the key terms"}},
		{"no by", "outcome = \"wear\"\nfixed = []\n[[random]]\nterms = [\"intercept\"]\n", wearTable, []string{"a column's name, or a list of several"}},
		{"fixed twice", "outcome = \"wear\"\nfixed = [\"picture\", [\"picture\", \"place\"], [\"place\", \"picture\"]]\n", wearTable, []string{"each fixed effect once", "place × picture"}},
		{"one level", "outcome = \"wear\"\nfixed = [\"picture\"]\n[levels]\npicture = [\"no\"]\n", wearTable, []string{"line 4", "at least two levels"}},
		{"labels that are no words", "outcome = \"wear\"\nfixed = []\n[labels]\npicture = 3\n", wearTable, []string{"line 4", "words in quotation marks"}},
		{"limit twice", "outcome = \"wear\"\nfixed = []\n[residual]\nlimit = 0.1\nlimits = \"limit\"\n", wearTable, []string{"one of limit and limits"}},
		{"within without along", "outcome = \"wear\"\nfixed = []\n[residual]\nwithin = \"book\"\n", wearTable, []string{"the key along beside within"}},
		{"two columns for the same groups", "outcome = \"wear\"\nfixed = [\"picture\"]\n[[random]]\nby = \"book\"\nterms = [\"intercept\"]\n[[random]]\nby = \"shelf\"\nterms = [\"intercept\"]\n",
			strings.NewReplacer("book,page", "book,shelf,page", "\nA,", "\nA,x,", "\nB,", "\nB,y,", "\nC,", "\nC,z,").Replace(wearTable), []string{"intercept by book and by shelf", "name the same groups of rows"}},
		{"as many parameters as rows", "outcome = \"y\"\nfixed = [\"x\"]\n[[random]]\nby = \"b\"\nterms = [\"intercept\"]\n", "y,x,b\n1,1,a\n2,2,a\n3.5,3,b\n",
			[]string{"3 rows for 2 fixed effects and 2 variances and correlations", "more rows than the model has parameters"}},
		{"shared errors without spread", "outcome = \"wear\"\nfixed = [\"picture\"]\ndf = \"Satterthwait\"\n[[residual.offsets]]\nby = \"hand\"\n[[residual.offsets]]\nby = \"hand\"\nsd = -1\ndf = \"few\"\nspread = 2\n", wearTable,
			[]string{"line 3, column df", "line 4, column sd", "line 8, column sd", "line 9, column df", "line 10, column spread", "a number, zero or more"}},
		{"shared errors of no column", "outcome = \"wear\"\nfixed = [\"picture\"]\n[[residual.offsets]]\nby = \"dya\"\nsd = 1\n[[residual.offsets]]\nby = \"hand\"\nsd = 1\n[[residual.offsets]]\nby = \"hand\"\nsd = 1\n", wearTable,
			[]string{"\"dya\"", "name one of the table's columns", "each shared error once"}},
		{"shared errors with half a weight", "outcome = \"wear\"\nfixed = [\"picture\"]\n[[residual.offsets]]\nby = \"hand\"\nsd = 1\n", strings.Replace(wearTable, ",left,", ",left × 0.5 + right,", 1),
			[]string{"wear.csv, line 2, column hand", "labels with weights"}},
		{"unknown columns", "outcome = \"weer\"\nfixed = [\"pictures\", \"gold\"]\n" + book, wearTable, []string{"did you mean wear?", "did you mean picture?", "\"gold\"", "the table's columns are book, page"}},
		{"outcome of words", "outcome = \"picture\"\nfixed = []\n", wearTable, []string{"lines 2, 4, 6", "lines 3, 5, 8", "a number with a decimal point"}},
		{"decimal comma", "outcome = \"wear\"\nfixed = []\n", strings.Replace(wearTable, "0.26", `"0,26"`, 1), []string{"line 8", "write 0.26"}},
		{"all rows missing", "outcome = \"wear\"\nfixed = [\"empty\"]\n", wearTable, []string{"no row is complete", "empty in 24"}},
		{"constant outcome", "outcome = \"same\"\nfixed = [\"picture\"]\n" + book, wearTable, []string{"1 in all 24 rows", "nothing to explain"}},
		{"constant number", "outcome = \"wear\"\nfixed = [\"code\"]\n", wearTable, []string{"code is determined by intercept"}},
		{"one label", "outcome = \"wear\"\nfixed = [\"same\"]\n[levels]\nsame = [\"1\", \"2\"]\n", wearTable, []string{"no row of same says \"2\""}},
		{"collinear", "outcome = \"wear\"\nfixed = [\"place\", \"half\", \"picture\"]\n" + book, wearTable, []string{"is determined by", "place", "half", "leave out one"}},
		{"unknown level", "outcome = \"wear\"\nfixed = [\"hand\"]\n[levels]\nhand = [\"left\", \"both\"]\n", wearTable, []string{"line 10", "\"right\"", "one of the levels left, both"}},
		{"level without rows", "outcome = \"wear\"\nfixed = [\"hand\"]\n[levels]\nhand = [\"none\", \"left\", \"right\"]\n", wearTable, []string{"no row of hand says \"none\""}},
		{"empty product", "outcome = \"wear\"\nfixed = [\"book\", \"hand\", [\"book\", \"hand\"]]\n", wearTable, []string{"hand=right is determined by book=B"}},
		{"one row a group", "outcome = \"wear\"\nfixed = [\"picture\"]\n[[random]]\nby = [\"book\", \"page\"]\nterms = [\"intercept\"]\n", wearTable, []string{"24 groups in 24 rows", "is not distinguishable from the residual's"}},
		{"fixed and random terms at once", "outcome = \"wear\"\nfixed = [\"place\", \"half\"]\n[[random]]\nby = \"same\"\nterms = [\"intercept\"]\n[[random]]\nby = \"book\"\nterms = [\"intercept\", \"hand\"]\n", wearTable,
			[]string{"is determined by", "at least two groups", "hand=right by book"}},
		{"one group", "outcome = \"wear\"\nfixed = [\"picture\"]\n[[random]]\nby = \"same\"\nterms = [\"intercept\"]\n", wearTable, []string{"at least two groups"}},
		{"slope constant in groups", "outcome = \"wear\"\nfixed = [\"picture\"]\n[[random]]\nby = \"book\"\nterms = [\"intercept\", \"hand\"]\n", wearTable, []string{"hand=right by book", "varies inside the groups of book"}},
		{"too many random effects", "outcome = \"wear\"\nfixed = []\n[[random]]\nby = [\"book\", \"quire\"]\nterms = [\"intercept\", \"place\", \"picture\", \"wear_se\"]\n", wearTable, []string{"6 groups with 4 terms each in 24 rows"}},
		{"term twice", "outcome = \"wear\"\nfixed = [\"picture\"]" + book + book, wearTable, []string{"each term once for the same groups"}},
		{"fixed and random", "outcome = \"wear\"\nfixed = [\"book\"]" + book, wearTable, []string{"book in fixed and as groups", "take it out of one"}},
		{"outcome explains itself", "outcome = \"wear\"\nfixed = [\"wear\"]\n", wearTable, []string{"the outcome cannot explain itself"}},
		{"too few rows", "outcome = \"wear\"\nfixed = [\"picture\", \"place\", [\"picture\", \"place\"]]\n", strings.Join(strings.SplitAfter(wearTable, "\n")[:5], ""), []string{"4 rows", "more rows than fixed effects (4)"}},
		{"log of zero", "outcome = \"wear\"\nscale = \"log\"\nfixed = []\n", swap("0.12,", "0,", "0.34,", "-0.1,").Replace(wearTable), []string{"line 4", "line 10", "above zero"}},
		{"outcome computed from columns", "outcome = \"half\"\nfixed = [\"place\"]\n" + book, wearTable, []string{"explain every row without error"}},
		{"negative known_sd", "outcome = \"wear\"\nfixed = []\n[residual]\nknown_sd = \"wear_se\"\n", strings.Replace(wearTable, "0.02", "-0.02", 1), []string{"line 10", "a standard deviation, zero or more"}},
		{"no place twice", "outcome = \"wear\"\nfixed = []\n[residual]\nalong = \"place\"\n", wearTable, []string{"each place along place once in a group", "name the groups with within"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := fitProblem(t, c.model, c.data)
			for _, want := range c.want {
				if !strings.Contains(got, want) {
					t.Errorf("message lacks %q:\n%s", want, got)
				}
			}
		})
	}
}

// TestMissingRowsAreNoted: rows without a value are left out, and told.
func TestMissingRowsAreNoted(t *testing.T) {
	text := strings.Replace(strings.Replace(wearTable, "0.21,0.01", ",0.01", 1), "0.4,0.20,no", ",0.20,", 1)
	fit, err := parse(t, "outcome = \"wear\"\nfixed = [\"picture\", \"place\"]\n").Fit(readTable(t, text))
	if err != nil {
		t.Fatal(err)
	}
	if fit.N != 22 || len(fit.Notes) != 1 || !strings.Contains(fit.Notes[0], "2 of 24 rows were left out because a value is missing (pictures in 1, the way from the front to the back of the book in 1, wear in 1)") {
		t.Errorf("n %d, notes %q", fit.N, fit.Notes)
	}
}

// TestContrastProblems: a contrast of what is not there is refused.
func TestContrastProblems(t *testing.T) {
	fit, err := parse(t, "outcome = \"wear\"\nfixed = [\"picture\"]\n").Fit(readTable(t, wearTable))
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		weights map[string]float64
		want    string
	}{
		{map[string]float64{"picture": 1}, "it has intercept, picture=yes"},
		{map[string]float64{}, "no weight other than zero"},
		{map[string]float64{"picture=yes": 0}, "no weight other than zero"},
	} {
		if _, err := fit.Contrast("pictures", c.weights); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%v: got %v, want %q", c.weights, err, c.want)
		}
	}
}

// FuzzParseModel: any text is either a model or a list of problems, and a model
// that parses meets a table without a panic.
func FuzzParseModel(f *testing.F) {
	f.Add("outcome = \"wear\"\nfixed = [\"picture\", [\"picture\", \"place\"]]\n[[random]]\nby = [\"book\", \"quire\"]\nterms = [\"intercept\", \"place\"]\ncorrelated = true\n[residual]\nknown_sd = \"wear_se\"\n")
	f.Add("outcome = \"wear\"\nscale = \"log\"\nestimate = \"full\"\nfixed = []\n[levels]\npicture = [\"yes\", \"no\"]\n[residual]\nalong = \"place\"\nwithin = \"book\"\nlimit = 0.1\n")
	f.Add("random = [{by = \"book\", terms = []}, 3]\n")
	f.Add("a.b.c = 1\n[a.b]\nx = 2\n")
	f.Fuzz(func(t *testing.T, text string) {
		m, err := mixed.ParseModel("model.toml", []byte(text))
		if err != nil {
			var fault *table.Fault
			if !errors.As(err, &fault) {
				t.Fatalf("not a fault: %v", err)
			}
			return
		}
		if fit, err := m.Fit(readTable(t, wearTable)); err == nil {
			_ = fmt.Sprint(fit.Fixed, fit.RandomEffects())
		}
	})
}

// The check of a model names the terms that its fit then has, and does so beside
// problems of the random terms too; a fit hands back the model it was given.
func TestTermsAreThoseOfTheFit(t *testing.T) {
	data := readTable(t, wearTable)
	m := mixed.Model{Outcome: "wear", Fixed: []mixed.Term{{"picture"}, {"hand"}, {"picture", "hand"}},
		Levels: map[string][]string{"picture": {"yes", "no"}},
		Random: []mixed.Random{{By: []string{"book"}, Terms: []string{"intercept"}}},
		Smooth: []mixed.Smooth{{Column: "page", Bends: 3}}}
	want := []string{"intercept", "picture=no", "hand=right", "picture=no × hand=right", "page"}
	fit, err := m.Fit(data)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(m, fit.Model()); diff != "" {
		t.Error(diff)
	}
	var fitted []string
	for _, c := range fit.Fixed {
		fitted = append(fitted, c.Term)
	}
	terms, err := m.Terms(data)
	if diff := cmp.Diff(want, terms); err != nil || diff != "" {
		t.Error(err, diff)
	}
	if diff := cmp.Diff(terms, fitted); diff != "" {
		t.Error(diff)
	}
	m.Random[0].By = []string{"same"}
	terms, err = m.Terms(data)
	if diff := cmp.Diff(want, terms); err == nil || diff != "" {
		t.Error(err, diff)
	}
	m.Outcome = "weer"
	if terms, err = m.Terms(data); err == nil || terms != nil {
		t.Error(terms, err)
	}
}
