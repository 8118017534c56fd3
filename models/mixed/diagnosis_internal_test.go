package mixed

import (
	"strings"
	"testing"

	"thumbed/models/table"
)

// TestStopped: a fit that did not converge is told with its gradient and the
// term that it is steepest in, and enters no likelihood-ratio test.
func TestStopped(t *testing.T) {
	data, err := table.New(table.Labels("book", []string{"a", "a", "a", "b", "b", "b", "c", "c", "c"}), table.Numbers("wear", []float64{1, 2, 1.5, 4, 5, 4.2, 2, 2.5, 3}))
	if err != nil {
		t.Fatal(err)
	}
	f, err := Model{Outcome: "wear", Random: []Random{{By: []string{"book"}, Terms: []string{"intercept"}}}}.Fit(data)
	if err != nil {
		t.Fatal(err)
	}
	if f.NonConvergence() != nil {
		t.Fatalf("a fit that converged is told as stopped: %+v", f.NonConvergence())
	}
	stopped := *f
	stopped.Converged, stopped.slope = false, []float64{-3.25}
	got := stopped.NonConvergence()
	if got == nil || got.Gradient[0] != -3.25 || !strings.Contains(got.Sentence, "intercept") || !strings.Contains(got.Sentence, "3.2") {
		t.Errorf("told %+v", got)
	}
	if _, err := f.RatioTest(&stopped); err == nil || !strings.Contains(err.Error(), "converge") {
		t.Errorf("error %v", err)
	}
}
