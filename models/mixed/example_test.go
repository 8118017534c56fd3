package mixed_test

import (
	"fmt"

	"thumbed/models/mixed"
	"thumbed/models/table"
)

// Oats grown in blocks of three varieties and four amounts of nitrogen (Yates
// 1935): do the varieties differ, and what does nitrogen do?
func Example_inference() {
	var ps table.Problems
	data := table.ReadFile("../../testdata/reference/mixed/Oats.csv", &ps)
	if err := ps.Err(); err != nil {
		fmt.Println(err)
		return
	}
	model := mixed.Model{
		Outcome: "yield",
		Fixed:   []mixed.Term{{"nitro"}, {"Variety"}},
		Random: []mixed.Random{
			{By: []string{"Block"}, Terms: []string{"intercept"}},
			{By: []string{"Block", "Variety"}, Terms: []string{"intercept"}},
		},
	}
	fit, err := model.Fit(data)
	if err != nil {
		fmt.Println(err)
		return
	}
	adjusted, err := fit.KenwardRoger()
	if err != nil {
		fmt.Println(err)
		return
	}
	tests, err := adjusted.TermTests()
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, test := range tests {
		fmt.Printf("%s: F = %.3f with %.0f and %.1f degrees of freedom, p = %.4f\n", test.Name, test.F, test.NumDF, test.DF, test.P)
	}
	intervals, err := fit.Profile(0.95)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, i := range intervals[4:] {
		fmt.Printf("%s: %.1f, 95 %% interval %.1f to %.1f\n", i.Name, i.Value, i.Low, i.High)
	}
	// Output:
	// nitro: F = 118.003 with 1 and 53.0 degrees of freedom, p = 0.0000
	// Variety: F = 1.485 with 2 and 10.0 degrees of freedom, p = 0.2724
	// standard deviation of intercept by Block: 14.6, 95 % interval 4.8 to 34.7
	// standard deviation of intercept by Block and Variety: 10.4, 95 % interval 5.1 to 19.4
	// residual standard deviation: 12.9, 95 % interval 10.8 to 15.8
}
