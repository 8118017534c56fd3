package corpus_test

import (
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"thumbed/models/study"
	"thumbed/models/study/corpus"
	"thumbed/models/study/demo"
	"thumbed/models/study/demo/demotest"
	"thumbed/models/traces"
)

// TestTracesOfACorpusAreThoseOfAStudy: a folder of books with looks and no readings gives,
// as a corpus, the states and the answers that a study of the same tables gives; and the
// page sets the books side by side.
func TestTracesOfACorpusAreThoseOfAStudy(t *testing.T) {
	const asked = demotest.Coding + demotest.Rubbing + `[[question]]
words = "faces"
model = "rubbing"
contrast = { "part=face" = 1 }
direction = "more"
smallest = 0.1
`
	scenario, err := demo.Written()
	must(t, err)
	made, err := scenario.Make(3)
	must(t, err)
	dir := t.TempDir()
	made.Files[study.FileName] = []byte("title = \"Looks\"\n" + demotest.Tables + asked)
	folder := filepath.Join(dir, "books")
	must(t, os.Mkdir(folder, 0o755))
	must(t, made.Fill(folder))
	for _, name := range []string{"readings-2026-03.csv", "readings-2026-05.csv", "instruments.csv"} {
		must(t, os.Remove(filepath.Join(folder, name)))
	}
	s, err := study.Open(folder)
	must(t, err)
	want, err := s.Run(nil)
	must(t, err)
	must(t, os.WriteFile(filepath.Join(dir, corpus.FileName), []byte("title = \"Looks\"\nfolders = [\"books\"]\n"+asked), 0o644))
	c, err := corpus.Open(dir)
	must(t, err)
	got, err := c.Run(nil)
	must(t, err)
	if len(got.Answers) != 1 || len(want.Answers) != 1 || got.Answers[0].Verdict != want.Answers[0].Verdict ||
		math.Abs(got.Answers[0].Effect.Estimate-want.Answers[0].Effect.Estimate) > 1e-9 || got.Answers[0].Told.Words() != want.Answers[0].Told.Words() {
		t.Errorf("the corpus answers %+v, the study %+v", got.Answers, want.Answers)
	}
	if len(got.Traces.States) != len(want.Traces.States) {
		t.Errorf("%d states, in the study %d", len(got.Traces.States), len(want.Traces.States))
	}
	for i, state := range got.Traces.States {
		for _, other := range want.Traces.States {
			if other.Trace == state.Trace && other.Book == state.Book && other.Part == state.Part && (other.There != state.There || other.Unclear != state.Unclear || other.NotLooked != state.NotLooked) {
				t.Errorf("state %d is %+v, in the study %+v", i, state, other)
			}
		}
	}
	if diff := cmp.Diff(want.Traces.Agreement, got.Traces.Agreement, cmpopts.IgnoreUnexported(traces.Pair{})); diff != "" {
		t.Errorf("observers agree otherwise: %s", diff)
	}
	out := filepath.Join(t.TempDir(), "results")
	must(t, c.Write(got, out))
	for file, parts := range map[string][]string{
		"index.html":          {"traces-of-books", "Look, do not touch.", "trace-answers", "Corvaes", "trace-agreement", "HB and SV agree on"},
		"chapter/chapter.tex": {"Traces of use", "Traces: agreement", "The models of traces", "tables/coding-book", "tables/trace-agreement"},
	} {
		text, err := os.ReadFile(filepath.Join(out, file))
		must(t, err)
		for _, part := range parts {
			if !strings.Contains(string(text), part) {
				t.Errorf("%s has no %s", file, part)
			}
		}
	}
}
