package plan_test

import (
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"thumbed/models/study"
	"thumbed/models/study/demo"
	"thumbed/models/study/demo/demotest"
	"thumbed/models/study/plan"
	"thumbed/models/study/portion"
)

// TestQuestionsOnTracesArePlanned: from a study of looks alone power is told for each of
// its questions, fitted once and book by book: next to none for no effect to speak of, more
// with more books, the same in parts; and the page and its record are written.
func TestQuestionsOnTracesArePlanned(t *testing.T) {
	scenario, err := demo.Written()
	must(t, err)
	made, err := scenario.Make(3)
	must(t, err)
	dir := t.TempDir()
	const text = "title = \"Looks\"\n" + demotest.Tables + demotest.Coding + demotest.Rubbing + `[[model]]
name = "wax"
each = "book"
outcome = "wax"
kind = "counts"
fixed = ["kind"]
[model.levels]
kind = ["hours", "office of the dead"]
[[question]]
words = "faces"
model = "rubbing"
contrast = { "part=face" = 1 }
direction = "more"
smallest = 0.15
[[question]]
words = "wax"
model = "wax"
contrast = { "kind=office of the dead" = 1 }
smallest = 0.4
[[question]]
words = "hands"
model = "rubbing"
contrast = { "part=hands" = 1 }
`
	made.Files[study.FileName] = []byte(text)
	must(t, made.Fill(dir))
	must(t, os.WriteFile(filepath.Join(dir, "plan.toml"), []byte("[pilot]\nstudy = \".\"\n[designs]\nbooks = [2, 5]\npages = [4]\nplacings = [1]\nreplicates = 20\n[aim]\npower = 0.8\n"), 0o644))
	all, err := plan.OpenSeveral(filepath.Join(dir, "plan.toml"))
	must(t, err)
	if len(all.Plans) != 2 || len(all.Left) != 1 || !strings.Contains(all.Left[0], "“hands” has no effect to plan for") {
		t.Fatalf("%d plans; left: %q", len(all.Plans), all.Left)
	}
	for _, name := range []string{dir, dir + "/", filepath.Join(dir, study.FileName)} {
		if alone, err := plan.OpenSeveral(name); err != nil || len(alone.Plans) != 2 {
			t.Errorf("the study alone, named %s: %v", name, err)
		}
	}
	result, err := all.Try(context.Background(), nil)
	must(t, err)
	faces := result.Plans[0].Result
	few, many := faces.Designs[0], faces.Designs[1]
	if !faces.Looks || few.Power.Value >= many.Power.Value || many.Power.Value < 0.4 || many.False.Value > 0.2 || few.Placings < 2*4*4-4 || few.Placings > 2*4*4 {
		t.Errorf("2 books claim in %v, 5 in %v, where there is nothing in %v; %v looks", few.Power, many.Power, many.False, few.Placings)
	}
	if said := strings.Join(faces.Sentences, " "); strings.Contains(said, "placing") || !strings.Contains(said, "difference") {
		t.Error(said)
	}
	var parts []string
	for k := range 2 {
		share, err := portion.Parse([]string{"1/2", "2/2"}[k])
		must(t, err)
		part, err := all.Part(context.Background(), share, nil)
		must(t, err)
		path := filepath.Join(t.TempDir(), "part.json")
		must(t, part.Write(path))
		parts = append(parts, path)
	}
	whole, err := portion.Gather(parts)
	must(t, err)
	again, err := all.Gather(whole)
	must(t, err)
	one, err := result.JSON()
	must(t, err)
	two, err := again.JSON()
	must(t, err)
	if string(one) != string(two) {
		t.Error("in parts other numbers come out")
	}
	out := filepath.Join(t.TempDir(), "plan")
	must(t, all.Write(result, out))
	page, err := os.ReadFile(filepath.Join(out, "question-1", "index.html"))
	must(t, err)
	if strings.Contains(string(page), "placing a page") || strings.Contains(string(page), "placings on") || strings.Contains(string(page), "NaN") {
		t.Error("the page of a plan of looks tells of placings, or of no number")
	}
}

func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}
