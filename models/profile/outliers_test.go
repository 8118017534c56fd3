package profile

import (
	"slices"
	"testing"
)

func TestApart(t *testing.T) {
	for _, c := range []struct {
		name   string
		values []float64
		want   []int
	}{
		{"none of two", []float64{0, 100}, nil},
		{"one among others", []float64{0, 1, 0, 50, 1, 0}, []int{3}},
		{"below them", []float64{0, 1, 0, -50, 1, 0}, []int{3}},
		{"the first and the last", []float64{50, 0, 1, 0, 1, 50}, []int{0, 5}},
		{"two together are a level", []float64{0, 1, 0, 50, 50, 1, 0}, nil},
		{"a step is none", []float64{0, 1, 0, 50, 51, 50, 51}, nil},
		{"one at a step, too near to one side of it", []float64{0, 1, 0, 70, 50, 51, 50}, nil},
		{"less than six standard deviations of the difference", []float64{0, 0, 8, 0, 0}, nil},
		{"and more", []float64{0, 0, 9, 0, 0}, []int{2}},
	} {
		if got := Outliers(c.values, slices.Repeat([]float64{1}, len(c.values))); !slices.Equal(got, c.want) {
			t.Errorf("%s: %v has %v apart; want %v", c.name, c.values, got, c.want)
		}
	}
}
