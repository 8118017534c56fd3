package main

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"thumbed/models/study/corpus/corpustest"
)

// TestPagesAreAccessible has axe-core (WCAG 2, A and AA) and a validator of HTML look at
// every kind of page that the program writes.
func TestPagesAreAccessible(t *testing.T) {
	if os.Getenv("THUMBED_REAL") == "" {
		t.Skip("needs a browser and packages of npm; make real does")
	}
	modules := os.Getenv("THUMBED_NPM") // a folder that has them already
	if modules == "" {
		modules = t.TempDir()
		text, err := os.ReadFile("../../.ci/package.json")
		must(t, err)
		must(t, os.WriteFile(filepath.Join(modules, "package.json"), text, 0o644))
		get := exec.Command("npm", "install", "--no-audit", "--no-fund", "--ignore-scripts")
		get.Dir = modules
		if out, err := get.CombinedOutput(); err != nil {
			t.Fatalf("npm: %v\n%s", err, out)
		}
	}
	dir := t.TempDir()
	at := func(name string) string { return filepath.Join(dir, name) }
	c := built(t)
	c.run(exitDone, "demo", at("demo"))
	c.run(exitDone, "run", at("demo"))
	must(t, corpustest.Plan{Books: 6, Leaves: 40, Early: 0.4, Seed: 3}.Make(at("corpus")))
	must(t, os.WriteFile(at("corpus/corpus.toml"), []byte(corpustest.Head+corpustest.Pictures), 0o644))
	c.run(exitDone, "corpus", at("corpus"))
	must(t, os.WriteFile(at("plan.toml"), []byte(smallPlan), 0o644))
	c.run(exitDone, "plan", at("plan.toml"))
	c.run(exitDone, "sheet", at("demo"), "--observers", "HB", "--dates", "2026-06-01,2026-06-02,2026-06-03", "--hours", "24", "--instrument", "bench", "--out", at("sheet"))
	out, err := exec.Command("find", dir, "-name", "*.html").Output()
	must(t, err)
	pages := strings.Fields(string(out))
	if len(pages) < 4 {
		t.Fatalf("only these pages were found: %q", pages)
	}
	out, err = exec.Command("node", append([]string{"../../.ci/pages.mjs", modules}, pages...)...).CombinedOutput()
	if err != nil {
		t.Errorf("%v\n%s", err, out)
	}
}
