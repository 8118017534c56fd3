package mixed_test

import (
	"fmt"
	"os"

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
	if err := mixed.WriteJointTests(os.Stdout, tests); err != nil {
		fmt.Println(err)
	}
	intervals, err := fit.Profile(0.95)
	if err != nil {
		fmt.Println(err)
		return
	}
	if err := mixed.WriteIntervals(os.Stdout, intervals[4:]); err != nil {
		fmt.Println(err)
	}
	// Output:
	//              F  contrasts    df             p
	//   nitro    118.003          1  53.0  under 0.0001
	//   Variety    1.485          2  10.0        0.2724
	// Degrees of freedom after Kenward–Roger.
	//                                                         estimate  95 % interval
	//   standard deviation of intercept by Block                  14.6    4.8 to 34.7
	//   standard deviation of intercept by Block and Variety      10.4    5.1 to 19.4
	//   residual standard deviation                               12.9   10.8 to 15.8
}
