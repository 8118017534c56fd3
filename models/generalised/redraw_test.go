package generalised_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"

	"thumbed/models/generalised"
	"thumbed/models/mixed"
	"thumbed/models/table"
)

// TestPowerOfGradesIsWhiteheads: outcomes drawn anew with an effect set give the power that
// Whitehead (1993, Statistics in Medicine 12, 2257–2271, equations for two equal groups and
// proportional odds) works out: Φ(|θ|√V − 1.96) with V = n(1 − Σp³)/12, p the mean shares of
// the grades; and the estimates' mean is the effect.
func TestPowerOfGradesIsWhiteheads(t *testing.T) {
	const n, effect, draws = 160, 0.9, 200
	levels := []string{"intact", "dulled", "abraded", "bare"}
	part, grade := make([]string, n), make([]string, n)
	for i := range n {
		part[i], grade[i] = []string{"frame", "face"}[i%2], levels[(i/2*i/3)%4]
	}
	rows, err := table.New(table.Labels("part", part), table.Labels("grade", grade))
	if err != nil {
		t.Fatal(err)
	}
	m := mixed.Model{Outcome: "grade", Kind: mixed.Grades, Link: "logit", Estimate: "full", Thresholds: "free", Points: 1, Fixed: []mixed.Term{{"part"}},
		Levels: map[string][]string{"part": {"frame", "face"}, "grade": levels}}
	fit, err := generalised.New(m, rows)
	if err != nil {
		t.Fatal(err)
	}
	found, sum := 0, 0.0
	shares := make([]float64, 4)
	for k := range draws {
		seen, err := fit.Redraw(rows, generalised.Redrawing{Contrast: map[string]float64{"part=face": 1}, Value: effect}, rand.New(rand.NewPCG(5, uint64(k))))
		if err != nil {
			t.Fatal(err)
		}
		for i := range n {
			for j, level := range levels {
				if seen.Label(i) == level {
					shares[j] += 1.0 / n / draws
				}
			}
		}
		again, err := generalised.New(m, rows.With(seen))
		if err != nil {
			t.Fatal(err)
		}
		c, err := again.Contrast("face", map[string]float64{"part=face": 1})
		if err != nil {
			t.Fatal(err)
		}
		sum += c.Estimate / draws
		if math.Abs(c.Estimate/c.SE) > 1.959964 {
			found++
		}
	}
	left := 1.0
	for _, p := range shares {
		left -= p * p * p
	}
	want := distuv.UnitNormal.CDF(effect*math.Sqrt(n*left/12) - 1.959964)
	got := float64(found) / draws
	t.Logf("power %.3f, by Whitehead %.3f; mean estimate %.3f", got, want, sum)
	if d := math.Abs(got - want); d > 3*math.Sqrt(want*(1-want)/draws)+0.02 {
		t.Errorf("power %v, by Whitehead %v", got, want)
	}
	if math.Abs(sum-effect) > 0.1 {
		t.Errorf("mean estimate %v of %v", sum, effect)
	}
}

// TestRedrawRefusesOtherEffects: rows without a level that the fit has are refused, and so
// is a contrast of no effect.
func TestRedrawRefusesOtherEffects(t *testing.T) {
	var part, grade []string
	for i := range 60 {
		part, grade = append(part, []string{"frame", "face", "feet"}[i%3]), append(grade, fmt.Sprint(i%2*(i%5)/3))
	}
	rows, err := table.New(table.Labels("part", part), table.Labels("grade", grade))
	if err != nil {
		t.Fatal(err)
	}
	m := mixed.Model{Outcome: "grade", Kind: mixed.YesNo, Link: "logit", Estimate: "full", Points: 1, Fixed: []mixed.Term{{"part"}}, Levels: map[string][]string{"grade": {"0", "1"}}}
	fit, err := generalised.New(m, rows)
	if err != nil {
		t.Fatal(err)
	}
	random := rand.New(rand.NewPCG(1, 1))
	if _, err := fit.Redraw(rows, generalised.Redrawing{Contrast: map[string]float64{"part=hands": 1}, Value: 1}, random); err == nil {
		t.Error("a contrast of no effect is drawn")
	}
	if _, err := fit.Redraw(rows.Select([]int{0, 1, 3, 4, 6, 7}), generalised.Redrawing{Contrast: map[string]float64{"part=feet": 1}, Value: 1}, random); err == nil {
		t.Error("rows without feet are drawn")
	}
}
