package main

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"thumbed/models/study/corpus/corpustest"
	"thumbed/models/study/digits"
)

// A processor is a way to build thumbed, and what runs the program where this
// machine cannot.
type processor struct {
	name        string
	environment []string
	flags       []string
	through     string
}

// processors differ from this machine's plain build: one adds a product to a sum
// without rounding in between and has none of gonum's assembly, as arm64 has
// neither; the other is arm64 itself, emulated.
var processors = []processor{
	{"amd64 with fused multiply-add", []string{"GOARCH=amd64", "GOAMD64=v3"}, []string{"-tags", "noasm"}, ""},
	{"arm64", []string{"GOARCH=arm64"}, nil, "qemu-aarch64-static"},
}

// TestProcessorsAgree runs the demonstration study, a corpus and a plan by
// programs built for other processors: numbers agree to digits.Part, and every
// text, on the terminal, the pages and in the tables, is the same.
func TestProcessorsAgree(t *testing.T) {
	if os.Getenv("THUMBED_REAL") == "" {
		t.Skip("builds thumbed anew for two processors and emulates one (minutes); make real does")
	}
	dir := t.TempDir()
	plain := built(t)
	plain.run(0, "demo", filepath.Join(dir, "demo"))
	must(t, corpustest.Plan{Books: 30, Leaves: 56, Early: 0.4, Seed: 3}.Make(filepath.Join(dir, "corpus")))
	must(t, os.WriteFile(filepath.Join(dir, "corpus", "corpus.toml"), []byte(corpustest.Head+corpustest.Pictures+"[readers]\nseed = 1\n"), 0o644))
	must(t, os.WriteFile(filepath.Join(dir, "plan.toml"), []byte(smallPlan), 0o644))
	jobs := [][]string{{"run", "demo"}, {"corpus", "corpus"}, {"plan", "plan.toml"}}
	want := map[string]ran{}
	for _, job := range jobs {
		want[job[0]] = runBy(t, dir, []string{plain.path}, job)
	}
	for _, p := range processors {
		t.Run(p.name, func(t *testing.T) {
			program := p.build(t)
			for _, job := range jobs {
				got := runBy(t, dir, program, job)
				want[job[0]].hold(t, job[0], got)
			}
		})
	}
}

// smallPlan is a plan with the demonstration study as its pilot, of so few campaigns
// that an emulated processor draws them in minutes.
const smallPlan = `title = "A second campaign on pictures (invented)"
invented = true
[pilot]
study = "demo"
model = "pictures"
[question]
words  = "Do pictures attract handling?"
effect = 0.05
[designs]
books      = [4]
pages      = [20]
placings   = [1]
replicates = 20
seed       = 2026
[aim]
power = 0.8
width = 0.08
[sheet]
pages      = 20
placings   = 1
instrument = "bench"
observers  = ["HB", "CV"]
dates      = ["2026-06-01", "2026-06-02", "2026-06-03", "2026-06-04"]
`

// build builds thumbed and gives the command that runs it.
func (p processor) build(t *testing.T) []string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "thumbed")
	cmd := exec.Command("go", append(append([]string{"build"}, p.flags...), "-o", path, ".")...)
	cmd.Env = append(append(os.Environ(), "CGO_ENABLED=0"), p.environment...)
	if out, err := cmd.CombinedOutput(); err != nil {
		t.Fatalf("go build: %v\n%s", err, out)
	}
	if p.through == "" {
		return []string{path}
	}
	emulator, err := exec.LookPath(p.through)
	must(t, err)
	return []string{emulator, path}
}

// ran is what one program made of one job.
type ran struct {
	said    string
	numbers []byte
	texts   map[string]string // files by name, without those that hold every digit
}

// everyDigit is where a page keeps a number whole beside the one that it shows; the
// whole ones are compared in results.json.
var everyDigit = regexp.MustCompile(` value="[^"]*"`)

func runBy(t *testing.T, dir string, program, job []string) ran {
	t.Helper()
	out := filepath.Join(dir, "out")
	must(t, os.RemoveAll(out))
	cmd := exec.Command(program[0], append(append(program[1:], job...), "--out", "out")...)
	cmd.Dir = dir
	var said, complaints bytes.Buffer
	cmd.Stdout, cmd.Stderr = &said, &complaints
	if err := cmd.Run(); err != nil {
		// a corpus is complete but for books that cannot be used
		t.Logf("%s: %v\n%s", strings.Join(job, " "), err, &complaints)
	}
	r := ran{said: said.String(), texts: map[string]string{}}
	var err error
	r.numbers, err = os.ReadFile(filepath.Join(out, "results.json"))
	must(t, err)
	for name, text := range tree(t, out) {
		if strings.HasSuffix(name, ".html") || strings.HasSuffix(name, ".tex") {
			r.texts[name] = everyDigit.ReplaceAllString(text, "")
		}
	}
	return r
}

// hold fails where two programs made something otherwise.
func (want ran) hold(t *testing.T, job string, got ran) {
	t.Helper()
	c, err := digits.Compare(want.numbers, got.numbers, true)
	must(t, err)
	if !c.Agree() || len(c.New)+len(c.Words) > 0 {
		t.Errorf("%s: of %d numbers %d moved, %d gone, %d new, and %d texts changed: %+v %+v", job, c.Compared, len(c.Moved), len(c.Gone), len(c.New), len(c.Words),
			c.Moved[:min(20, len(c.Moved))], c.Words[:min(5, len(c.Words))])
	}
	t.Logf("%s: %d numbers compared, %d differ by less than %g", job, c.Compared, c.LastBits, digits.Part)
	if got.said != want.said {
		t.Errorf("%s says on the terminal\n%s\nand not\n%s", job, got.said, want.said)
	}
	for name, text := range want.texts {
		if now := got.texts[name]; now != text {
			t.Errorf("%s: %s differs from byte %d: …%q", job, name, differFrom(now, text), around(now, differFrom(now, text)))
		}
	}
}

// differFrom is the first byte in which two texts differ.
func differFrom(a, b string) int {
	i := 0
	for i < min(len(a), len(b)) && a[i] == b[i] {
		i++
	}
	return i
}

func around(text string, at int) string { return text[max(0, at-60):min(len(text), at+60)] }
