package traces_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"thumbed/models/generalised"
	"thumbed/models/mixed"
	"thumbed/models/table"
	"thumbed/models/traces"
)

// TestErrorsAreAllowedFor: of a trace that goes with a feature by 1.5 log odds a unit,
// the feature measured with a reliability of 0.8, the effect as measured falls short,
// and both regression calibration and simulation with extrapolation come nearer to the
// truth that was drawn (Carroll and others 2006, chapters 4 and 5: both are approximate
// in logistic models). Without error simulation changes nothing.
func TestErrorsAreAllowedFor(t *testing.T) {
	const truth, n, studies, spread = 1.5, 400, 4, 0.5
	m := mixed.Model{Outcome: "rubbed", Kind: mixed.YesNo, Link: "logit", Estimate: "full", Points: 1, Fixed: []mixed.Term{{"wear"}}, Levels: map[string][]string{"rubbed": {"no", "yes"}}}
	fit := func(rows *table.Table) ([]traces.Extrapolated, error) { return slope(m, rows) }
	var naive, calibrated, extrapolated, se float64
	for study := range studies {
		r := rand.New(rand.NewPCG(7, uint64(study)))
		book, page, rubbed := make([]string, n), make([]string, n), make([]string, n)
		wear, errs := make([]float64, n), make([]float64, n)
		for i := range n {
			x := r.NormFloat64()
			book[i], page[i], rubbed[i] = "Ardel", fmt.Sprint(i+1), "no"
			if r.Float64() < 1/(1+math.Exp(-truth*x)) {
				rubbed[i] = "yes"
			}
			wear[i], errs[i] = x+spread*r.NormFloat64(), spread
		}
		rows, err := table.New(table.Labels("book", book), table.Labels("page", page), table.Labels("rubbed", rubbed), table.Numbers("wear", wear), table.Numbers("wear_se", errs))
		must(t, err)
		as, err := fit(rows)
		must(t, err)
		allowed, _, err := traces.Allow(rows, rows, "wear", "wear_se", nil, nil)
		must(t, err)
		by, err := fit(allowed)
		must(t, err)
		sim, err := traces.Extrapolate(rows, "wear", "wear_se", fit)
		must(t, err)
		naive += as[0].Estimate / studies
		calibrated += by[0].Estimate / studies
		extrapolated += sim[0].Estimate / studies
		se += sim[0].SE / studies
		if study == 0 {
			exact, err := table.New(table.Labels("book", book), table.Labels("page", page), table.Labels("rubbed", rubbed), table.Numbers("wear", wear), table.Numbers("wear_se", make([]float64, n)))
			must(t, err)
			if same, err := traces.Extrapolate(exact, "wear", "wear_se", fit); err != nil || math.Abs(same[0].Estimate-as[0].Estimate) > 1e-6 || math.Abs(same[0].SE-as[0].SE) > 1e-6 {
				t.Errorf("without error %v becomes %v, %v", as, same, err)
			}
		}
	}
	t.Logf("truth %.2f; as measured %.3f, calibrated %.3f, extrapolated %.3f (standard error %.3f)", truth, naive, calibrated, extrapolated, se)
	if short := truth - naive; short < 0.25 || math.Abs(truth-calibrated) > short/2 || math.Abs(truth-extrapolated) > short/2 {
		t.Errorf("truth %v; as measured %v, calibrated %v, extrapolated %v", truth, naive, calibrated, extrapolated)
	}
}

func slope(m mixed.Model, rows *table.Table) ([]traces.Extrapolated, error) {
	f, err := generalised.New(m, rows)
	if err != nil {
		return nil, err
	}
	c, err := f.Contrast("wear", map[string]float64{"wear": 1})
	return []traces.Extrapolated{{Estimate: c.Estimate, SE: c.SE}}, err
}

func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}
