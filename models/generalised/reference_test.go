package generalised

import (
	"bytes"
	"compress/gzip"
	"encoding/json"
	"io"
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
