package mixed_test

import (
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"thumbed/models/mixed"
	"thumbed/models/table"
)

// TestCurveAgainstReference: the motorcycle data of Silverman (1985), by a
// reference library with the same basis, penalty and restricted likelihood.
// Effective degrees of freedom and residual agree to 1e-3, the curve to 1e-4 of
// its range.
func TestCurveAgainstReference(t *testing.T) {
	data, err := os.ReadFile(filepath.Join(references, "curve-mcycle.json"))
	if err != nil {
		t.Fatal(err)
	}
	var r struct {
		Data, Model string
		Restricted  struct {
			EDF, Residual float64
			At, Fit       numbers
		}
	}
	if err := json.Unmarshal(data, &r); err != nil {
		t.Fatal(err)
	}
	want := r.Restricted
	fit := fitted(t, parse(t, r.Model), loadTable(t, r.Data))
	if !fit.Converged || len(fit.Smooth) != 1 {
		t.Fatalf("converged %v, smooths %v", fit.Converged, fit.Smooth)
	}
	near(t, "effective", fit.Smooth[0].Effective, want.EDF, 1e-3, 0)
	near(t, "residual", fit.Residual.SD, want.Residual, 1e-3, 0)
	curve, err := fit.Curve(0, "", want.At)
	if err != nil {
		t.Fatal(err)
	}
	for k, point := range curve {
		near(t, "curve", point.Estimate, want.Fit[k], 0, 0.015)
		if !(point.SE > 0) || !(point.Low < point.Estimate && point.Estimate < point.High) {
			t.Errorf("no interval at %g: %+v", point.At, point)
		}
	}
}

// TestStraightCurve: where the truth is a straight line with much noise the
// curve is often exactly straight, and says so.
func TestStraightCurve(t *testing.T) {
	n := 40
	x, y := make([]float64, n), make([]float64, n)
	for i := range n {
		x[i] = float64(i)
		y[i] = 0.5*x[i] + []float64{1, -1}[i%2]
	}
	data, err := table.New(table.Numbers("x", x), table.Numbers("y", y))
	if err != nil {
		t.Fatal(err)
	}
	fit := fitted(t, mixed.Model{Outcome: "y", Smooth: []mixed.Smooth{{Column: "x", Bends: 6}}}, data)
	if fit.Smooth[0].SD != 0 || len(fit.Boundary) != 1 || !strings.Contains(fit.Notes[0], "straight line") {
		t.Errorf("sd %g, boundary %q, notes %q", fit.Smooth[0].SD, fit.Boundary, fit.Notes)
	}
	curve, err := fit.Curve(0, "", []float64{0, 39})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "rise", curve[1].Estimate-curve[0].Estimate, 39*fit.Fixed[1].Estimate, 1e-9, 0)
	if _, err := fit.Curve(1, "", nil); err == nil {
		t.Error("a smooth that is not there")
	}
}

// TestCurveByGroup: bends of each group's own follow each group's own curve.
func TestCurveByGroup(t *testing.T) {
	var group []string
	var x, y []float64
	for g, phase := range []float64{0, 2, 4} {
		for i := range 60 {
			at := float64(i) / 10
			group = append(group, string(rune('a'+g)))
			x = append(x, at)
			y = append(y, math.Sin(1.5*at+phase)+0.1*math.Sin(float64(37*i+g)))
		}
	}
	data, err := table.New(table.Labels("group", group), table.Numbers("x", x), table.Numbers("y", y))
	if err != nil {
		t.Fatal(err)
	}
	fit := fitted(t, parse(t, "outcome = \"y\"\nfixed = []\n[[random]]\nby = \"group\"\nterms = [\"intercept\", \"x\"]\n[[smooth]]\ncolumn = \"x\"\nby = \"group\"\n"), data)
	first, err := fit.Curve(0, "a", []float64{1, 3, 5})
	if err != nil {
		t.Fatal(err)
	}
	second, err := fit.Curve(0, "b", []float64{1, 3, 5})
	if err != nil {
		t.Fatal(err)
	}
	if math.Abs(first[0].Estimate-second[0].Estimate) < 0.3 {
		t.Errorf("the groups' curves are alike: %g and %g at 1", first[0].Estimate, second[0].Estimate)
	}
	if _, err := fit.Curve(0, "d", nil); err == nil {
		t.Error("a group that is not there")
	}
	if fit.Residual.SD > 0.15 {
		t.Errorf("residual %g: the curves are not followed", fit.Residual.SD)
	}
}
