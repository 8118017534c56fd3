package mixed_test

import (
	"bytes"
	"compress/gzip"
	"encoding/json"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"thumbed/models/mixed"
	"thumbed/models/table"
	"thumbed/models/table/tabletest"
)

const references = "../../testdata/reference/mixed"

// numbers is a list that R's JSON writes as a bare number where it has one
// entry.
type numbers []float64

func (n *numbers) UnmarshalJSON(data []byte) error {
	if bytes.HasPrefix(bytes.TrimSpace(data), []byte("[")) {
		var list []*float64
		if err := json.Unmarshal(data, &list); err != nil {
			return err
		}
		for _, v := range list {
			if v == nil {
				*n = append(*n, math.NaN())
				continue
			}
			*n = append(*n, *v)
		}
		return nil
	}
	var one float64
	err := json.Unmarshal(data, &one)
	*n = numbers{one}
	return err
}

// A reference is one model as fitted by a reference library, see
// testdata/reference/mixed/make-reference.R.
type reference struct {
	Name, Data, By, Model string
	Restricted, Full      struct {
		LogLik   float64
		Estimate numbers
		SE       numbers
		DF       numbers
		KRDF     numbers `json:"kr.df"`
		KRSE     numbers `json:"kr.se"`
		Random   []referenceRandom
		Residual float64
		Rho      float64
		Levels   map[string]float64
		Singular bool
	}
}

type referenceRandom struct {
	SD          numbers
	Correlation [][]float64
}

// compareRandom holds standard deviations to 1e-4 of the largest of their term
// and correlations to 1e-3. The reference's terms come one for each grouping
// where it holds them uncorrelated.
func compareRandom(t *testing.T, fit *mixed.Fit, want []referenceRandom) {
	t.Helper()
	var got, reference []float64
	for k, r := range fit.Random {
		got = append(got, r.SD...)
		if len(want) != len(fit.Random) || len(r.SD) < 2 || !fit.Converged {
			continue
		}
		for a := range r.Correlation {
			for b := range a {
				near(t, "correlation", r.Correlation[a][b], want[k].Correlation[a][b], 1e-3, 1e-4)
			}
		}
	}
	for _, r := range want {
		reference = append(reference, r.SD...)
	}
	if len(got) != len(reference) {
		t.Fatalf("%d standard deviations, reference %d", len(got), len(reference))
	}
	for k := range got {
		near(t, "standard deviation", got[k], reference[k], 1e-4, 1e-5*fit.Residual.SD)
	}
}

func loadReferences(t testing.TB) []reference {
	t.Helper()
	files, err := filepath.Glob(filepath.Join(references, "*.json"))
	if err != nil {
		t.Fatal(err)
	}
	var out []reference
	for _, file := range files {
		if base := filepath.Base(file); base == "versions.json" || strings.HasPrefix(base, "curve-") {
			continue
		}
		data, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		var r reference
		if err := json.Unmarshal(data, &r); err != nil {
			t.Fatalf("%s: %v", file, err)
		}
		out = append(out, r)
	}
	if len(out) < 17 {
		t.Fatalf("only %d reference files in %s", len(out), references)
	}
	return out
}

func loadTable(t testing.TB, name string) *table.Table {
	t.Helper()
	path := filepath.Join(references, name)
	if _, err := os.Stat(path); err != nil {
		f, err := os.Open(path + ".gz")
		if err != nil {
			t.Fatal(err)
		}
		defer f.Close()
		z, err := gzip.NewReader(f)
		if err != nil {
			t.Fatal(err)
		}
		data, err := io.ReadAll(z)
		if err != nil {
			t.Fatal(err)
		}
		var ps table.Problems
		out := table.Read(path, data, &ps)
		if err := ps.Err(); err != nil {
			t.Fatal(err)
		}
		return out
	}
	return tabletest.Read(t, path)
}

func near(t *testing.T, what string, got, want, relative, absolute float64) {
	t.Helper()
	if !(math.Abs(got-want) <= math.Max(relative*math.Abs(want), absolute)) {
		t.Errorf("%s: got %.12g, reference %.12g (relative difference %.2g)", what, got, want, (got-want)/want)
	}
}

// TestPublishedFits holds every model of testdata/reference/mixed against the
// reference libraries. The likelihood must agree to 1e-6 relative, estimates
// and standard errors to 1e-4. Both sides stop at a finite tolerance of their
// own, the reference's the looser; standard deviations near zero and degrees of
// freedom, which the reference takes from numerical derivatives, are held to
// 1e-3.
func TestPublishedFits(t *testing.T) {
	for _, r := range loadReferences(t) {
		if strings.HasPrefix(r.Data, "InstEval") && testing.Short() {
			continue
		}
		data := loadTable(t, r.Data)
		for _, estimate := range []string{"restricted", "full"} {
			t.Run(r.Name+", "+estimate, func(t *testing.T) {
				m, err := mixed.ParseModel(r.Name, []byte(satterthwaiteText+"estimate = \""+estimate+"\"\n"+r.Model))
				if err != nil {
					t.Fatal(err)
				}
				fit, err := m.Fit(data)
				if err != nil {
					t.Fatal(err)
				}
				want := r.Restricted
				if estimate == "full" {
					want = r.Full
				}
				near(t, "log likelihood", fit.LogLik, want.LogLik, 1e-6, 0)
				near(t, "criterion", fit.MinusTwiceLogLik, -2*want.LogLik, 1e-6, 0)
				if !fit.Converged {
					t.Error("did not converge")
				}
				for k, c := range fit.Fixed {
					near(t, c.Term, c.Estimate, want.Estimate[k], 1e-4, 1e-6*want.SE[k])
					near(t, c.Term+" se", c.SE, want.SE[k], 1e-4, 0)
					if want.DF != nil {
						near(t, c.Term+" df", c.DF, want.DF[k], 1e-3, 0)
					}
				}
				if want.Levels == nil {
					near(t, "residual", fit.Residual.SD, want.Residual, 1e-4, 0)
				}
				for _, level := range fit.Residual.Levels {
					near(t, "residual of "+level.Level, level.SD, want.Levels[level.Level], 1e-4, 0)
				}
				compareRandom(t, fit, want.Random)
				near(t, "rho", fit.Residual.Rho, want.Rho, 1e-3, 1e-12)
				if (len(fit.Boundary) > 0) != want.Singular {
					t.Errorf("boundary %q, reference singular: %v", fit.Boundary, want.Singular)
				}
			})
		}
	}
}
