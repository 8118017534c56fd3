package study_test

import (
	"bytes"
	"math"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"thumbed/models/hypotheses"
	"thumbed/models/report"
	"thumbed/models/study"
)

// choiceOf finds the row of a question under a choice.
func choiceOf(t *testing.T, results *report.Results, words, choice string) report.RobustRow {
	t.Helper()
	for _, b := range results.Robustness {
		for _, row := range b.Rows {
			if b.Question.Words == words && row.Choice == choice {
				return row
			}
		}
	}
	t.Fatalf("“%s” was not tried %s", words, choice)
	return report.RobustRow{}
}

var once = sync.OnceValues(func() (*report.Results, error) {
	s, err := study.Open(committed)
	if err != nil {
		return nil, err
	}
	return s.Run(nil)
})

// demonstration is the results of the committed demonstration, computed once;
// tests only read them.
func demonstration(t *testing.T) *report.Results {
	t.Helper()
	results, err := once()
	must(t, err)
	return results
}

const drawn = "Do pictures attract handling?"

// TestEveryChoiceIsWhatAStudyOfItsOwnFinds holds choices against studies whose
// files make that choice themselves.
func TestEveryChoiceIsWhatAStudyOfItsOwnFinds(t *testing.T) {
	results := demonstration(t)
	agree := func(choice string, row report.RobustRow, own hypotheses.Answer) {
		if row.Effect == nil {
			t.Errorf("%s: %s", choice, row.Failed)
			return
		}
		// The same rows come in the same order, so that the search takes the same
		// steps; its tolerance is far below 1e-6.
		for _, pair := range [][2]float64{{row.Effect.Estimate, own.Effect.Estimate}, {row.Effect.SE, own.Effect.SE}, {row.Effect.DF, own.Effect.DF}, {row.P, own.P}} {
			if math.Abs(pair[0]-pair[1]) > 1e-6*math.Abs(pair[1]) {
				t.Errorf("%s: %v; a study of its own finds %v", choice, *row.Effect, own.Effect)
				break
			}
		}
	}
	agree(report.AsStated, choiceOf(t, results, drawn, report.AsStated), results.Answers[0])
	for _, c := range []struct {
		choice         string
		file, old, new string
	}{
		{"as area coverage", "study.toml", `outcome = "wear"`, `outcome = "coverage"`},
		{"with autoregression from page to page", "study.toml", "[model.residual]\n", "[model.residual]\nalong = \"position\"\nwithin = \"book\"\n"},
		{"without the book Tremele", "study.toml", "outcome = \"wear\"\n", "outcome = \"wear\"\nonly = { book = [\"Corvaes\", \"Delvaine\", \"Hendemaar\"] }\n"},
		{"without the first page of each text", "study.toml", "outcome = \"wear\"\nfixed   = [\"picture\", \"facing\", \"incipit\", \"hair\"]", "outcome = \"wear\"\nonly = { incipit = [\"no\"] }\nfixed = [\"picture\", \"facing\", \"hair\"]"},
		{"without the day 2026-03-12", "readings-2026-03.csv", "", ""},
	} {
		dir := copied(t, map[string]func([]byte) []byte{c.file: func(text []byte) []byte {
			if c.file == "study.toml" {
				if !bytes.Contains(text, []byte(c.old)) {
					t.Fatalf("%s: the study file holds no %q", c.choice, c.old)
				}
				text = bytes.Replace(text, []byte(c.old), []byte(c.new), 1)
				if strings.Contains(c.choice, "first page") {
					text = bytes.Replace(text, []byte("incipit = [\"no\", \"yes\"]\nhair "), []byte("hair "), 1)
				}
				return text
			}
			var kept [][]byte
			for _, line := range bytes.SplitAfter(text, []byte("\n")) {
				if !bytes.Contains(line, []byte(",2026-03-12,")) {
					kept = append(kept, line)
				}
			}
			return bytes.Join(kept, nil)
		}})
		path := filepath.Join(dir, study.FileName)
		text, err := os.ReadFile(path)
		must(t, err)
		must(t, os.WriteFile(path, ofModels(text, "pictures"), 0o644))
		row := choiceOf(t, results, drawn, c.choice)
		opened, err := study.Open(dir)
		must(t, err)
		alone, err := opened.Run(nil)
		must(t, err)
		agree(c.choice, row, alone.Answers[0])
	}
}

func TestOnlyChoicesThatTouchTheBooksAreTried(t *testing.T) {
	results := demonstration(t)
	for _, b := range results.Robustness {
		if b.Question.Model != "halves" {
			continue
		}
		for _, row := range b.Rows {
			if strings.Contains(row.Choice, "Tremele") || strings.Contains(row.Choice, "2026-03-11") {
				t.Errorf("of the Hendemaar hours it is tried: %s", row.Choice)
			}
			if row.Effect == nil && (row.Failed == "" || row.Choice == report.AsStated) {
				t.Errorf("%s has no answer and no word why: %q", row.Choice, row.Failed)
			}
		}
		if len(b.Rows) < 8 {
			t.Errorf("only %d choices were tried", len(b.Rows))
		}
	}
}

func TestWhatCannotBeTriedIsToldBeforeTheRun(t *testing.T) {
	for old, new := range map[string]string{`models = []`: `models = ["picturs"]`, "leaves = 2 ": "leaves = 0 "} {
		dir := copied(t, nil)
		edit(t, filepath.Join(dir, "study.toml"), old, new)
		if _, err := study.Open(dir); err == nil || !strings.Contains(err.Error(), "robustness") {
			t.Errorf("%s gives %v", new, err)
		}
	}
}
