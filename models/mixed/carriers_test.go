package mixed_test

import (
	"math"
	"testing"

	"thumbed/models/mixed"
	"thumbed/models/table"
)

// What rows carry of a contrast, summed over the outcome, is the least-squares
// estimate of it; and it is orthogonal to the other columns.
func TestCarriersMakeTheLeastSquaresEstimate(t *testing.T) {
	n := 60
	picture, place, wear := make([]string, n), make([]float64, n), make([]float64, n)
	for i := range n {
		picture[i] = []string{"no", "yes", "no"}[i%3]
		place[i] = float64((7 * i) % 23)
		wear[i] = 0.1 + 0.03*float64(i%3) + 0.002*place[i] + 0.01*math.Sin(float64(i))
	}
	data, err := table.New(table.Labels("picture", picture), table.Numbers("place", place), table.Numbers("wear", wear))
	if err != nil {
		t.Fatal(err)
	}
	m := mixed.Model{Outcome: "wear", Fixed: []mixed.Term{{"picture"}, {"place"}}, Levels: map[string][]string{"picture": {"no", "yes"}}}
	fit, err := m.Fit(data)
	if err != nil {
		t.Fatal(err)
	}
	weights := map[string]float64{"picture=yes": 1, "place": -2}
	laid, err := m.Lay(data)
	if err != nil {
		t.Fatal(err)
	}
	c, err := laid.Carriers(weights)
	if err != nil {
		t.Fatal(err)
	}
	of, err := fit.Laid().Carriers(weights)
	if err != nil {
		t.Fatal(err)
	}
	want, err := fit.Contrast("both", weights)
	if err != nil {
		t.Fatal(err)
	}
	sum, ones := 0.0, 0.0
	for k, row := range c.Rows {
		if c.Weight[k] != of.Weight[k] {
			t.Fatal("the fit carries otherwise than the model")
		}
		sum += c.Weight[k] * wear[row]
		ones += c.Weight[k]
	}
	if math.Abs(sum-want.Estimate) > 1e-12 || math.Abs(ones) > 1e-12 {
		t.Errorf("carried %.15g, estimated %.15g; sum of weights %g", sum, want.Estimate, ones)
	}
	if _, err := laid.Carriers(map[string]float64{"none": 1}); err == nil {
		t.Error("no error for an effect that is none")
	}
}
