package study_test

import (
	"bytes"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"thumbed/models/report"
	"thumbed/models/report/reporttest"
	"thumbed/models/study"
	"thumbed/models/study/demo"
	"thumbed/models/study/demo/demotest"
	"thumbed/models/table"
)

// ofTraces draws the demonstration from a seed as a study of its traces alone.
func ofTraces(t *testing.T, seed uint64) (*demo.Scenario, string) {
	t.Helper()
	scenario, err := demo.Written()
	must(t, err)
	made, err := scenario.Make(seed)
	must(t, err)
	dir := t.TempDir()
	text := string(made.Files[study.FileName])
	part := func(from, to string) string {
		begin := strings.Index(text, from)
		if begin < 0 {
			t.Fatalf("the demonstration's study has no %q", from)
		}
		end := strings.Index(text[begin:], to)
		if end < 0 {
			t.Fatalf("nothing ends with %q", to)
		}
		return text[begin : begin+end]
	}
	own := "title = \"Traces alone\"\n" + demotest.Tables + part("[labels]", "[measuring]") + part("[[trace]]", "# The questions of these") + part("# In each book by itself: whom", "# The other way round")
	own += demotest.Rubbing
	for _, q := range []struct{ words, model, contrast, more string }{
		{"faces", "rubbing", `"part=face" = 1`, `grade = "bare"`}, {"hands", "rubbing", `"part=hands" = 1`, ""}, {"feet", "rubbing", `"part=feet" = 1`, ""},
		{"addressed", "touched", `"addressed=yes" = 1`, `grade = "abraded"`}, {"dead", "wax", `"kind=office of the dead" = 1`, ""}} {
		own += fmt.Sprintf("[[question]]\nwords = %q\nmodel = %q\ncontrast = { %s }\ndirection = \"more\"\n%s\n", q.words, q.model, q.contrast, q.more)
	}
	made.Files[study.FileName] = []byte(own)
	must(t, made.Fill(dir))
	return scenario, dir
}

// TestTracesFindTheWrittenTruth: of several seeds, the intervals of all answers on
// traces hold what was put there as often as they say; and nothing is claimed of the
// book whose owner touched no picture more than another.
func TestTracesFindTheWrittenTruth(t *testing.T) {
	seeds := 2
	if os.Getenv("THUMBED_SLOW") != "" {
		seeds = 40
	}
	var held tally
	falseYes := 0
	for seed := range seeds {
		scenario, dir := ofTraces(t, uint64(seed+1))
		s, err := study.Open(dir)
		must(t, err)
		results, err := s.Run(nil)
		if results == nil {
			t.Fatal(err)
		}
		truth := scenario.Traces
		touch := map[string]float64{}
		for _, b := range scenario.Books {
			touch[b.ID] = b.Touch
		}
		for _, a := range results.Answers {
			want := map[string]float64{"faces": truth.Part["face"], "hands": truth.Part["hands"], "feet": truth.Part["feet"]}[a.Question.Words] - truth.Part["frame"]
			switch a.Question.Words {
			case "addressed":
				want = touch[a.Book]
				if want == 0 && a.Verdict == "yes" {
					falseYes++
				}
			case "dead":
				want = truth.WaxDead
			}
			alone := a.At(0.05)
			held.add(fmt.Sprintf("seed %d, %s %s", seed+1, a.Question.Words, a.Book), want, alone.Effect.Low, alone.Effect.High)
			if a.Told == nil || !strings.Contains(a.Sentence, a.Told.Words()) || math.IsNaN(a.Told.Asked.Low) {
				t.Errorf("%s is not told in probabilities or rates: %s", a.Question.Words, a.Sentence)
			}
		}
	}
	t.Logf("%v hold the truth; missed: %v; claimed of the untouched book %d times of %d", &held, held.missed, falseYes, seeds)
	if held.all < 7*seeds || held.tooFew(0.95) {
		t.Errorf("only %v hold the truth: %v", &held, held.missed)
	}
	if falseYes > 1+seeds/8 {
		t.Errorf("%d of %d times it is claimed that an owner touched who did not", falseYes, seeds)
	}
}

// TestTracesAloneAreAStudy: without an instrument or a reading a study is checked, run,
// written and run again.
func TestTracesAloneAreAStudy(t *testing.T) {
	_, dir := ofTraces(t, 1)
	if _, err := study.Check(dir); err != nil {
		t.Fatal(err)
	}
	s, err := study.Open(dir)
	must(t, err)
	results, err := s.Run(nil)
	if results == nil {
		t.Fatal(err)
	}
	out := filepath.Join(dir, "results")
	must(t, s.Write(results, out))
	reporttest.Folder(t, out)
	page, err := os.ReadFile(filepath.Join(out, "index.html"))
	must(t, err)
	for _, part := range []string{`id="traces"`, "coding-book", "Look, do not touch.", "pages looked at"} {
		if !bytes.Contains(page, []byte(part)) {
			t.Errorf("the page has no %s", part)
		}
	}
	for _, part := range []string{"no pages", "share a drop-off"} {
		if bytes.Contains(page, []byte(part)) {
			t.Errorf("the page of a study without readings says “%s”", part)
		}
	}
	for _, name := range []string{"words/coding.tex", "tables/traces-looked-at.tex", "tables/trace-answers.tex", "tables/coding-book.tex", "tables/trace-effects-touched.tex", "figures/traces-shares-1-rubbing.tex"} {
		if _, err := os.Stat(filepath.Join(out, "chapter", filepath.FromSlash(name))); err != nil {
			t.Errorf("the chapter lacks what was seen: %v", err)
		}
	}
	again, err := study.Repeat(out, "", nil)
	must(t, err)
	if !again.Agrees() || len(again.Inputs) > 0 || again.Comparison.Compared < 2000 {
		t.Errorf("a rerun of traces compares %d numbers: %+v", again.Comparison.Compared, again)
	}
	edit(t, filepath.Join(dir, "traces.csv"), ",rubbing,abraded,,,,,HB,2026-05-11", ",rubbing,bare,,,,,HB,2026-05-11")
	again, err = study.Repeat(out, "", nil)
	must(t, err)
	if again.Agrees() || len(again.Inputs) != 1 || again.Inputs[0].Path != "traces.csv" || len(again.Comparison.Moved) == 0 {
		t.Errorf("a rerun with another grade gives %+v", again)
	}
}

// TestTracesUnderOtherChoices: the answer on a trace under another choice is what a study
// that makes this choice itself finds.
func TestTracesUnderOtherChoices(t *testing.T) {
	made := func(changes ...string) *report.Results {
		_, dir := ofTraces(t, 1)
		path := filepath.Join(dir, study.FileName)
		text, err := os.ReadFile(path)
		must(t, err)
		whole := string(text)
		model := whole[strings.Index(whole, "[[model]]\nname    = \"wax\""):]
		model = model[:strings.Index(model, "[[model]]\nname = ")]
		question := whole[strings.LastIndex(whole, "[[question]]"):]
		must(t, os.WriteFile(path, []byte(whole[:strings.Index(whole, "# In each book by itself: whom")]+"[robustness]\nmodels = [\"wax\"]\n"+model+question), 0o644))
		for k := 0; k < len(changes); k += 3 {
			edit(t, filepath.Join(dir, changes[k]), changes[k+1], changes[k+2])
		}
		s, err := study.Open(dir)
		must(t, err)
		results, err := s.Run(nil)
		if results == nil || len(results.Robustness) != 1 {
			t.Fatal(err)
		}
		return results
	}
	stated := made()
	for _, c := range []struct {
		choice  string
		changes []string
	}{
		{report.AsStated, nil},
		{"with Poisson’s spread", []string{study.FileName, "negative binomial", "Poisson"}},
		{"without the book Tremele", []string{study.FileName, "kind    = \"counts\"\nspread", "only = { book = [\"Corvaes\", \"Delvaine\", \"Hendemaar\"] }\nkind    = \"counts\"\nspread"}},
		{"without the observer SV", []string{study.FileName, "kind    = \"counts\"\nspread", "only = { observer = [\"HB\"] }\nkind    = \"counts\"\nspread"}},
	} {
		row := choiceOf(t, stated, "dead", c.choice)
		if row.Effect == nil || row.Told == nil {
			t.Errorf("%s: %s", c.choice, row.Failed)
			continue
		}
		own := made(c.changes...).Answers[0]
		if row.N != own.Rests.Pages || math.Abs(row.Effect.Estimate-own.Effect.Estimate) > 1e-9 || math.Abs(row.Effect.SE-own.Effect.SE) > 1e-9 || math.Abs(row.Told.Asked.Mean-own.Told.Asked.Mean) > 1e-9 {
			t.Errorf("%s: %d looks, %v ± %v, %v; a study of its own: %d, %v ± %v, %v", c.choice, row.N, row.Effect.Estimate, row.Effect.SE, row.Told.Asked.Mean, own.Rests.Pages, own.Effect.Estimate, own.Effect.SE, own.Told.Asked.Mean)
		}
	}
}

// TestModelsOfTracesAreChecked: what is wrong with models, questions and the coding book
// is told at its place.
func TestModelsOfTracesAreChecked(t *testing.T) {
	for _, c := range []struct{ was, is, at string }{
		{`kind = "grades"` + "\nfixed", `kind = "counts"` + "\nfixed", "kind"},
		{`outcome = "rubbing"` + "\nkind", `outcome = "rubing"` + "\nkind", "outcome"},
		{`grade = "bare"`, `grade = "barest"`, "grade"},
		{`grade = "bare"`, "shift = 99", "shift"},
		{`part = ["frame", "face", "hands", "feet"]`, `part = ["frame", "nose"]`, "part"},
		{`traces = ["traces.csv"]`, ``, "traces"},
	} {
		_, dir := ofTraces(t, 1)
		path := filepath.Join(dir, study.FileName)
		text, err := os.ReadFile(path)
		must(t, err)
		if !strings.Contains(string(text), c.was) {
			t.Fatalf("the study has no %q", c.was)
		}
		must(t, os.WriteFile(path, []byte(strings.Replace(string(text), c.was, c.is, 1)), 0o644))
		_, err = study.Open(dir)
		fault, is := err.(*table.Fault)
		if !is || !strings.Contains(err.Error(), c.at) {
			t.Errorf("%s: %v", c.is, err)
		} else if fault.Problems[0].Line == 0 && c.is != "" {
			t.Errorf("%s: without a line: %v", c.is, err)
		}
	}
}

// TestTracesInR: every number that the page tells of traces without a model is
// recomputed from the tables by R alone (testdata/reference/traces/live.R).
func TestTracesInR(t *testing.T) {
	if os.Getenv("THUMBED_REAL") == "" {
		t.Skip("needs R: make real")
	}
	_, dir := ofTraces(t, 1)
	s, err := study.Open(dir)
	must(t, err)
	results, err := s.Run(nil)
	if results == nil {
		t.Fatal(err)
	}
	out := filepath.Join(dir, "results")
	must(t, s.Write(results, out))
	said, err := exec.Command("Rscript", "../../testdata/reference/traces/live.R", filepath.Join(out, "tables")).CombinedOutput()
	t.Logf("%s", said)
	must(t, err)
}
