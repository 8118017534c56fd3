package code_test

import (
	"os"
	"slices"
	"strings"
	"sync"
	"testing"

	"pgregory.net/rapid"

	"thumbed/kernel/code"
)

// known is a notebook of which these cells ran.
func known(t testing.TB, ran ...string) *code.Notebook {
	t.Helper()
	n := code.New([]string{"fmt", "math", "slices", "strings", "thumbed/kernel", "thumbed/models/codex", "thumbed/models/mixed", "thumbed/models/study"}, lister())
	for _, cell := range ran {
		n.Ran(cell)
	}
	return n
}

// lister asks Go once for each list of packages.
var lister = sync.OnceValue(func() func(...string) ([]code.Package, error) {
	var mu sync.Mutex
	had := map[string][]code.Package{}
	list := code.ByGo("go", "../..", os.Environ())
	return func(paths ...string) ([]code.Package, error) {
		mu.Lock()
		defer mu.Unlock()
		key := strings.Join(paths, " ")
		if had[key] == nil {
			found, err := list(paths...)
			if err != nil {
				return nil, err
			}
			had[key] = found
		}
		return had[key], nil
	}
})

func TestPrepare(t *testing.T) {
	n := known(t, "var s = kernel.Open(\"x\")\nfunc pair() (int, error) { return 1, nil }\nfunc one() float64 { return 1 }\nfunc book() (*codex.Book, error) { return nil, nil }\nfunc bad() error { return nil }")
	for _, c := range []struct{ name, cell, want string }{
		{"declarations stay", "import \"fmt\"\n\nconst x = 1\nfunc f() {}\n", ""},
		{"marked cells stay", "var x = 1\n%%\nfmt.Println(x)", ""},
		{"a statement", "fmt.Println(1)", "%%\nfmt.Println(1)"},
		{"declarations first", "var x = 1\n\nfmt.Println(x)\n", "var x = 1\n%%\n\nfmt.Println(x)"},
		{"a function after a statement", "x := 2\nfunc g() {}\nvar y = x\n_ = y", "func g() {}\n%%\nx := 2\nvar y = x\n_ = y"},
		{"a method is a declaration", "type t int\nfunc (t) m() int { return 1 }", ""},
		{"a literal is a statement", "func() { fmt.Println(1) }()", "%%\nfunc() { fmt.Println(1) }()"},
		{"a value", "1 + 1", "%%\nkernel.Show(1 + 1)"},
		{"a value over lines", "%%\nmath.Max(1,\n\t2) // of two", "%%\nkernel.Show(math.Max(1,\n\t2)) // of two"},
		{"a variable of an earlier cell", "s.Books", "%%\nkernel.Show(s.Books)"},
		{"a result", "one()", "%%\nkernel.Show(one())"},
		{"a result and an error", "book()", "%%\nkernel.Show(kernel.Must(book()))"},
		{"an error alone", "bad()", "%%\nkernel.Check(bad())"},
		{"a count and an error", "pair()", "%%\npair()"},
		{"what shows already", "kernel.Show(1)", "%%\nkernel.Show(1)"},
		{"a loop at the end", "for range 2 {\n\tone()\n}", "%%\nfor range 2 {\n\tone()\n}"},
		{"commands stay", "%help\n!ls", ""},
		{"a command and a value", "!ls\none()", "!ls\n%%\nkernel.Show(one())"},
		{"a script", "%%script sh\nls", ""},
		{"a raw string with a percent", "x := `\n%%\n`\nx", "%%\nx := `\n%%\n`\nkernel.Show(x)"},
		{"not Go at all", "hello world", "%%\nhello world"},
		{"unknown names", "nosuch", "%%\nkernel.Show(nosuch)"},
		{"an unknown call", "nosuch()", "%%\nnosuch()"},
		{"empty", "", ""},
	} {
		want := c.want
		if want == "" {
			want = c.cell
		}
		if got := n.Prepare(c.cell); got.Code != want {
			t.Errorf("%s: got\n%s\nwant\n%s", c.name, got.Code, want)
		}
	}
}

func TestCellsThatAskForInput(t *testing.T) {
	n := known(t)
	for cell, want := range map[string]bool{
		"var x int\nfmt.Scanln(&x)":                                   true,
		"import \"bufio\"\nr := bufio.NewScanner(os.Stdin)\nr.Scan()": true,
		"func ask() { fmt.Scan() }":                                   true,
		"fmt.Println(\"fmt.Scanln\")":                                 false,
		"fmt.Sscan(\"1\")":                                            false,
	} {
		if got := n.Prepare(cell).Asks; (got != "") != want {
			t.Errorf("%q: %q", cell, got)
		}
	}
}

func TestLinesOfWhatWasPrepared(t *testing.T) {
	p := known(t).Prepare("x := 2\nfunc g() {}\n\nfmt.Println(x)\nx")
	if p.Code != "func g() {}\n%%\nx := 2\n\nfmt.Println(x)\nkernel.Show(x)" {
		t.Fatalf("got %q", p.Code)
	}
	for line, want := range map[int]int{1: 2, 3: 1, 4: 3, 5: 4, 6: 5, 99: 99} {
		if got := p.Line(line); got != want {
			t.Errorf("line %d stands for %d, want %d", line, got, want)
		}
	}
}

// at is a cell and the place of the mark ‸ in it.
func at(t *testing.T, marked string) (cell string, cursor int) {
	cursor = strings.Index(marked, "‸")
	if cursor < 0 {
		t.Fatalf("%q has no mark", marked)
	}
	return strings.Replace(marked, "‸", "", 1), cursor
}

func TestComplete(t *testing.T) {
	n := known(t, "var s = kernel.Open(\"x\")\n\ntype mine struct{ Width, height int }\n\nfunc (mine) Area() int { return 0 }\n\nvar m mine")
	for _, c := range []struct {
		cell   string
		has    []string
		hasNot []string
	}{
		{"kernel.Sh‸", []string{"Show", "ShowIn"}, []string{"Open"}},
		{"kernel.sh‸", []string{"Show", "ShowIn"}, []string{"Open"}},
		{"%%\nkernel.‸", []string{"Show", "Open", "Fit"}, []string{"fmt"}},
		{"kernel.Show(s.Bo‸", []string{"Books", "Book"}, []string{"Models"}},
		{"kernel.Show(s.‸)\nfmt.Println(1)", []string{"Books", "Models", "Wear"}, nil},
		{"book := s.Books[0]\nfor range 2 {\n\tbook.‸\n}", []string{"ID", "Leaves"}, []string{"Books"}},
		{"m.‸", []string{"Width", "height", "Area"}, nil},
		{"var x = mixed.Model{Out‸}", []string{"Outcome"}, []string{"Fixed"}},
		{"x := mixed.Model{Outcome: \"wear\",\n\t‸}", []string{"Fixed", "Random", "fmt"}, nil},
		{"slices.Sor‸", []string{"Sort", "Sorted"}, nil},
		{"maps.Ke‸", []string{"Keys"}, nil}, // which no cell imports
		{"import \"gonum.org/v1/gonum/stat/distuv\"\ndistuv.UnitN‸", []string{"UnitNormal"}, nil},
		{"import \"thumbed/models/mi‸\"", []string{"thumbed/models/mixed"}, nil},
		{"length := 3\nlen‸", []string{"len", "length"}, nil},
		{"le‸\nlength := 3", []string{"len"}, []string{"length"}},
		{"pri‸", []string{"print", "println"}, nil},
		{"x := \"kernel.‸\"", nil, []string{"Show"}},
		{"// kernel.‸", nil, []string{"Show"}},
		{"‸", []string{"fmt", "kernel", "s", "for"}, nil},
		{"nosuch.‸", nil, []string{"Show"}},
		{"%%script sh\nkernel.‸", nil, []string{"Show"}},
	} {
		cell, cursor := at(t, c.cell)
		got, start := n.Complete(cell, cursor)
		for _, name := range c.has {
			if !slices.Contains(got, name) {
				t.Errorf("%q: %s is not among %q", c.cell, name, got)
			}
		}
		for _, name := range c.hasNot {
			if slices.Contains(got, name) {
				t.Errorf("%q: %s is among %q", c.cell, name, got)
			}
		}
		if start > cursor || !slices.IsSorted(got) {
			t.Errorf("%q: from %d, %q", c.cell, start, got)
		}
	}
}

func TestInspect(t *testing.T) {
	n := known(t, "var s = kernel.Open(\"x\")\n\n// twice is two of it.\nfunc twice(x int) int { return 2 * x }")
	for _, c := range []struct {
		cell string
		want []string
	}{
		{"kernel.Op‸en(\"x\")", []string{"func Open(path string) *study.Study", "Open opens a study, given its folder"}},
		{"kernel.Open(‸", []string{"func Open(path string) *study.Study", "Open opens a study"}},
		{"fmt.Println(twice(‸2))", []string{"func twice(x int) int", "twice is two of it."}},
		{"‸s.Books", []string{"var s = kernel.Open", "type Study struct"}},
		{"s.Boo‸k(\"x\")", []string{"func (s *Study) Book(", "Book "}},
		{"var x mixed.Mo‸del", []string{"type Model struct", "Outcome"}},
		{"x := mixed.Model{Out‸come: \"wear\"}", []string{"Outcome "}},
		{"mix‸ed.Model{}", []string{`package mixed // import "thumbed/models/mixed"`, "Model"}},
		{"math.Sq‸rt(2)", []string{"func Sqrt(x float64) float64", "square root"}},
		{"le‸n(\"x\")", []string{"builtin len"}},
	} {
		cell, cursor := at(t, c.cell)
		got, found := n.Inspect(cell, cursor)
		for _, want := range c.want {
			if !found || !strings.Contains(got, want) {
				t.Errorf("%q: %q is not in %q, %v", c.cell, want, got, found)
			}
		}
	}
	n.Inspect("var {", 4) // still being written: it ended beyond its file, and there was a panic
	if got, found := n.Inspect("nosuch.Thing", 3); found {
		t.Errorf("of what nobody knows it tells %q", got)
	}
}

// Whatever stands in a cell, nothing is lost of it, and nothing panics.
func TestAnyCell(t *testing.T) {
	n := known(t)
	words := []string{"x", " ", "\n", "%%", "{", "}", "(", ")", "`", "\"", "func", "func (", "import", "var ", ":=", "kernel", ".", ";", "//", "/*", "*/", "!", "ü", "1"}
	rapid.Check(t, func(t *rapid.T) {
		cell := strings.Join(rapid.SliceOfN(rapid.SampledFrom(words), 0, 12).Draw(t, "words"), "")
		p := n.Prepare(cell)
		for word := range strings.FieldsSeq(cell) {
			if !strings.Contains(p.Code, word) && !strings.Contains(p.Code, "kernel.") {
				t.Fatalf("%q became %q", cell, p.Code)
			}
		}
		at := rapid.IntRange(0, len(cell)).Draw(t, "at")
		n.Complete(cell, at)
		n.Inspect(cell, at)
	})
}

func FuzzPrepare(f *testing.F) {
	n := known(f)
	f.Add("x := 1\nx")
	f.Add("func (a b) c() {}\n%%\n`")
	f.Fuzz(func(t *testing.T, cell string) {
		p := n.Prepare(cell)
		if got := strings.Count(p.Code, "\n") + 1; got != len(p.Lines) {
			t.Errorf("%d lines, %d known", got, len(p.Lines))
		}
		n.Complete(cell, len(cell))
		n.Inspect(cell, len(cell)/2)
	})
}
