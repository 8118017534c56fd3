package mixed_test

import (
	"bytes"
	"context"
	"math"
	"math/rand/v2"
	"runtime"
	"strings"
	"testing"

	"thumbed/models/mixed"
	"thumbed/models/table"
)

// TestStandardisedResiduals: residuals and fitted values make up the outcome,
// and where rows are whitened along a run the residuals of a model without
// random terms have mean square one (n − p in n).
func TestStandardisedResiduals(t *testing.T) {
	data := loadTable(t, "Ovary.csv")
	fit := fitted(t, parse(t, "outcome = \"follicles\"\nfixed = [\"sine\", \"cosine\"]\n[residual]\nalong = \"Time\"\nwithin = \"Mare\"\n"), data)
	sum := 0.0
	for _, r := range fit.Residuals() {
		near(t, "outcome", r.Fitted+r.Value, data.Column("follicles").Numbers[r.Row], 1e-12, 1e-12)
		sum += r.Standardised * r.Standardised
	}
	near(t, "mean square", sum/float64(fit.N-3), 1, 1e-8, 0)
}

// noisy is an invented table of twelve books of 30 pages with errors drawn by
// error, told the page before's error.
func noisy(seed uint64, error func(r *rand.Rand, before float64) float64) *table.Table {
	r := rand.New(rand.NewPCG(seed, 41))
	var book []string
	var page, wear []float64
	for b := range 12 {
		effect, before := r.NormFloat64(), 0.0
		for p := range 30 {
			before = error(r, before)
			book, page = append(book, string(rune('a'+b))), append(page, float64(p))
			wear = append(wear, 2+effect+0.02*float64(p)+before)
		}
	}
	t, err := table.New(table.Labels("book", book), table.Numbers("page", page), table.Numbers("wear", wear))
	if err != nil {
		panic(err)
	}
	return t
}

const noisyModel = "outcome = \"wear\"\nfixed = [\"page\"]\n[[random]]\nby = \"book\"\nterms = [\"intercept\"]\n"

// TestEnvelopesAndAutocorrelation: normal independent errors pass, skew ones and
// autocorrelated ones are told, at the rate of their p. Over 40 studies a p of
// 0.05 comes up 2 times; 7 times or more has a chance of 0.001.
func TestEnvelopesAndAutocorrelation(t *testing.T) {
	m := parse(t, noisyModel)
	look := func(data *table.Table) (normality, neighbours float64, said []string) {
		fit := fitted(t, m, data)
		envelopes, err := fit.Envelopes(context.Background(), 99, 1)
		if err != nil {
			t.Fatal(err)
		}
		near, err := fit.ResidualAutocorrelation(context.Background(), data, "page", "book", 99, 2)
		if err != nil {
			t.Fatal(err)
		}
		return envelopes[0].P, near.P, []string{envelopes[0].Sentence, near.Sentence}
	}
	false1, false2 := 0, 0
	for seed := range uint64(40) {
		a, b, _ := look(noisy(seed, func(r *rand.Rand, _ float64) float64 { return 0.5 * r.NormFloat64() }))
		if a <= 0.05 {
			false1++
		}
		if b <= 0.05 {
			false2++
		}
	}
	if false1 >= 7 || false2 >= 7 {
		t.Errorf("of 40 sound studies %d were told as not normal, %d as having neighbours alike", false1, false2)
	}
	a, _, said := look(noisy(5, func(r *rand.Rand, _ float64) float64 { return r.ExpFloat64() - 1 }))
	if a > 0.02 || !strings.Contains(said[0], "high end") && !strings.Contains(said[0], "low end") {
		t.Errorf("skew errors: p = %g: %s", a, said[0])
	}
	_, b, said := look(noisy(6, func(r *rand.Rand, before float64) float64 { return 0.6*before + 0.4*r.NormFloat64() }))
	if b > 0.02 || !strings.Contains(said[1], "along") {
		t.Errorf("neighbours alike: p = %g: %s", b, said[1])
	}
}

// TestNeighboursModelled: once the autocorrelation is in the model, nothing is
// left.
func TestNeighboursModelled(t *testing.T) {
	data := noisy(6, func(r *rand.Rand, before float64) float64 { return 0.6*before + 0.4*r.NormFloat64() })
	fit := fitted(t, parse(t, noisyModel+"[residual]\nalong = \"page\"\nwithin = \"book\"\n"), data)
	got, err := fit.ResidualAutocorrelation(context.Background(), data, "page", "book", 99, 2)
	if err != nil {
		t.Fatal(err)
	}
	if got.P < 0.05 || math.Abs(got.Correlation) > 0.15 {
		t.Errorf("correlation %.3f, p = %g", got.Correlation, got.P)
	}
	for _, bad := range []func() (*mixed.ResidualAutocorrelation, error){
		func() (*mixed.ResidualAutocorrelation, error) {
			return fit.ResidualAutocorrelation(context.Background(), data, "no such", "book", 99, 1)
		},
		func() (*mixed.ResidualAutocorrelation, error) {
			return fit.ResidualAutocorrelation(context.Background(), data.Select([]int{0, 1}), "page", "book", 99, 1)
		},
		func() (*mixed.ResidualAutocorrelation, error) {
			return fit.ResidualAutocorrelation(context.Background(), data, "page", "book", 5, 1)
		},
	} {
		if _, err := bad(); err == nil {
			t.Error("what cannot be compared was")
		}
	}
}

// TestDiagnose: a singular fit with a nearly collinear column is told with its
// term, the same on any number of cores; a sound one has nothing to tell.
func TestDiagnose(t *testing.T) {
	data := noisy(9, func(r *rand.Rand, _ float64) float64 { return 0.5 * r.NormFloat64() })
	r := rand.New(rand.NewPCG(1, 2))
	almost := make([]float64, data.Rows())
	other := make([]string, data.Rows())
	for i, v := range data.Column("page").Numbers {
		almost[i] = v + 0.5*r.NormFloat64()
		other[i] = string(rune('a' + i%7))
	}
	if err := data.Add(table.Numbers("almost", almost)); err != nil {
		t.Fatal(err)
	}
	if err := data.Add(table.Labels("other", other)); err != nil {
		t.Fatal(err)
	}
	// no differences between the groups of other are left
	wear := data.Column("wear").Numbers
	for k := range 7 {
		mean, rows := 0.0, 0.0
		for i := k; i < len(wear); i += 7 {
			mean, rows = mean+wear[i]-0.02*data.Column("page").Numbers[i], rows+1
		}
		for i := k; i < len(wear); i += 7 {
			wear[i] -= mean / rows
		}
	}
	fit := fitted(t, parse(t, strings.Replace(noisyModel, "[\"page\"]", "[\"page\", \"almost\"]", 1)+"[[random]]\nby = \"other\"\nterms = [\"intercept\"]\n"), data)
	o := mixed.Diagnosing{Simulations: 59, Seed: 4, Table: data, Along: "page", Within: "book"}
	got, err := fit.Diagnose(context.Background(), o)
	if err != nil {
		t.Fatal(err)
	}
	if len(got.Singular) != 1 || got.Singular[0].Term != "intercept by other" {
		t.Errorf("singular %+v (estimated %+v)", got.Singular, fit.Random)
	}
	if len(got.Collinear) != 2 || got.Collinear[0].Term != "page" || got.Collinear[0].Inflation < 100 {
		t.Errorf("collinear %+v", got.Collinear)
	}
	if got.NonConvergence != nil || len(got.NotDone) != 0 || len(got.Influence) != 2 || got.ResidualAutocorrelation == nil || len(got.Envelopes) != 2 {
		t.Errorf("%d influences, %d envelopes, not done %q", len(got.Influence), len(got.Envelopes), got.NotDone)
	}
	before := runtime.GOMAXPROCS(1)
	again, err := fit.Diagnose(context.Background(), o)
	runtime.GOMAXPROCS(before)
	if err != nil || text(t, got) != text(t, again) {
		t.Errorf("on one core another diagnosis (%v)", err)
	}
	var b bytes.Buffer
	if err := got.Text(&b); err != nil || !strings.Contains(b.String(), "nearly determined") {
		t.Errorf("text %q (%v)", b.String(), err)
	}
}

// TestInflation: the variance inflation of each of two columns is 1/(1 − r²), r
// their correlation.
func TestInflation(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 3))
	n := 50
	x, y, wear := make([]float64, n), make([]float64, n), make([]float64, n)
	for i := range n {
		x[i] = 5 + r.NormFloat64()
		y[i] = x[i] + 0.1*r.NormFloat64()
		wear[i] = x[i] + r.NormFloat64()
	}
	fit := fitted(t, parse(t, "outcome = \"wear\"\nfixed = [\"x\", \"y\"]\n"), newTable(t, table.Numbers("x", x), table.Numbers("y", y), table.Numbers("wear", wear)))
	mean := func(v []float64) float64 {
		s := 0.0
		for _, u := range v {
			s += u / float64(len(v))
		}
		return s
	}
	mx, my := mean(x), mean(y)
	xy, xx, yy := 0.0, 0.0, 0.0
	for i := range n {
		xy += (x[i] - mx) * (y[i] - my)
		xx += (x[i] - mx) * (x[i] - mx)
		yy += (y[i] - my) * (y[i] - my)
	}
	got := fit.Collinear()
	if len(got) != 2 {
		t.Fatalf("collinear %+v", got)
	}
	near(t, "inflation", got[1].Inflation, 1/(1-xy*xy/(xx*yy)), 1e-9, 0)
	near(t, "inflation", got[0].Inflation, got[1].Inflation, 1e-9, 0)
}
