package main

import (
	"bytes"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"thumbed/models/study"
)

// damaged is a file cut short, with some bytes changed, with a piece taken out,
// or with one that stands twice.
func damaged(t *rapid.T, text []byte) []byte {
	text = bytes.Clone(text)
	if len(text) == 0 {
		return text
	}
	from := rapid.IntRange(0, len(text)-1).Draw(t, "from")
	to := min(len(text), from+rapid.IntRange(1, 200).Draw(t, "bytes"))
	switch rapid.IntRange(0, 3).Draw(t, "how") {
	case 0:
		return text[:from]
	case 1:
		for range rapid.IntRange(1, 9).Draw(t, "flips") {
			at := rapid.IntRange(0, len(text)-1).Draw(t, "at")
			text[at] ^= 1 << rapid.IntRange(0, 7).Draw(t, "bit")
		}
		return text
	case 2:
		return slices.Delete(text, from, to)
	}
	return slices.Insert(text, from, bytes.Clone(text[from:to])...)
}

// longest is how long any command on damaged files may take: a hundred times as
// long as on whole ones.
const longest = 2 * time.Minute

// bounded runs one command line, which must end, and must end in words.
func bounded(t interface {
	Helper()
	Fatalf(format string, args ...any)
}, args ...string) (code int, stdout, stderr string) {
	t.Helper()
	type ending struct {
		code           int
		stdout, stderr string
	}
	ended := make(chan ending, 1)
	go func() {
		code, stdout, stderr := run(args...)
		ended <- ending{code, stdout, stderr}
	}()
	select {
	case e := <-ended:
		switch {
		case e.code != exitDone && e.code != exitNo:
			t.Fatalf("thumbed %s ends with %d: %s", strings.Join(args, " "), e.code, e.stderr)
		case strings.Contains(e.stderr, "a fault of the program itself"):
			t.Fatalf("thumbed %s falls over: %s", strings.Join(args, " "), e.stderr)
		case e.code == exitNo && e.stderr == "":
			t.Fatalf("thumbed %s says nothing of what is wrong", strings.Join(args, " "))
		}
		return e.code, e.stdout, e.stderr
	case <-time.After(longest):
		t.Fatalf("thumbed %s does not end", strings.Join(args, " "))
	}
	return 0, "", ""
}

// contents are the files below a folder, by path.
func contents(t *testing.T, dir string) map[string][]byte {
	t.Helper()
	out := map[string][]byte{}
	must(t, filepath.WalkDir(dir, func(path string, entry fs.DirEntry, err error) error {
		if err != nil || !entry.Type().IsRegular() {
			return err
		}
		out[path], err = os.ReadFile(path)
		return err
	}))
	return out
}

// TestDamagedStudies damages every file of the small study and of the
// demonstration at random. Whatever comes of it, check and run end in words, and
// the results of an earlier run are as they were, or whole ones have taken their
// place.
func TestDamagedStudies(t *testing.T) {
	demo := filepath.Join(t.TempDir(), "demo")
	if code, _, stderr := run("demo", demo); code != exitDone {
		t.Fatal(stderr)
	}
	for _, of := range []struct {
		name, dir string
		run       bool // and not only check
	}{
		{"small", small().write(t), true},
		{"demo", demo, os.Getenv("THUMBED_SLOW") != ""},
	} {
		t.Run(of.name, func(t *testing.T) {
			whole := contents(t, of.dir)
			files := slices.Sorted(maps.Keys(whole))
			results := filepath.Join(of.dir, "results")
			if of.run {
				if code, _, stderr := run("run", of.dir); code != exitDone {
					t.Fatal(stderr)
				}
			}
			outside := tree(t, filepath.Dir(of.dir))
			maps.DeleteFunc(outside, func(name, _ string) bool { return strings.HasPrefix(name, filepath.Base(of.dir)) })
			rapid.Check(t, func(rt *rapid.T) {
				file := rapid.SampledFrom(files).Draw(rt, "file")
				must(t, os.WriteFile(file, damaged(rt, whole[file]), 0o644))
				defer func() { must(t, os.WriteFile(file, whole[file], 0o644)) }()
				code, stdout, _ := bounded(rt, "check", of.dir)
				if code == exitNo && stdout != "" {
					rt.Fatalf("check says no and yet %q", stdout)
				}
				if !of.run {
					return
				}
				before := tree(t, results)
				code, _, stderr := bounded(rt, "run", of.dir)
				if after := tree(t, results); !maps.Equal(after, before) && !isWhole(t, results) {
					rt.Fatalf("after a run that ended with %d the results are neither what they were nor whole: %s", code, stderr)
				}
			})
			after := tree(t, filepath.Dir(of.dir))
			maps.DeleteFunc(after, func(name, _ string) bool { return strings.HasPrefix(name, filepath.Base(of.dir)) })
			if !maps.Equal(after, outside) {
				t.Error("something outside the study's folder was touched")
			}
		})
	}
}

// isWhole tells whether a folder of results holds what its record says.
func isWhole(t *testing.T, results string) bool {
	t.Helper()
	record, err := study.ReadRecord(results)
	if err != nil {
		return false
	}
	for _, then := range record.Outputs {
		if now, err := study.SealAt(then.Path, filepath.Join(results, filepath.FromSlash(then.Path))); err != nil || now != then {
			return false
		}
	}
	return true
}

// TestDamagedRecords damages a record, a seal, a part of divided work and a
// model file at random: the verbs that read them end in words.
func TestDamagedRecords(t *testing.T) {
	f := small()
	f.swap(t, "study.toml", `asked = "before"`, "asked = \"before\"\nbootstrap = 39\nseed = 3")
	f["model.toml"] = "outcome = \"wear\"\nfixed = [\"picture\"]\n[levels]\npicture = [\"no\", \"yes\"]\n"
	f["data.csv"] = "wear,picture\n0.1,no\n0.3,yes\n0.15,no\n0.33,yes\n0.2,no\n"
	dir := f.write(t)
	at := func(name string) string { return filepath.Join(dir, name) }
	for _, args := range [][]string{{"seal", dir}, {"run", dir}, {"run", dir, "--part", "1/1", "--out", at("part.json")}} {
		if code, _, stderr := run(args...); code != exitDone {
			t.Fatalf("%v: %s", args, stderr)
		}
	}
	targets := []struct {
		file string
		args []string
	}{
		{"results/record.json", []string{"rerun", at("results")}},
		{"seal.json", []string{"check", dir}},
		{"part.json", []string{"gather", at("part.json"), "--out", at("gathered")}},
		{"model.toml", []string{"fit", at("model.toml"), "--data", at("data.csv")}},
		{"data.csv", []string{"fit", at("model.toml"), "--data", at("data.csv")}},
		{"data.csv", []string{"changes", at("data.csv"), "--column", "wear"}},
	}
	rapid.Check(t, func(rt *rapid.T) {
		target := rapid.SampledFrom(targets).Draw(rt, "target")
		path := at(filepath.FromSlash(target.file))
		whole, err := os.ReadFile(path)
		must(t, err)
		must(t, os.WriteFile(path, damaged(rt, whole), 0o644))
		defer func() { must(t, os.WriteFile(path, whole, 0o644)) }()
		bounded(rt, target.args...)
		must(t, os.RemoveAll(at("gathered")))
	})
}
