package dropoff_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"thumbed/models/codex"
	"thumbed/models/dropoff"
)

// known gives the book a break before a page and a stretch.
func (m made) known(t *testing.T, before string, stretch ...string) {
	t.Helper()
	page := func(label string) int {
		parsed, err := codex.ParsePage(label)
		if err != nil {
			t.Fatal(err)
		}
		at, ok := m.books[0].Find(parsed)
		if !ok {
			t.Fatalf("no page %s", label)
		}
		return at
	}
	known := &m.books[0].Known
	known.Breaks = []codex.Break{{Page: page(before), Reason: "a second scribe begins"}}
	for k := 0; k+1 < len(stretch); k += 2 {
		known.Unbroken = append(known.Unbroken, codex.Stretch{From: page(stretch[k]), To: page(stretch[k+1]), Reason: "one prayer"})
	}
}

// TestDeclineOfAtABreak: a drop after Prime that was known as a change of scribe is
// told as that and not found; the shares stay as they are, and say so.
func TestDeclineOfAtABreak(t *testing.T) {
	plain := makeBook(t, day, 7)
	without := plain.carried(t)
	m := made{plain.books, plain.wear}
	m.known(t, "26r", "11r", "15v", "1r", "6v")
	c := m.carried(t)
	if slices.Contains(afters(c.Changes), 30) {
		t.Errorf("changes after rows %v, the known break's among them", afters(c.Changes))
	}
	if len(c.Changes.Known) != 1 {
		t.Fatalf("known: %+v", c.Changes.Known)
	}
	k := c.Changes.Known[0]
	if k.After != 30 || k.Before != "26r" || k.Reason != "a second scribe begins" || k.SizeLow > -0.149 || k.SizeHigh < -0.149 || k.SizeHigh > -0.1 {
		t.Errorf("known: %+v, of a level that falls by 0.149: the mean of the offices’ wear before Terce is 0.293, from there on 0.144", k)
	}
	if want := (dropoff.UnbrokenRows{From: 1, To: 10, Reason: "one prayer"}); len(c.Changes.Unbroken) != 1 || c.Changes.Unbroken[0] != want {
		t.Errorf("stretches: %+v", c.Changes.Unbroken)
	}
	if c.Share != without.Share || c.Low != without.Low {
		t.Errorf("shares %v and %v", c.Share, without.Share)
	}
	if len(c.Breaks) != 1 || c.Breaks[0] != "before f. 26r (a second scribe begins), between Prime and Terce" {
		t.Errorf("among the offices: %q", c.Breaks)
	}
	if !strings.Contains(strings.Join(c.Notes, " "), "may be its doing, not the reader’s") {
		t.Errorf("notes %q", c.Notes)
	}
	m.known(t, "2r") // before all hours
	if c := m.carried(t); len(c.Changes.Known) != 0 || len(c.Breaks) != 0 {
		t.Errorf("a break outside the hours: %+v, %q", c.Changes.Known, c.Breaks)
	}
	m.known(t, "30v")
	if c := m.carried(t); len(c.Breaks) != 1 || !strings.HasSuffix(c.Breaks[0], "within Sext") {
		t.Errorf("a break within an office: %q", c.Breaks)
	}
}

// TestARebindingIsNoQuire: a known break that lies between two quires, within an
// office, is not taken off with what quires differ by. Of 12 invented books whose
// wear falls by 0.06 there the mean size has a standard error of some 0.004.
func TestARebindingIsNoQuire(t *testing.T) {
	const fall, books = 0.06, 12
	level := slices.Clone(day)
	for i := range level {
		level[i].wear = 0.3
	}
	sum := 0.0
	for seed := range uint64(books) {
		m := makeBook(t, level, seed)
		m.known(t, "25r")
		book := m.books[0]
		for i := range m.wear {
			if m.wear[i].Page >= book.Known.Breaks[0].Page {
				m.wear[i].Density -= fall
			}
		}
		disturb(book, m.wear, 0.01, seed)
		c := m.carried(t)
		if len(c.Changes.Known) != 1 {
			t.Fatalf("known: %+v", c.Changes.Known)
		}
		sum += c.Changes.Known[0].Size
	}
	if mean := sum / books; math.Abs(mean+fall) > 0.012 {
		t.Errorf("the break has a size of %.4f on average; its truth is %.2f", mean, -fall)
	}
}

// TestHabitsAtABreak: along the whole book as along the hours.
func TestHabitsAtABreak(t *testing.T) {
	m := makeBook(t, day, 5)
	m.known(t, "26r", "12r", "13v")
	found, err := dropoff.HabitsOf(m.books, 0, m.wear)
	if err != nil {
		t.Fatal(err)
	}
	if len(found.Changes.Known) != 1 || found.Changes.Known[0].After != 30 || slices.Contains(afters(found.Changes), 30) {
		t.Errorf("known %+v, changes after rows %v", found.Changes.Known, afters(found.Changes))
	}
	if want := (dropoff.UnbrokenRows{From: 3, To: 6, Reason: "one prayer"}); len(found.Changes.Unbroken) != 1 || found.Changes.Unbroken[0] != want {
		t.Errorf("stretches: %+v", found.Changes.Unbroken)
	}
}
