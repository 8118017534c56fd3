package hypotheses_test

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	"thumbed/models/hypotheses"
	"thumbed/models/mixed"
	"thumbed/models/table"
)

// few are pages of which four have a picture: three of these in no section.
func few(t *testing.T) *table.Table {
	t.Helper()
	r := rand.New(rand.NewPCG(3, 4))
	var book, page, section, picture []string
	var wear []float64
	for i := range 60 {
		book, page, picture = append(book, "B"), append(page, fmt.Sprint(i+1, "r")), append(picture, "no")
		section = append(section, fmt.Sprint("text ", i/10))
		wear = append(wear, 0.2+0.01*r.NormFloat64())
	}
	for _, i := range []int{5, 25, 40, 58} {
		picture[i], wear[i] = "yes", wear[i]+0.08
		if i != 25 {
			section[i] = ""
		}
	}
	data, err := table.New(table.Labels("book", book), table.Labels("page", page), table.Labels("section", section), table.Labels("picture", picture), table.Numbers("wear", wear))
	if err != nil {
		t.Fatal(err)
	}
	return data
}

// TestAnAnswerTellsWhatItRestsOn: of four pictures three fell out, since their pages
// are in no section; the answer says so before its number, and that all of it comes
// from one page.
func TestAnAnswerTellsWhatItRestsOn(t *testing.T) {
	data := few(t)
	m := mixed.Model{Outcome: "wear", Fixed: []mixed.Term{{"picture"}}, Levels: map[string][]string{"picture": {"no", "yes"}},
		Random: []mixed.Random{{By: []string{"section"}, Terms: []string{"intercept"}}}}
	fit, err := m.Fit(data)
	if err != nil {
		t.Fatal(err)
	}
	got := hypotheses.AskOf([]hypotheses.Question{{Words: "Do pictures attract handling?", Contrast: map[string]float64{"picture=yes": 1}, Direction: "more"}}, m, fit, data, nil)
	if got.Errs[0] != nil {
		t.Fatal(got.Errs[0])
	}
	a := got.Answers[0]
	a.Decide(hypotheses.Fitted{Model: m, Fit: fit}, data)
	if a.Verdict != hypotheses.Yes || a.Rests.Pages != 57 || len(a.Rests.With) != 1 || a.Rests.With[0].Pages != 1 || a.Rests.With[0].Out != 3 {
		t.Errorf("%s rests on %+v", a.Verdict, a.Rests)
	}
	if len(a.Rests.Out) != 1 || a.Rests.Out[0].Column != "section" || a.Rests.Out[0].Pages != 3 || a.Rests.Out[0].With != 3 {
		t.Errorf("fell out: %+v", a.Rests.Out)
	}
	before, number, found := strings.Cut(a.Sentence, "0.0")
	if !found || !strings.Contains(before, "57 pages") || !strings.Contains(before, "3 measured pages left out") || !strings.Contains(number, "All of it comes from the page 26r: without that nothing is left") {
		t.Errorf("%s", a.Sentence)
	}
}

// TestOnePageMayDecide: with all four pictures in the model, of which only one is
// worn, the page that makes the answer is named, and not where all are worn alike.
func TestOnePageMayDecide(t *testing.T) {
	m := mixed.Model{Outcome: "wear", Fixed: []mixed.Term{{"picture"}}, Levels: map[string][]string{"picture": {"no", "yes"}}}
	for _, alike := range []bool{true, false} {
		data := few(t)
		wear := data.Column("wear").Numbers
		for _, i := range []int{5, 25, 40, 58} {
			switch {
			case alike:
			case i == 25:
				wear[i] += 0.06
			default:
				wear[i] -= 0.08
			}
		}
		fit, err := m.Fit(data)
		if err != nil {
			t.Fatal(err)
		}
		asked := hypotheses.AskOf([]hypotheses.Question{{Words: "?", Contrast: map[string]float64{"picture=yes": 1}}}, m, fit, data, nil)
		if asked.Errs[0] != nil {
			t.Fatal(asked.Errs[0])
		}
		a := asked.Answers[0]
		a.Decide(hypotheses.Fitted{Model: m, Fit: fit}, data)
		if a.Verdict != hypotheses.Yes || alike != (a.Rests.Decided == "") || !alike && !strings.Contains(a.Rests.Decided, "One page decides it: without the page 26r the answer would be “open”") {
			t.Errorf("alike %v: %s %q", alike, a.Verdict, a.Rests.Decided)
		}
	}
}
