package mixed

import (
	"math"
	"math/rand/v2"
	"path/filepath"
	"testing"

	"thumbed/models/table"
)

// The last step of a refit is taken without a gradient at its end. Against
// refits that go on until they have one, over outcomes drawn from the model of
// sleepstudy (Belenky et al. 2003), the criterion comes within 1e-8 and standard
// errors within 1e-5 of themselves.
func TestLastStepOfRefits(t *testing.T) {
	var ps table.Problems
	data := table.ReadFile(filepath.Join("..", "..", "testdata", "reference", "mixed", "sleepstudy.csv"), &ps)
	if err := ps.Err(); err != nil {
		t.Fatal(err)
	}
	m := Model{Outcome: "Reaction", Fixed: []Term{{"Days"}},
		Random: []Random{{By: []string{"Subject"}, Terms: []string{"intercept", "Days"}, Correlated: true}}}
	f, err := m.Fit(data)
	if err != nil {
		t.Fatal(err)
	}
	drawer, err := m.Simulator(data, f.Estimates())
	if err != nil {
		t.Fatal(err)
	}
	usual, patient := f.Refitter(), f.Refitter()
	patient.d.last = nil
	outcome := make([]float64, f.N)
	evaluations, of := 0, 0
	for k := range uint64(500) {
		drawer.Draw(rand.New(rand.NewPCG(1, k)), outcome)
		got, errGot := usual.Refit(outcome)
		want, errWant := patient.Refit(outcome)
		if errGot != nil || errWant != nil || !got.Converged || !want.Converged {
			t.Fatalf("draw %d: %v, %v", k, errGot, errWant)
		}
		if math.Abs(got.MinusTwiceLogLik-want.MinusTwiceLogLik) > 1e-8 {
			t.Errorf("draw %d: criterion %.12g, patiently %.12g", k, got.MinusTwiceLogLik, want.MinusTwiceLogLik)
		}
		for j, se := range got.SE {
			if math.Abs(se-want.SE[j]) > 1e-5*se {
				t.Errorf("draw %d: standard error %.9g, patiently %.9g", k, se, want.SE[j])
			}
		}
		evaluations += usual.d.evaluations
		of += patient.d.evaluations
	}
	if evaluations >= of {
		t.Errorf("%d evaluations with a gradient, patiently %d", evaluations, of)
	}
}
