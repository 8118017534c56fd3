package hypotheses_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/gonum/stat"

	"thumbed/models/hypotheses"
	"thumbed/models/mixed"
	"thumbed/models/student"
	"thumbed/models/table"
)

// sections are pages of one book in sections of eight, half of them in one half of
// the book; nothing differs between the halves, and sections differ by spread.
func sections(t testing.TB, r *rand.Rand, n int, spread float64) *table.Table {
	t.Helper()
	var book, section, half []string
	var wear []float64
	for s := range n {
		level := spread * r.NormFloat64()
		for range 8 {
			book, section = append(book, "B"), append(section, fmt.Sprint("text ", s))
			half = append(half, []string{"first", "second"}[2*s/n])
			wear = append(wear, 0.2+level+0.03*r.NormFloat64())
		}
	}
	data, err := table.New(table.Labels("book", book), table.Labels("section", section), table.Labels("half", half), table.Numbers("wear", wear))
	if err != nil {
		t.Fatal(err)
	}
	return data
}

// TestWhatHardlyVariesInsideGroups: with ten sections and nothing to find, an effect
// between sections is claimed in 5 % of studies where the model names no sections,
// whatever sections differ by: they are added. Without that it is over 10 % once
// sections differ by a third of what pages do.
func TestWhatHardlyVariesInsideGroups(t *testing.T) {
	studies := 120
	if os.Getenv("THUMBED_SLOW") != "" {
		studies = 2000
	}
	m := mixed.Model{Outcome: "wear", Fixed: []mixed.Term{{"half"}}, Levels: map[string][]string{"half": {"first", "second"}}}
	q := hypotheses.Question{Words: "Do the halves differ?", Contrast: map[string]float64{"half=second": 1}}
	for _, spread := range []float64{0, 0.01, 0.04} {
		claims, before := 0, 0
		for k := range studies {
			data := sections(t, rand.New(rand.NewPCG(uint64(k), 12)), 10, spread)
			fit, err := m.Fit(data)
			if err != nil {
				t.Fatal(err)
			}
			alone, err := hypotheses.Ask(q, fit)
			if err != nil {
				t.Fatal(err)
			}
			if alone.Verdict == hypotheses.Yes {
				before++
			}
			got := hypotheses.AskOf([]hypotheses.Question{q}, m, fit, data, nil)
			if got.Errs[0] != nil || len(got.Extra) != 1 || !strings.Contains(got.Answers[0].Sentence, "hardly varies inside a section") {
				t.Fatalf("no section was added: %+v", got)
			}
			if got.Answers[0].Verdict == hypotheses.Yes {
				claims++
			}
		}
		share := float64(claims) / float64(studies)
		t.Logf("sections differ by %g: %.1f %% of %d studies claim an effect, without the sections %.1f %%", spread, 100*share, studies, 100*float64(before)/float64(studies))
		// 99.9 % of Monte Carlo intervals around 5 %
		if limit := 0.05 + 3.3*math.Sqrt(0.05*0.95/float64(studies)); share > limit {
			t.Errorf("sections differ by %g: %.1f %% claim an effect; at most %.1f %% should", spread, 100*share, 100*limit)
		}
	}
}

// TestWhatAnIntervalLeavesOut: the difference between halves of a book is marked as
// leaving out what sections differ by, whether there are enough of them to be added or
// not, and not where the model names them. Where observers took a half each, and nobody
// knows what they differ by, it leaves that out too.
func TestWhatAnIntervalLeavesOut(t *testing.T) {
	bare := mixed.Model{Outcome: "wear", Fixed: []mixed.Term{{"half"}}, Levels: map[string][]string{"half": {"first", "second"}}}
	named := bare
	named.Random = []mixed.Random{{By: []string{"book", "section"}, Terms: []string{"intercept"}}}
	for _, c := range []struct {
		model    mixed.Model
		sections int
		unknown  []hypotheses.Unknown
		want     []string
	}{
		{bare, 10, nil, []string{"section"}},
		{bare, 2, nil, []string{"section"}},
		{named, 10, nil, nil},
		{named, 10, []hypotheses.Unknown{{By: "observer"}}, []string{"observer"}},
		{bare, 10, []hypotheses.Unknown{{By: "observer"}}, []string{"section", "observer"}},
	} {
		data := sections(t, rand.New(rand.NewPCG(1, 1)), c.sections, 0.01)
		data, err := table.New(append(data.Columns(), table.Labels("observer", data.Column("half").Text()))...)
		if err != nil {
			t.Fatal(err)
		}
		fit, err := c.model.Fit(data)
		if err != nil {
			t.Fatal(err)
		}
		hypotheses.LeftOut(c.model, fit, data, c.unknown)
		if got := fit.Fixed[1].LeavesOut; !slices.Equal(got, c.want) || fit.Fixed[0].LeavesOut != nil {
			t.Errorf("%d sections, %v: left out %v, want %v; of the intercept %v", c.sections, c.model.Random, got, c.want, fit.Fixed[0].LeavesOut)
		}
	}
}

// TestObserversAsTheModelsEffects: where each half was read by another observer, whose
// levels are then those of the halves, and pictures lie mostly in the second, so that a
// quarter of what tells the halves apart lies between pages of one observer, the question
// is refused for the observers, not for want of a fit.
func TestObserversAsTheModelsEffects(t *testing.T) {
	data := sections(t, rand.New(rand.NewPCG(1, 1)), 10, 0.01)
	var picture []string
	for i := range data.Rows() {
		in := i%8 < 2 || i >= data.Rows()/2 && i%8 < 6
		picture = append(picture, map[bool]string{false: "no", true: "yes"}[in])
	}
	data, err := table.New(append(data.Columns(), table.Labels("observer", data.Column("half").Text()), table.Labels("picture", picture))...)
	if err != nil {
		t.Fatal(err)
	}
	m := mixed.Model{Outcome: "wear", Fixed: []mixed.Term{{"half"}, {"picture"}}, Levels: map[string][]string{"half": {"first", "second"}, "picture": {"no", "yes"}},
		Random: []mixed.Random{{By: []string{"book", "section"}, Terms: []string{"intercept"}}}}
	q := hypotheses.Question{Words: "?", Contrast: map[string]float64{"half=second": 1}}
	if _, err := hypotheses.Widened(q, m, data, []hypotheses.Unknown{{By: "observer", Why: "Measure pages again."}}); err == nil || !strings.Contains(err.Error(), "different observers (2 observers)") {
		t.Errorf("refused for %v", err)
	}
}

// TestTooFewGroupsAreRefused: what differs only between two sections is not told
// from what else differs between them.
func TestTooFewGroupsAreRefused(t *testing.T) {
	data := sections(t, rand.New(rand.NewPCG(1, 1)), 2, 0.04)
	m := mixed.Model{Outcome: "wear", Fixed: []mixed.Term{{"half"}}, Levels: map[string][]string{"half": {"first", "second"}}}
	fit, err := m.Fit(data)
	if err != nil {
		t.Fatal(err)
	}
	got := hypotheses.AskOf([]hypotheses.Question{{Words: "?", Contrast: map[string]float64{"half=second": 1}}}, m, fit, data, nil)
	if got.Errs[0] == nil || !strings.Contains(got.Errs[0].Error(), "only 2 sections") {
		t.Errorf("answered: %+v", got)
	}
}

// TestNoBesideTheExactTest: two halves of a book of ten sections differ by nothing, or
// by the smallest effect that would matter. Student's t over the sections' means is exact
// here. A no is claimed where it is false in at most 5 % of studies, and where it is true
// at least 80 % as often as by that test, though what varies between sections comes out
// as zero in many of them.
func TestNoBesideTheExactTest(t *testing.T) {
	studies := 150
	if os.Getenv("THUMBED_SLOW") != "" {
		studies = 2000
	}
	m := mixed.Model{Outcome: "wear", Fixed: []mixed.Term{{"half"}}, Levels: map[string][]string{"half": {"first", "second"}},
		Random: []mixed.Random{{By: []string{"section"}, Terms: []string{"intercept"}}}}
	const smallest = 0.02
	for _, spread := range []float64{0, 0.005} {
		own, exact, wrong := 0, 0, 0
		for k := range studies {
			data := sections(t, rand.New(rand.NewPCG(uint64(k), 13)), 10, spread)
			fit, err := m.Fit(data)
			if err != nil {
				t.Fatal(err)
			}
			ask := func(smallest float64) hypotheses.Answer {
				q := hypotheses.Question{Words: "Is the second half worn more?", Contrast: map[string]float64{"half=second": 1}, Direction: "more", Smallest: smallest}
				got := hypotheses.AskOf([]hypotheses.Question{q}, m, fit, data, nil)
				if got.Errs[0] != nil {
					t.Fatal(got.Errs[0])
				}
				return got.Answers[0]
			}
			if ask(smallest).Verdict == hypotheses.No {
				own++
			}
			if ask(1e-12).Verdict == hypotheses.No { // as if the effect were the smallest that matters
				wrong++
			}
			halves := [2][]float64{}
			for s := range 10 {
				mean := 0.0
				for i := range 8 {
					mean += data.Column("wear").Number(8*s+i) / 8
				}
				halves[s/5] = append(halves[s/5], mean)
			}
			one, v1 := stat.MeanVariance(halves[0], nil)
			other, v2 := stat.MeanVariance(halves[1], nil)
			if other-one+student.Half(0.95, 8)*math.Sqrt((v1+v2)/2*(2.0/5)) < smallest {
				exact++
			}
		}
		t.Logf("sections differ by %g: no is said in %d of %d studies, by the exact test in %d; at the border in %d", spread, own, studies, exact, wrong)
		if limit := 0.05*float64(studies) + 3.3*math.Sqrt(0.05*0.95*float64(studies)); float64(wrong) > limit {
			t.Errorf("sections differ by %g: a false no in %d of %d studies", spread, wrong, studies)
		}
		if 10*own < 8*exact {
			t.Errorf("sections differ by %g: no is said %d times, by the exact test %d", spread, own, exact)
		}
	}
}
