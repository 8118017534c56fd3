package mixed_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"reflect"
	"testing"

	"thumbed/models/mixed"
	"thumbed/models/table"

	"pgregory.net/rapid"
)

const studyModel = `outcome = "wear"
fixed = ["picture", "place"]
[[random]]
by = "book"
terms = ["intercept", "place"]
correlated = true
[[random]]
by = ["book", "quire"]
terms = ["intercept"]
[[random]]
by = "reader"
terms = ["intercept"]
`

// A truth is what a simulated table was made from.
type truth struct {
	picture, place                     float64
	book, slope, quire, reader, single float64 // standard deviations
}

var usualTruth = truth{picture: 0.5, place: -0.3, book: 0.6, slope: 0.4, quire: 0.3, reader: 0.2, single: 0.5}

// simulate makes an invented table of books with quires of pages, read by
// readers at random, from a seed.
func simulate(seed uint64, books, pages, readers int, truth truth) *table.Table {
	r := rand.New(rand.NewPCG(seed, 17))
	readerEffect := make([]float64, readers)
	for k := range readerEffect {
		readerEffect[k] = r.NormFloat64() * truth.reader
	}
	var book, quire, reader, picture []string
	var place, wear []float64
	for b := range books {
		intercept, slope, quireEffect := r.NormFloat64()*truth.book, r.NormFloat64()*truth.slope, 0.0
		for p := range pages {
			if p%8 == 0 {
				quireEffect = r.NormFloat64() * truth.quire
			}
			at := float64(p)/float64(pages) - 0.5
			k := r.IntN(readers)
			shown := "no"
			y := 2 + intercept + (truth.place+slope)*at + quireEffect + readerEffect[k] + r.NormFloat64()*truth.single
			if r.IntN(4) == 0 {
				shown = "yes"
				y += truth.picture
			}
			book = append(book, fmt.Sprintf("book %d", b+1))
			quire = append(quire, fmt.Sprintf("%d", p/8+1))
			reader = append(reader, fmt.Sprintf("%d", k+1))
			picture = append(picture, shown)
			place = append(place, at)
			wear = append(wear, y)
		}
	}
	t, err := table.New(table.Labels("book", book), table.Labels("quire", quire), table.Labels("reader", reader),
		table.Labels("picture", picture), table.Numbers("place", place), table.Numbers("wear", wear))
	if err != nil {
		panic(err)
	}
	return t
}

// changed is a copy of a table with one column replaced.
func changed(t *table.Table, name string, make func(c *table.Column) *table.Column) *table.Table {
	out, err := table.New()
	for _, c := range t.Columns() {
		if c.Name == name {
			c = make(c)
		}
		if addErr := out.Add(c); addErr != nil {
			err = addErr
		}
	}
	if err != nil {
		panic(err)
	}
	return out
}

func fitted(t require, m mixed.Model, data *table.Table) *mixed.Fit {
	t.Helper()
	fit, err := m.Fit(data)
	if err != nil {
		t.Fatal(err)
	}
	return fit
}

type require interface {
	Helper()
	Fatal(...any)
	Fatalf(string, ...any)
}

// like holds two fits to be the same but for a factor and a shift of the
// outcome. Tolerance 1e-6: twice the error at which the descent stops.
func like(t require, got, want *mixed.Fit, factor, shift float64) {
	t.Helper()
	const tolerance = 1e-6
	same := func(what string, a, b, unit float64) {
		t.Helper()
		if math.Abs(a-b) > tolerance*(unit+math.Abs(b)) {
			t.Fatalf("%s: %.12g, wanted %.12g", what, a, b)
		}
	}
	for k, c := range want.Fixed {
		moved := c.Estimate * factor
		if k == 0 {
			moved += shift
		}
		same(c.Term, got.Fixed[k].Estimate, moved, c.SE*math.Abs(factor)+math.Abs(shift)*1e-3)
		same(c.Term+" se", got.Fixed[k].SE, c.SE*math.Abs(factor), 0)
		if math.Abs(got.Fixed[k].DF-c.DF) > 1e-3*c.DF {
			t.Fatalf("%s df: %g, wanted %g", c.Term, got.Fixed[k].DF, c.DF)
		}
	}
	for k, r := range want.Random {
		for a, sd := range r.SD {
			same(fmt.Sprint(r.By, r.Terms[a]), got.Random[k].SD[a], sd*math.Abs(factor), 10*want.Residual.SD*math.Abs(factor))
		}
	}
	same("residual", got.Residual.SD, want.Residual.SD*math.Abs(factor), 0)
}

// TestOutcomeUnits: another unit of the outcome, and another zero, change the
// estimates accordingly and nothing else.
func TestOutcomeUnits(t *testing.T) {
	m := parse(t, studyModel)
	rapid.Check(t, func(t *rapid.T) {
		data := simulate(rapid.Uint64Range(0, 1000).Draw(t, "seed"), 5, 40, 4, usualTruth)
		factor := rapid.SampledFrom([]float64{1e-6, -0.5, 3, 1e5}).Draw(t, "factor")
		shift := rapid.SampledFrom([]float64{0, -7, 100}).Draw(t, "shift") * math.Abs(factor)
		other := changed(data, "wear", func(c *table.Column) *table.Column {
			values := make([]float64, c.Len())
			for i, v := range c.Numbers {
				values[i] = v*factor + shift
			}
			return table.Numbers("wear", values)
		})
		like(t, fitted(t, m, other), fitted(t, m, data), factor, shift)
	})
}

// TestOrderAndNames: neither the order of rows nor the names of groups matter.
func TestOrderAndNames(t *testing.T) {
	m := parse(t, "levels.picture = [\"no\", \"yes\"]\n"+studyModel)
	rapid.Check(t, func(t *rapid.T) {
		seed := rapid.Uint64Range(0, 1000).Draw(t, "seed")
		data := simulate(seed, 5, 40, 4, usualTruth)
		order := rand.New(rand.NewPCG(seed, 3)).Perm(data.Rows())
		other := changed(data.Select(order), "book", func(c *table.Column) *table.Column {
			names := c.Text()
			for i := range names {
				names[i] = "the " + names[i]
			}
			return table.Labels("book", names)
		})
		like(t, fitted(t, m, other), fitted(t, m, data), 1, 0)
	})
}

// TestColumnUnits: a covariate in another unit changes its own coefficient, and
// the standard deviation of its slope, accordingly.
func TestColumnUnits(t *testing.T) {
	m := parse(t, studyModel)
	data := simulate(5, 6, 40, 4, usualTruth)
	want := fitted(t, m, data)
	got := fitted(t, m, changed(data, "place", func(c *table.Column) *table.Column {
		values := make([]float64, c.Len())
		for i, v := range c.Numbers {
			values[i] = 1000 * v
		}
		return table.Numbers("place", values)
	}))
	near(t, "criterion", got.MinusTwiceLogLik-2*math.Log(1000), want.MinusTwiceLogLik, 1e-9, 0)
	near(t, "place", got.Fixed[2].Estimate*1000, want.Fixed[2].Estimate, 1e-6, 0)
	near(t, "slope", got.Random[0].SD[1]*1000, want.Random[0].SD[1], 1e-5, 0)
	near(t, "correlation", got.Random[0].Correlation[1][0], want.Random[0].Correlation[1][0], 1e-5, 1e-6)
}

// TestTruthIsCovered: over 300 simulated studies of 8 books the 95 % interval
// of each fixed effect holds the truth at least as often as it should: 95 %, but
// for three standard errors of a share out of 300 (3.8 %). More often is
// allowed: where a slope's variance is ill determined, Satterthwaite's degrees
// of freedom are cautious.
func TestTruthIsCovered(t *testing.T) {
	const studies = 300
	m := parse(t, "levels.picture = [\"no\", \"yes\"]\n"+studyModel)
	held := map[string]int{}
	for seed := range uint64(studies) {
		fit := fitted(t, m, simulate(1000+seed, 8, 32, 5, usualTruth))
		for term, value := range map[string]float64{"intercept": 2, "picture=yes": usualTruth.picture, "place": usualTruth.place} {
			for _, c := range fit.Fixed {
				if c.Term == term && c.Low <= value && value <= c.High {
					held[term]++
				}
			}
		}
	}
	for _, term := range []string{"intercept", "picture=yes", "place"} {
		share := float64(held[term]) / studies
		t.Logf("%s: the interval holds the truth in %.1f %%", term, 100*share)
		if share < 0.912 {
			t.Errorf("%s: the 95 %% interval holds the truth in %.1f %% of %d studies", term, 100*share, studies)
		}
	}
}

// TestModes: on a balanced design with one random intercept the conditional
// modes are the groups' mean departures shrunk by q = nθ²/(1+nθ²), with
// conditional variance σ²θ²(1−q) (Searle, Casella and McCulloch 1992, section
// 3.4).
func TestModes(t *testing.T) {
	data := loadTable(t, "Dyestuff.csv")
	fit := fitted(t, parse(t, "outcome = \"Yield\"\nfixed = []\n[[random]]\nby = \"Batch\"\nterms = [\"intercept\"]\n"), data)
	means, counts := map[string]float64{}, map[string]float64{}
	total := 0.0
	for i, v := range data.Column("Yield").Numbers {
		batch := data.Column("Batch").Label(i)
		means[batch] += v
		counts[batch]++
		total += v
	}
	total /= float64(data.Rows())
	between, within := fit.Random[0].SD[0], fit.Residual.SD
	for _, mode := range fit.RandomEffects() {
		n := counts[mode.Group]
		shrink := n * between * between / (n*between*between + within*within)
		near(t, mode.Group, mode.Value, shrink*(means[mode.Group]/n-total), 1e-8, 0)
		near(t, mode.Group+" sd", mode.SD, between*math.Sqrt(1-shrink), 1e-8, 0)
	}
	if len(fit.RandomEffects()) != 6 {
		t.Errorf("%d modes of 6 batches", len(fit.RandomEffects()))
	}
}

// TestContrastAndCovariance: a contrast of one coefficient is that coefficient,
// and its standard error follows from the covariance matrix.
func TestContrastAndCovariance(t *testing.T) {
	fit := fitted(t, parse(t, "levels.picture = [\"no\", \"yes\"]\n"+studyModel), simulate(2, 6, 40, 4, usualTruth))
	cov := fit.Covariance()
	for k, c := range fit.Fixed {
		got, err := fit.Contrast(c.Term, map[string]float64{c.Term: 1})
		if err != nil || !reflect.DeepEqual(got, c) {
			t.Errorf("contrast of %s: %+v, coefficient %+v (%v)", c.Term, got, c, err)
		}
		near(t, c.Term, math.Sqrt(cov.At(k, k)), c.SE, 1e-10, 0)
	}
	both, err := fit.Contrast("both", map[string]float64{"picture=yes": 1, "place": -2})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "estimate", both.Estimate, fit.Fixed[1].Estimate-2*fit.Fixed[2].Estimate, 1e-10, 0)
	near(t, "se", both.SE, math.Sqrt(cov.At(1, 1)+4*cov.At(2, 2)-4*cov.At(1, 2)), 1e-10, 0)
}
