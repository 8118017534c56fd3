package main

import (
	"context"
	"io"
	"maps"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"thumbed/models/study"
)

func TestExitCodesOfCommandLines(t *testing.T) {
	missing := filepath.Join(t.TempDir(), "none")
	for _, c := range []struct {
		args string
		code int
		out  string // standard output holds it; "" where it is empty
		err  string // standard error holds it; "" where it is empty
	}{
		{"", exitDone, "Verbs:", ""},
		{"--help", exitDone, "Verbs:", ""},
		{"-h", exitDone, "Exit codes:", ""},
		{"help", exitDone, "Verbs:", ""},
		{"help run", exitDone, "thumbed run STUDY [--out DIR]", ""},
		{"run --help", exitDone, "Exit codes:", ""},
		{"check -h", exitDone, "Examples:", ""},
		{"version", exitDone, "thumbed ", ""},
		{"help rum", exitUsage, "", "did you mean run?"},
		{"help rum", exitUsage, "", "For how it is used: thumbed --help"},
		{"help run", exitDone, "DIR for the results (default", ""},
		{"chekc", exitUsage, "", "did you mean check?"},
		{"zzzzzzzzz", exitUsage, "", "it has begin, book, bundle, changes, check"},
		{"--fast", exitUsage, "", "unknown flag: --fast"},
		{"run", exitUsage, "", "needs STUDY"},
		{"run a b", exitUsage, "", `"b"`},
		{"run a --out", exitUsage, "", "--out"},
		{"run a --out=", exitUsage, "", "--out needs the name of a folder"},
		{"run a --speed 9", exitUsage, "", "--speed"},
		{"check", exitUsage, "", "needs STUDY"},
		{"demo", exitUsage, "", "needs the name of a new folder"},
		{"version 3", exitUsage, "", `"3"`},
		{"check " + missing, exitNo, "", "expected a study file that can be read"},
		{"run " + missing, exitNo, "", "expected a study file that can be read"},
	} {
		code, stdout, stderr := run(strings.Fields(c.args)...)
		if code != c.code {
			t.Errorf("thumbed %s ends with %d; want %d", c.args, code, c.code)
		}
		if !strings.Contains(stdout, c.out) || (c.out == "") != (stdout == "") {
			t.Errorf("thumbed %s says on standard output: %q; want %q", c.args, stdout, c.out)
		}
		if !strings.Contains(stderr, c.err) || (c.err == "") != (stderr == "") {
			t.Errorf("thumbed %s says on standard error: %q; want %q", c.args, stderr, c.err)
		}
		if code == exitUsage && !strings.Contains(stderr, "--help") {
			t.Errorf("thumbed %s does not point to its help: %q", c.args, stderr)
		}
		if code == exitNo && strings.Contains(stderr, "--help") {
			t.Errorf("thumbed %s shows how it is used where the data are at fault: %q", c.args, stderr)
		}
	}
}

// TestEveryVerbTeaches wants an example and the exit codes in the help of every
// verb, and no colour where there is no terminal.
func TestEveryVerbTeaches(t *testing.T) {
	for _, verb := range verbNames(newRoot()) {
		code, stdout, stderr := run(verb, "--help")
		if code != exitDone || stderr != "" {
			t.Errorf("thumbed %s --help ends with %d and says %q on standard error", verb, code, stderr)
		}
		for _, want := range []string{"Examples:", "    thumbed ", "Exit codes:", "Use:"} {
			if !strings.Contains(stdout, want) {
				t.Errorf("the help of %s has no %q", verb, want)
			}
		}
		if strings.Contains(stdout, "\x1b") {
			t.Errorf("the help of %s is coloured without a terminal", verb)
		}
	}
}

func TestDemoMakesANewFolderOnly(t *testing.T) {
	parent := t.TempDir()
	dir := filepath.Join(parent, "new")
	code, stdout, stderr := run("demo", dir)
	if code != exitDone || stderr != "" || !strings.Contains(stdout, "thumbed run "+dir) {
		t.Fatalf("ends with %d: %q, %q", code, stdout, stderr)
	}
	before := tree(t, parent)
	for _, there := range []string{dir, parent, filepath.Join(dir, "study.toml"), filepath.Join(parent, "none", "new")} {
		code, stdout, stderr := run("demo", there)
		if code != exitNo || stdout != "" || stderr == "" {
			t.Errorf("thumbed demo %s ends with %d: %q, %q", there, code, stdout, stderr)
		}
	}
	if !maps.Equal(tree(t, parent), before) {
		t.Error("a refused demo changed something")
	}
}

func TestCheckSaysWhatItFound(t *testing.T) {
	dir := small().write(t)
	for _, path := range []string{dir, filepath.Join(dir, "study.toml")} {
		code, stdout, stderr := run("check", path)
		if code != exitDone || stderr != "" {
			t.Fatalf("ends with %d: %s", code, stderr)
		}
		for _, want := range []string{"Ant: 8 leaves, 3 sections, 3 pictures; readings on 16 pages", "98 readings on 1 day, by 1 observer with 1 instrument", "1 model, 1 question"} {
			if !strings.Contains(stdout, want) {
				t.Errorf("it does not say %q but:\n%s", want, stdout)
			}
		}
	}
}

// TestWhatIsOddButInOrderPasses runs studies that look unusual and are sound.
func TestWhatIsOddButInOrderPasses(t *testing.T) {
	for name, edit := range map[string]func(f files){
		"a byte-order mark on each file": func(f files) {
			for name := range f {
				f[name] = "\xef\xbb\xbf" + f[name]
			}
		},
		"line ends of another system": func(f files) {
			for name := range f {
				f[name] = strings.ReplaceAll(f[name], "\n", "\r\n")
			}
		},
		"blank lines and spaces": func(f files) {
			f["pages.csv"] = strings.ReplaceAll(f["pages.csv"], ",yes\n", " , yes\n\n")
		},
		"columns of the scholar's own": func(f files) {
			f["pages.csv"] = strings.ReplaceAll(strings.ReplaceAll(f["pages.csv"], "\n", ",x\n"), "picture,x", "picture,mood")
		},
	} {
		t.Run(name, func(t *testing.T) {
			f := small()
			edit(f)
			if code, _, stderr := run("check", f.write(t)); code != exitDone {
				t.Errorf("ends with %d: %s", code, stderr)
			}
		})
	}
}

// TestResultsNeverGoOverAStrangersFiles tries every place that the results must
// not take, and wants each left as it was.
func TestResultsNeverGoOverAStrangersFiles(t *testing.T) {
	dir := small().write(t)
	must(t, os.MkdirAll(filepath.Join(dir, "theirs"), 0o755))
	must(t, os.WriteFile(filepath.Join(dir, "theirs", "thesis.txt"), []byte("three years"), 0o644))
	must(t, os.MkdirAll(filepath.Join(dir, "like ours"), 0o755))
	must(t, os.WriteFile(filepath.Join(dir, "like ours", "record.json"), []byte(`{"kind":"record of a concert"}`), 0o644))
	must(t, os.Symlink("theirs", filepath.Join(dir, "link")))
	must(t, os.Symlink("/nowhere/at/all", filepath.Join(dir, "broken link")))
	must(t, os.Symlink("circle", filepath.Join(dir, "circle")))
	before := tree(t, dir)
	for _, out := range []string{"theirs", "theirs/", "theirs/thesis.txt", "like ours", "link", "link/", "broken link", "circle", "none/results", "study.toml", ".", "theirs/thesis.txt/results"} {
		code, stdout, stderr := run("run", dir, "--out", dir+"/"+out)
		if code != exitNo || stdout != "" || stderr == "" {
			t.Errorf("--out %s ends with %d: %q, %q", out, code, stdout, stderr)
		}
	}
	if !maps.Equal(tree(t, dir), before) {
		t.Error("a refused run changed something")
	}
}

// TestResultsOfAnEarlierRunAreReplaced replaces what we made and nobody
// touched, and nothing else.
func TestResultsOfAnEarlierRunAreReplaced(t *testing.T) {
	dir := small().write(t)
	results := filepath.Join(dir, "results")
	runs := func(want int, why string) {
		t.Helper()
		if code, _, stderr := run("run", dir); code != want {
			t.Fatalf("%s: ends with %d; want %d: %s", why, code, want, stderr)
		}
	}
	must(t, os.Mkdir(results, 0o755))
	runs(exitDone, "an empty folder")
	first := tree(t, results)
	runs(exitDone, "our own results")
	if !maps.Equal(tree(t, results), first) {
		t.Error("two runs of one study differ")
	}
	entries, err := os.ReadDir(dir)
	must(t, err)
	if len(entries) != 8 {
		t.Errorf("the study's folder holds %d entries after two runs; want its 7 files and the results", len(entries))
	}
	for why, touch := range map[string]func(){
		"a file added":   func() { must(t, os.WriteFile(filepath.Join(results, "notes.txt"), nil, 0o644)) },
		"a file changed": func() { must(t, os.WriteFile(filepath.Join(results, "index.html"), []byte("mine"), 0o644)) },
		"a link added":   func() { must(t, os.Symlink("/etc", filepath.Join(results, "figures", "etc"))) },
	} {
		touch()
		before := tree(t, results)
		runs(exitNo, why)
		if !maps.Equal(tree(t, results), before) {
			t.Errorf("%s: the results were touched", why)
		}
		must(t, os.RemoveAll(results))
		runs(exitDone, "after removal")
	}
}

// TestAStoppedRunWritesNothing stops a run before it can end.
func TestAStoppedRunWritesNothing(t *testing.T) {
	s, err := study.Open(small().write(t))
	must(t, err)
	stopped, stop := context.WithCancel(context.Background())
	stop()
	for range 20 { // the run may end first, now and then
		if results, err := runUnless(stopped, io.Discard, s.Run); err != nil {
			if results != nil || !strings.Contains(err.Error(), "nothing was written") {
				t.Errorf("a stopped run gives %v and %v", results, err)
			}
			return
		}
	}
	t.Error("a stopped run goes on to its end")
}

func TestWrap(t *testing.T) {
	for _, c := range []struct {
		text  string
		width int
		want  string
	}{
		{"", 20, "  "},
		{"one", 3, "  one"},
		{"one two three", 10, "  one two\n  three"},
		{"α β γ δ", 7, "  α β γ\n  δ"},
		{"one 95\u202f% three", 10, "  one 95 %\n  three"},
		{"averyverylongword x", 8, "  averyverylongword\n  x"},
	} {
		if got := wrap(c.text, "  ", c.width); got != c.want {
			t.Errorf("wrap(%q, %d) = %q; want %q", c.text, c.width, got, c.want)
		}
	}
}

func TestShellWord(t *testing.T) {
	for path, want := range map[string]string{"demo": "demo", "a b": "'a b'", "": "''", "it's": `'it'\''s'`, "/x/y-1.2": "/x/y-1.2"} {
		if got := shellWord(path); got != want {
			t.Errorf("shellWord(%q) = %s; want %s", path, got, want)
		}
	}
}
