package main

import (
	"archive/zip"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// TestABundleGoesOutAndComesBack packs a study, checks what was packed, unpacks it
// elsewhere, and makes the run again there: all digits agree.
func TestABundleGoesOutAndComesBack(t *testing.T) {
	dir := small().write(t)
	at := filepath.Join(t.TempDir(), "out.zip")
	code, out, err := run("bundle", dir, "--out", at)
	if code != exitNo || out != "" || !strings.Contains(err, "make them with thumbed run") {
		t.Errorf("without results: exit %d, %q, %q", code, out, err)
	}
	if code, _, err := run("run", dir); code != exitDone {
		t.Fatalf("run: exit %d, %s", code, err)
	}
	code, out, err = run("bundle", dir, "--out", at)
	if code != exitDone || !strings.Contains(out, "holds the study whole") || !strings.Contains(err, "No licence is stated") {
		t.Fatalf("bundle: exit %d, %q, %q", code, out, err)
	}
	code, out, err = run("bundle", "--check", at)
	if code != exitDone || err != "" || !strings.Contains(out, "thumbed rerun results") || !strings.Contains(out, "is whole") {
		t.Errorf("check: exit %d, %q, %q", code, out, err)
	}
	unpacked := t.TempDir()
	archive, failed := zip.OpenReader(at)
	if failed != nil {
		t.Fatal(failed)
	}
	defer archive.Close()
	if failed := os.CopyFS(unpacked, archive); failed != nil {
		t.Fatal(failed)
	}
	code, out, err = run("rerun", filepath.Join(unpacked, "results"))
	if code != exitDone || !strings.Contains(out, "agree to the last digit") || !strings.Contains(out, "unchanged") {
		t.Errorf("rerun: exit %d, %q, %q", code, out, err)
	}
	if failed := os.WriteFile(filepath.Join(unpacked, "books.csv"), []byte("book\nAnt\nBee\n"), 0o644); failed != nil {
		t.Fatal(failed)
	}
	code, out, err = run("bundle", "--check", unpacked)
	if code != exitNo || out != "" || !strings.Contains(err, "books.csv") {
		t.Errorf("check of a bundle that was changed: exit %d, %q, %q", code, out, err)
	}
}

func TestBundleCommandLine(t *testing.T) {
	for _, args := range [][]string{{"bundle"}, {"bundle", "x"}, {"bundle", "x", "y", "--out", "z"}, {"bundle", "--check", "x", "y"}, {"bundle", "--check", "x", "--out", "y"}, {"bundle", "x", "--out", ""}} {
		if code, out, err := run(args...); code != exitUsage || out != "" || err == "" {
			t.Errorf("%q: exit %d, %q, %q", args, code, out, err)
		}
	}
}
