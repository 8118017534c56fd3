package hypotheses_test

import (
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"thumbed/models/hypotheses"
	"thumbed/models/mixed"
	"thumbed/models/table"
	"thumbed/models/table/tabletest"
)

const reference = "../../testdata/reference/hypotheses"

// rows reads a reference file.
func rows(t *testing.T, name string) *table.Table {
	t.Helper()
	return tabletest.Read(t, filepath.Join(reference, name))
}

func near(t *testing.T, what string, got, want, relative float64) {
	t.Helper()
	if !(math.Abs(got-want) <= relative*math.Abs(want)) {
		t.Errorf("%s: got %.12g, want %.12g", what, got, want)
	}
}

// sleep fits Student's (1908, Biometrika 6, 1–25) sleep data: hours gained with
// two drugs by ten patients; paired with the patients as groups.
func sleep(t *testing.T, paired bool) *mixed.Fit {
	t.Helper()
	m := mixed.Model{Outcome: "extra", Fixed: []mixed.Term{{"drug"}}, Levels: map[string][]string{"drug": {"d1", "d2"}}}
	if paired {
		m.Random = []mixed.Random{{By: []string{"patient"}, Terms: []string{"intercept"}}}
	}
	fit, err := m.Fit(rows(t, "sleep.csv"))
	if err != nil {
		t.Fatal(err)
	}
	return fit
}

func secondDrug(direction string, smallest float64) hypotheses.Question {
	return hypotheses.Question{Words: "Does the second drug give more sleep?", Model: "sleep", Contrast: map[string]float64{"drug=d2": 1}, Direction: direction, Smallest: smallest}
}

// Estimate, interval and every p-value against R's t.test on the same data
// (testdata/reference/hypotheses/make.R): one-sided, two-sided, and the two
// one-sided tests of equivalence (Schuirmann 1987). The paired comparison goes
// through a random intercept, whose likelihood is searched, hence 1e-5 there.
func TestAnswersAgreeWithReference(t *testing.T) {
	tests := rows(t, "sleep-tests.csv")
	for i := range tests.Rows() {
		paired := tests.Column("paired").Label(i) == "TRUE"
		want := func(name string) float64 { return tests.Column(name).Number(i) }
		tolerance := 1e-9
		if paired {
			tolerance = 1e-5
		}
		fit, smallest := sleep(t, paired), want("smallest")
		for _, c := range []struct {
			direction  string
			p, against float64
		}{
			{"either", want("either"), max(want("short"), want("over"))},
			{"more", want("more"), want("short")},
			{"less", want("less"), want("over")},
		} {
			a, err := hypotheses.Ask(secondDrug(c.direction, smallest), fit)
			if err != nil {
				t.Fatal(err)
			}
			near(t, "estimate", a.Effect.Estimate, want("estimate"), tolerance)
			near(t, "degrees of freedom", a.Effect.DF, want("df"), 10*tolerance)
			near(t, "low", a.Effect.Low, want("low"), 10*tolerance)
			near(t, "high", a.Effect.High, want("high"), 10*tolerance)
			near(t, c.direction+" p", a.P, c.p, 30*tolerance)
			near(t, c.direction+" against", *a.Against, c.against, 100*tolerance)
		}
	}
}

// What the answers to Student's data must be: by the intervals −0.20 to 3.36
// (unpaired) and 0.70 to 2.46 (paired).
func TestVerdicts(t *testing.T) {
	for _, c := range []struct {
		paired    bool
		direction string
		smallest  float64
		verdict   string
		says      string
	}{
		{false, "more", 0, "open", "the 95 % interval takes in zero"},
		{false, "either", 0, "open", "do not distinguish it from none"},
		{false, "either", 2, "open", "neither distinguish it from none nor rule out one of 2"},
		{false, "either", 4, "no", "smaller than 4"},
		{false, "less", 0.5, "no", "as large as −0.5"},
		{true, "more", 0, "yes", "It goes with more extra."},
		{true, "more", 0.5, "yes", "beyond 0.5, the smallest"},
		{true, "more", 2, "yes", "as much as 2, the smallest effect that would matter, stays open"},
		{true, "either", 0, "yes", "more extra"},
		{true, "either", 3, "no", "There is an effect, but all of the interval lies short of 3"},
		{true, "less", 0, "no", "on the other side"},
	} {
		a, err := hypotheses.Ask(secondDrug(c.direction, c.smallest), sleep(t, c.paired))
		if err != nil {
			t.Fatal(err)
		}
		a.In(mixed.Model{Outcome: "extra"})
		if a.Verdict != c.verdict || !strings.Contains(a.Sentence, c.says) {
			t.Errorf("paired %v, %s, smallest %g: %s\n%s", c.paired, c.direction, c.smallest, a.Verdict, a.Sentence)
		}
		if !strings.Contains(a.Sentence, "95 % interval") || !strings.Contains(strings.ToLower(a.Sentence), a.Verdict) {
			t.Errorf("sentence lacks interval or verdict: %s", a.Sentence)
		}
	}
}

func TestAskRefusesInWords(t *testing.T) {
	q := hypotheses.Question{Contrast: map[string]float64{"drug=d3": 1, "intercept": math.NaN()}, Direction: "mor", Smallest: -1, Asked: "never"}
	_, err := hypotheses.Ask(q, sleep(t, false))
	if err == nil {
		t.Fatal("no error")
	}
	for _, part := range []string{"words is missing", `"drug=d3"`, `perhaps "drug=d2" was meant`, "finite weight for intercept", `perhaps "more" was meant`, `smallest is "-1"`, "before or after"} {
		if !strings.Contains(err.Error(), part) {
			t.Errorf("%q is not in: %v", part, err)
		}
	}
	ps := hypotheses.Question{Words: "?", Contrast: map[string]float64{"drug": 1}}.Check(nil, []string{"intercept", "drug=d2"})
	if len(ps) != 1 || !strings.Contains(ps[0].Remedy, "drug holds labels: name the level") {
		t.Errorf("column for a level: %v", ps)
	}
	ps = secondDrug("more", 0).Check([]string{"sleeping", "waking"}, nil)
	if len(ps) != 1 || ps[0].Column != "model" {
		t.Errorf("unknown model: %v", ps)
	}
	if ps := (hypotheses.Question{Words: "?", Contrast: map[string]float64{"a": 0}}).Check(nil, nil); len(ps) != 1 {
		t.Errorf("zero contrast: %v", ps)
	}
}

// Holm's adjustment against R's p.adjust on the p-values of Benjamini and
// Hochberg (1995), section 4.1, of which Holm's method rejects the first three
// at 0.05.
func TestHolmAgreesWithReference(t *testing.T) {
	ref := rows(t, "adjusted.csv")
	rejected := 0
	for i, v := range hypotheses.Holm(ref.Column("p").Numbers) {
		near(t, "adjusted p", v, ref.Column("holm").Number(i), 1e-12)
		if v <= 0.05 {
			rejected++
		}
	}
	if rejected != 3 {
		t.Errorf("%d rejected at 0.05, want 3", rejected)
	}
}

func TestHolmProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := rapid.SliceOfN(rapid.Float64Range(0, 1), 1, 30).Draw(t, "p")
		h := hypotheses.Holm(p)
		perm := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1)).Perm(len(p))
		shuffled := make([]float64, len(p))
		for i, k := range perm {
			shuffled[i] = p[k]
		}
		again := hypotheses.Holm(shuffled)
		hole := hypotheses.Holm(append(slices.Clone(p), math.NaN()))
		if !math.IsNaN(hole[len(p)]) {
			t.Fatal("a test not made got a p-value")
		}
		for i := range p {
			if h[i] < p[i] || h[i] > math.Min(1, float64(len(p))*p[i]) || hole[i] != h[i] {
				t.Fatalf("p = %g of %d became %g", p[i], len(p), h[i])
			}
			for j := range p {
				if p[i] < p[j] && h[i] > h[j] {
					t.Fatal("the order of the p-values is not kept")
				}
			}
		}
		for i, k := range perm {
			if again[i] != h[k] {
				t.Fatal("the order of the tests matters")
			}
		}
	})
}

// Answers share one chance of a false claim over all families, or each family has
// its own; verdicts follow the interval that is shown; and asking the answers in
// another order changes nothing.
func TestAdjust(t *testing.T) {
	fit := sleep(t, true)
	var answers []hypotheses.Answer
	for i := range 20 {
		q := secondDrug("either", 0)
		q.Family = "crowd"
		if i == 0 {
			q.Family = "alone"
		}
		a, err := hypotheses.Ask(q, fit)
		if err != nil {
			t.Fatal(err)
		}
		a.Book = fmt.Sprint("B", i) // a fit of its own
		answers = append(answers, a)
	}
	// p = 0.0028 is enough alone; 17 times that is still below 0.05, and 20 times is not
	hypotheses.Adjust(answers, hypotheses.Adjustment{Separately: true})
	near(t, "alone", answers[0].Adjusted, answers[0].P, 1e-12)
	near(t, "in the crowd", answers[1].Adjusted, 19*answers[1].P, 1e-12)
	if answers[0].Verdict != "yes" || answers[1].Verdict != "open" || !strings.Contains(answers[1].Sentence, "among 19 answers one such may come by chance") {
		t.Errorf("%s\n%s", answers[0].Sentence, answers[1].Sentence)
	}
	few := slices.Clone(answers[:17])
	hypotheses.Adjust(few, hypotheses.Adjustment{})
	near(t, "all together", few[0].Adjusted, 17*few[0].P, 1e-12)
	if few[0].Verdict != "yes" || !strings.Contains(few[0].Sentence, "holding for 17 answers at once") || !strings.Contains(few[0].Test, "adjusted over 17 answers p = 0.048") {
		t.Errorf("%s\n%s", few[0].Sentence, few[0].Test)
	}
	before := few[1]
	slices.Reverse(few)
	hypotheses.Adjust(few, hypotheses.Adjustment{})
	if got := few[len(few)-2]; got.Sentence != before.Sentence || got.Adjusted != before.Adjusted {
		t.Errorf("order matters: %s", got.Sentence)
	}
}

// The verdict and the adjusted values say the same as the interval, to the last
// answer, whatever is adjusted together and however.
func TestVerdictIsReadFromTheInterval(t *testing.T) {
	fit := sleep(t, true)
	rapid.Check(t, func(t *rapid.T) {
		var questions []hypotheses.Question
		for i := range rapid.IntRange(1, 4).Draw(t, "questions") {
			q := secondDrug(rapid.SampledFrom([]string{"more", "less", "either"}).Draw(t, "direction"), rapid.SampledFrom([]float64{0, 1, 2.6, 5}).Draw(t, "smallest"))
			q.Words = fmt.Sprint("Question ", i, "?")
			q.Contrast = map[string]float64{"drug=d2": rapid.Float64Range(0.1, 1).Draw(t, "weight"), "intercept": rapid.Float64Range(-0.5, 0.5).Draw(t, "intercept")}
			q.Family = rapid.SampledFrom([]string{"one", "other"}).Draw(t, "family")
			questions = append(questions, q)
		}
		answers, errs := hypotheses.AskAll(questions, fit)
		for _, err := range errs {
			if err != nil {
				t.Fatal(err)
			}
		}
		how := hypotheses.Adjustment{Separately: rapid.Bool().Draw(t, "apart")}
		if rapid.Bool().Draw(t, "rate") {
			how.Families = []hypotheses.Family{{Name: "one", Adjust: "false discovery"}}
		}
		hypotheses.Adjust(answers, how)
		for _, a := range answers {
			low, high := a.Interval(a.Level)
			if low != a.Effect.Low || high != a.Effect.High {
				t.Fatal("the interval shown is not the one at the answer's level")
			}
			there, small := a.Claims(a.Level)
			if want := map[bool]string{true: "no", false: map[bool]string{true: "yes", false: "open"}[there]}[small]; a.Verdict != want {
				t.Fatalf("%s, but the interval says %s: %s", a.Verdict, want, a.Sentence)
			}
			if there != (a.Adjusted <= 0.05) && math.Abs(a.Adjusted-0.05) > 1e-6 {
				t.Fatalf("adjusted %g, level %g: %s", a.Adjusted, a.Level, a.Sentence)
			}
			if a.Against != nil && small != (*a.AgainstAdjusted <= 0.05) && math.Abs(*a.AgainstAdjusted-0.05) > 1e-6 {
				t.Fatalf("against adjusted %g, level %g: %s", *a.AgainstAdjusted, a.Level, a.Sentence)
			}
		}
	})
}

// An answer, whatever its numbers, never says yes or no beyond its interval,
// survives JSON, and turning everything round turns the answer round.
func TestVerdictNeverBeyondInterval(t *testing.T) {
	fit := sleep(t, true)
	rapid.Check(t, func(t *rapid.T) {
		weight := rapid.Float64Range(-3, 3).Filter(func(w float64) bool { return math.Abs(w) > 1e-3 }).Draw(t, "weight")
		q := secondDrug(rapid.SampledFrom([]string{"more", "less", "either", ""}).Draw(t, "direction"), rapid.SampledFrom([]float64{0, 0.5, 2, 5}).Draw(t, "smallest"))
		q.Contrast = map[string]float64{"drug=d2": weight, "intercept": rapid.Float64Range(-2, 2).Draw(t, "intercept")}
		a, err := hypotheses.Ask(q, fit)
		if err != nil {
			t.Fatal(err)
		}
		low, high := a.Effect.Low, a.Effect.High
		switch {
		case a.Verdict == "yes" && low <= 0 && high >= 0:
			t.Fatalf("yes, though zero is inside: %s", a.Sentence)
		case a.Verdict == "no" && q.Direction == "more" && high >= max(q.Smallest, 0):
			t.Fatalf("no, though the interval reaches up: %s", a.Sentence)
		case a.Verdict == "no" && (q.Direction == "either" || q.Direction == "") && max(math.Abs(low), math.Abs(high)) >= q.Smallest:
			t.Fatalf("no, though the interval reaches out: %s", a.Sentence)
		}
		for term, w := range q.Contrast {
			q.Contrast[term] = -w
		}
		q.Direction = map[string]string{"more": "less", "less": "more"}[q.Direction]
		turned, err := hypotheses.Ask(q, fit)
		if err != nil {
			t.Fatal(err)
		}
		if turned.Verdict != a.Verdict || math.Abs(turned.P-a.P) > 1e-12 {
			t.Fatalf("turned round: %s\n%s", a.Sentence, turned.Sentence)
		}
		if _, err := json.Marshal(a); err != nil {
			t.Fatal(err)
		}
	})
}

// An effect on a logarithm is told as a factor.
func TestLogarithmIsToldAsFactor(t *testing.T) {
	a, err := hypotheses.Ask(secondDrug("more", 0.5), sleep(t, true))
	if err != nil {
		t.Fatal(err)
	}
	a.In(mixed.Model{Outcome: "wear", Scale: "log"})
	for _, part := range []string{"a factor of 4.9 ", "2.0 to 11.7", "beyond a factor of 1.649"} {
		if !strings.Contains(a.Sentence, part) {
			t.Errorf("%q is not in: %s", part, a.Sentence)
		}
	}
}

func TestText(t *testing.T) {
	q := secondDrug("more", 0.5)
	q.Asked = "after"
	a, err := hypotheses.Ask(q, sleep(t, true))
	if err != nil {
		t.Fatal(err)
	}
	a.Book = "MW1"
	var b strings.Builder
	if err := hypotheses.Text(&b, []hypotheses.Answer{a}); err != nil {
		t.Fatal(err)
	}
	for _, part := range []string{q.Words + " (book MW1)", a.Sentence, "test on other books", "not of belief"} {
		if !strings.Contains(b.String(), part) {
			t.Errorf("%q is not in:\n%s", part, b.String())
		}
	}
}

// TestAFamilyMayHoldTheRateOfFalseDiscoveries adjusts one family by each way:
// the published example of Benjamini and Hochberg (1995, section 3.3; from memory), 15
// p-values of which the rate keeps four at 0.05 and Bonferroni's inequality three; the
// intervals of the four are at 1 − 0.05·4/15 (Benjamini and Yekutieli 2005).
func TestAFamilyMayHoldTheRateOfFalseDiscoveries(t *testing.T) {
	published := []float64{0.0001, 0.0004, 0.0019, 0.0095, 0.0201, 0.0278, 0.0298, 0.0344, 0.0459, 0.3240, 0.4262, 0.5719, 0.6528, 0.7590, 1}
	for way, want := range map[string]int{"": 3, "any false claim": 3, "holm": 3, "false discovery": 4} {
		var answers []hypotheses.Answer
		for _, p := range published {
			answers = append(answers, hypotheses.Answer{Question: hypotheses.Question{Words: "?", Contrast: map[string]float64{"x": 1}, Family: "f"}, Effect: mixed.Coefficient{SE: 1, DF: math.Inf(1)}, P: p})
		}
		for i := range answers {
			answers[i].Book = fmt.Sprint(i)
		}
		hypotheses.Adjust(answers, hypotheses.Adjustment{Families: []hypotheses.Family{{Name: "f", Adjust: way}}})
		kept := 0
		for _, a := range answers {
			if a.Adjusted <= 0.05 {
				kept++
			}
			if a.Rate != (way == "false discovery") || strings.Contains(a.Test, "rate of false discoveries") != a.Rate {
				t.Errorf("%s: the answer does not say how it was adjusted: %q", way, a.Test)
			}
			if each := 0.05 / 15; math.Abs(a.Level-map[bool]float64{true: 4 * each, false: each}[a.Rate]) > 1e-15 {
				t.Errorf("%s: level %g", way, a.Level)
			}
		}
		if kept != want {
			t.Errorf("%q keeps %d of the published p-values; want %d", way, kept, want)
		}
	}
	for _, f := range []hypotheses.Family{{Name: "g"}, {Name: "f", Adjust: "false-discovery"}} {
		if len(f.Check([]string{"f"})) != 1 {
			t.Errorf("the family %+v has no fault", f)
		}
	}
}
