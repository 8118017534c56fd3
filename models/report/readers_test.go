package report

import (
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/plot/vg/draw"

	"thumbed/models/dropoff"
	"thumbed/models/readings"
	"thumbed/models/wording"
)

// TestSharedSentences: a drop is told as shared only where two books have it.
func TestSharedSentences(t *testing.T) {
	r := fixture(t)
	said := func(change func(*dropoff.SharedChange)) string {
		s := r.Shared[0]
		shared := *s.Shared
		shared.Books = append([]dropoff.BookDrop(nil), s.Shared.Books...)
		change(&shared)
		s.Shared = &shared
		return r.sharedSentence(s).Text
	}
	for name, c := range map[string]struct {
		change func(*dropoff.SharedChange)
		want   []string
	}{
		"both have it":    {func(*dropoff.SharedChange) {}, []string{"share a drop-off", "most likely after Sext (probability 0.96 there)", "worn less in “The hours of Hester Quill” and"}},
		"one has it":      {func(s *dropoff.SharedChange) { s.Books[1].Has = false }, []string{"share no drop-off", "fewer than two have it", "not in “The hours of Tomas Wřel”"}},
		"none has it":     {func(s *dropoff.SharedChange) { s.Books[0].Has, s.Books[1].Has = false, false }, []string{"share no drop-off", "clear in no book by itself"}},
		"it is not clear": {func(s *dropoff.SharedChange) { s.None = 0.3 }, []string{"do not settle", "probability 0.70"}},
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
	for i, want := range []string{"differ in their decline through the Hours of the Virgin", "Readings of the Hours of the Virgin and the Hours of the Cross are not shown to differ", "cannot be said. Two readers can be compared only"} {
		if text := r.pairSentence(r.Pairs[i]).Text; !strings.Contains(text, want) {
			t.Errorf("%q does not say %q", text, want)
		}
	}
	clear, open := r.Pairs[0], r.Pairs[1]
	for want, pairs := range map[string][]ReaderPair{
		"no two are shown to differ":                    {open, open},
		"all differ in their decline":                   {clear, clear},
		"one differs in its decline":                    {clear, open},
		"The others are open":                           {clear, open},
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
	for _, want := range []string{"the level of wear changes after f.", "perhaps with “Terce”", "Of 4 changes 3 may lie at the beginning of a section"} {
		if text := habitSentence("it", b).Text; !strings.Contains(text, want) {
			t.Errorf("%q does not say %q", text, want)
		}
	}
	h := *b.Habits
	changes := *h.Changes
	h.Changes, b.Habits = &changes, &h
	changes.Changes = slices.Clone(changes.Changes)
	changes.Changes[0].Probability = 0.63
	if text := habitSentence("it", b).Text; !strings.Contains(text, "changes perhaps after f.") {
		t.Errorf("%q", text)
	}
	changes.Changes, changes.Doubtful = nil, changes.Changes
	changes.Tentative, changes.Compared = true, &dropoff.Comparison{Sentence: "Compared with gradual changes, no abrupt one is claimed."}
	if text := habitSentence("it", b).Text; !strings.Contains(text, "no change of level is claimed") || !strings.Contains(text, "no abrupt one is claimed") {
		t.Errorf("%q", text)
	}
	changes.Doubtful, changes.Tentative = nil, false
	if text := habitSentence("it", b).Text; !strings.Contains(text, "no place is proposed") {
		t.Errorf("%q", text)
	}
	if text := habitSentence("it", r.Books[1]).Text; !strings.Contains(text, "cannot be said. 10 pages were measured") {
		t.Errorf("%q", text)
	}
}

// TestPagesLeftOut: a page that the series along a book leaves out is drawn, and the
// caption says which it is and what was measured on it; the sentence and the
// caption count the pages that were compared.
func TestPagesLeftOut(t *testing.T) {
	r := fixture(t)
	h := r.Books[0].Habits
	last := len(h.Pages) - 1
	for i, w := range r.Readings.Wear {
		if w.Book == 0 && w.Page == h.Pages[last] {
			r.Readings.Wear[i].Density, r.Readings.Wear[i].Limit = 5, readings.Above
		}
	}
	page := folio(r.Books[0].Book, h.Pages[last])
	chart := func() sketch { return habitChart(r.names(r.Books[0].Book), r.Books[0], r.wearOf(0)) }
	if f := chart().Figure; strings.Contains(f.Caption, "Hollow") {
		t.Errorf("nothing is left out: %s", f.Caption)
	}
	h.Pages, h.Series.Values, h.Series.SE = h.Pages[:last], h.Series.Values[:last], h.Series.SE[:last]
	h.Changes.N, h.Changes.Levels[len(h.Changes.Levels)-1].To = last, last
	f, pages := chart().Figure, wording.Count(last, "page", "pages")
	if !strings.HasPrefix(f.Caption, pages+" of ") || !strings.Contains(f.Caption, "left out of the series: "+page+" (at least 5.000), as it was measured") || !strings.Contains(f.Alt, "Along "+pages+" of ") {
		t.Errorf("%s\n%s", f.Caption, f.Alt)
	}
	d := newHabitDrawing(r.Books[0], r.wearOf(0))
	if len(d.apart) != 1 || d.apart[0].Density != 5 {
		t.Errorf("%+v", d.apart)
	}
}

// TestCrowdedChanges: of changes two pages apart most are named, and no name meets
// another or leaves the figure.
func TestCrowdedChanges(t *testing.T) {
	r := fixture(t)
	changes := r.Books[0].Habits.Changes
	changes.Changes, changes.Levels = nil, changes.Levels[:1]
	crowd := []int{20, 22, 60, 62, 64}
	for _, after := range crowd {
		changes.Changes = append(changes.Changes, dropoff.Change{After: after, At: changes.Labels[after-1], Low: after - 1, High: after + 1, Probability: 0.97})
	}
	s := habitChart(r.names(r.Books[0].Book), r.Books[0], r.wearOf(0))
	checkTexts(t, s)
	c := newTextCanvas(s.Width, s.Height)
	s.paint(draw.NewCanvas(c, s.Width, s.Height))
	named := 0
	for _, after := range crowd {
		for _, placed := range c.texts {
			if placed.text == changes.Labels[after-1] {
				named++
				break
			}
		}
	}
	if named < 4 {
		t.Errorf("of %d changes %d are named", len(crowd), named)
	}
}

// TestCarriedBy finds a reader's shares, and nothing where there are none.
func TestCarriedBy(t *testing.T) {
	r := fixture(t)
	if c := r.DeclineBy(Reader{0, "of the Cross"}); c == nil || c.Set != "of the Cross" {
		t.Errorf("%+v", c)
	}
	if c := r.DeclineBy(Reader{2, "of the Virgin"}); c != nil {
		t.Errorf("%+v", c)
	}
}
