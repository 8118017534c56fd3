package report

import (
	"strings"
	"testing"

	"thumbed/models/dropoff"
)

// TestSharedSentences: a drop is told as shared only where two books have it.
func TestSharedSentences(t *testing.T) {
	r := fixture(t)
	said := func(change func(*dropoff.Shared)) string {
		s := r.Shared[0]
		shared := *s.Shared
		shared.Books = append([]dropoff.BookDrop(nil), s.Shared.Books...)
		change(&shared)
		s.Shared = &shared
		return r.sharedSentence(s).Text
	}
	for name, c := range map[string]struct {
		change func(*dropoff.Shared)
		want   []string
	}{
		"both have it":    {func(*dropoff.Shared) {}, []string{"share a drop-off", "most likely after Sext (probability 0.96 there)", "by 62"}},
		"one has it":      {func(s *dropoff.Shared) { s.Books[1].Has = false }, []string{"share no drop-off", "fewer than two have it", "not in “The hours of Tomas Wřel”"}},
		"none has it":     {func(s *dropoff.Shared) { s.Books[0].Has, s.Books[1].Has = false, false }, []string{"share no drop-off", "clear in no book by itself"}},
		"it is not clear": {func(s *dropoff.Shared) { s.None = 0.3 }, []string{"do not settle", "probability 0.70"}},
	} {
		text := said(c.change)
		for _, want := range c.want {
			if !strings.Contains(text, want) {
				t.Errorf("%s: %q does not say %q", name, text, want)
			}
		}
	}
	if text := r.sharedSentence(r.Shared[1]).Text; !strings.Contains(text, "cannot be said") || !strings.Contains(text, "two books or more") {
		t.Errorf("%q", text)
	}
}

// TestPairSentences: named pairs are told one by one, others together, by their
// adjusted p.
func TestPairSentences(t *testing.T) {
	r := fixture(t)
	for i, want := range []string{"were not carried on alike through the Hours of the Virgin", "Nothing shows that readings of the Hours of the Virgin and the Hours of the Cross", "cannot be said. Two readers can be compared only"} {
		if text := r.pairSentence(r.Pairs[i]).Text; !strings.Contains(text, want) {
			t.Errorf("%q does not say %q", text, want)
		}
	}
	clear, open := r.Pairs[0], r.Pairs[1]
	for want, pairs := range map[string][]ReaderPair{
		"nothing shows that any two":                    {open, open},
		"none carried on alike":                         {clear, clear},
		"1 did not carry on alike":                      {clear, open},
		"of the others nothing shows that they differ":  {clear, open},
		"“The hours of Hester Quill” and “The hours of": {clear, open},
	} {
		if text := r.pairsSentence(pairs).Text; !strings.Contains(text, want) {
			t.Errorf("%q does not say %q", text, want)
		}
	}
}

// TestHabitSentences: changes with what begins near them; changes that are not
// borne out as places to look at; none; and a refusal.
func TestHabitSentences(t *testing.T) {
	r := fixture(t)
	b := r.Books[0]
	for _, want := range []string{"a different habit begins after f.", "perhaps with “Terce”", "Of 4 changes 3 may lie at the beginning of a section"} {
		if text := habitSentence("it", b).Text; !strings.Contains(text, want) {
			t.Errorf("%q does not say %q", text, want)
		}
	}
	h := *b.Habits
	changes := *h.Changes
	h.Changes, b.Habits = &changes, &h
	changes.Tentative, changes.Compared = true, &dropoff.Comparison{Sentence: "Compared with gradual changes, no abrupt one is claimed."}
	if text := habitSentence("it", b).Text; !strings.Contains(text, "may begin after") || !strings.Contains(text, "no abrupt one is claimed") {
		t.Errorf("%q", text)
	}
	changes.Changes = nil
	if text := habitSentence("it", b).Text; !strings.Contains(text, "no place is proposed") {
		t.Errorf("%q", text)
	}
	if text := habitSentence("it", r.Books[1]).Text; !strings.Contains(text, "cannot be said. 10 pages were measured") {
		t.Errorf("%q", text)
	}
}

// TestCarriedBy finds a reader's shares, and nothing where there are none.
func TestCarriedBy(t *testing.T) {
	r := fixture(t)
	if c := r.CarriedBy(Reader{0, "of the Cross"}); c == nil || c.Set != "of the Cross" {
		t.Errorf("%+v", c)
	}
	if c := r.CarriedBy(Reader{2, "of the Virgin"}); c != nil {
		t.Errorf("%+v", c)
	}
}
