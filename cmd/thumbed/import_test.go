package main

import (
	"bytes"
	"fmt"
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
		{"a log", []string{"sheet", log, "--words", words, "--out", out("sheet")}, exitDone, "readings.csv: 2\u00a0rows", "8 things were used, 0 were inferred and 0 were left."},
		{"the same folder again", []string{"tei", record, "--out", out("tei")}, exitNo, "", "is there already"},
		{"no folder around", []string{"tei", record, "--out", out("none/tei")}, exitNo, "", "make it first"},
		{"no file", []string{"tei", out("none.xml"), "--out", out("x")}, exitNo, "", "a file that can be read"},
		{"a file of another kind", []string{"tei", manifest, "--out", out("x")}, exitNo, "", "a TEI file with the description of a manuscript"},
		{"a log without a mapping", []string{"sheet", log, "--out", out("x")}, exitNo, "", "no table of a study"},
		{"again, with nothing new", []string{"tei", record, "--again", out("tei")}, exitDone, "Nothing is to be taken", ""},
		{"again into what no import began", []string{"tei", record, "--again", "../../testdata/demo"}, exitNo, "", "was not begun by an import"},
		{"both", []string{"tei", record, "--again", out("tei"), "--out", out("x")}, exitUsage, "", "or --again STUDY"},
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

// The whole path: what is imported is a study as soon as the instrument and the
// readings are entered, and check says so.
func TestImportedStudy(t *testing.T) {
	for kind, file := range map[string]string{"tei": "../../models/codex/tei/testdata/alder.xml", "iiif": "../../models/codex/iiif/testdata/version2.json"} {
		dir := filepath.Join(t.TempDir(), "mine")
		if _, stderr, code := importing(kind, file, "--out", dir); code != exitDone {
			t.Fatal(stderr)
		}
		check := func() (string, int) {
			var out, told bytes.Buffer
			code := execute([]string{"check", dir}, &out, &told)
			return out.String() + told.String(), code
		}
		told, code := check()
		if code != exitNo || !strings.Contains(told, "2 things are wrong") || !strings.Contains(told, "describe the densitometer") || !strings.Contains(told, "add the readings") {
			t.Errorf("%s: exit %d\n%s", kind, code, told)
		}
		books, err := os.ReadFile(filepath.Join(dir, "books.csv"))
		if err != nil {
			t.Fatal(err)
		}
		book, _, _ := strings.Cut(strings.SplitN(string(books), "\n", 3)[1], ",")
		add := func(name, rows string) {
			f, err := os.OpenFile(filepath.Join(dir, name), os.O_APPEND|os.O_WRONLY, 0o644)
			if err == nil {
				_, err = f.WriteString(rows)
			}
			if err != nil || f.Close() != nil {
				t.Fatal(err)
			}
		}
		add("instruments.csv", "bench,0,2,0.01,0.5,,\n")
		var log strings.Builder
		tile := func(hour int) { fmt.Fprintf(&log, ",,2026-03-09,%02d:00,bench,HB,tile,,1,0.50,,\n", hour) }
		leaves, err := os.ReadFile(filepath.Join(dir, "leaves.csv"))
		if err != nil {
			t.Fatal(err)
		}
		tile(9)
		for i, row := range strings.Split(strings.TrimSpace(string(leaves)), "\n")[1:] {
			cells := strings.Split(row, ",")
			if cells[1] == "" || cells[3] == "lost" {
				continue
			}
			for side := range 2 {
				page, wear := cells[1]+"rv"[side:side+1], 0.2+0.01*float64((7*i+3*side)%13)
				fmt.Fprintf(&log, "%s,%s,2026-03-09,10:%02d,bench,HB,zero,,1,0.11,,\n", book, page, i%60)
				for k := range 2 {
					fmt.Fprintf(&log, "%s,%s,2026-03-09,10:%02d,bench,HB,page,fixed,1,%.2f,,\n", book, page, i%60, wear+0.01*float64((i+k)%2))
				}
			}
		}
		tile(11)
		add("readings.csv", log.String())
		if told, code := check(); code != exitDone {
			t.Errorf("%s: exit %d\n%s", kind, code, told)
		}
		var out, said bytes.Buffer
		if code := execute([]string{"run", dir}, &out, &said); code != exitDone {
			t.Errorf("%s: exit %d\n%s", kind, code, said.String())
		}
		if _, err := os.Stat(filepath.Join(dir, "results", "index.html")); err != nil {
			t.Error(err)
		}
	}
}
