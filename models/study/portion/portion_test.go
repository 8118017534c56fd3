package portion_test

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"thumbed/models/study/portion"
)

func TestParse(t *testing.T) {
	for text, want := range map[string]portion.Portion{"1/1": {1, 1}, "3/64": {3, 64}, "64/64": {64, 64}} {
		if got, err := portion.Parse(text); err != nil || got != want {
			t.Errorf("Parse(%q) = %v, %v", text, got, err)
		}
	}
	for _, text := range []string{"", "3", "0/4", "5/4", "a/4", "3/", "/3", "1/2/3", "-1/4", "1/999999999", "1/99999999999999999999"} {
		if p, err := portion.Parse(text); err == nil || !strings.Contains(err.Error(), "3/64") {
			t.Errorf("Parse(%q) = %v, %v; expected an error that shows how", text, p, err)
		}
	}
}

func FuzzParse(f *testing.F) {
	f.Add("3/64")
	f.Fuzz(func(t *testing.T, text string) {
		p, err := portion.Parse(text)
		if err == nil && (p.Part < 1 || p.Part > p.Parts) {
			t.Errorf("Parse(%q) = %v", text, p)
		}
	})
}

func FuzzRead(f *testing.F) {
	f.Add([]byte(`{"kind":"part of divided work","version":1,"work":{"total":2},"part":1,"parts":1,"pieces":[1,2]}`))
	f.Add([]byte(`{"kind":"part of divided work","version":1,"part":1,"parts":99999999999}`))
	path := filepath.Join(f.TempDir(), "part.json")
	f.Fuzz(func(t *testing.T, text []byte) {
		if err := os.WriteFile(path, text, 0o644); err != nil {
			t.Fatal(err)
		}
		if part, err := portion.Read(path); err == nil {
			if _, err := portion.Gather([]string{path}); err != nil && part.Parts == 1 {
				t.Errorf("a whole that reads does not gather: %v", err)
			}
		}
	})
}

// Portions hold every piece once and differ by one at most, and what was
// divided and gathered in any order is what was there.
func TestDividedAndGathered(t *testing.T) {
	parent := t.TempDir()
	rapid.Check(t, func(t *rapid.T) {
		dir, err := os.MkdirTemp(parent, "")
		if err != nil {
			t.Fatal(err)
		}
		values := rapid.SliceOfN(rapid.Float64(), 0, 40).Draw(t, "values")
		parts := rapid.IntRange(1, 12).Draw(t, "parts")
		work := portion.Work{Verb: "plan", Of: "abc", Program: "p", Total: len(values)}
		var paths []string
		for k := 1; k <= parts; k++ {
			p := portion.Portion{Part: k, Parts: parts}
			from, to := p.Pieces(len(values))
			if d := (to-from)*parts - len(values); d <= -parts || d >= parts {
				t.Fatalf("portion %v of %d holds %d", p, len(values), to-from)
			}
			f, err := portion.New(work, p, "here", values[from:to])
			if err != nil {
				t.Fatal(err)
			}
			path := filepath.Join(dir, p.Name())
			if err := f.Write(path); err != nil {
				t.Fatal(err)
			}
			paths = append(paths, path)
		}
		whole, err := portion.Gather(rapid.Permutation(paths).Draw(t, "order"))
		if err != nil {
			t.Fatal(err)
		}
		got, err := portion.Decode[float64](whole)
		if err != nil || !slices.Equal(got, values) || len(whole.Notes) > 0 {
			t.Fatalf("gathered %v, %v, %v; expected %v", got, err, whole.Notes, values)
		}
	})
}

func TestWhatCannotBeGathered(t *testing.T) {
	dir := t.TempDir()
	write := func(name string, w portion.Work, p portion.Portion, processor string) string {
		t.Helper()
		from, to := p.Pieces(w.Total)
		f, err := portion.New(w, p, processor, make([]int, to-from))
		if err != nil {
			t.Fatal(err)
		}
		path := filepath.Join(dir, name)
		if err := f.Write(path); err != nil {
			t.Fatal(err)
		}
		return path
	}
	work := portion.Work{Verb: "plan", Of: "abc", Program: "p 1", Total: 10}
	changed, newer := work, work
	changed.Of, newer.Program = "def", "p 2"
	a := write("a", work, portion.Portion{Part: 1, Parts: 4}, "here")
	b := write("b", work, portion.Portion{Part: 2, Parts: 4}, "there")
	again := write("again", work, portion.Portion{Part: 2, Parts: 4}, "here")
	other := write("other", changed, portion.Portion{Part: 3, Parts: 4}, "here")
	later := write("later", newer, portion.Portion{Part: 4, Parts: 4}, "here")
	cut := filepath.Join(dir, "cut")
	text, err := os.ReadFile(a)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(cut, text[:len(text)/2], 0o644); err != nil {
		t.Fatal(err)
	}
	_, err = portion.Gather([]string{a, b, again, other, later, cut, filepath.Join(dir, "none")})
	if err == nil {
		t.Fatal("gathered")
	}
	for _, want := range []string{"both part 2/4", "changed in between", "one version", "broken off", "none", "missing: 3 to 4"} {
		if !strings.Contains(err.Error(), want) {
			t.Errorf("the error does not say %q:\n%v", want, err)
		}
	}
	if _, err := portion.Gather(nil); err == nil {
		t.Error("nothing gathered without an error")
	}

	c := write("c", work, portion.Portion{Part: 3, Parts: 4}, "here")
	d := write("d", work, portion.Portion{Part: 4, Parts: 4}, "here")
	whole, err := portion.Gather([]string{d, b, a, c})
	if err != nil || len(whole.Notes) != 1 || !strings.Contains(whole.Notes[0], "here; there") {
		t.Errorf("parts of two processors: %v, %v", whole, err)
	}
}

func TestDone(t *testing.T) {
	path := filepath.Join(t.TempDir(), "deep", "part.json")
	work := portion.Work{Verb: "plan", Total: 3}
	p := portion.Portion{Part: 1, Parts: 2}
	if done, err := portion.Done(path, work, p); done || err != nil {
		t.Errorf("nothing there: %v, %v", done, err)
	}
	f, err := portion.New(work, p, "here", []int{7})
	if err != nil {
		t.Fatal(err)
	}
	if err := f.Write(path); err != nil {
		t.Fatal(err)
	}
	if done, err := portion.Done(path, work, p); !done || err != nil {
		t.Errorf("the same there: %v, %v", done, err)
	}
	work.Of = "other"
	if done, err := portion.Done(path, work, p); done || err == nil {
		t.Errorf("another there: %v, %v", done, err)
	}
}
