package study_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"thumbed/models/report"
	"thumbed/models/study"
)

// Days before and after those of the demonstration's log.
var (
	beforeTheLog = time.Date(2026, 2, 1, 10, 0, 0, 0, time.UTC)
	afterTheLog  = time.Date(2026, 4, 1, 10, 0, 0, 0, time.UTC)
)

// sealedBefore is two books of the demonstration, sealed before any reading was there.
func sealedBefore(t *testing.T, day time.Time) string {
	t.Helper()
	dir := halved(t, copied(t, nil))
	sealUnread(t, dir, day)
	return dir
}

// sealUnread seals a study as if its readings were not there yet.
func sealUnread(t *testing.T, dir string, day time.Time) {
	t.Helper()
	logs := []string{"readings-2026-03.csv", "readings-2026-05.csv", "traces.csv"}
	kept := map[string][]byte{}
	for _, name := range logs {
		text, err := os.ReadFile(filepath.Join(dir, name))
		must(t, err)
		kept[name] = text
		must(t, os.Remove(filepath.Join(dir, name)))
	}
	path, sum, err := study.WriteSeal(dir, day)
	must(t, err)
	if filepath.Base(path) != study.SealName || len(sum) != 64 {
		t.Errorf("sealing gives %q, %q", path, sum)
	}
	for _, name := range logs {
		must(t, os.WriteFile(filepath.Join(dir, name), kept[name], 0o644))
	}
}

func resultsOf(t *testing.T, dir string) *report.Results {
	t.Helper()
	_, results := run(t, dir)
	return results
}

func run(t *testing.T, dir string) (*study.Study, *report.Results) {
	t.Helper()
	s, err := study.Open(dir)
	must(t, err)
	results, err := s.Run(nil)
	must(t, err)
	return s, results
}

// foreseen counts the answers that were, and gives the reasons of the others.
func foreseen(results *report.Results) (yes int, why []string) {
	for _, a := range results.Answers {
		switch {
		case a.Preregistration == nil:
			why = append(why, "no seal")
		case a.Preregistration.Preregistered:
			yes++
		default:
			why = append(why, a.Preregistration.Why)
		}
	}
	return yes, why
}

func TestWhatWasSealedBeforeTheReadingsIsForeseen(t *testing.T) {
	dir := sealedBefore(t, beforeTheLog)
	// Comments, layout and what a model is for may change; one question does, and
	// one model.
	edit(t, filepath.Join(dir, "study.toml"), "# A study in one file", "# A study, in one file")
	edit(t, filepath.Join(dir, "study.toml"), `about   = "What a picture adds`, `about = "Whatever a picture adds`)
	edit(t, filepath.Join(dir, "study.toml"), "smallest  = 0.03", "smallest  = 0.04")
	edit(t, filepath.Join(dir, "study.toml"), `fixed   = ["office_order", "picture", "facing"]`, `fixed   = ["office_order", "picture"]`)
	results := resultsOf(t, dir)
	yes, why := foreseen(results)
	all := strings.Join(why, "; ")
	if yes != 11 || len(why) != 3 || strings.Count(all, "model was changed") != 2 || strings.Count(all, "not among those sealed, or was changed") != 1 {
		t.Errorf("%d answers are foreseen, the others not since %q", yes, why)
	}
	var page strings.Builder
	must(t, results.Page(&page))
	for _, want := range []string{"foreseen: sealed on 2026-02-01, before the readings, and unchanged since", "not foreseen by the seal of 2026-02-01: its model was changed since", "11 of 14"} {
		if !strings.Contains(strings.ReplaceAll(page.String(), "\u202f", " "), want) {
			t.Errorf("the page does not say %q", want)
		}
	}
}

func TestWhatWasSeenIsNotForeseen(t *testing.T) {
	if yes, why := foreseen(resultsOf(t, sealedBefore(t, afterTheLog))); yes != 0 || !strings.Contains(why[0], "taken before the day of the seal") {
		t.Errorf("readings older than the seal leave %d answers foreseen; %q", yes, why)
	}
	dir := halved(t, copied(t, nil))
	_, _, err := study.WriteSeal(dir, beforeTheLog)
	must(t, err)
	if yes, why := foreseen(resultsOf(t, dir)); yes != 0 || !strings.Contains(why[0], "in the log already") {
		t.Errorf("readings there at the sealing leave %d answers foreseen; %q", yes, why)
	}
	if yes, why := foreseen(demonstration(t)); yes != 0 || why[0] != "no seal" {
		t.Errorf("without a seal %d answers are foreseen; %q", yes, why)
	}
}

// TestABreakAddedAfterTheSealIsTold wants a free choice that bears on drop-offs to
// be seen, and one that was sealed not to be.
func TestABreakAddedAfterTheSealIsTold(t *testing.T) {
	addBreak := func(dir string) {
		edit(t, filepath.Join(dir, "study.toml"), "\n[measuring]", "\n[[break]]\nbook = \"Corvaes\"\nbefore = \"25r\"\nreason = \"a second scribe begins\"\n\n[measuring]")
	}
	told := func(dir string) bool {
		return strings.Contains(strings.Join(resultsOf(t, dir).Notes, " "), "is not what was sealed on 2026-02-01")
	}
	after := sealedBefore(t, beforeTheLog)
	addBreak(after)
	if !told(after) {
		t.Error("a break added after the seal is not told")
	}
	before := halved(t, copied(t, nil))
	addBreak(before)
	sealUnread(t, before, beforeTheLog)
	if told(before) {
		t.Error("a break that was sealed is told as changed")
	}
}

func TestASealIsMadeOnce(t *testing.T) {
	dir := copied(t, nil)
	path, _, err := study.WriteSeal(dir, beforeTheLog)
	must(t, err)
	first, err := os.ReadFile(path)
	must(t, err)
	if _, _, err := study.WriteSeal(dir, afterTheLog); err == nil || !strings.Contains(err.Error(), "made once") {
		t.Errorf("a second seal gives %v", err)
	}
	again, err := os.ReadFile(path)
	must(t, err)
	if string(first) != string(again) {
		t.Error("a refused seal changed the first")
	}
	must(t, os.WriteFile(path, []byte("{}"), 0o644))
	if _, err := study.Open(dir); err == nil || !strings.Contains(err.Error(), "not a seal") {
		t.Errorf("a broken seal gives %v", err)
	}
}

func TestASealNeedsAStudyInOrder(t *testing.T) {
	dir := copied(t, nil)
	edit(t, filepath.Join(dir, "study.toml"), `"picture=yes" = 1`, `"pciture=yes" = 1`)
	if _, _, err := study.WriteSeal(dir, beforeTheLog); err == nil || !strings.Contains(err.Error(), "pciture") {
		t.Errorf("a question on no column gives %v", err)
	}
	if _, _, err := study.WriteSeal(t.TempDir(), beforeTheLog); err == nil {
		t.Error("a folder without a study is sealed")
	}
}

// TestTheSealIsAnInput wants a rerun to notice a seal that was changed.
func TestTheSealIsAnInput(t *testing.T) {
	dir := sealedBefore(t, beforeTheLog)
	out := filepath.Join(dir, "results")
	runTo(t, dir, out)
	edit(t, filepath.Join(dir, study.SealName), "2026-02-01", "2026-01-01")
	r, err := study.Repeat(out, "", nil)
	must(t, err)
	if len(r.Inputs) != 1 || r.Inputs[0].Path != study.SealName || !r.Comparison.Agree() {
		t.Errorf("a changed seal gives %+v", r.Inputs)
	}
}
