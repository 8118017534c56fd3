package main

import (
	"encoding/json"
	"maps"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// aPlan is a small plan of assumed spreads, in a folder of its own.
func aPlan(t *testing.T) (path string) {
	t.Helper()
	text := `title = "A small plan"
[question]
words    = "Do pictures attract handling?"
contrast = { "picture=yes" = 1 }
smallest = 0.05
[model]
outcome = "wear"
fixed   = ["picture"]
[model.levels]
picture = ["no", "yes"]
[[model.random]]
by    = "book"
terms = ["intercept"]
[assumed]
page = 0.05
[[assumed.random]]
sd = { intercept = 0.05 }
[layout]
leaves   = 30
pictures = 0.3
[measuring]
on_page = 0.011
[designs]
books      = [2, 4]
pages      = [20]
placings   = [1]
replicates = 20
[aim]
power = 0.8
[sheet]
pages      = 20
placings   = 2
instrument = "D1"
observers  = ["ann"]
dates      = ["2026-06-01"]
`
	path = filepath.Join(t.TempDir(), "plan.toml")
	must(t, os.WriteFile(path, []byte(text), 0o644))
	return path
}

func TestAPlanAtOnceAndInParts(t *testing.T) {
	path := aPlan(t)
	dir := filepath.Dir(path)
	if said := done(t, "plan", path); !strings.Contains(said, "Do pictures attract handling?") || !strings.Contains(said, "The page: ") {
		t.Errorf("the plan says %q", said)
	}
	want := tree(t, filepath.Join(dir, "plan"))
	for _, k := range []string{"2/2", "1/2"} {
		if said := done(t, "plan", path, "--part", k); !strings.Contains(said, "Part "+k) {
			t.Errorf("part %s says %q", k, said)
		}
	}
	must(t, os.RemoveAll(filepath.Join(dir, "plan")))
	done(t, "gather", filepath.Join(dir, "parts"))
	if !maps.Equal(tree(t, filepath.Join(dir, "plan")), want) {
		t.Error("gathered parts differ from one run")
	}
	done(t, "rerun", filepath.Join(dir, "plan"))
	done(t, "divide", "plan", path, "--into", "3", "--out", filepath.Join(dir, "jobs"))

	var numbers struct {
		Power struct {
			Designs []struct {
				Books int
				Power struct{ Value, Low, High float64 }
			}
		}
	}
	must(t, json.Unmarshal([]byte(done(t, "plan", path, "--json")), &numbers))
	if d := numbers.Power.Designs; len(d) != 2 || d[1].Books != 4 || !(d[1].Power.Low <= d[1].Power.Value && d[1].Power.Value <= d[1].Power.High) {
		t.Errorf("the numbers are %+v", d)
	}
}

func TestASheetIsWrittenOnce(t *testing.T) {
	path := aPlan(t)
	sheet := filepath.Join(filepath.Dir(path), "sheet")
	if said := done(t, "sheet", path); !strings.Contains(said, "goes as little as can be") || !strings.Contains(said, "sheet.html") {
		t.Errorf("the sheet says %q", said)
	}
	for _, name := range []string{"readings-to-fill.csv", "readings-to-fill.schema.json", "sheet.html"} {
		if _, err := os.Stat(filepath.Join(sheet, name)); err != nil {
			t.Error(err)
		}
	}
	if code, _, stderr := run("sheet", path); code != exitNo || !strings.Contains(stderr, "is there already") {
		t.Errorf("the second sheet ends with %d: %s", code, stderr)
	}
}

func TestPlansThatCannotBe(t *testing.T) {
	path := aPlan(t)
	for _, c := range []struct {
		args string
		code int
		err  string
	}{
		{"plan", exitUsage, "needs PLAN.toml"},
		{"sheet", exitUsage, "needs STUDY"},
		{"plan " + path + " --out=", exitUsage, "--out needs"},
		{"plan " + path + " --part 4/3", exitUsage, "3/64"},
		{"plan " + path + ".none", exitNo, "expected a plan file"},
		{"plan " + path + " --out " + path, exitNo, "is a file"},
		{"plan " + path + " --out " + filepath.Dir(path), exitNo, "holds files that no run of thumbed made"},
	} {
		if code, stdout, stderr := run(strings.Fields(c.args)...); code != c.code || !strings.Contains(stderr, c.err) || stdout != "" {
			t.Errorf("thumbed %s ends with %d: %q, %q; want %d and %q", c.args, code, stdout, stderr, c.code, c.err)
		}
	}
}

// TestPlansOfAStudyAreRecordedRepeatedAndDivided: what holds of one plan holds of those of
// all questions of a study.
func TestPlansOfAStudyAreRecordedRepeatedAndDivided(t *testing.T) {
	dir := t.TempDir()
	f := small()
	f["study.toml"] = strings.Replace(f["study.toml"], "direction = \"more\"\n", "direction = \"more\"\nsmallest = 0.05\n", 1)
	f["plan.toml"] = "title = \"All questions\"\n[pilot]\nstudy = \"study.toml\"\nspreads = \"as estimated\"\n[designs]\nbooks = [2]\npages = [12]\nplacings = [1]\nreplicates = 20\n"
	for name, text := range f {
		must(t, os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644))
	}
	path := filepath.Join(dir, "plan.toml")
	done(t, "plan", path)
	if said := done(t, "rerun", filepath.Join(dir, "plan")); !strings.Contains(said, "agree to the last digit") {
		t.Errorf("the rerun says %q", said)
	}
	whole, err := os.ReadFile(filepath.Join(dir, "plan", "results.json"))
	must(t, err)
	parts, gathered := filepath.Join(dir, "parts"), filepath.Join(dir, "gathered")
	for _, share := range []string{"1/2", "2/2"} {
		done(t, "plan", path, "--part", share)
	}
	done(t, "gather", parts, "--out", gathered)
	again, err := os.ReadFile(filepath.Join(gathered, "results.json"))
	must(t, err)
	if string(again) != string(whole) {
		t.Error("two shares put together are not the whole")
	}
	done(t, "divide", "plan", path, "--into", "3", "--out", filepath.Join(dir, "jobs"))
}
