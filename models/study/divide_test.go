package study_test

import (
	"bytes"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"thumbed/models/report"
	"thumbed/models/study"
	"thumbed/models/study/portion"
)

// drawing is the small study of the records with questions that have something
// drawn by chance: of all books at once and of each by itself, by bootstrap, by
// shifting and by both.
func drawing(t *testing.T) string {
	t.Helper()
	dir := t.TempDir()
	must(t, os.CopyFS(dir, os.DirFS("../../testdata/records/2")))
	must(t, os.RemoveAll(filepath.Join(dir, "results")))
	edit(t, filepath.Join(dir, "study.toml"), `asked = "before"`, `asked = "before"
bootstrap = 79
shift = 30
seed = 7
[[model]]
name = "sides"
each = "book"
outcome = "wear"
fixed = ["side"]
[[question]]
words = "Are versos worn more in each book?"
model = "sides"
contrast = { "side=verso" = 1 }
bootstrap = 39
[[question]]
words = "Do pictures draw it less?"
model = "pictures"
contrast = { "picture=yes" = 1 }
direction = "less"
shift = 11`)
	return dir
}

func opened(t *testing.T, dir string) *study.Study {
	t.Helper()
	s, err := study.Open(dir)
	must(t, err)
	return s
}

func divided(t *testing.T, dir string) *study.Division {
	t.Helper()
	d, err := opened(t, dir).Divide()
	must(t, err)
	return d
}

// partsOf computes a study in so many parts, each by a study read anew, in any
// order, and gives the files.
func partsOf(t *testing.T, dir string, parts int, r *rand.Rand) []string {
	t.Helper()
	folder := t.TempDir()
	var paths []string
	for _, k := range r.Perm(parts) {
		p := portion.Portion{Part: k + 1, Parts: parts}
		f, err := divided(t, dir).Compute(p, nil)
		must(t, err)
		paths = append(paths, filepath.Join(folder, p.Name()))
		must(t, f.Write(paths[len(paths)-1]))
	}
	return paths
}

func gathered(t *testing.T, paths []string) *portion.Whole {
	t.Helper()
	whole, err := portion.Gather(paths)
	must(t, err)
	return whole
}

func numbersOf(t *testing.T, results *report.Results) []byte {
	t.Helper()
	text, err := results.JSON()
	must(t, err)
	return text
}

// TestPartsGatherToTheSameDigits divides at random, computes with any number of
// processors, gathers in any order, and wants the bytes of one run; more parts
// than draws leave some with none.
func TestPartsGatherToTheSameDigits(t *testing.T) {
	dir := drawing(t)
	results := resultsOf(t, dir)
	want := numbersOf(t, results)
	if n := bytes.Count(want, []byte(`"bootstrapped"`)); n != 3 || results.Answers[0].CircularShift == nil {
		t.Fatalf("%d answers have a bootstrap, want 3; the first is %+v", n, results.Answers[0])
	}
	total := divided(t, dir).Work.Total
	for seed := range uint64(8) {
		r := rand.New(rand.NewPCG(seed, 1))
		parts := []int{1, 2, 3, 5, 16, total + 2}[r.IntN(6)]
		cores := runtime.GOMAXPROCS(1 + r.IntN(4))
		got, err := opened(t, dir).RunGathered(gathered(t, partsOf(t, dir, parts, r)), nil)
		runtime.GOMAXPROCS(cores)
		must(t, err)
		if !bytes.Equal(numbersOf(t, got), want) {
			t.Errorf("%d parts give other numbers than one run", parts)
		}
	}
}

// TestPartsOfAModelThatCannotBeFitted: what fails in one run fails in parts, with
// the same words.
func TestPartsOfAModelThatCannotBeFitted(t *testing.T) {
	dir := drawing(t)
	edit(t, filepath.Join(dir, "study.toml"), `fixed = ["side"]`, "fixed = [\"side\"]\n[model.only]\npicture = [\"yes\"]")
	_, want := opened(t, dir).Run(nil)
	var incomplete *study.Incomplete
	if !errors.As(want, &incomplete) {
		t.Fatalf("the run is complete (%v): the test tries nothing", want)
	}
	_, got := opened(t, dir).RunGathered(gathered(t, partsOf(t, dir, 3, rand.New(rand.NewPCG(1, 1)))), nil)
	if got == nil || got.Error() != want.Error() {
		t.Errorf("gathered it says %v; in one run %v", got, want)
	}
}

func TestPartsOfOtherFilesAreRefused(t *testing.T) {
	dir := drawing(t)
	whole := gathered(t, partsOf(t, dir, 2, rand.New(rand.NewPCG(1, 1))))
	refused := func(says string) {
		t.Helper()
		if _, err := opened(t, dir).RunGathered(whole, nil); err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("it says %v; want %q", err, says)
		}
	}
	whole.Work.Program = "thumbed 0.0.1"
	refused("were computed by thumbed 0.0.1")
	whole.Work.Program = study.ThisBuild().Program
	edit(t, filepath.Join(dir, "readings.csv"), ",0.", ",0.0")
	refused("changed since the parts were computed")
	plain := t.TempDir()
	must(t, os.CopyFS(plain, os.DirFS("../../testdata/records/2")))
	if _, err := opened(t, plain).Divide(); err == nil || !strings.Contains(err.Error(), "without --part") {
		t.Errorf("a study that draws nothing gives %v", err)
	}
}

// TestPartsOfOtherProcessors: where parts come from another family of processors,
// the record says so, and a rerun looks at the digits that are printed.
func TestPartsOfOtherProcessors(t *testing.T) {
	dir := drawing(t)
	paths := partsOf(t, dir, 2, rand.New(rand.NewPCG(1, 1)))
	here := study.ThisBuild().Processor
	edit(t, paths[1], here, "zz9")
	whole := gathered(t, paths)
	if len(whole.Notes) != 1 || !strings.Contains(whole.Notes[0], "zz9") {
		t.Errorf("the notes are %q", whole.Notes)
	}
	s := opened(t, dir)
	results, err := s.RunGathered(whole, nil)
	must(t, err)
	out := filepath.Join(dir, "results")
	must(t, s.Write(results, out))
	record, err := study.ReadRecord(out)
	must(t, err)
	again, err := study.Repeat(out, "", nil)
	must(t, err)
	if record.Processor != here+"; zz9" || !again.Loosely || !again.Agrees() {
		t.Errorf("the record has processors %q; the rerun is loose: %v, agrees: %v", record.Processor, again.Loosely, again.Agrees())
	}
}

// TestAQuestionIsAnsweredByBootstrapToo wants the bootstrap in every face of the
// results, its seed in the record, and the same from one processor.
func TestAQuestionIsAnsweredByBootstrapToo(t *testing.T) {
	dir := drawing(t)
	out := filepath.Join(dir, "results")
	runTo(t, dir, out)
	record, err := study.ReadRecord(out)
	must(t, err)
	var seeds []string
	for _, s := range record.Seeds {
		seeds = append(seeds, s.Of)
	}
	if want := "arrangements for “Do pictures draw the hand?”; outcomes for “Do pictures draw the hand?”; outcomes for “Are versos worn"; !strings.HasPrefix(strings.ReplaceAll(strings.Join(seeds, "; "), " of the model “pictures”", ""), want) {
		t.Errorf("the seeds recorded are of %q", seeds)
	}
	for name, want := range map[string]string{
		"index.html":                        "By a bootstrap (79 outcomes drawn from the fitted model",
		"tables/answers.csv":                "p_bootstrap,low_bootstrap,high_bootstrap",
		"tables/sentences.csv":              "By a bootstrap (39 outcomes",
		"results.json":                      `"bootstrapped"`,
		"chapter/methods.tex":               "parametric bootstrap",
		"chapter/words/answers-in-full.tex": "By a bootstrap (79 outcomes",
	} {
		text, err := os.ReadFile(filepath.Join(out, filepath.FromSlash(name)))
		must(t, err)
		if !strings.Contains(string(text), want) {
			t.Errorf("%s does not say %q", name, want)
		}
	}
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	r, err := study.Repeat(out, "", nil)
	must(t, err)
	if !r.Agrees() {
		t.Errorf("one processor draws other outcomes: %+v", r.Comparison.Moved)
	}
}

// TestABootstrapThatCannotBe is told at its line, before anything is computed.
func TestABootstrapThatCannotBe(t *testing.T) {
	const limited = `words     = "Do pictures attract handling?"`
	for _, c := range []struct{ question, line, says string }{
		{halves, "bootstrap = 20", "from 39, the fewest that give a 95 % interval its ends"},
		{halves, "bootstrap = \"many\"", "question.bootstrap"},
		{limited, "bootstrap = 999", "shift = 999 in place of bootstrap"}, // bounds are told row by row
	} {
		dir := asking(t, c.question, c.line)
		text, err := os.ReadFile(filepath.Join(dir, "study.toml"))
		must(t, err)
		before, _, _ := bytes.Cut(text, []byte(c.line))
		at := fmt.Sprintf("line %d", 1+bytes.Count(before, []byte("\n")))
		if _, err = study.Open(dir); err == nil || !strings.Contains(err.Error(), c.says) || !strings.Contains(err.Error(), at) {
			t.Errorf("%s gives %v; want %q at %s", c.line, err, c.says, at)
		}
	}
}
