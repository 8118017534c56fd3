package mixed_test

import (
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"reflect"
	"runtime"
	"strings"
	"testing"

	"thumbed/models/mixed"
	"thumbed/models/table"
)

// profileNames gives the reference's parameter that each of ours is.
var profileNames = map[string][]string{
	"sleepstudy-correlated":   {"(Intercept)", "Days", "sd_(Intercept)|Subject", "sd_Days|Subject", "cor_Days.(Intercept)|Subject", "sigma"},
	"sleepstudy-uncorrelated": {"(Intercept)", "Days", "sd_(Intercept)|Subject", "sd_Days|Subject", "sigma"},
	"Penicillin":              {"(Intercept)", "sd_(Intercept)|plate", "sd_(Intercept)|sample", "sigma"},
	"Pastes":                  {"(Intercept)", "sd_(Intercept)|batch:cask", "sd_(Intercept)|batch", "sigma"},
	"Orthodont":               {"(Intercept)", "age", "SexFemale", "age:SexFemale", "sd_(Intercept)|Subject", "sd_age|Subject", "cor_age.(Intercept)|Subject", "sigma"},
}

// TestProfile holds profile intervals of full-likelihood fits to lme4's. The
// reference interpolates its profile by splines between steps of a sixteenth of
// the interval; tolerance 2e-3 of the interval's length.
func TestProfile(t *testing.T) {
	for name, names := range profileNames {
		t.Run(name, func(t *testing.T) {
			want := loadInference(t, name).Profile
			got, err := inferenceModels[name].fit(t, "full").Profile(0.95)
			if err != nil {
				t.Fatal(err)
			}
			if len(got) != len(names) {
				t.Fatalf("%d intervals, expected %d", len(got), len(names))
			}
			for k, i := range got {
				at := indexOf(want.Names, names[k])
				if at < 0 {
					t.Fatalf("the reference has no %s, only %q", names[k], want.Names)
				}
				if math.IsNaN(want.High[at]) || math.IsNaN(want.Low[at]) || (name == "Orthodont" && names[k] == "cor_age.(Intercept)|Subject") {
					continue // the reference's own profile breaks off there
				}
				length := want.High[at] - want.Low[at]
				near(t, i.Name+" low", i.Low, want.Low[at], 0, 2e-3*length)
				near(t, i.Name+" high", i.High, want.High[at], 0, 2e-3*length)
			}
		})
	}
}

func indexOf(list []string, name string) int {
	for k, v := range list {
		if v == name {
			return k
		}
	}
	return -1
}

// TestProfileByDefinition: at each end of an interval the criterion of the model
// fitted anew with that parameter held is higher by the χ² quantile. For a fixed
// effect the refit takes its share out of the outcome; tolerance 1e-4.
func TestProfileByDefinition(t *testing.T) {
	data := loadTable(t, "Orthodont.csv")
	text := strings.Replace(orthodontText, "fixed = [\"age\", \"Sex\", [\"age\", \"Sex\"]]", "fixed = [\"age\", \"Sex\"]", 1)
	fit := fitted(t, parse(t, "estimate = \"full\"\n"+text), data)
	intervals, err := fit.Profile(0.9)
	if err != nil {
		t.Fatal(err)
	}
	const rise = 2.705543454095404 // the 0.9 quantile of χ² with one degree of freedom
	without := parse(t, "estimate = \"full\"\n"+strings.Replace(text, "\"age\", \"Sex\"", "\"Sex\"", 1))
	for _, end := range []float64{intervals[1].Low, intervals[1].High} {
		distance, age := data.Column("distance").Numbers, data.Column("age").Numbers
		less := make([]float64, len(distance))
		for i := range less {
			less[i] = distance[i] - end*age[i]
		}
		held := fitted(t, without, changed(data, "distance", func(*table.Column) *table.Column { return table.Numbers("distance", less) }))
		near(t, "criterion", held.MinusTwiceLogLik-fit.MinusTwiceLogLik, rise, 0, 1e-4)
	}
}

// TestProfileOpenEnds: a variance at zero, and a correlation that nothing pins
// down, have open ends told in words; JSON writes them without infinities.
func TestProfileOpenEnds(t *testing.T) {
	fit := fitted(t, parse(t, "outcome = \"Yield\"\nfixed = []\n[[random]]\nby = \"Batch\"\nterms = [\"intercept\"]\n"), loadTable(t, "Dyestuff2.csv"))
	got, err := fit.Profile(0.95)
	if err != nil {
		t.Fatal(err)
	}
	if sd := got[1]; !sd.OpenLow || sd.Low != 0 || sd.High <= 0 || !strings.Contains(sd.Note, "alike") {
		t.Errorf("interval of a variance at zero: %+v", sd)
	}
	if _, err := json.Marshal(got); err != nil {
		t.Error(err)
	}
	got, err = inferenceModels["Orthodont"].fit(t, "restricted").Profile(0.95)
	if err != nil {
		t.Fatal(err)
	}
	if c := got[6]; !c.OpenLow || !c.OpenHigh || c.Low != -1 || c.High != 1 || c.Note == "" {
		t.Errorf("interval of a correlation that the data do not tell: %+v", c)
	}
	if l := (&mixed.Inferences{Intervals: &mixed.Intervals{Parameters: got}}).Listings(nil, nil); !strings.Contains(text(t, l), "95 % interval") {
		t.Errorf("listings %v", l)
	}
	if _, err := fit.Profile(95); err == nil {
		t.Error("a level of 95 was taken")
	}
}

// TestProfileHoldsEstimates: every kind of residual's parameters has an interval
// around its estimate, the same on one core as on several.
func TestProfileHoldsEstimates(t *testing.T) {
	for _, r := range loadReferences(t) {
		if r.Data == "InstEval.csv" {
			continue
		}
		fit := fitted(t, parse(t, r.Model), loadTable(t, r.Data))
		got, err := fit.Profile(0.95)
		if err != nil {
			t.Fatal(err)
		}
		for _, i := range got {
			if i.Note == "" && !(i.Low <= i.Value && i.Value <= i.High) && !math.IsNaN(i.Low) {
				t.Errorf("%s: %s: %g to %g around %g", r.Name, i.Name, i.Low, i.High, i.Value)
			}
		}
		before := runtime.GOMAXPROCS(1)
		again, err := fit.Profile(0.95)
		runtime.GOMAXPROCS(before)
		if err != nil || !reflect.DeepEqual(text(t, got), text(t, again)) {
			t.Errorf("%s: intervals on one core differ (%v)", r.Name, err)
		}
	}
}

func text(t *testing.T, v any) string {
	t.Helper()
	data, err := json.Marshal(v)
	if err != nil {
		t.Fatal(err)
	}
	return string(data)
}

// TestProfileRestricted: on a balanced one-way design the restricted criterion is
// k(n−1)·log σ² + SSW/σ² + (k−1)·log(σ²+nτ²) + SSB/(σ²+nτ²) and a constant
// (Searle, Casella and McCulloch 1992, section 3.8): at the ends of τ's interval
// its minimum over σ is higher than everywhere by the χ² quantile, at those of σ
// that over τ. Tolerance 1e-4.
func TestProfileRestricted(t *testing.T) {
	data := loadTable(t, "Dyestuff.csv")
	const k, n = 6, 5
	means := map[string]float64{}
	grand := 0.0
	for i, v := range data.Column("Yield").Numbers {
		means[data.Column("Batch").Label(i)] += v / n
		grand += v / (k * n)
	}
	within, between := 0.0, 0.0
	for i, v := range data.Column("Yield").Numbers {
		d := v - means[data.Column("Batch").Label(i)]
		within += d * d
	}
	for _, m := range means {
		between += n * (m - grand) * (m - grand)
	}
	criterion := func(tau, sigma float64) float64 {
		s := sigma * sigma
		g := s + n*tau*tau
		return k*(n-1)*math.Log(s) + within/s + (k-1)*math.Log(g) + between/g
	}
	least := func(f func(x float64) float64) float64 { // by golden sections over 0.1 to 500
		low, high := 0.1, 500.0
		ratio := (math.Sqrt(5) - 1) / 2
		for range 200 {
			a, b := high-ratio*(high-low), low+ratio*(high-low)
			if f(a) < f(b) {
				high = b
			} else {
				low = a
			}
		}
		return f((low + high) / 2)
	}
	best := least(func(tau float64) float64 { return least(func(sigma float64) float64 { return criterion(tau, sigma) }) })
	got, err := fitted(t, parse(t, dyestuffText), data).Profile(0.95)
	if err != nil {
		t.Fatal(err)
	}
	const rise = 3.841458820694124 // the 0.95 quantile of χ² with one degree of freedom
	for _, end := range []float64{got[1].Low, got[1].High} {
		near(t, "between", least(func(sigma float64) float64 { return criterion(end, sigma) })-best, rise, 0, 1e-4)
	}
	for _, end := range []float64{got[2].Low, got[2].High} {
		near(t, "within", least(func(tau float64) float64 { return criterion(tau, end) })-best, rise, 0, 1e-4)
	}
}

// TestIntervalWithoutRemainder: where nothing is left between rows beyond their known
// errors the residual's standard deviation has an interval from zero to where the
// criterion has risen by the 95 % point of chi squared with one degree of freedom
// (3.841; Abramowitz and Stegun 1964, table 26.8). A residual of that size adds to
// the known errors by its square, so that another model holds it there.
func TestIntervalWithoutRemainder(t *testing.T) {
	const n = 60
	r := rand.New(rand.NewPCG(1, 1))
	book, picture := make([]string, n), make([]string, n)
	wear, se := make([]float64, n), make([]float64, n)
	for i := range n {
		book[i], picture[i] = fmt.Sprint(i/10), []string{"no", "yes"}[r.IntN(2)]
		se[i] = 0.011 + 0.0001*float64(i%7)
		wear[i] = 0.1 + 0.01*r.NormFloat64()
	}
	model := parse(t, "outcome = \"wear\"\nfixed = [\"picture\"]\n[[random]]\nby = \"book\"\nterms = [\"intercept\"]\n[residual]\nknown_sd = \"se\"\n")
	with := func(se []float64) *mixed.Fit {
		return fitted(t, model, tableOf(table.Labels("book", book), table.Labels("picture", picture), table.Numbers("wear", wear), table.Numbers("se", se)))
	}
	fit := with(se)
	if fit.Residual.SD != 0 {
		t.Fatalf("the residual's standard deviation is %g", fit.Residual.SD)
	}
	intervals, err := fit.Profile(0.95)
	if err != nil {
		t.Fatal(err)
	}
	for _, i := range intervals[2:] {
		if i.Low != 0 || !i.OpenLow || i.OpenHigh || !(i.High > 0.002 && i.High < 0.02) {
			t.Errorf("%s: %g to %g (open: %v)", i.Name, i.Low, i.High, i.OpenHigh)
		}
	}
	held := make([]float64, n)
	for k, v := range se {
		held[k] = math.Hypot(v, intervals[3].High)
	}
	near(t, "rise at the upper end", with(held).MinusTwiceLogLik-fit.MinusTwiceLogLik, 3.841459, 1e-4, 0)
}
