package table_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"thumbed/models/table"
)

// Only plain decimal numbers are numbers: what strconv would also take for one
// (words, hexadecimal, underscores) is a slip of the pen in a table.
func TestNumbers(t *testing.T) {
	for cell, want := range map[string]float64{
		"0": 0, "12": 12, "-0.31": -0.31, "+2": 2, ".5": 0.5, "5.": 5, "1e-7": 1e-7, "1.5E+3": 1500, "007": 7,
		"0.30000000000000004": 0.30000000000000004, "1e308": 1e308, "5e-324": 5e-324,
	} {
		c := table.Cells("x", []string{cell})
		if !c.IsNumber() || c.Numbers[0] != want || c.Number(0) != want {
			t.Errorf("%q is %v, not %g", cell, c.Numbers, want)
		}
	}
	for _, cell := range []string{
		"NaN", "nan", "Inf", "-inf", "Infinity", "1e999", "-1e999", "0x10", "0x1p-2", "1_000", "1,5", "1 000", "-", "+", ".",
		"e5", "1e", "1e+", "1e5.5", "1.2.3", "--1", "1-", "12r", "one", "½", "١", "−1", "1f",
	} {
		c := table.Cells("x", []string{"1", cell})
		if c.IsNumber() {
			t.Errorf("%q is a number", cell)
		}
		if !math.IsNaN(c.Number(1)) || c.Number(0) != 1 {
			t.Errorf("%q: as numbers %g and %g", cell, c.Number(0), c.Number(1))
		}
	}
	missing := table.Cells("x", []string{"", "2", ""})
	if !missing.IsNumber() || !math.IsNaN(missing.Number(0)) || missing.Number(1) != 2 || !missing.Missing(2) {
		t.Errorf("missing cells: %v", missing.Numbers)
	}
	if table.Cells("x", []string{"", ""}).IsNumber() {
		t.Error("a column of missing cells is numbers")
	}
}

func TestNumberProblem(t *testing.T) {
	for cell, remedy := range map[string]string{
		"0,31":      "write 0.31",
		"-0,31":     "write -0.31",
		"−0.31":     "write -0.31",
		"1.234,5":   "write 1234.5",
		"1,234.5":   "write 1234.5",
		"1 234,5":   "write 1234.5",
		"NA":        "leave the cell empty where there is no value",
		"-":         "leave the cell empty where there is no value",
		"n/a":       "leave the cell empty where there is no value",
		"0.31 D":    "write the number alone, or leave the cell empty where there is none",
		"dark":      "write the number alone, or leave the cell empty where there is none",
		"1e999":     "write the number alone, or leave the cell empty where there is none",
		"1,2,3":     "write the number alone, or leave the cell empty where there is none",
		"0,31,":     "write the number alone, or leave the cell empty where there is none",
		"0x1p-2":    "write the number alone, or leave the cell empty where there is none",
		"0.31 0.32": "write the number alone, or leave the cell empty where there is none",
	} {
		got := table.NumberProblem("log.csv", 4, "density", cell)
		want := table.Problem{File: "log.csv", Line: 4, Column: "density", Value: cell, Expected: "a number with a decimal point", Remedy: remedy}
		if got != want {
			t.Errorf("%q: %v, not %v", cell, got, want)
		}
	}
}

func TestNumberLabels(t *testing.T) {
	for want, v := range map[string]float64{
		"": math.NaN(), "0": 0, "0.1": 0.1, "1000000": 1e6, "123456789.5": 123456789.5, "0.00001": 1e-5, "1e-07": 1e-7, "1e+21": 1e21, "-2.5": -2.5,
	} {
		if got := table.Numbers("x", []float64{v}).Label(0); got != want {
			t.Errorf("%g is written %q, not %q", v, got, want)
		}
	}
}

// What is written as the label of a number reads back as the same number.
func TestNumberRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.Float64().Filter(func(v float64) bool { return !math.IsInf(v, 0) && !math.IsNaN(v) }).Draw(t, "v")
		cell := table.Numbers("x", []float64{v}).Label(0)
		if got := table.Cells("x", []string{cell}); !got.IsNumber() || got.Numbers[0] != v {
			t.Fatalf("%g written %q reads %v", v, cell, got.Numbers)
		}
	})
}
