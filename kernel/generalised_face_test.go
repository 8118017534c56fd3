package kernel_test

import (
	"fmt"
	"strings"
	"testing"

	"thumbed/kernel"
	"thumbed/models/mixed"
	"thumbed/models/table"
)

// A fit of grades in one call from a data frame, shown with its thresholds and
// probabilities.
func TestTracesHaveAFace(t *testing.T) {
	rows := "paint,part,book\n"
	for i := range 120 {
		rows += fmt.Sprintf("%s,%s,b%d\n", []string{"whole", "dulled", "bare"}[(i*7+i%2*3+i%5)%3], []string{"face", "hand"}[i%2], i%6)
	}
	var ps table.Problems
	frame := table.Read("t.csv", []byte(rows), &ps).Frame()
	m := mixed.Model{Outcome: "paint", Kind: mixed.Grades, Estimate: "full", Fixed: []mixed.Term{{"part"}},
		Levels: map[string][]string{"paint": {"whole", "dulled", "bare"}, "part": {"hand", "face"}},
		Random: []mixed.Random{{By: []string{"book"}, Terms: []string{"intercept"}}}}
	out, err := kernel.Faces(nil, kernel.FitTraces(m, frame))
	if err != nil || len(out) != 1 {
		t.Fatalf("%d outputs, %v", len(out), err)
	}
	for _, want := range []string{"Thresholds between grades", "whole and dulled", "Face (part)", "t by groups", "Probabilities", "%"} {
		if !strings.Contains(out[0].HTML, want) {
			t.Errorf("%q is not in %s", want, out[0].HTML)
		}
	}
	if !strings.Contains(spaced(out[0].Plain), "A model of the grades of paint in 120 rows") {
		t.Errorf("the plain face is %s", out[0].Plain)
	}
}
