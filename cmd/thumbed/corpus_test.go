package main

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"thumbed/models/study/corpus"
	"thumbed/models/study/corpus/corpustest"
)

func invented(t *testing.T, plan corpustest.Plan) string {
	t.Helper()
	dir := t.TempDir()
	if err := plan.Make(dir); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, corpus.FileName), []byte(corpustest.Head+corpustest.Pictures), 0o644); err != nil {
		t.Fatal(err)
	}
	return dir
}

func TestCorpusAtOnceAndInParts(t *testing.T) {
	dir := invented(t, corpustest.Plan{Books: 14, Leaves: 56, Seed: 1})
	folder := filepath.Join(dir, corpustest.Folder(4))
	if err := os.Remove(filepath.Join(folder, "leaves.csv")); err != nil {
		t.Fatal(err)
	}
	code, out, said := run("corpus", dir)
	if code != exitNo || !strings.Contains(said, "1 of 14") || !strings.Contains(said, "leaves.csv") || !strings.Contains(out, "Yes: Do pictures attract handling?") {
		t.Fatalf("exit %d\n%s\n%s", code, out, said)
	}
	for _, share := range []string{"2/3", "1/3", "3/3"} {
		if code, _, said := run("corpus", dir, "--part", share); code != exitDone {
			t.Fatalf("part %s: exit %d, %s", share, code, said)
		}
	}
	apart := filepath.Join(dir, "apart")
	code, inParts, alike := run("gather", filepath.Join(dir, "parts"), "--out", apart)
	if code != exitNo || alike != said || !strings.Contains(inParts, "Yes: Do pictures attract handling?") {
		t.Fatalf("gathered: exit %d\n%s\n%s", code, inParts, alike)
	}
	if a, b := contentOf(t, filepath.Join(dir, "results", "results.json")), contentOf(t, filepath.Join(apart, "results.json")); !bytes.Equal(a, b) {
		t.Error("the parts gather to other numbers than one run")
	}
	if code, out, said := run("rerun", apart); code != exitDone || !strings.Contains(out, "none changes") {
		t.Errorf("rerun: exit %d\n%s\n%s", code, out, said)
	}

	if err := os.WriteFile(filepath.Join(dir, corpustest.Folder(2), "pages.csv"), []byte("book,page\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	if code, _, said := run("gather", filepath.Join(dir, "parts"), "--out", apart); code != exitNo || !strings.Contains(said, corpustest.Folder(2)+" has changed") {
		t.Errorf("gathered what changed: exit %d, %s", code, said)
	}
	for _, args := range [][]string{{"corpus"}, {"corpus", dir, "--part", "4/3"}, {"corpus", dir, "--out", ""}} {
		if code, _, _ := run(args...); code != exitUsage {
			t.Errorf("%v: exit %d", args, code)
		}
	}
	if code, _, said := run("corpus", t.TempDir()); code != exitNo || !strings.Contains(said, "corpus.toml") {
		t.Errorf("no corpus: exit %d, %s", code, said)
	}
}

// A check of a corpus tells what is wrong on a screen, and keeps all of it where it
// is told to.
func TestCheckOfACorpus(t *testing.T) {
	dir := invented(t, corpustest.Plan{Books: 12, Leaves: 56, Seed: 1})
	if code, out, said := run("check", dir); code != exitDone || said != "" || !strings.Contains(out, "in order") || !strings.Contains(out, "12 books") {
		t.Fatalf("exit %d\n%s\n%s", code, out, said)
	}
	for i := range 9 {
		path := filepath.Join(dir, corpustest.Folder(i), "readings.csv")
		if err := os.WriteFile(path, bytes.ReplaceAll(contentOf(t, path), []byte(",2026-"), []byte(",2026/")), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	list := filepath.Join(dir, "problems")
	code, out, said := run("check", filepath.Join(dir, corpus.FileName), "--out", list)
	if code != exitNo || !strings.Contains(out, "3 books") || !strings.Contains(said, "9 of 12") || !strings.Contains(said, "in 8 folders more") || !strings.Contains(said, filepath.Join(list, "failures.csv")) || strings.Count(said, "\n") > 24 {
		t.Errorf("exit %d\n%s\n%s", code, out, said)
	}
	if rows := string(contentOf(t, filepath.Join(list, "failures.csv"))); !strings.Contains(rows, corpustest.Folder(8)+"/readings.csv, line 11, column date") {
		t.Errorf("all that is wrong:\n%s", rows[len(rows)-3000:])
	}
	if code, _, said := run("check", dir, "--out", list); code != exitNo || !strings.Contains(said, "is there already") {
		t.Errorf("over an earlier list: exit %d, %s", code, said)
	}
	for _, args := range [][]string{{"check", dir, "--out", ""}, {"check", t.TempDir(), "--out", list}} {
		if code, _, said := run(args...); code != exitUsage {
			t.Errorf("%v: exit %d, %s", args, code, said)
		}
	}
	if code, _, said := run("run", dir); code != exitNo || !strings.Contains(said, "thumbed corpus") {
		t.Errorf("run as a study: exit %d, %s", code, said)
	}
}

func contentOf(t *testing.T, path string) []byte {
	t.Helper()
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return text
}
