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
	fit := func(rows *table.Table) ([]traces.Extrapolated, error) { return slope(m, "wear", rows) }
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

// TestExtrapolationOfTheExample: the worked example of the R package simex 1.8 (reference
// page of simex(), data drawn with its seed by testdata/reference/traces/simex.R): a
// measure, whose effect as measured is printed there as 0.90327 and extrapolated as 0.97007,
// from 100 simulations of each size; and a yes or no, with an error of another size in each
// row. Chance leaves 0.003 and 0.047 to our twenty simulations (standard deviations over 14
// seeds), and 0.003 and 0.023 to the package's 400 (simex.R): four of these together are
// allowed, and a seventh on standard errors.
func TestExtrapolationOfTheExample(t *testing.T) {
	read := func(name string) *table.Table {
		var ps table.Problems
		out := table.ReadFile("../../testdata/reference/traces/"+name, &ps)
		must(t, ps.Err())
		return out
	}
	data, want := read("simex-data.csv"), read("simex.csv")
	n := data.Rows()
	book, page, rubbed, fixed := make([]string, n), make([]string, n), make([]string, n), make([]float64, n)
	for i := range n {
		book[i], page[i], rubbed[i], fixed[i] = "Ardel", fmt.Sprint(i+1), "no", 0.3
		if data.Column("rubbed").Number(i) == 1 {
			rubbed[i] = "yes"
		}
	}
	rows := data
	for _, c := range []*table.Column{table.Labels("book", book), table.Labels("page", page), table.Labels("touched", rubbed), table.Numbers("error", fixed)} {
		must(t, rows.Add(c))
	}
	measure := func(rows *table.Table) ([]traces.Extrapolated, error) {
		f, err := (mixed.Model{Outcome: "y", Scale: "identity", Estimate: "restricted", Fixed: []mixed.Term{{"x_measured"}}}).Fit(rows)
		if err != nil {
			return nil, err
		}
		c, err := f.Contrast("", map[string]float64{"x_measured": 1})
		return []traces.Extrapolated{{Estimate: c.Estimate, SE: c.SE}}, err
	}
	yesNo := mixed.Model{Outcome: "touched", Kind: mixed.YesNo, Link: "logit", Estimate: "full", Points: 1, Fixed: []mixed.Term{{"x_het1"}}, Levels: map[string][]string{"touched": {"no", "yes"}}}
	for i, c := range []struct {
		column, errs string
		chance       float64
		fit          func(*table.Table) ([]traces.Extrapolated, error)
	}{{"x_measured", "error", math.Hypot(0.003, 0.003), measure}, {"x_het1", "sd_het1", math.Hypot(0.047, 0.023), func(rows *table.Table) ([]traces.Extrapolated, error) { return slope(yesNo, "x_het1", rows) }}} {
		number := func(name string) float64 { return want.Column(name).Number(i) }
		as, err := c.fit(rows)
		must(t, err)
		if math.Abs(as[0].Estimate-number("naive")) > 1e-5*math.Abs(number("naive")) || math.Abs(as[0].SE-number("naive_se")) > 1e-3*number("naive_se") {
			t.Errorf("as measured %v, there %v and %v", as[0], number("naive"), number("naive_se"))
		}
		got, err := traces.Extrapolate(rows, c.column, c.errs, c.fit)
		must(t, err)
		t.Logf("%s: as measured %.4f, extrapolated %.4f (%.4f), there %.4f (%.4f)", c.column, as[0].Estimate, got[0].Estimate, got[0].SE, number("simex"), number("simex_se"))
		if math.Abs(got[0].Estimate-number("simex")) > 4*c.chance || math.Abs(got[0].SE-number("simex_se")) > number("simex_se")/7 {
			t.Errorf("%s: extrapolated %v, there %v and %v", c.column, got[0], number("simex"), number("simex_se"))
		}
	}
	if math.Abs(want.Column("simex").Number(0)-0.97007) > 4*want.Column("simex_by_chance").Number(0) {
		t.Errorf("the example is printed as 0.97007, and not as %v", want.Column("simex").Number(0))
	}
}

func slope(m mixed.Model, of string, rows *table.Table) ([]traces.Extrapolated, error) {
	f, err := generalised.New(m, rows)
	if err != nil {
		return nil, err
	}
	c, err := f.Contrast(of, map[string]float64{of: 1})
	return []traces.Extrapolated{{Estimate: c.Estimate, SE: c.SE}}, err
}

func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}
