package main

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// TestRerunEndsAsTheComparisonSays runs the small study, makes the run again,
// and again after a reading was changed and a table lost.
func TestRerunEndsAsTheComparisonSays(t *testing.T) {
	dir := small().write(t)
	if code, _, stderr := run("run", dir); code != exitDone {
		t.Fatal(stderr)
	}
	results := filepath.Join(dir, "results")
	code, stdout, stderr := run("rerun", results)
	if code != exitDone || stderr != "" || !strings.Contains(stdout, "agree to the last digit") || !strings.Contains(stdout, "none changes") {
		t.Errorf("a rerun of the same ends with %d: %s%s", code, stdout, stderr)
	}
	log := filepath.Join(dir, "readings.csv")
	text, err := os.ReadFile(log)
	must(t, err)
	must(t, os.WriteFile(log, []byte(strings.Replace(string(text), "page,fixed,0.2", "page,fixed,0.4", 1)), 0o644))
	code, stdout, stderr = run("rerun", filepath.Join(results, "record.json"))
	inputs, moved := strings.Index(stdout, "readings.csv: changed"), strings.Index(stdout, "answers › Do pictures attract handling? › effect › estimate: from ")
	if code != exitNo || inputs < 0 || moved < inputs || !strings.Contains(stderr, "1 input is not what it was") {
		t.Errorf("a changed reading ends with %d: %s%s", code, stdout, stderr)
	}
	if _, all, _ := run("rerun", results, "--all"); strings.Count(all, "\n") <= strings.Count(stdout, "\n") {
		t.Error("--all lists no more than without it")
	}
	code, stdout, _ = run("rerun", results, "--json")
	var told struct {
		Inputs     []any
		Comparison struct{ Moved []any }
	}
	if err := json.Unmarshal([]byte(stdout), &told); err != nil || code != exitNo || len(told.Inputs) != 1 || len(told.Comparison.Moved) == 0 {
		t.Errorf("--json ends with %d, %v: %s", code, err, stdout)
	}
	must(t, os.Remove(log))
	code, stdout, stderr = run("rerun", results)
	if code != exitNo || !strings.Contains(stdout, "readings.csv: missing") || !strings.Contains(stderr, "put it back") {
		t.Errorf("a missing table ends with %d: %s%s", code, stdout, stderr)
	}
	for _, wrong := range []string{"rerun", "rerun a b", "rerun a --speed"} {
		if code, _, _ := run(strings.Fields(wrong)...); code != exitUsage {
			t.Errorf("thumbed %s ends with %d", wrong, code)
		}
	}
}

// TestSealGivesItsSum seals the small study before its readings are there.
func TestSealGivesItsSum(t *testing.T) {
	f := small()
	log := f["readings.csv"]
	delete(f, "readings.csv")
	dir := f.write(t)
	code, stdout, stderr := run("seal", dir)
	if code != exitDone || stderr != "" || !strings.Contains(stdout, "seal.json") {
		t.Fatalf("ends with %d: %s%s", code, stdout, stderr)
	}
	if code, _, stderr := run("seal", dir); code != exitNo || !strings.Contains(stderr, "made once") {
		t.Errorf("a second seal ends with %d: %s", code, stderr)
	}
	must(t, os.WriteFile(filepath.Join(dir, "readings.csv"), []byte(log), 0o644))
	if code, _, stderr := run("run", dir); code != exitDone {
		t.Fatal(stderr)
	}
	page, err := os.ReadFile(filepath.Join(dir, "results", "index.html"))
	must(t, err)
	if !strings.Contains(string(page), "oreseen") { // the log's days lie before that of the seal
		t.Error("the page does not say whether the answer was foreseen")
	}
}
