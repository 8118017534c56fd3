package main

import (
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"thumbed/models/study/corpus/corpustest"
)

// TestPageRecomputedInR has another language recompute the numbers of the demonstration
// study's page from its exported tables, mixed models among them, and sees that a number
// that is moved is told. With THUMBED_REAL=all a model of traces is tried under all other
// choices, by simulation among them, which takes that language ten minutes (make crosscheck).
func TestPageRecomputedInR(t *testing.T) {
	if os.Getenv("THUMBED_REAL") == "" {
		t.Skip("needs R; make real has it")
	}
	dir := t.TempDir()
	program := built(t)
	program.run(0, "demo", filepath.Join(dir, "demo"))
	whole := os.Getenv("THUMBED_REAL") == "all"
	if whole {
		alsoRubbing(t, filepath.Join(dir, "demo", "study.toml"))
	}
	program.run(0, "run", filepath.Join(dir, "demo"))
	script, err := filepath.Abs("../../testdata/reference/recompute/live.R")
	must(t, err)
	results := filepath.Join(dir, "demo", "results")
	recompute := func() (said string, agrees bool) { return inR(script, results, "1.5") }
	said, agrees := recompute()
	t.Log("\n" + said)
	if kinds := strings.Count(said, "\tagrees"); !agrees || kinds < 20 {
		t.Errorf("%d kinds of numbers agree, of at least 20", kinds)
	}
	least := 1290
	if whole {
		least = 1530
	}
	recomputeTraces(t, filepath.Join(results, "tables"), least)
	path := filepath.Join(results, "tables", "sections.csv")
	text, err := os.ReadFile(path)
	must(t, err)
	total := regexp.MustCompile(`(?m)^(Corvaes,Calendar(?:,[^,]*){7}),([0-9.]+)`)
	if !total.Match(text) {
		t.Fatal("no area of the calendar to move")
	}
	must(t, os.WriteFile(path, total.ReplaceAll(text, []byte("$1,9.5")), 0o644))
	if said, agrees := recompute(); agrees || !strings.Contains(said, "area of a text\t98\t") || !strings.Contains(said, "DIFFERS") {
		t.Errorf("an area that was moved is not told:\n%s", said)
	}
}

// alsoRubbing has the model of rubbing tried under other choices too: by simulation, among
// them, since it has a feature that is measured with error.
func alsoRubbing(t *testing.T, study string) {
	t.Helper()
	text := contentOf(t, study)
	more := strings.Replace(string(text), `"halves", "wax"]`, `"halves", "wax", "rubbing"]`, 1)
	if more == string(text) {
		t.Fatal("the demonstration's sensitivity does not end with wax")
	}
	must(t, os.WriteFile(study, []byte(more), 0o644))
}

// recomputeTraces has what the page tells of traces computed anew, without models and by
// them, and sees that an effect that is moved is told.
func recomputeTraces(t *testing.T, tables string, models int) {
	t.Helper()
	for _, one := range []struct {
		script string
		least  int
	}{{"live.R", 350}, {"models.R", models}} {
		said, agrees := inR("../../testdata/reference/traces/"+one.script, tables)
		t.Log("\n" + said)
		found := regexp.MustCompile(`(\d+) numbers recomputed`).FindStringSubmatch(said)
		if !agrees || found == nil {
			t.Errorf("%s does not agree", one.script)
		} else if n, err := strconv.Atoi(found[1]); err != nil || n < one.least {
			t.Errorf("%s recomputes %d numbers, of at least %d", one.script, n, one.least)
		}
	}
	path := filepath.Join(tables, "trace_effects.csv")
	text := contentOf(t, path)
	moved := regexp.MustCompile(`(?m)^(rubbing,,effect,part=face),2\.46`).ReplaceAll(text, []byte("$1,2.56"))
	must(t, os.WriteFile(path, moved, 0o644))
	if said, agrees := inR("../../testdata/reference/traces/models.R", tables, "rubbing"); agrees || !strings.Contains(said, "effect of rubbing  part=face:") {
		t.Errorf("an effect that was moved is not told:\n%s", said)
	}
}

func inR(args ...string) (said string, agrees bool) {
	out, err := exec.Command("Rscript", args...).CombinedOutput()
	return string(out), err == nil
}

// TestCorpusRecomputedInR has the pooled model of a corpus fitted anew in R from its
// exported pages, and sees that a page that is moved is told.
func TestCorpusRecomputedInR(t *testing.T) {
	if os.Getenv("THUMBED_REAL") == "" {
		t.Skip("needs R with lme4; make real has it")
	}
	dir := invented(t, corpustest.Plan{Books: 30, Leaves: 56, Early: 0.4, Seed: 5})
	built(t).run(0, "corpus", dir)
	results := filepath.Join(dir, "results")
	script := "../../testdata/reference/recompute/corpus.R"
	said, agrees := inR(script, results)
	t.Log("\n" + said)
	if kinds := strings.Count(said, "\tagrees"); !agrees || kinds < 8 {
		t.Errorf("%d kinds of numbers agree, of 8", kinds)
	}
	path := filepath.Join(results, "tables", "pages.csv")
	text := contentOf(t, path)
	page := regexp.MustCompile(`(?m)^(Veldermond-0003,20r),([0-9.]+)`)
	if !page.Match(text) {
		t.Fatal("no page to move")
	}
	must(t, os.WriteFile(path, page.ReplaceAll(text, []byte("$1,0.9")), 0o644))
	if said, agrees := inR(script, results); agrees || !strings.Contains(said, "DIFFERS") {
		t.Errorf("a page that was moved is not told:\n%s", said)
	}
}
