package mixed

import (
	"math"
	"math/rand/v2"
	"path/filepath"
	"strings"
	"testing"

	"thumbed/models/table"
	"thumbed/models/table/tabletest"
)

const drawnData = "../../testdata/reference/mixed/"

func drawnTable(t *testing.T, name string) *table.Table {
	t.Helper()
	return tabletest.Read(t, filepath.Join(drawnData, name))
}

// TestSimulatorDrawsAsTheFitDoes: from a fit's own parameters, with the same random
// numbers, the drawer and the parametric bootstrap draw the same outcomes, to
// the rounding of the way through standard deviations and correlations.
func TestSimulatorDrawsAsTheFitDoes(t *testing.T) {
	for name, of := range map[string]struct{ data, text string }{
		"slopes":          {"sleepstudy.csv", "outcome = \"Reaction\"\nfixed = [\"Days\"]\n[[random]]\nby = \"Subject\"\nterms = [\"intercept\", \"Days\"]\ncorrelated = true\n"},
		"two terms":       {"sleepstudy.csv", "outcome = \"Reaction\"\nfixed = [\"Days\"]\n[[random]]\nby = \"Subject\"\nterms = [\"intercept\"]\n[[random]]\nby = \"Subject\"\nterms = [\"Days\"]\n"},
		"crossed":         {"Penicillin.csv", "outcome = \"diameter\"\nfixed = []\n[[random]]\nby = \"plate\"\nterms = [\"intercept\"]\n[[random]]\nby = \"sample\"\nterms = [\"intercept\"]\n"},
		"autocorrelation": {"Ovary.csv", "outcome = \"follicles\"\nfixed = [\"Time\"]\n[[random]]\nby = \"Mare\"\nterms = [\"intercept\"]\n[residual]\nalong = \"Time\"\nwithin = \"Mare\"\n"},
		"spreads":         {"Orthodont.csv", "outcome = \"distance\"\nfixed = [\"age\"]\n[[random]]\nby = \"Subject\"\nterms = [\"intercept\"]\n[residual]\nlevels = \"Sex\"\n"},
		"curve":           {"sleepstudy.csv", "outcome = \"Reaction\"\nfixed = []\n[[random]]\nby = \"Subject\"\nterms = [\"intercept\"]\n[[smooth]]\ncolumn = \"Days\"\nbends = 4\n"},
	} {
		t.Run(name, func(t *testing.T) {
			data := drawnTable(t, of.data)
			m, err := ParseModel("model", []byte(of.text))
			if err != nil {
				t.Fatal(err)
			}
			fit, err := m.Fit(data)
			if err != nil {
				t.Fatal(err)
			}
			drawer, err := m.Simulator(data, fit.Estimates())
			if err != nil {
				t.Fatal(err)
			}
			want, got := make([]float64, fit.N), make([]float64, len(drawer.Rows()))
			fit.newSimulator().Draw(rand.New(rand.NewPCG(1, 2)), want)
			drawer.Draw(rand.New(rand.NewPCG(1, 2)), got)
			for i := range want {
				if math.Abs(got[i]-want[i]) > 1e-8*math.Abs(want[i]) {
					t.Fatalf("row %d: %.12g drawn, the fit draws %.12g", i, got[i], want[i])
				}
			}
		})
	}
}

// TestSimulatorSaysWhatIsMissing: a parameter that the truth does not give is named.
func TestSimulatorSaysWhatIsMissing(t *testing.T) {
	data := drawnTable(t, "sleepstudy.csv")
	m := Model{Outcome: "Reaction", Fixed: []Term{{"Days"}}, Random: []Random{{By: []string{"Subject"}, Terms: []string{"intercept", "Days"}}}}
	for _, truth := range []Parameters{
		{Residual: ResidualFit{SD: 1}},
		{Residual: ResidualFit{SD: 1}, Random: []RandomFit{{Terms: []string{"intercept"}, SD: []float64{1}}}},
	} {
		if _, err := m.Simulator(data, truth); err == nil || !strings.Contains(err.Error(), "no spread is given") {
			t.Errorf("error %v", err)
		}
	}
	if _, err := (Model{Outcome: "Reaction", Fixed: []Term{{"Hours"}}}).Simulator(data, Parameters{}); err == nil || !strings.Contains(err.Error(), "Hours") {
		t.Errorf("error %v", err)
	}
}

// TestSemidefiniteRoot: the root of a covariance matrix squares to it, where
// variances are zero and correlations ±1 too.
func TestSemidefiniteRoot(t *testing.T) {
	for _, c := range [][]float64{{4}, {0}, {4, 2, 2, 1}, {4, -2, -2, 1}, {0, 0, 0, 9}, {9, 0, 0, 0}, {2, 1, 0, 1, 2, 1, 0, 1, 2}} {
		k := int(math.Sqrt(float64(len(c))))
		root := semidefiniteRoot(c, k)
		for a := range k {
			for b := range k {
				if got := inner(root[a*k:(a+1)*k], root[b*k:(b+1)*k]); math.Abs(got-c[a*k+b]) > 1e-12 {
					t.Errorf("%v: the root squares to %g at %d, %d", c, got, a, b)
				}
			}
		}
	}
}
