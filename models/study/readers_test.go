package study_test

import (
	"bytes"
	"math"
	"strings"
	"testing"

	"thumbed/models/dropoff"
	"thumbed/models/hypotheses"
	"thumbed/models/study"
)

// comparing is the committed study with comparisons of readers, and no model.
func comparing(t *testing.T, compare string) string {
	return copied(t, map[string]func([]byte) []byte{study.FileName: func(text []byte) []byte {
		text = bytes.Replace(text, []byte(tried), []byte("models = []"), 1)
		head, _, _ := bytes.Cut(text, []byte("[[model]]"))
		return append(head, compare...)
	}})
}

// TestReadersSideBySide: without a word in the study file all pairs of few books
// are compared, their p adjusted together and with everything else that is found
// unasked, every book is walked through for
// habits, and the drop of the one book that has one is not told as shared.
func TestReadersSideBySide(t *testing.T) {
	results := resultsOf(t, comparing(t, ""))
	books := len(results.Books)
	if want := books * (books - 1) / 2; len(results.Pairs) != want {
		t.Fatalf("%d pairs of %d books", len(results.Pairs), books)
	}
	claims := 1 // pairs; of each book habits, ranking, pages that stand out; of each set of hours changes and the last office
	for _, b := range results.Books {
		claims += 3 + 2*len(b.Declines)
	}
	var p []float64
	for _, pair := range results.Pairs {
		if pair.Asked || pair.Difference == nil || pair.Together != len(results.Pairs) {
			t.Errorf("%+v", pair)
		}
		p = append(p, pair.P())
	}
	for k, want := range hypotheses.Holm(p) {
		if want = min(1, want*float64(claims)); math.Abs(results.Pairs[k].Adjusted-want) > 1e-12 {
			t.Errorf("pair %d: p %v is adjusted to %v, not %v", k, p[k], results.Pairs[k].Adjusted, want)
		}
	}
	if len(results.Shared) != 1 || results.Shared[0].Set != "of the Virgin" || len(results.Shared[0].Readers) != books {
		t.Fatalf("%+v", results.Shared)
	}
	have, told := results.Shared[0].Shared.Having()
	// The hours of one book of the demonstration scatter too much to tell.
	if have != 1 || told < books-1 || !strings.Contains(results.Shared[0].Shared.Sentence, "No drop-off is shared") {
		t.Errorf("%d of %d: %s", have, told, results.Shared[0].Shared.Sentence)
	}
	for _, b := range results.Books {
		if b.Habits == nil || b.Habits.Changes == nil || b.Habits.Changes.N != len(b.Habits.Pages) {
			t.Errorf("%s: %+v", b.Book.ID, b.Habits)
		}
	}
	// The reader of the first book stopped after Prime: its own last page there is
	// the last before a change of habit too.
	var changes []string
	for _, c := range results.Books[0].Habits.Changes.Changes {
		changes = append(changes, c.At)
	}
	if at := results.Books[0].Declines[0].Changes.Changes[0].At; !strings.Contains(strings.Join(changes, " "), at) {
		t.Errorf("habits change after %v, not after %s", changes, at)
	}
}

// TestNamedPairs: named pairs alone are compared: two books, and one book's two
// sets of hours.
func TestNamedPairs(t *testing.T) {
	results := resultsOf(t, comparing(t, `
[[compare]]
readers = ["Delvaine", "Corvaes"]
[[compare]]
readers = ["Corvaes", "Delvaine"]
set = "of the Virgin"
[[compare]]
readers = ["Corvaes"]
sets = ["of the Virgin", "of the Cross"]
`))
	if len(results.Pairs) != 2 {
		t.Fatalf("%+v", results.Pairs)
	}
	first := results.Pairs[0]
	if b := results.Books; b[first.One.Book].Book.ID != "Delvaine" || b[first.Other.Book].Book.ID != "Corvaes" || !first.Asked {
		t.Errorf("%+v", first)
	}
	one, other := results.DeclineBy(first.One), results.DeclineBy(first.Other)
	want, err := dropoff.Differ(one, other)
	must(t, err)
	if first.Difference.F != want.F || math.Abs(first.Adjusted-2*first.P()) > 1e-15 {
		t.Errorf("F %v, not %v; p %v adjusted to %v", first.Difference.F, want.F, first.P(), first.Adjusted)
	}
	if second := results.Pairs[1]; second.One.Book != second.Other.Book || second.One.Set == second.Other.Set || second.Difference == nil {
		t.Errorf("%+v", second)
	}
}

// TestComparisonsAreChecked: what is wrong with a comparison is told with its line
// and what to write.
func TestComparisonsAreChecked(t *testing.T) {
	for name, c := range map[string]struct{ compare, words string }{
		"no reader":     {"[[compare]]\nset = \"of the Virgin\"\n", "the ids of two books, or of one"},
		"three readers": {"[[compare]]\nreaders = [\"Corvaes\", \"Tremele\", \"Delvaine\"]\n", "the ids of two books, or of one"},
		"one twice":     {"[[compare]]\nreaders = [\"Corvaes\", \"Corvaes\"]\n", "two different books"},
		"one alone":     {"[[compare]]\nreaders = [\"Corvaes\"]\n", "two different sets of hours"},
		"sets of two":   {"[[compare]]\nreaders = [\"Corvaes\", \"Tremele\"]\nsets = [\"a\", \"b\"]\n", "one set of hours for both books"},
		"unknown book":  {"[[compare]]\nreaders = [\"Corvaes\", \"Tremeles\"]\n", `did you mean "Tremele"`},
		"unknown hours": {"[[compare]]\nreaders = [\"Corvaes\", \"Tremele\"]\nset = \"of the Vergin\"\n", "perhaps of the Virgin was meant"},
		"single":        {"[compare]\nreaders = [\"Corvaes\", \"Tremele\"]\n", "[[compare]]"},
		"misspelt":      {"[[compare]]\nreader = [\"Corvaes\", \"Tremele\"]\n", "perhaps readers was meant"},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := study.Open(comparing(t, c.compare))
			if err == nil || !strings.Contains(err.Error(), c.words) || !strings.Contains(err.Error(), "study.toml, line") {
				t.Errorf("%v", err)
			}
		})
	}
}
