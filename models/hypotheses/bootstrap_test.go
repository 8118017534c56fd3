package hypotheses_test

import (
	"context"
	"math"
	"math/rand/v2"
	"os"
	"strconv"
	"strings"
	"testing"

	"thumbed/models/hypotheses"
	"thumbed/models/mixed"
	"thumbed/models/table"
)

// owned are books of one owner or another, unlike in their numbers of pages: few
// groups, and what is asked differs between them only.
func owned(r *rand.Rand, effect float64) *table.Table {
	var book, owner []string
	var wear []float64
	for b, pages := range []int{4, 30, 9, 12, 5, 20, 7, 16} {
		whose, level := "canon", 0.6*r.NormFloat64()
		if b%3 == 0 {
			whose, level = "widow", level+effect
		}
		for range pages {
			book, owner = append(book, "B"+strconv.Itoa(b)), append(owner, whose)
			wear = append(wear, 1+level+r.NormFloat64())
		}
	}
	t, err := table.New(table.Labels("book", book), table.Labels("owner", owner), table.Numbers("wear", wear))
	if err != nil {
		panic(err)
	}
	return t
}

var (
	owners = mixed.Model{Outcome: "wear", Fixed: []mixed.Term{{"owner"}}, Levels: map[string][]string{"owner": {"canon", "widow"}},
		Random: []mixed.Random{{By: []string{"book"}, Terms: []string{"intercept"}}}}
	owning = hypotheses.Question{Words: "Did the widow's books wear more?", Model: "owners", Contrast: map[string]float64{"owner=widow": 1}, Direction: "more", Seed: 3}
)

// bootstrapped asks a question and answers it once more from so many outcomes.
func bootstrapped(t *testing.T, q hypotheses.Question, m mixed.Model, data *table.Table, outcomes int) hypotheses.Answer {
	t.Helper()
	fit, err := m.Fit(data)
	if err != nil {
		t.Fatal(err)
	}
	a, err := hypotheses.Ask(q, fit)
	if err != nil {
		t.Fatal(err)
	}
	pivots, err := hypotheses.Pivots(context.Background(), q, fit, 0, outcomes, nil)
	if err != nil {
		t.Fatal(err)
	}
	if err := a.Bootstrap(pivots); err != nil {
		t.Fatal(err)
	}
	return a
}

// TestBootstrapIsStudentsTWhereThatIsExact: with independent rows the contrast's t
// has Student's distribution exactly, so that interval and p by bootstrap are those
// by t. Tolerance: four standard errors of a quantile, and of a share, over the
// outcomes drawn.
func TestBootstrapIsStudentsTWhereThatIsExact(t *testing.T) {
	const outcomes = 1999
	m := owners
	m.Random = nil
	data := owned(rand.New(rand.NewPCG(4, 4)), 0.2)
	for _, direction := range []string{"more", "less", "either"} {
		q := owning
		q.Direction = direction
		a := bootstrapped(t, q, m, data, outcomes)
		b := a.Bootstrapped
		// the density of t at its 97.5 % point is 0.058 with many degrees of freedom
		off := 4 * math.Sqrt(0.025*0.975/outcomes) / 0.058 * a.Effect.SE
		if math.Abs(b.Low-a.Effect.Low) > off || math.Abs(b.High-a.Effect.High) > off {
			t.Errorf("%s: the interval is %.3f to %.3f, by t %.3f to %.3f", direction, b.Low, b.High, a.Effect.Low, a.Effect.High)
		}
		if math.Abs(b.P-a.P) > 8*math.Sqrt(0.25/outcomes) || b.Outcomes != outcomes || b.Failed != 0 {
			t.Errorf("%s: p is %.3f, by t %.3f (%+v)", direction, b.P, a.P, b)
		}
	}
}

func TestBootstrapTellsInTheOutcomesOwnUnit(t *testing.T) {
	data := owned(rand.New(rand.NewPCG(6, 4)), 2.5)
	a := bootstrapped(t, owning, owners, data, 99)
	a.In(owners)
	b := a.Bootstrapped
	if !strings.HasPrefix(b.Sentence, "By a bootstrap (99 outcomes") || a.Again()[0] != b.Sentence {
		t.Errorf("it says %q", b.Sentence)
	}
	logged := owners
	logged.Scale = "log"
	before := b.Sentence
	a.In(logged) // the same numbers, told as factors
	if b.Sentence == before || strings.Contains(b.Sentence, "−") {
		t.Errorf("on a logarithm it says %q", b.Sentence)
	}
	a.Effect.Low, b.Low = 0.2, -0.2
	a.In(owners)
	if !strings.Contains(b.Sentence, "claim no more than both bear") {
		t.Errorf("where the intervals disagree about zero it says %q", b.Sentence)
	}
}

func TestBootstrapRefusesInWords(t *testing.T) {
	data := owned(rand.New(rand.NewPCG(1, 1)), 0)
	limits := make([]string, data.Rows())
	limits[3] = "below"
	if err := data.Add(table.Labels("limit", limits)); err != nil {
		t.Fatal(err)
	}
	m := owners
	m.Residual.Limits = "limit"
	fit, err := m.Fit(data)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := hypotheses.Pivots(context.Background(), owning, fit, 0, 99, nil); err == nil || !strings.Contains(err.Error(), "use limit instead of limits") {
		t.Errorf("bounds told row by row give %v", err)
	}
	a, err := hypotheses.Ask(owning, fit)
	if err != nil {
		t.Fatal(err)
	}
	if err := a.Bootstrap(make([]float64, 38)); err == nil || a.Bootstrapped != nil {
		t.Errorf("38 outcomes give %+v (%v)", a.Bootstrapped, err)
	}
	for _, draws := range []int{-1, 1, 38, 1_000_001} {
		q := owning
		q.Bootstrap = draws
		ps := q.Check(nil, nil)
		if len(ps) != 1 || ps[0].Column != "bootstrap" || !strings.Contains(ps[0].Expected, "from 39") {
			t.Errorf("bootstrap = %d gives %v", draws, ps)
		}
	}
	q := owning
	for _, q.Bootstrap = range []int{0, 39, 999} {
		if ps := q.Check(nil, nil); len(ps) > 0 {
			t.Errorf("bootstrap = %d gives %v", q.Bootstrap, ps)
		}
	}
}

// TestBootstrapWithALimit: outcomes at or below a model's limit become bounds in each
// drawing too, and the interval is near the one of the values themselves. Tolerance:
// half its width, for a tenth of the pages, less a few, is told by bounds only.
func TestBootstrapWithALimit(t *testing.T) {
	data := owned(rand.New(rand.NewPCG(9, 4)), 1)
	free := bootstrapped(t, owning, owners, data, 199).Bootstrapped
	m, limit := owners, 0.0
	m.Residual.Limit = &limit
	b := bootstrapped(t, owning, m, data, 199).Bootstrapped
	off := (free.High - free.Low) / 2
	if b.Failed > 0 || *b == *free || math.Abs(b.Low-free.Low) > off || math.Abs(b.High-free.High) > off {
		t.Errorf("with a limit %+v, without %+v", b, free)
	}
}

// TestSlowBootstrapCoverage counts how often 95 % intervals hold the truth with
// few books of unlike size, where no t is exact; and how often p by bootstrap is
// at most 0.05 under no effect. Tolerance: four standard errors of a share, and
// two points of the hundred for the variances' being estimated.
func TestSlowBootstrapCoverage(t *testing.T) {
	if os.Getenv("THUMBED_SLOW") == "" {
		t.Skip("set THUMBED_SLOW=1 to run the study of coverage")
	}
	const studies, outcomes, truth = 2000, 399, 0.7
	held, heldByT, rejected := 0.0, 0.0, 0.0
	for k := range uint64(studies) {
		q := owning
		q.Seed = k
		a := bootstrapped(t, q, owners, owned(rand.New(rand.NewPCG(k, 17)), truth), outcomes)
		b := a.Bootstrapped
		if b.Low <= truth && truth <= b.High {
			held += 1.0 / studies
		}
		if a.Effect.Low <= truth && truth <= a.Effect.High {
			heldByT += 1.0 / studies
		}
		if bootstrapped(t, q, owners, owned(rand.New(rand.NewPCG(k, 18)), 0), outcomes).Bootstrapped.P <= 0.05 {
			rejected += 1.0 / studies
		}
	}
	off := 4*math.Sqrt(0.05*0.95/studies) + 0.02
	t.Logf("of %d studies the interval holds the truth in %.3f (by t in %.3f); no effect is rejected in %.3f", studies, held, heldByT, rejected)
	if math.Abs(held-0.95) > off || math.Abs(rejected-0.05) > off {
		t.Error("that is not what the intervals and the test promise")
	}
}
