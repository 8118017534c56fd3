package mixed_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"thumbed/models/mixed"
	"thumbed/models/table"
)

// NIST's Statistical Reference Datasets for linear regression
// (https://www.itl.nist.gov/div898/strd/lls/lls.shtml). Data and certified
// values are from memory: that they agree with each other to the last digits,
// through our own computation, is evidence that they are remembered rightly.
var longley = map[string][]float64{
	"y":  {60323, 61122, 60171, 61187, 63221, 63639, 64989, 63761, 66019, 67857, 68169, 66513, 68655, 69564, 69331, 70551},
	"x1": {83.0, 88.5, 88.2, 89.5, 96.2, 98.1, 99.0, 100.0, 101.2, 104.6, 108.4, 110.8, 112.6, 114.2, 115.7, 116.9},
	"x2": {234289, 259426, 258054, 284599, 328975, 346999, 365385, 363112, 397469, 419180, 442769, 444546, 482704, 502601, 518173, 554894},
	"x3": {2356, 2325, 3682, 3351, 2099, 1932, 1870, 3578, 2904, 2822, 2936, 4681, 3813, 3931, 4806, 4007},
	"x4": {1590, 1456, 1616, 1650, 3099, 3594, 3547, 3350, 3048, 2857, 2798, 2637, 2552, 2514, 2572, 2827},
	"x5": {107608, 108632, 109773, 110929, 112075, 113270, 115094, 116219, 117388, 118734, 120445, 121950, 123366, 125368, 127852, 130081},
	"x6": {1947, 1948, 1949, 1950, 1951, 1952, 1953, 1954, 1955, 1956, 1957, 1958, 1959, 1960, 1961, 1962},
}

var norris = map[string][]float64{
	"y": {0.1, 338.8, 118.1, 888.0, 9.2, 228.1, 668.5, 998.5, 449.1, 778.9, 559.2, 0.3, 0.1, 778.1, 668.8, 339.3, 448.9, 10.8,
		557.7, 228.3, 998.0, 888.8, 119.6, 0.3, 0.6, 557.6, 339.3, 888.0, 998.5, 778.9, 10.2, 117.6, 228.9, 668.4, 449.2, 0.2},
	"x1": {0.2, 337.4, 118.2, 884.6, 10.1, 226.5, 666.3, 996.3, 448.6, 777.0, 558.2, 0.4, 0.6, 775.5, 666.9, 338.0, 447.5, 11.6,
		556.0, 228.1, 995.8, 887.6, 120.2, 0.3, 0.3, 556.8, 339.1, 887.2, 999.0, 779.0, 11.1, 118.3, 229.2, 669.1, 448.9, 0.5},
}

// wampler is a polynomial of degree 5 with the coefficients given, plus size
// times the deviations of Wampler3.
func wampler(coefficients []float64, size float64) map[string][]float64 {
	deviations := []float64{759, -2048, 2048, -2048, 2523, -2048, 2048, -2048, 1838, -2048, 2048, -2048, 1838, -2048, 2048, -2048, 2523, -2048, 2048, -2048, 759}
	out := map[string][]float64{}
	for i, e := range deviations {
		x := float64(i)
		y, power := 0.0, 1.0
		for k, b := range coefficients {
			y += b * power
			if k > 0 {
				name := fmt.Sprintf("x%d", k)
				out[name] = append(out[name], power)
			}
			power *= x
		}
		out["y"] = append(out["y"], y+size*e)
	}
	return out
}

func ones() []float64 { return []float64{1, 1, 1, 1, 1, 1} }

func times(v []float64, by float64) []float64 {
	out := make([]float64, len(v))
	for i := range v {
		out[i] = v[i] * by
	}
	return out
}

// TestLeastSquaresAgainstNIST: with no random term the fit is ordinary least
// squares. Digits asked for are those that double precision leaves: Longley's
// columns are conditioned as 10^9.
func TestLeastSquaresAgainstNIST(t *testing.T) {
	spread := []float64{2152.32624678170, 2363.55173469681, 779.343524331583, 101.475507550350, 5.64566512170752, 0.112324854679312}
	for _, c := range []struct {
		name      string
		data      map[string][]float64
		estimate  []float64
		se        []float64 // nil: zero
		residual  float64
		tolerance float64
	}{
		{"Longley", longley,
			[]float64{-3482258.63459582, 15.0618722713733, -0.358191792925910e-01, -2.02022980381683, -1.03322686717359, -0.511041056535807e-01, 1829.15146461355},
			[]float64{890420.383607373, 84.9149257747669, 0.334910077722432e-01, 0.488399681651699, 0.214274163161675, 0.226073200069370, 455.478499142212},
			304.854073561965, 1e-9},
		{"Norris", norris, []float64{-0.262323073774029, 1.00211681802045}, []float64{0.232818234301152, 0.429796848199937e-03}, 0.884796396144373, 1e-12},
		{"Wampler1", wampler(ones(), 0), ones(), nil, 0, 1e-7},
		{"Wampler2", wampler([]float64{1, 0.1, 0.01, 0.001, 0.0001, 0.00001}, 0), []float64{1, 0.1, 0.01, 0.001, 0.0001, 0.00001}, nil, 0, 1e-10},
		{"Wampler3", wampler(ones(), 1), ones(), spread, 2360.14502379268, 1e-8},
		{"Wampler4", wampler(ones(), 100), ones(), times(spread, 100), 236014.502379268, 1e-7},
		{"Wampler5", wampler(ones(), 10000), ones(), times(spread, 10000), 23601450.2379268, 1e-5},
	} {
		t.Run(c.name, func(t *testing.T) {
			m := mixed.Model{Outcome: "y"}
			data, err := table.New(table.Numbers("y", c.data["y"]))
			if err != nil {
				t.Fatal(err)
			}
			for k := 1; k < len(c.estimate); k++ {
				name := fmt.Sprintf("x%d", k)
				m.Fixed = append(m.Fixed, mixed.Term{name})
				if err := data.Add(table.Numbers(name, c.data[name])); err != nil {
					t.Fatal(err)
				}
			}
			fit, err := m.Fit(data)
			if err != nil {
				t.Fatal(err)
			}
			for k, f := range fit.Fixed {
				near(t, f.Term, f.Estimate, c.estimate[k], c.tolerance, 0)
				if exact := len(fit.Notes) > 0 && strings.Contains(fit.Notes[0], "without error"); exact != (c.residual == 0) {
					t.Errorf("notes %q", fit.Notes)
				}
				if c.se == nil {
					near(t, f.Term+" se", f.SE, 0, 0, 1e-6*math.Abs(f.Estimate))
					continue
				}
				near(t, f.Term+" se", f.SE, c.se[k], 1e-8, 0)
				near(t, f.Term+" df", f.DF, float64(len(c.data["y"])-len(c.estimate)), 1e-12, 0)
			}
			near(t, "residual", fit.Residual.SD, c.residual, 1e-8, 1e-6)
		})
	}
}
