package generalised

import (
	"bytes"
	"compress/gzip"
	"encoding/json"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"thumbed/models/mixed"
	"thumbed/models/table"
)

const references = "../../testdata/reference/generalised"

// A referenceFit is one library's fit of one model.
type referenceFit struct {
	Library  string
	LogLik   float64
	Names    json.RawMessage
	Estimate numbers
	SE       numbers
	Random   []struct {
		Group       string
		SD          numbers
		Correlation json.RawMessage
	}
	Thresholds json.RawMessage
	Alpha      struct {
		Estimate, SE numbers
	}
	Dispersion float64
	Zero       struct{ Estimate, SE numbers }
}

// numbers are written as one number where there is one alone.
type numbers []float64

func (n *numbers) UnmarshalJSON(text []byte) error {
	if text[0] == '[' {
		return json.Unmarshal(text, (*[]float64)(n))
	}
	*n = make(numbers, 1)
	return json.Unmarshal(text, &(*n)[0])
}

type referenceModel struct {
	Name, Data, Model, Approximation string
	Fits                             []referenceFit
}

func readReferences(t testing.TB) (out []referenceModel) {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(references, "fits.json"))
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(text, &out); err != nil {
		t.Fatal(err)
	}
	return out
}

// readTable reads a table of the references, packed or not.
func readTable(t testing.TB, name string) *table.Table {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(references, name))
	if err != nil {
		t.Fatal(err)
	}
	if strings.HasSuffix(name, ".gz") {
		packed, err := gzip.NewReader(bytes.NewReader(text))
		if err != nil {
			t.Fatal(err)
		}
		if text, err = io.ReadAll(packed); err != nil {
			t.Fatal(err)
		}
	}
	var ps table.Problems
	out := table.Read(name, text, &ps)
	if err := ps.Err(); err != nil {
		t.Fatal(err)
	}
	return out
}

func parsed(t testing.TB, text string) mixed.Model {
	t.Helper()
	m, err := mixed.ParseModel("model.toml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// Fits of published data against lme4, glmmTMB and ordinal under the same
// approximation, as testdata/reference/generalised/make-reference.R writes them. The
// libraries end their searches at different points: estimates agree to 1e-4 and
// standard errors, by differences there, to 1e-3 of the larger of one and their size.
func TestReferences(t *testing.T) {
	for _, m := range readReferences(t) {
		t.Run(m.Name, func(t *testing.T) {
			model := parsed(t, m.Model)
			model.Points = max(1, model.Points) // theirs is Laplace's, of probit grades too
			f, err := New(model, readTable(t, m.Data))
			if err != nil {
				t.Fatal(err)
			}
			if !f.Converged {
				t.Error("did not converge")
			}
			for _, r := range m.Fits {
				near := func(what string, ours, theirs, tolerance float64) {
					t.Helper()
					if math.Abs(ours-theirs) > tolerance*math.Max(1, math.Abs(theirs)) {
						t.Errorf("%s: %s is %.9g, theirs %.9g", r.Library, what, ours, theirs)
					}
				}
				near("log likelihood", f.LogLik, r.LogLik, 1e-6)
				effects := f.Fixed
				if len(f.d.lay.Model.ByThreshold) > 0 {
					// theirs are added to the thresholds, ours subtracted
					for j := range r.Alpha.Estimate[f.d.width:] {
						r.Alpha.Estimate[f.d.width+j] *= -1
					}
					r.Estimate = append(r.Estimate, r.Alpha.Estimate[f.d.width:]...)
					r.SE = append(r.SE, r.Alpha.SE[f.d.width:]...)
				}
				if len(effects) != len(r.Estimate) {
					t.Fatalf("%s has %d effects, ours %d", r.Library, len(r.Estimate), len(effects))
				}
				for j, c := range effects {
					near(c.Term, c.Estimate, r.Estimate[j], 1e-4)
					near("the standard error of "+c.Term, c.own, r.SE[j], 1e-3)
				}
				for j, c := range f.ZeroInflation {
					near("zero inflation of "+c.Term, c.Estimate, r.Zero.Estimate[j], 1e-4)
					near("the standard error of zero inflation of "+c.Term, c.own, r.Zero.SE[j], 1e-3)
				}
				if r.Dispersion > 0 && f.model.Spread == "negative binomial" {
					near("size", f.Dispersion, r.Dispersion, 1e-4)
				}
				for j, v := range r.thresholds(t) {
					near("threshold "+f.Thresholds[j].Below, f.Thresholds[j].Estimate, v, 1e-4)
					if f.model.Thresholds == "free" {
						near("the standard error of threshold "+f.Thresholds[j].Below, f.Thresholds[j].SE, r.Alpha.SE[j], 1e-3)
					}
				}
				for _, their := range r.Random {
					ours := f.spreadOf(their.Group)
					if ours == nil {
						t.Fatalf("ours has no term by %s", their.Group)
					}
					for k, v := range their.SD {
						near("deviation of "+ours.Terms[k]+" by "+their.Group, ours.SD[k], v, 1e-4)
					}
				}
			}
		})
	}
}

func (r referenceFit) thresholds(t *testing.T) (out numbers) {
	if r.Thresholds == nil {
		return nil
	}
	if err := json.Unmarshal(r.Thresholds, &out); err != nil {
		t.Fatal(err)
	}
	return out
}

// spreadOf is the random term whose groups the library names so.
func (f *Fit) spreadOf(group string) *mixed.RandomFit {
	for k := range f.Random {
		if by := strings.Join(f.Random[k].By, ":"); by == group || group == "pair" && len(f.Random[k].By) == 2 {
			return &f.Random[k]
		}
	}
	return nil
}

func tableOf(t testing.TB, text string) *table.Table {
	t.Helper()
	var ps table.Problems
	out := table.Read("table.csv", []byte(text), &ps)
	if err := ps.Err(); err != nil {
		t.Fatal(err)
	}
	return out
}

func newRandom(seed uint64) *rand.Rand { return rand.New(rand.NewPCG(seed, 99)) }
