package study

import (
	"strings"
	"testing"

	"thumbed/models/table"
)

const wholeFile = `title = "T"
author = "A"
note = "N"
invented = true
[tables]
books = "b.csv"
leaves = "l.csv"
pages = "p.csv"
sections = "s.csv"
instruments = "i.csv"
readings = ["r.csv", "q.csv"]
[measuring]
drift = "scale"
spot_spread = 0.02
solid = 1.4

[[model]]
name = "one"
about = "what it is for"
each = "book"
only = { kind = ["hours"], set = ["of the Virgin"] }
outcome = "wear"
fixed = ["picture", ["picture", "place"]]
[model.levels]
picture = ["no", "yes"]
[[model.random]]
by = "quire"
terms = ["intercept"]
[[model.random]]
by = ["quire", "leaf"]
terms = ["intercept"]

[[model]]
name = "two"
outcome = "coverage"
fixed = []
[model.residual]
known_sd = "coverage_se"

[[question]]
words = "W?"
model = "two"
contrast = { intercept = 1, "picture=yes" = 0.5 }
direction = "either"
smallest = 0.1
asked = "after"
family = "f"
`

func TestAStudyFileIsReadWhole(t *testing.T) {
	var ps table.Problems
	file, where := parse("study.toml", []byte(wholeFile), &ps)
	if err := ps.Err(); err != nil {
		t.Fatal(err)
	}
	if file.Title != "T" || file.Author != "A" || file.Note != "N" || !file.Invented {
		t.Errorf("the head is %q, %q, %q, %v", file.Title, file.Author, file.Note, file.Invented)
	}
	if got := strings.Join(file.Tables.Readings, " "); got != "r.csv q.csv" || file.Tables.Sections != "s.csv" {
		t.Errorf("the tables are %+v", file.Tables)
	}
	if m := file.Measuring; m.Drift != "scale" || m.SpotSpread != 0.02 || m.Solid != 1.4 {
		t.Errorf("the measuring plan is %+v", m)
	}
	if len(file.Models) != 2 || len(file.Questions) != 1 {
		t.Fatalf("%d models and %d questions; want 2 and 1", len(file.Models), len(file.Questions))
	}
	one, two := file.Models[0], file.Models[1]
	if one.Each != "book" || one.About == "" || one.Only["set"][0] != "of the Virgin" || one.Outcome != "wear" ||
		len(one.Fixed) != 2 || len(one.Random) != 2 || len(one.Levels["picture"]) != 2 {
		t.Errorf("the first model is %+v", one)
	}
	if two.Outcome != "coverage" || two.Residual.KnownSD != "coverage_se" || len(two.Random) != 0 {
		t.Errorf("the second model is %+v", two)
	}
	if q := file.Questions[0]; q.Contrast["picture=yes"] != 0.5 || q.Contrast["intercept"] != 1 || q.Smallest != 0.1 {
		t.Errorf("the question is %+v", q)
	}
	for _, at := range []struct {
		line int
		key  []any
	}{
		{1, []any{"title"}}, {6, []any{"tables", "books"}}, {17, []any{"model", 0}}, {21, []any{"model", 0, "only"}},
		{25, []any{"model", 0, "levels", "picture"}}, {27, []any{"model", 0, "random", 0, "by"}}, {31, []any{"model", 0, "random", 1, "terms"}}, {33, []any{"model", 1}}, {34, []any{"model", 1, "name"}},
		{42, []any{"question", 0, "model"}}, {12, []any{"measuring", "no such key"}}, {33, []any{"model", 1, "each"}}, {0, []any{"nothing"}},
	} {
		if got := where.Line(at.key...); got != at.line {
			t.Errorf("the key %v stands on line %d; the file has it on %d", at.key, got, at.line)
		}
	}
}

func TestDefaultsOfTheMeasuringPlan(t *testing.T) {
	var ps table.Problems
	file, _ := parse("study.toml", []byte("title = \"T\"\n[tables]\nbooks='b'\nleaves='l'\ninstruments='i'\nreadings=['r']\n"), &ps)
	if err := ps.Err(); err != nil {
		t.Fatal(err)
	}
	if m := file.Measuring; m.Drift != "either" || m.SpotSpread != 0 || m.Solid != 1.5 {
		t.Errorf("the measuring plan is %+v", m)
	}
}

// TestEveryProblemOfAStudyFileIsToldAtOnce puts many mistakes into one file and
// wants each of them, at its line.
func TestEveryProblemOfAStudyFileIsToldAtOnce(t *testing.T) {
	text := "\xef\xbb\xbf" + strings.NewReplacer(
		`title = "T"`, `title = 3`, // line 1
		`author = "A"`, `autor = "A"`, // line 2
		`invented = true`, `invented = "yes"`, // line 4
		`drift = "scale"`, `drift = "up"`, // line 13
		`solid = 1.4`, `solid = -1.4`, // line 15
		`each = "book"`, `each = "leaf"`, // line 20
		`outcome = "wear"`, `outcome = ["wear"]`, // line 22
		`name = "two"`, `name = "one"`, // line 34
		`[model.residual]`, `[model.rest]`, // line 37
		`direction = "either"`, `direction = "both"`, // line 44
		`smallest = 0.1`, `smallest = "little"`, // line 45
		`asked = "after"`, `asked = "never"`, // line 46
	).Replace(wholeFile)
	var ps table.Problems
	parse("study.toml", []byte(text), &ps)
	told := map[int]string{}
	for _, p := range ps.List() {
		told[p.Line] = p.String()
		if p.File != "study.toml" || p.Expected == "" || p.Remedy == "" {
			t.Errorf("a problem lacks its file, expectation or remedy: %v", p)
		}
	}
	for _, line := range []int{1, 2, 4, 13, 15, 20, 22, 34, 37, 42, 44, 45, 46} {
		if told[line] == "" {
			t.Errorf("nothing is said of line %d; told is %v", line, told)
		}
	}
}

// FuzzStudyFile wants that no text makes the reader fall over, and that each
// problem can be shown.
func FuzzStudyFile(f *testing.F) {
	f.Add([]byte(wholeFile))
	f.Add([]byte("model = [{name = \"x\", outcome = \"wear\"}]\n"))
	f.Add([]byte("[model]\nname = 1\n[[question]]\n"))
	f.Add([]byte("[[model]]\r\nname = \"a\"\r\n[model.levels]\r\n\"a b\" = [\"x\",\r\n\"y\"]\r\n"))
	f.Add([]byte("[[model]]\n[[model.random]]\n[model.only]\nkind = []\n[model]\n"))
	f.Add([]byte("question.words = 1\nmodel.only.x = 2\n"))
	f.Add([]byte("\xef\xbb\xbf[tables]\nreadings = \"r.csv\"\n"))
	f.Add([]byte("title = \"\xff\""))
	f.Fuzz(func(t *testing.T, text []byte) {
		var ps table.Problems
		parse("study.toml", text, &ps)
		lines := 1 + strings.Count(string(text), "\n")
		for _, p := range ps.List() {
			if p.Line < 0 || p.Line > lines || p.Expected == "" {
				t.Errorf("a problem on line %d of %d with expectation %q", p.Line, lines, p.Expected)
			}
		}
	})
}
