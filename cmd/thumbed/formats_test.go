package main

import (
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"thumbed/models/study/corpus"
	"thumbed/models/study/corpus/corpustest"
	"thumbed/models/study/formats"
)

// TestEveryFileWrittenHasAPage lets the verbs write all that they write, and looks
// for the page of each file.
func TestEveryFileWrittenHasAPage(t *testing.T) {
	top := t.TempDir()
	for _, name := range []string{"many", "planned"} {
		if err := os.Mkdir(filepath.Join(top, name), 0o755); err != nil {
			t.Fatal(err)
		}
	}
	do := func(args ...string) {
		t.Helper()
		if code, _, said := run(args...); code != exitDone {
			t.Fatalf("thumbed %s: exit %d, %s", strings.Join(args, " "), code, said)
		}
	}
	f := small()
	f.swap(t, "study.toml", `asked = "before"`, "asked = \"before\"\nbootstrap = 39")
	dir := filepath.Join(top, "study")
	if err := os.CopyFS(dir, os.DirFS(f.write(t))); err != nil {
		t.Fatal(err)
	}
	do("seal", dir)
	do("run", dir, "--part", "1/2")
	do("run", dir)
	do("bundle", dir, "--out", filepath.Join(dir, "bundle"))
	do("bundle", dir, "--out", filepath.Join(dir, "bundle.zip"))
	do("divide", "run", dir, "--into", "2", "--out", filepath.Join(dir, "jobs"))
	do("import", "sheet", filepath.Join(dir, "readings.csv"), "--out", filepath.Join(top, "imported"))
	do("demo", filepath.Join(top, "demo"))

	many := invented(t, corpustest.Plan{Books: 4, Leaves: 56, Seed: 1})
	do("corpus", filepath.Join(many, corpus.FileName), "--out", filepath.Join(top, "many", "corpus"))

	plan := filepath.Join(top, "demo", "plan.toml")
	text, err := os.ReadFile("../../testdata/plan/pictures.toml")
	if err != nil {
		t.Fatal(err)
	}
	short := strings.NewReplacer("../demo", ".", "[4, 8, 12]", "[4]", "[40, 80]", "[40]", "[1, 3]", "[1]", "replicates = 200", "replicates = 20").Replace(string(text))
	if err := os.WriteFile(plan, []byte(short), 0o644); err != nil {
		t.Fatal(err)
	}
	do("plan", plan, "--out", filepath.Join(top, "planned", "plan"))
	do("sheet", plan, "--out", filepath.Join(top, "planned", "sheet"))

	count, told := 0, map[string]bool{"plan.toml": true, "README.txt": true} // written by this test, and by the demo for people
	err = filepath.WalkDir(top, func(at string, e fs.DirEntry, err error) error {
		if err != nil || e.IsDir() {
			return err
		}
		name, err := filepath.Rel(top, at)
		if err != nil {
			return err
		}
		_, name, _ = strings.Cut(filepath.ToSlash(name), "/") // from the folder of each
		if copied, ok := strings.CutPrefix(name, "bundle/"); ok && !slices.Contains([]string{"datapackage.json", "ro-crate-metadata.json", "README.txt", "CITATION.cff", "datacite.json", "sha256sums.txt"}, copied) {
			name = copied
		}
		page, err := formats.PageOf(name)
		if page == "" && !told[name] {
			t.Errorf("%s has no page", name)
		}
		count, told[name] = count+1, true
		return err
	})
	if err != nil || count < 150 {
		t.Errorf("%d files were written, error %v", count, err)
	}
}

func TestFormatsCommandLine(t *testing.T) {
	code, out, _ := run("formats")
	if code != exitDone || !strings.Contains(out, "[readings](readings.md)") {
		t.Errorf("exit %d, %q", code, out)
	}
	for name, want := range map[string]string{"readings": "density", "readings.csv": "density", "study.toml": "[[question]]", "record.json": "sha256"} {
		if code, out, said := run("formats", name); code != exitDone || !strings.Contains(out, want) {
			t.Errorf("%s: exit %d, %q %q", name, code, out, said)
		}
	}
	if code, out, said := run("formats", "reading"); code != exitNo || out != "" || !strings.Contains(said, "did you mean readings") {
		t.Errorf("a slip: exit %d, %q, %q", code, out, said)
	}
	if code, _, _ := run("formats", "a", "b"); code != exitUsage {
		t.Errorf("two names: exit %d", code)
	}
}
