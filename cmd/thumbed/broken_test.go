package main

import (
	"errors"
	"maps"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"thumbed/models/study"
	"thumbed/models/table"
)

// A broken study is the small one with one thing wrong, and what must be said
// of it.
type broken struct {
	name  string
	file  string                         // that is wrong
	old   string                         // text of the file …
	new   string                         // … and what stands in its place
	edit  func(t *testing.T, dir string) // or what is done to the folder
	line  int                            // line blamed; 0: that of old; −1: none
	col   string                         // column or key blamed, whole or its last part
	value string                         // value shown, or its beginning
}

const (
	theTable  = "readings.csv"
	theStudy  = "study.toml"
	firstRow  = "Ant,1r,2026-03-09,09:01,lamp,X,zero,,0.15"
	secondRow = "Ant,1r,2026-03-09,09:02,lamp,X,page,fixed,0.35"
	wholeFile = -1
)

// breakages are studies each with one thing wrong, by the table that is wrong.
var breakages = []broken{
	// Books, leaves, pages and sections.
	{name: "a book twice", file: "books.csv", old: "Bee,Bee's hours", new: "Ant,Bee's hours", col: "book", value: "Ant"},
	{name: "a book without a name", file: "books.csv", old: "Bee,Bee's", new: ",Bee's", col: "book"},
	{name: "a title but no column book", file: "books.csv", old: "book,title", new: "buch,title", col: "book", value: "buch,title"},
	{name: "an unknown side of the skin", file: "books.csv", old: "book,title\nAnt,Ant's hours", new: "book,outer\nAnt,fur", line: 2, col: "outer", value: "fur"},
	{name: "a leaf of an unknown book", file: "leaves.csv", old: "Ant,1,1", new: "Aunt,1,1", col: "book", value: "Aunt"},
	{name: "a leaf twice", file: "leaves.csv", old: "Ant,3,1", new: "Ant,2,1", col: "leaf", value: "2"},
	{name: "a leaf with a label that is none", file: "leaves.csv", old: "Ant,3,1", new: "Ant,3x?,1", col: "leaf", value: "3x?"},
	{name: "an unknown state of a leaf", file: "leaves.csv", old: "book,leaf,quire\nAnt,1,1", new: "book,leaf,state\nAnt,1,burnt", line: 2, col: "state", value: "burnt"},
	{name: "a field too many", file: "leaves.csv", old: "Ant,3,1", new: "Ant,3,1,1", value: "Ant,3,1,1"},
	{name: "a page that is not in the book", file: "pages.csv", old: "Ant,1r,yes", new: "Ant,91r,yes", col: "page", value: "91r"},
	{name: "a page twice", file: "pages.csv", old: "Ant,4r,yes", new: "Ant,1r,yes", col: "page", value: "1r"},
	{name: "a page without its side", file: "pages.csv", old: "Ant,4r,yes", new: "Ant,4,yes", col: "page", value: "4"},
	{name: "a picture that is neither yes nor no", file: "pages.csv", old: "Ant,4r,yes", new: "Ant,4r,maybe", col: "picture", value: "maybe"},
	{name: "sections that overlap", file: "sections.csv", old: "ff. 5r–7v", new: "ff. 3r–7v", col: "extent", value: "ff. 3r–7v"},
	{name: "a section beyond the book", file: "sections.csv", old: "ff. 5r–7v", new: "ff. 5r–9v", col: "extent", value: "ff. 5r–9v"},
	{name: "a section that runs backwards", file: "sections.csv", old: "ff. 5r–7v", new: "ff. 7v–5r", col: "extent", value: "ff. 7v–5r"},
	{name: "an extent that is none", file: "sections.csv", old: "ff. 5r–7v", new: "near the end", col: "extent", value: "near the end"},
	{name: "an unknown office", file: "sections.csv", old: "of the Virgin,Lauds", new: "of the Virgin,Brunch", col: "office", value: "Brunch"},

	// Readings and instruments.
	{name: "a reading above the ceiling", file: theTable, old: secondRow, new: "Ant,1r,2026-03-09,09:02,lamp,X,page,fixed,2.31", col: "density", value: "2.31"},
	{name: "a reading below the floor", file: theTable, old: secondRow, new: "Ant,1r,2026-03-09,09:02,lamp,X,page,fixed,-0.02", col: "density", value: "-0.02"},
	{name: "a page without its zero", file: theTable, old: firstRow + "\n", new: "", line: 3, col: "target", value: ""},
	{name: "a decimal comma", file: theTable, old: secondRow, new: `Ant,1r,2026-03-09,09:02,lamp,X,page,fixed,"0,35"`, col: "density", value: "0,35"},
	{name: "a density that is a word", file: theTable, old: secondRow, new: "Ant,1r,2026-03-09,09:02,lamp,X,page,fixed,dark", col: "density", value: "dark"},
	{name: "a density that is no finite number", file: theTable, old: secondRow, new: "Ant,1r,2026-03-09,09:02,lamp,X,page,fixed,NaN", col: "density", value: "NaN"},
	{name: "a reading of an unknown folio", file: theTable, old: secondRow, new: "Ant,77r,2026-03-09,09:02,lamp,X,page,fixed,0.35", col: "page", value: "77r"},
	{name: "a reading of an unknown book", file: theTable, old: secondRow, new: "Aunt,1r,2026-03-09,09:02,lamp,X,page,fixed,0.35", col: "book", value: "Aunt"},
	{name: "an unknown instrument", file: theTable, old: secondRow, new: "Ant,1r,2026-03-09,09:02,lump,X,page,fixed,0.35", col: "instrument", value: "lump"},
	{name: "a date of the other order", file: theTable, old: secondRow, new: "Ant,1r,09/03/2026,09:02,lamp,X,page,fixed,0.35", col: "date", value: "09/03/2026"},
	{name: "a date that is in no calendar", file: theTable, old: secondRow, new: "Ant,1r,2026-02-30,09:02,lamp,X,page,fixed,0.35", col: "date", value: "2026-02-30"},
	{name: "an hour after midnight's end", file: theTable, old: secondRow, new: "Ant,1r,2026-03-09,25:02,lamp,X,page,fixed,0.35", col: "time", value: "25:02"},
	{name: "an unknown target", file: theTable, old: secondRow, new: "Ant,1r,2026-03-09,09:02,lamp,X,corner,fixed,0.23", col: "target", value: "corner"},
	{name: "an unknown spot", file: theTable, old: secondRow, new: "Ant,1r,2026-03-09,09:02,lamp,X,page,nice,0.23", col: "spot", value: "nice"},
	{name: "a floor above the ceiling", file: "instruments.csv", old: "lamp,0.00,2.00", new: "lamp,2.50,2.00", col: "ceiling"},
	{name: "an instrument twice", file: "instruments.csv", old: "lamp,0.00,2.00,0.01,0.20\n", new: "lamp,0.00,2.00,0.01,0.20\nlamp,0.00,1.00,0.01,0.20\n", line: 3, col: "instrument", value: "lamp"},

	// Tables as files.
	{name: "columns parted by semicolons", file: "leaves.csv", old: "book,leaf,quire", new: "book;leaf;quire", value: "book;leaf;quire"},
	{name: "an empty file", file: "pages.csv", edit: put("pages.csv", ""), line: 1},
	{name: "mixed encodings", file: "books.csv", old: "Bee's hours", new: "B\xe9e's hours", value: "Bee,B"},
	{name: "UTF-16", file: "books.csv", edit: put("books.csv", "\xff\xfeb\x00o\x00o\x00k\x00\n\x00"), line: 1},
	{name: "a line of a million columns", file: "pages.csv", edit: put("pages.csv", strings.Repeat("a,", 1_000_000)+"a\n"), line: 1},
	{name: "a quotation mark that never ends", file: "books.csv", old: "Ant,Ant's hours", new: `Ant,"Ant's hours`},
	{name: "a column twice", file: "books.csv", old: "book,title", new: "book,book", col: "book"},
	{name: "a missing table", file: "leaves.csv", edit: func(t *testing.T, dir string) { remove(t, filepath.Join(dir, "leaves.csv")) }, line: wholeFile},
	{name: "a folder for a table", file: "leaves.csv", edit: func(t *testing.T, dir string) {
		remove(t, filepath.Join(dir, "leaves.csv"))
		must(t, os.Mkdir(filepath.Join(dir, "leaves.csv"), 0o755))
	}, line: wholeFile},
	{name: "a link to itself", file: "leaves.csv", edit: func(t *testing.T, dir string) {
		remove(t, filepath.Join(dir, "leaves.csv"))
		must(t, os.Symlink("leaves.csv", filepath.Join(dir, "leaves.csv")))
	}, line: wholeFile},

	// The study file.
	{name: "an unknown key", file: theStudy, old: `drift = "offset"`, new: `drift = "offset"` + "\nspeed = 1", line: 11, col: "speed", value: "speed"},
	{name: "an unknown key of a model", file: theStudy, old: `outcome = "wear"`, new: `outcome = "wear"` + "\ncolour = 1", line: 14, col: "colour", value: "colour"},
	{name: "a value of the wrong type", file: theStudy, old: `title = "Two small books"`, new: `title = 2`, col: "title", value: "2"},
	{name: "a text where a list belongs", file: theStudy, old: `readings = ["readings.csv"]`, new: `readings = "readings.csv"`, col: "readings", value: "readings.csv"},
	{name: "no table of readings", file: theStudy, old: `readings = ["readings.csv"]`, new: "", line: 2, col: "readings"},
	{name: "an unknown drift", file: theStudy, old: `drift = "offset"`, new: `drift = "sideways"`, col: "drift", value: "sideways"},
	{name: "a model twice", file: theStudy, old: "[[question]]", new: "[[model]]\nname = \"pictures\"\noutcome = \"wear\"\nfixed = []\n[[question]]", line: 21, col: "name", value: "pictures"},
	{name: "a question of no model", file: theStudy, old: `model = "pictures"`, new: `model = "pitcures"`, col: "model", value: "pitcures"},
	{name: "a direction that is none", file: theStudy, old: `direction = "more"`, new: `direction = "up"`, col: "direction", value: "up"},
	{name: "a question without words", file: theStudy, old: `words = "Do pictures attract handling?"`, new: "", line: 20, col: "words"},
	{name: "an unknown column", file: theStudy, old: `fixed = ["picture", "side"]`, new: `fixed = ["picture", "sied"]`, col: "fixed", value: "sied"},
	{name: "an unknown level", file: theStudy, old: `picture = ["no", "yes"]`, new: `picture = ["no", "maybe"]`, col: "picture", value: "maybe"},
	{name: "an unknown label to keep", file: theStudy, old: `outcome = "wear"`, new: `outcome = "wear"` + "\nonly = { kind = [\"ours\"] }", line: 14, col: "only", value: "ours"},
	{name: "a question on an unknown column", file: theStudy, old: `"picture=yes" = 1`, new: `"pciture=yes" = 1`, col: "contrast", value: "pciture"},
	{name: "a question on an unknown level", file: theStudy, old: `"picture=yes" = 1`, new: `"picture=oui" = 1`, col: "contrast", value: "oui"},
	{name: "an outcome without numbers", file: theStudy, old: `outcome = "wear"`, new: `outcome = "section"`, col: "outcome", value: "section"},
	{name: "random groups of an unknown column", file: theStudy, old: `by = ["book", "quire"]`, new: `by = ["book", "gathering"]`, col: "random.by", value: "gathering"},
	{name: "TOML that is none", file: theStudy, old: `drift = "offset"`, new: `drift = offset`},
	{name: "a key twice", file: theStudy, old: `title = "Two small books"`, new: `title = "Two small books"` + "\ntitle = \"Again\"", line: 2, col: "title"},
}

// TestBrokenStudies breaks the small study in every way, one at a time, and
// wants of each: exit code 1; file, line, column and value of what is wrong,
// what was expected and how to mend it; and the results of an earlier run as
// they were.
func TestBrokenStudies(t *testing.T) {
	earlier := filepath.Join(small().write(t), "results")
	if code, _, stderr := run("run", filepath.Dir(earlier)); code != exitDone {
		t.Fatalf("the whole study ends with %d: %s", code, stderr)
	}
	before := tree(t, earlier)
	for _, b := range breakages {
		t.Run(b.name, func(t *testing.T) {
			whole := small()
			dir := whole.write(t)
			results := filepath.Join(dir, "results")
			must(t, os.CopyFS(results, os.DirFS(earlier)))
			line := b.breakIt(t, whole, dir)

			_, err := study.Open(dir)
			var fault *table.Fault
			if !errors.As(err, &fault) {
				t.Fatalf("the error is %v; want a list of problems", err)
			}
			if b.line == wholeFile && len(fault.Problems) > 1 {
				t.Errorf("besides what is wrong, what hangs on it is told:\n%v", fault)
			}
			p, found := b.blamed(fault, line)
			if !found {
				t.Fatalf("no problem names %s, line %d, column %s and value %q; they are:\n%v", b.file, line, b.col, b.value, fault)
			}
			if p.Expected == "" || p.Remedy == "" {
				t.Errorf("no expectation or no remedy: %v", p)
			}
			for _, verb := range []string{"check", "run"} {
				code, stdout, stderr := run(verb, dir)
				if code != exitNo || stdout != "" {
					t.Errorf("thumbed %s ends with %d and says %q on standard output; want %d and nothing", verb, code, stdout, exitNo)
				}
				if !strings.Contains(stderr, p.String()) {
					t.Errorf("thumbed %s does not say %q; it says:\n%s", verb, p, stderr)
				}
			}
			if !maps.Equal(tree(t, results), before) {
				t.Error("the results of the earlier run were touched")
			}
		})
	}
}

// breakIt breaks the study in dir and gives the line to be blamed.
func (b broken) breakIt(t *testing.T, whole files, dir string) int {
	t.Helper()
	if b.edit != nil {
		b.edit(t, dir)
		return max(b.line, 0)
	}
	line := b.line
	if line == 0 {
		line = whole.line(t, b.file, b.old)
	}
	whole.swap(t, b.file, b.old, b.new)
	must(t, os.WriteFile(filepath.Join(dir, b.file), []byte(whole[b.file]), 0o644))
	return line
}

// blamed finds the problem that names what is wrong.
func (b broken) blamed(fault *table.Fault, line int) (table.Problem, bool) {
	for _, p := range fault.Problems {
		if filepath.Base(p.File) == b.file && p.Line == line && strings.HasSuffix(p.Column, b.col) && strings.HasPrefix(p.Value, b.value) {
			return p, true
		}
	}
	return table.Problem{}, false
}

// TestClosedFiles tries files and folders that may not be read or written.
func TestClosedFiles(t *testing.T) {
	if os.Geteuid() == 0 {
		t.Skip("run as root, to whom nothing is closed")
	}
	dir := small().write(t)
	for _, name := range []string{"study.toml", "leaves.csv", "readings.csv"} {
		path := filepath.Join(dir, name)
		must(t, os.Chmod(path, 0))
		code, stdout, stderr := run("check", dir)
		if code != exitNo || stdout != "" || !strings.Contains(stderr, name) || !strings.Contains(stderr, "permission") {
			t.Errorf("%s closed: ends with %d: %q, %q", name, code, stdout, stderr)
		}
		must(t, os.Chmod(path, 0o644))
	}
	must(t, os.Chmod(dir, 0o555))
	defer func() { must(t, os.Chmod(dir, 0o755)) }()
	if code, _, stderr := run("run", dir); code != exitNo || !strings.Contains(stderr, "permission") {
		t.Errorf("a closed folder: ends with %d: %q", code, stderr)
	}
}

// TestAClosedPlaceForResults is refused before the work begins, even to whom no
// folder is closed: where the system keeps what it knows of itself nobody may
// make one.
func TestAClosedPlaceForResults(t *testing.T) {
	if _, err := os.Stat("/sys"); err != nil {
		t.Skip("a system without /sys")
	}
	code, stdout, stderr := run("run", small().write(t), "--out", "/sys/results")
	if code != exitNo || stdout != "" || !strings.Contains(stderr, "nothing can be written into the folder /sys (the system says: ") || !strings.Contains(stderr, "give another place, with --out") {
		t.Errorf("ends with %d: %q, %q", code, stdout, stderr)
	}
}

func put(name, text string) func(*testing.T, string) {
	return func(t *testing.T, dir string) {
		t.Helper()
		must(t, os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644))
	}
}

func remove(t *testing.T, path string) {
	t.Helper()
	must(t, os.Remove(path))
}

func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}
