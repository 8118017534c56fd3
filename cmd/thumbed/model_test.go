package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// constantWear makes all pages of the small study equally worn.
func constantWear(f files) {
	lines := strings.Split(f[theTable], "\n")
	for i, line := range lines {
		if strings.Contains(line, ",page,fixed,") {
			lines[i] = line[:strings.LastIndex(line, ",")] + ",0.35"
		}
	}
	f[theTable] = strings.Join(lines, "\n")
}

// TestModelsThatCannotBeFitted wants of each that the run ends with 1, that the
// model is blamed at its line with column, value, expectation and remedy, that
// the question is said to have no answer, and that the page is there and says
// so in the model's place.
func TestModelsThatCannotBeFitted(t *testing.T) {
	for _, c := range []struct {
		name     string
		old, new string // in study.toml
		edit     func(files)
		line     int // of study.toml
		want     string
	}{
		{name: "collinear terms", old: `fixed = ["picture", "side"]`, new: `fixed = ["picture", "position", "leaf_position", "side"]`,
			line: 14, want: `column leaf_position: found "leaf_position"; expected fixed effects that can be told apart`},
		{name: "a column of one level", old: `fixed = ["picture", "side"]`, new: `fixed = ["picture", "kind"]` + "\nonly = { kind = [\"hours\"] }",
			line: 14, want: `column kind: found "hours"; expected a column with at least two levels`},
		{name: "groups of one row", old: `by = ["book", "quire"]`, new: `by = ["book", "page"]`,
			line: 18, want: `expected groups with several rows`},
		{name: "a single group", old: `by = ["book", "quire"]`, new: `by = "book"`, edit: func(f files) {
			f["study.toml"] = strings.Replace(f["study.toml"], `outcome = "wear"`, `outcome = "wear"`+"\nonly = { book = [\"Ant\"] }", 1)
		}, line: 19, want: `expected at least two groups`},
		{name: "no rows", old: `outcome = "wear"`, new: `outcome = "wear"` + "\nonly = { kind = [\"prayer\"], office = [\"Matins\"] }",
			line: 12, want: `found "0 rows"`},
		{name: "a logarithm of zero", old: `outcome = "wear"`, new: "outcome = \"edge\"\nscale = \"log\"",
			line: 13, want: `column edge: found "0"; expected a value above zero`},
		{name: "a constant outcome", edit: constantWear, line: 13, want: `column wear`},
		{name: "a question of no term", old: `"picture=yes" = 1`, new: `"picture=no" = 1`, want: `a fixed effect of the model: intercept, picture=yes, side=verso`},
	} {
		t.Run(c.name, func(t *testing.T) {
			f := small()
			if c.old != "" {
				f.swap(t, "study.toml", c.old, c.new)
			}
			if c.edit != nil {
				c.edit(f)
			}
			dir := f.write(t)
			code, stdout, stderr := run("run", dir)
			if code != exitNo {
				t.Errorf("the run ends with %d; want %d", code, exitNo)
			}
			for _, want := range []string{c.want, "“Do pictures attract handling?” has no answer"} {
				if !strings.Contains(stderr, want) {
					t.Errorf("standard error has no %q; it says:\n%s", want, stderr)
				}
			}
			if c.line > 0 {
				want := filepath.Join(dir, "study.toml") + ", line " + string('0'+rune(c.line/10)) + string('0'+rune(c.line%10))
				if !strings.Contains(stderr, want) {
					t.Errorf("standard error does not blame line %d; it says:\n%s", c.line, stderr)
				}
			}
			page := filepath.Join(dir, "results", "index.html")
			if !strings.Contains(stdout, page) {
				t.Errorf("standard output does not say where the page is: %s", stdout)
			}
			text, err := os.ReadFile(page)
			must(t, err)
			if !strings.Contains(string(text), "has no answer") {
				t.Error("the page does not say that the question has no answer")
			}
		})
	}
}

// TestAModelPassesOverBooksItDoesNotSpeakOf fits a model in each book that has
// the hours that it wants, and says which it passed over.
func TestAModelPassesOverBooksItDoesNotSpeakOf(t *testing.T) {
	f := small()
	f.swap(t, "study.toml", `outcome = "wear"`, "outcome = \"wear\"\neach = \"book\"\nonly = { set = [\"of the Virgin\"] }")
	f.swap(t, "study.toml", `by = ["book", "quire"]`, `by = "quire"`)
	f["sections.csv"] = strings.ReplaceAll(f["sections.csv"], "Bee,Matins,hours,of the Virgin", "Bee,Matins,hours,of the Cross")
	f["sections.csv"] = strings.ReplaceAll(f["sections.csv"], "Bee,Lauds,hours,of the Virgin", "Bee,Lauds,hours,of the Cross")
	dir := f.write(t)
	if code, _, stderr := run("run", dir); code != exitDone {
		t.Fatalf("the run ends with %d: %s", code, stderr)
	}
	text, err := os.ReadFile(filepath.Join(dir, "results", "results.json"))
	must(t, err)
	if !strings.Contains(string(text), "“pictures” in Bee was not fitted") {
		t.Error("the results do not say that the model passed over a book")
	}
}
