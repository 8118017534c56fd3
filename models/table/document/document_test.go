package document_test

import (
	"fmt"
	"reflect"
	"strings"
	"testing"

	"thumbed/models/table"
	"thumbed/models/table/document"
)

// What goes beyond the bounds of a file, or shows nothing, is told with its line
// before anything is decoded.
func TestTreeRefuses(t *testing.T) {
	many := func(n int, text string) string { return strings.Repeat(text, n) }
	keys := func(n int) string {
		var b strings.Builder
		for i := range n {
			fmt.Fprintf(&b, "k%d = 1\n", i)
		}
		return b.String()
	}
	for _, test := range []struct{ name, text, want string }{
		{"large", "# " + many(document.Largest, "x"), fmt.Sprintf(`f.toml: found "%d bytes"; expected at most 1048576`, document.Largest+2)},
		{"a key of many parts", "x = 1\n" + many(199_999, "a.") + "a = 1\n", `f.toml, line 2: found "a key of many parts"; expected at most 16 parts`},
		{"a header of many parts", "[" + many(100_000, "a.") + "a]\n", `f.toml, line 1: found "a key of many parts"`},
		{"lists inside lists", "x = " + many(17, "[") + "1" + many(17, "]"), `f.toml, line 1: found "lists inside lists"; expected at most 16 inside one another`},
		{"tables inside lists", "x = " + many(9, "[{a=") + "1" + many(9, "}]"), `f.toml, line 1: found "lists inside lists"`},
		{"a list that does not end", "x = " + many(1<<19, "["), `f.toml, line 1`},
		{"sections", many(2_001, "[[model]]\n"), `f.toml, line 2001: found "[[model]] once more"; expected at most 2000 sections of this name`},
		{"keys", keys(20_001), `f.toml, line 20001: found "more keys"; expected at most 20000 keys and sections`},
		{"a bell", "a = 1\nb = \"x\\u0007\"\n", `f.toml, line 2: found "U+0007"; expected text without control characters`},
		{"a turned direction", "# ab\u202ecd\na = 1\n", `f.toml, line 1: found "U+202E"`},
		{"… in an escape inside a list", "a = [\n{ b = \"\\u2066\" }]\n", `f.toml, line 1: found "U+2066"`},
		{"… in a key", "\"a\\u0001\" = 1\n", `f.toml, line 1: found "U+0001"`},
	} {
		t.Run(test.name, func(t *testing.T) {
			var ps table.Problems
			tree := document.Tree("f.toml", []byte(test.text), &ps)
			if err := ps.Err(); tree != nil || err == nil || !strings.Contains(err.Error(), test.want) {
				t.Errorf("%v", err)
			}
		})
	}
}

// Files at the bounds are read.
func TestTreeTakes(t *testing.T) {
	for _, text := range []string{
		"", "x = 1\r\n\ty = \"a\\tb\"\n", "a = \"\u05d0\u200f\"\n",
		strings.Repeat("[[model]]\n", 2_000),
		strings.Repeat("a.", 15) + "a = " + strings.Repeat("[", 16) + strings.Repeat("]", 16),
		"\ufeffx = 1\n",
	} {
		var ps table.Problems
		if tree := document.Tree("f.toml", []byte(text), &ps); tree == nil || ps.Err() != nil {
			t.Errorf("%.20q: %v", text, ps.Err())
		}
	}
}

// Each model's own keys stand at their lines of the file.
func TestModelsKeepTheirLines(t *testing.T) {
	type model struct {
		Name string `toml:"name"`
	}
	shape := document.Shape{What: "a file", Root: reflect.TypeFor[struct {
		Model []model `toml:"model"`
	}](), Repeated: map[string]bool{"model": true}, Ours: map[string]bool{"name": true}}
	text := "\n[[model]]\nname = \"a\"\noutcome = \"wear\"\n[model.levels]\n  x = [\"1\",\n \"2\"]\n[[model]]\nscale = \"log\"\nname = \"b\"\n"
	var ps table.Problems
	doc := shape.Split("f.toml", []byte(text), &ps)
	if doc == nil || len(doc.Models) != 2 {
		t.Fatal(ps.Err())
	}
	want := []string{"\n\n\noutcome = \"wear\"\n      [levels]", "\n\n\n\n\n\n\n\nscale = \"log\""}
	if got := string(doc.Models[0]); strings.ReplaceAll(got[:strings.Index(got, "]")+1], " ", "") != strings.ReplaceAll(want[0], " ", "") || strings.Count(got, "\n") != 6 {
		t.Errorf("%q", got)
	}
	if got := string(doc.Models[1]); got != want[1] {
		t.Errorf("%q", got)
	}
}
