package study_test

import (
	"errors"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"thumbed/models/study"
)

// asking is two books of the demonstration, with a line added below one of its questions.
func asking(t *testing.T, question, line string) string {
	t.Helper()
	dir := halved(t, copied(t, nil))
	edit(t, filepath.Join(dir, "study.toml"), question, question+"\n"+line)
	return dir
}

const halves = `words     = "Did the granddaughter use her half of the Hendemaar hours more than the notary his?"`

// TestAQuestionIsAnsweredByShiftingToo draws few arrangements, and wants the same
// from any number of processors and the seed in the record.
func TestAQuestionIsAnsweredByShiftingToo(t *testing.T) {
	dir := asking(t, halves, "shift = 19\nseed = 7")
	out := filepath.Join(dir, "results")
	results := runTo(t, dir, out)
	record, err := study.ReadRecord(out)
	must(t, err)
	if len(record.Seeds) != 1 || record.Seeds[0].Seed != 7 || !strings.Contains(record.Seeds[0].Of, "granddaughter") {
		t.Errorf("the seeds recorded are %+v", record.Seeds)
	}
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	r, err := study.Repeat(out, "", nil)
	must(t, err)
	if !r.Agrees() {
		t.Errorf("one processor gives other arrangements: %+v", r.Comparison.Moved)
	}
	for _, a := range results.Answers {
		asked := a.Question.Model == "halves"
		if (a.CircularShift != nil) != asked {
			t.Errorf("“%s” is answered by shifting: %v", a.Question.Words, a.CircularShift != nil)
		}
		if asked && (a.CircularShift.Arrangements != 20 || a.CircularShift.P < 0.05 || a.CircularShift.P > 1) {
			t.Errorf("shifting gives %+v", a.CircularShift)
		}
	}
	var page strings.Builder
	must(t, results.Page(&page))
	for _, want := range []string{"pushed round inside the books", "Lotwick and B. W. Silverman"} {
		if !strings.Contains(page.String(), want) {
			t.Errorf("the page does not say %q", want)
		}
	}
}

func TestWhatCannotBeShiftedSaysSo(t *testing.T) {
	dir := asking(t, halves, "shift = 19")
	edit(t, filepath.Join(dir, "study.toml"), `contrast  = { "half=second" = 1 }`, `contrast  = { intercept = 1 }`)
	s, err := study.Open(dir)
	must(t, err)
	results, err := s.Run(nil)
	var incomplete *study.Incomplete
	if !errors.As(err, &incomplete) || !strings.Contains(err.Error(), "no place in the book") || len(results.Answers) != 14 {
		t.Errorf("shifting the intercept gives %v", err)
	}
	if _, err := study.Open(asking(t, halves, "shift = -1")); err == nil || !strings.Contains(err.Error(), "shift") {
		t.Errorf("fewer than no arrangements give %v", err)
	}
}

func TestAFamilyIsAdjustedAsTheStudySays(t *testing.T) {
	dir := halved(t, copied(t, nil))
	edit(t, filepath.Join(dir, "study.toml"), "[robustness]", "[[family]]\nname = \"texts\"\nadjust = \"false discovery\"\n\n[robustness]")
	for _, a := range resultsOf(t, dir).Answers {
		if a.Rate != (a.Question.Family == "texts") {
			t.Errorf("“%s” is adjusted for the rate of false discoveries: %v", a.Question.Words, a.Rate)
		}
	}
	edit(t, filepath.Join(dir, "study.toml"), `name = "texts"`, `name = "text"`)
	if _, err := study.Open(dir); err == nil || !strings.Contains(err.Error(), `"texts" was meant`) {
		t.Errorf("an unknown family gives %v", err)
	}
}
