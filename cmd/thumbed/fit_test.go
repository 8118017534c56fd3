package main

import (
	"bytes"
	"encoding/json"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

const reference = "../../testdata/reference/mixed"

const batches = `outcome = "Yield"
fixed = []
[[random]]
by = "Batch"
terms = ["intercept"]
`

// callFit runs thumbed fit on a model's text.
func callFit(t *testing.T, model string, args ...string) (code int, stdout, stderr string) {
	t.Helper()
	path := filepath.Join(t.TempDir(), "model.toml")
	if err := os.WriteFile(path, []byte(model), 0o600); err != nil {
		t.Fatal(err)
	}
	var out, failure bytes.Buffer
	code = execute(append([]string{"fit", path}, args...), &out, &failure)
	return code, out.String(), failure.String()
}

// TestFitJSON: one object with the keys that the design promises, the intervals of
// standard deviations, and no other.
func TestFitJSON(t *testing.T) {
	code, out, failure := callFit(t, batches, "--data", reference+"/Dyestuff.csv", "--json")
	if code != exitDone || failure != "" {
		t.Fatalf("exit %d, %s", code, failure)
	}
	var got map[string]json.RawMessage
	if err := json.Unmarshal([]byte(out), &got); err != nil {
		t.Fatal(err)
	}
	keys := slices.Sorted(maps.Keys(got))
	want := []string{"boundary", "converged", "criterion", "deviations", "estimate", "fixed", "loglik", "method", "n", "notes", "random", "residual", "seconds"}
	if !slices.Equal(keys, want) {
		t.Errorf("keys %v, promised %v", keys, want)
	}
	for key, start := range map[string]string{"boundary": "[]", "notes": "[]", "n": "30", "estimate": `"restricted"`, "converged": "true"} {
		if string(got[key]) != start {
			t.Errorf("%s is %s, expected %s", key, got[key], start)
		}
	}
	var random []map[string]any
	if err := json.Unmarshal(got["random"], &random); err != nil {
		t.Fatal(err)
	}
	if random[0]["by"] != "Batch" || random[0]["groups"] != 6.0 {
		t.Errorf("random %v", random)
	}
}

// TestFitBoundary: a variance at zero is in the list and explained.
func TestFitBoundary(t *testing.T) {
	code, out, _ := callFit(t, batches, "--data", reference+"/Dyestuff2.csv")
	if code != exitDone || !strings.Contains(out, "The variance of intercept by Batch is estimated as zero") {
		t.Errorf("exit %d:\n%s", code, out)
	}
}

// TestFitSaysNo: both files' problems at once, on standard error, with exit 1;
// a wrong command with exit 2.
func TestFitSaysNo(t *testing.T) {
	broken := filepath.Join(t.TempDir(), "table.csv")
	if err := os.WriteFile(broken, []byte("Batch,Yield\nA,1,2\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name, model string
		args        []string
		code        int
		want        []string
	}{
		{"both files broken", "outcome = \"Yield\"\nfixd = []\nfixed = []\n", []string{"--data", broken}, exitNo, []string{"did you mean fixed?", "table.csv, line 2"}},
		{"no such table", batches, []string{"--data", "nowhere.csv"}, exitNo, []string{"nowhere.csv"}},
		{"columns missing", batches, []string{"--data", reference + "/sleepstudy.csv"}, exitNo, []string{"\"Yield\"", "Reaction"}},
		{"no data", batches, nil, exitUsage, []string{"--data TABLE.csv"}},
		{"unknown option", batches, []string{"--dta", "x.csv"}, exitUsage, []string{"--dta"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			code, out, failure := callFit(t, c.model, c.args...)
			if code != c.code || out != "" {
				t.Errorf("exit %d, stdout %q", code, out)
			}
			for _, want := range c.want {
				if !strings.Contains(failure, want) {
					t.Errorf("message lacks %q:\n%s", want, failure)
				}
			}
		})
	}
}

// TestFitOfBoundsAlone: an effect that only bounds speak of is refused with the
// exit code of data that say no, and nothing on standard output.
func TestFitOfBoundsAlone(t *testing.T) {
	var b strings.Builder
	b.WriteString("picture,wear,limit\n")
	for i := range 30 {
		b.WriteString("no,0.2" + string(rune('0'+i%10)) + ",\n")
	}
	for range 6 {
		b.WriteString("yes,0.4,above\n")
	}
	data := filepath.Join(t.TempDir(), "wear.csv")
	if err := os.WriteFile(data, []byte(b.String()), 0o600); err != nil {
		t.Fatal(err)
	}
	model := "outcome = \"wear\"\nfixed = [\"picture\"]\n[levels]\npicture = [\"no\", \"yes\"]\n[residual]\nlimits = \"limit\"\n"
	for _, args := range [][]string{{"--data", data}, {"--data", data, "--json"}} {
		code, out, failure := callFit(t, model, args...)
		if code != exitNo || out != "" || !strings.Contains(failure, "column picture=yes: found \"all 6 rows are at or above their limit\"") {
			t.Errorf("exit %d; %q; %q", code, out, failure)
		}
	}
}

// TestFitInWords: [labels] of a model file are its words on the terminal.
func TestFitInWords(t *testing.T) {
	code, out, failure := callFit(t, "outcome = \"Reaction\"\nfixed = [\"Days\"]\n[labels]\nDays = \"each day without sleep\"\n", "--data", reference+"/sleepstudy.csv")
	if code != exitDone || !strings.Contains(out, "Each day without sleep") || strings.Contains(out, "Days") {
		t.Errorf("exit %d: %s%s", code, out, failure)
	}
}

// TestFitCompares: the key compare names another model file, from the folder of the
// model's own; sleepstudy with and without slopes that vary (lme4's REML likelihoods:
// 1743.628 and 1786.465).
func TestFitCompares(t *testing.T) {
	folder := t.TempDir()
	const head = "outcome = \"Reaction\"\nfixed = [\"Days\"]\n"
	const random = "[[random]]\nby = \"Subject\"\n"
	for name, text := range map[string]string{
		"slopes.toml":   head + "compare = \"constant.toml\"\n" + random + "terms = [\"intercept\", \"Days\"]\ncorrelated = true\n",
		"constant.toml": head + random + "terms = [\"intercept\"]\n",
		"lost.toml":     head + "compare = \"nowhere.toml\"\n" + random + "terms = [\"intercept\"]\n",
	} {
		if err := os.WriteFile(filepath.Join(folder, name), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	var out, failure bytes.Buffer
	if code := execute([]string{"fit", filepath.Join(folder, "slopes.toml"), "--data", reference + "/sleepstudy.csv", "--json"}, &out, &failure); code != exitDone {
		t.Fatalf("exit %d: %s", code, failure.String())
	}
	var got struct {
		Comparison struct {
			With      string
			Larger    bool
			Statistic float64
		}
	}
	if err := json.Unmarshal(out.Bytes(), &got); err != nil {
		t.Fatal(err)
	}
	if c := got.Comparison; c.With != "constant.toml" || !c.Larger || c.Statistic < 42.83 || c.Statistic > 42.845 {
		t.Errorf("comparison %+v", c)
	}
	if code := execute([]string{"fit", filepath.Join(folder, "lost.toml"), "--data", reference + "/sleepstudy.csv"}, &out, &failure); code != exitNo || !strings.Contains(failure.String(), "nowhere.toml") {
		t.Errorf("exit %d: %s", code, failure.String())
	}
}
