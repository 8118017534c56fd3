package report

import (
	"regexp"
	"slices"
	"strings"
	"testing"

	"golang.org/x/text/unicode/norm"

	"thumbed/models/mixed"
	"thumbed/models/readings"
	"thumbed/models/wording"
)

var citation = regexp.MustCompile(`(?:\p{Lu}\p{Ll}+(?:, \p{Lu}\p{Ll}+)*(?: and (?:\p{Lu}\p{Ll}+|others))? (?:19|20)\d\d|ISO [\d-]+)`)

// TestMethodsCiteTheirWorks: every work that the methods name is in the list of
// works, and every work in the list is named.
func TestMethodsCiteTheirWorks(t *testing.T) {
	paragraphs, works := fixture(t).Methods()
	all := strings.Join(paragraphs, " ")
	named := citation.FindAllString(all, -1)
	if len(named) < 12 {
		t.Fatalf("only %d works are cited: %q", len(named), named)
	}
	for _, key := range named {
		if !slices.ContainsFunc(works, func(w Reference) bool { return w.Key == key }) {
			t.Errorf("%q is cited but not listed", key)
		}
	}
	for _, w := range works {
		if !slices.Contains(named, w.Key) {
			t.Errorf("%q is listed but not cited", w.Key)
		}
		if year := w.Key[strings.LastIndex(w.Key, " ")+1:]; !strings.HasPrefix(w.Key, "ISO") && !strings.Contains(w.Text(), year) {
			t.Errorf("%q does not bear the year of %q", w.Text(), w.Key)
		}
	}
	if !slices.IsSortedFunc(references, func(a, b Reference) int { return strings.Compare(norm.NFD.String(a.Key), norm.NFD.String(b.Key)) }) {
		t.Error("the works are not in order of name")
	}
}

// TestMethodsSayWhatWasDone: the paragraphs follow the study, not a form.
func TestMethodsSayWhatWasDone(t *testing.T) {
	r := fixture(t)
	has := func(want string) bool {
		paragraphs, _ := r.Methods()
		return strings.Contains(strings.Join(paragraphs, " "), want)
	}
	for _, want := range []string{"as an offset", "a fixed spot", "pictures together with each office later in the day", "restricted likelihood", "quires within books", "fitted in each book by itself", "between quires within books (the level)", "between books (the level and pictures, correlated)", "2 questions were answered", "1 of them stated before", "in 1" + wording.NoBreak + "book with pages of both kinds measured, a fixed effect of a picture"} {
		if !has(want) {
			t.Errorf("the methods do not say %q", want)
		}
	}
	for i := range r.Readings.Drift {
		r.Readings.Drift[i].Correction = readings.DriftNone
	}
	for i := range r.Readings.Wear {
		r.Readings.Wear[i].Spot = "darkest"
	}
	r.Models[0].Model.Estimate, r.Models[0].Model.Scale = "full", "log"
	r.Models[0].Model.Residual = mixed.Residual{KnownSD: "wear_se", Along: "position", Limits: "limit"}
	r.Answers, r.Pairs = nil, nil
	for _, want := range []string{"was not corrected", "the darkest of several spots", "full likelihood", "the logarithm of wear", "taken as known", "correlated (autoregression) along the position", "censored pages"} {
		if !has(want) {
			t.Errorf("after the study changed, the methods do not say %q", want)
		}
	}
	if has("questions were") || has("Holm 1979") {
		t.Error("the methods speak of questions that nobody asked")
	}
}
