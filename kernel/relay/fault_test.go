package relay

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"thumbed/kernel/code"
)

// given is a cell that gonb was given as it stands.
func given(text string) *cell { return &cell{prepared: code.Prepared{Code: text}} }

func TestDescribePanic(t *testing.T) {
	for _, c := range []struct {
		words string
		want  []string
	}{
		{"panic: own words\n\ngoroutine 1 [running]:\nmain.main()\n\t \x1b[7m[[ Cell [8] Line 3 ]]\x1b[0m /tmp/x/main.go:12 +0x52\n",
			[]string{"own words (cell 8, line 3)"}},
		{"panic: no stack", []string{"no stack"}},
		{"runtime: goroutine stack exceeds 1000000000-byte limit\nruntime: sp=0xc0 stack=[0xc0, 0xe0]\nfatal error: stack overflow\n\nruntime stack:\nruntime.throw\n\ngoroutine 1 [running]:\nmain.f()\n\t[[ Cell [4] Line 2 ]] /tmp/x/main.go:3\n",
			[]string{"The cell ran out of stack: a function calls itself without end, or too deep. (cell 4, line 2)"}},
		{"panic: runtime error: invalid memory address or nil pointer dereference\n[signal SIGSEGV: segmentation violation code=0x1]\n\ngoroutine 1 [running]:\nmain.main()\n",
			[]string{"invalid memory address or nil pointer dereference"}},
	} {
		if got := given("").describePanic(c.words); !slices.Equal(got, c.want) {
			t.Errorf("%q: got %q, want %q", c.words, got, c.want)
		}
	}
}

// A fault of our own must come with what is needed to mend it.
func TestDescribePanicOfOurs(t *testing.T) {
	got := given("").describePanic("panic: mat: bad index\n\ngoroutine 1 [running]:\nthumbed/models/mixed.(*Fit).Modes(...)\n\t/src/modes.go:3\nmain.main()\n\t[[ Cell [2] Line 5 ]] /tmp/x/main.go:9\n")
	if got[0] != "mat: bad index (cell 2, line 5)" {
		t.Errorf("the first line is %q", got[0])
	}
	all := strings.Join(got, "\n")
	if !strings.Contains(all, "fault of thumbed itself") || !strings.Contains(all, "/src/modes.go:3") {
		t.Errorf("got %s", all)
	}
}

// Where gonb missed the mark, the place is found by the words of the line.
func TestDescribePanicWithoutMark(t *testing.T) {
	program := filepath.Join(t.TempDir(), "main.go")
	if err := os.WriteFile(program, []byte("package main\n\nfunc main() {\n\tflag.Parse()\na := 1\n  panic(a)\n}\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	words := "panic: 1\n\ngoroutine 1 [running]:\nmain.main()\n\t" + program + ":6 +0x52\n"
	for text, want := range map[string]string{
		"%%\na := 1\npanic(a)":           "1 (line 3)",
		"%%\npanic(a)\na := 1\npanic(a)": "1",
		"%%\nother()":                    "1",
	} {
		if got := given(text).describePanic(words); got[0] != want {
			t.Errorf("%q: got %q, want %q", text, got, want)
		}
	}
}

func TestDescribeRefusal(t *testing.T) {
	for _, c := range []struct {
		traceback []string
		want      []string
	}{
		{[]string{"Cell[3]: Line 1\npackage main\n\nfunc f( {}\n        ^\n\n\n\n\x1b[31mexpected ')', found '{'\x1b[0m"},
			[]string{"cell 3, line 1: expected ')', found '{'"}},
		{[]string{"# gonb_1", "Cell[1]: Line 2\nx\n\nundefined: a", "Cell[1]: Line 3\ny\n\nundefined: b", "", "exit status 1"},
			[]string{"cell 1, line 2: undefined: a", "cell 1, line 3: undefined: b"}},
		{nil, []string{"the value"}},
	} {
		if got := given("").describeRefusal(c.traceback, "the value"); !slices.Equal(got, c.want) {
			t.Errorf("%q: got %q, want %q", c.traceback, got, c.want)
		}
	}
}
