package main

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// importing runs one command line and gives what it says and its exit code.
func importing(args ...string) (stdout, stderr string, code int) {
	var out, told bytes.Buffer
	code = execute(append([]string{"import"}, args...), &out, &told)
	return out.String(), told.String(), code
}

// The promise of the import verbs: exit codes, what stands where, and a folder
// that is there whole or not at all.
func TestImport(t *testing.T) {
	dir := t.TempDir()
	out := func(name string) string { return filepath.Join(dir, name) }
	const (
		record   = "../../models/codex/tei/testdata/alder.xml"
		manifest = "../../models/codex/iiif/testdata/version2.json"
		log      = "../../models/study/intake/testdata/log.csv"
		words    = "../../models/study/intake/testdata/words.toml"
	)
	for _, test := range []struct {
		name           string
		args           []string
		code           int
		stdout, stderr string
	}{
		{"a record", []string{"tei", record, "--out", out("tei")}, exitDone, "leaves.csv: 43\u00a0rows", "left: line 30: the text “Office of the Dead”"},
		{"a manifest", []string{"iiif", manifest, "--out", out("iiif")}, exitDone, "sections.csv: 4\u00a0rows", "left: canvas 12, “Image 7”"},
		{"a log", []string{"sheet", log, "--words", words, "--out", out("sheet")}, exitDone, "readings.csv: 2\u00a0rows", "8 things were used and 0 were left."},
		{"the same folder again", []string{"tei", record, "--out", out("tei")}, exitNo, "", "is there already"},
		{"no folder around", []string{"tei", record, "--out", out("none/tei")}, exitNo, "", "make it first"},
		{"no file", []string{"tei", out("none.xml"), "--out", out("x")}, exitNo, "", "a file that can be read"},
		{"a file of another kind", []string{"tei", manifest, "--out", out("x")}, exitNo, "", "a TEI file with the description of a manuscript"},
		{"a log without a mapping", []string{"sheet", log, "--out", out("x")}, exitNo, "", "no table of a study"},
		{"no folder named", []string{"tei", record}, exitUsage, "", "needs --out DIR"},
		{"no file named", []string{"iiif", "--out", out("x")}, exitUsage, "", "FILE, a IIIF manifest in a file"},
		{"no kind named", nil, exitUsage, "", "needs a verb: iiif, sheet, tei"},
		{"a kind that is none", []string{"ted", record}, exitUsage, "", "did you mean tei?"},
	} {
		t.Run(test.name, func(t *testing.T) {
			stdout, stderr, code := importing(test.args...)
			if code != test.code || !strings.Contains(stdout, test.stdout) || !strings.Contains(stderr, test.stderr) || (test.stdout == "") != (stdout == "") {
				t.Errorf("exit %d\n%s\n%s", code, stdout, stderr)
			}
		})
	}
	entries, err := os.ReadDir(dir)
	if err != nil || len(entries) != 3 {
		t.Errorf("%v: %v", err, entries)
	}
}
