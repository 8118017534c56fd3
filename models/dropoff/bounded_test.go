package dropoff_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"thumbed/models/codex"
	"thumbed/models/dropoff"
	"thumbed/models/readings"
)

// at gives the book's wear with the pages that which picks set to a limit.
func (m made) at(limit readings.Limit, density float64, which func(page int) bool) made {
	out := made{m.books, slices.Clone(m.wear)}
	for i, w := range out.wear {
		if which(w.Page) {
			out.wear[i].Density, out.wear[i].Limit = density, limit
		}
	}
	return out
}

// within tells whether all that a result says of wear are densities.
func within(t *testing.T, c *dropoff.Decline) {
	t.Helper()
	for _, o := range c.Offices {
		for _, v := range []float64{o.Wear, o.SE, o.Share, o.Low, o.High} {
			if !(math.Abs(v) < 5) {
				t.Errorf("%+v", o)
			}
		}
	}
	for i, v := range c.Series.Values {
		if !(math.Abs(v) < 2) {
			t.Errorf("%s stands at %v in the series", c.Series.Labels[i], v)
		}
	}
}

// TestPicturesAtCeiling: where every page with a picture is at the instrument's
// ceiling the effect of pictures has no estimate; it stays in, with a note, and
// the offices are compared all the same.
func TestPicturesAtCeiling(t *testing.T) {
	m := makeBook(t, day, 2)
	c := m.at(readings.Above, 0.45, func(page int) bool { return m.books[0].Pages[page].Picture }).carried(t)
	if c.Refused != "" || len(c.Offices) != len(day) {
		t.Fatalf("refused: %q, %d offices", c.Refused, len(c.Offices))
	}
	within(t, c)
	if notes := strings.Join(c.Notes, "\n"); !strings.Contains(notes, "Only pages at the instrument's floor or ceiling tell the effect of pictures") {
		t.Errorf("notes %q", notes)
	}
	if slices.Contains(c.Adjusted, "pictures") {
		t.Errorf("removed first: %v", c.Adjusted)
	}
}

// TestOfficeAtFloor: an office all of whose pages are at the floor is left out,
// and what can be said of it told; with one office left nothing is compared.
func TestOfficeAtFloor(t *testing.T) {
	m := makeBook(t, day, 2)
	of := func(offices ...codex.Office) func(page int) bool {
		return func(page int) bool { return slices.Contains(offices, m.books[0].Section(page).Office) }
	}
	c := m.at(readings.Below, 0.12, of(codex.Compline)).carried(t)
	if c.Refused != "" || len(c.Offices) != len(day)-1 || slices.Contains(c.Offs, codex.Compline) {
		t.Fatalf("refused: %q, offices %+v", c.Refused, c.Offices)
	}
	within(t, c)
	notes := strings.Join(c.Notes, "\n")
	for _, want := range []string{"Of Compline no page was measured within the instrument's limits (6 pages at its floor, at most 0.12)", "the last is Vespers"} {
		if !strings.Contains(notes, want) {
			t.Errorf("%q is not in %q", want, notes)
		}
	}
	two := makeBook(t, []office{day[0], {"Lauds", 4, 0.1}}, 2)
	refused := two.at(readings.Below, 0.12, func(page int) bool { return two.books[0].Section(page).Office == codex.Lauds }).carried(t)
	if !strings.Contains(refused.Refused, "Only of Matins was a page measured within the instrument's limits") {
		t.Errorf("refused with %q", refused.Refused)
	}
}

// TestSpentPages: the only page with a picture, and the only page facing one,
// tell those effects and nothing else. Once these are subtracted, such a page's
// value is settled by the others, so that it does not change the series whatever
// it is, and would count them twice: it is left out by name.
func TestSpentPages(t *testing.T) {
	m := makeBook(t, day, 2)
	only := -1
	for i, w := range m.wear {
		page := &m.books[0].Pages[w.Page]
		if page.Picture && m.books[0].Section(w.Page).Office == codex.Prime && only < 0 {
			only = i
			continue
		}
		page.Picture = false
	}
	if only < 0 {
		t.Fatal("no picture in Prime")
	}
	whole := m.carried(t)
	label := m.books[0].Pages[m.wear[only].Page].Label.String()
	note := ""
	for _, n := range whole.Notes {
		if strings.Contains(n, "nothing of") {
			note = n
		}
	}
	if !strings.Contains(note, label) || slices.Contains(whole.Series.Labels, label) {
		t.Errorf("note %q; %s in the series %v", note, label, slices.Contains(whole.Series.Labels, label))
	}
	if len(whole.Series.Values) != len(whole.Pages) || len(whole.Pages) != len(whole.Offs) {
		t.Errorf("%d values, %d pages, %d offices", len(whole.Series.Values), len(whole.Pages), len(whole.Offs))
	}
	left := len(m.wear) - len(whole.Pages)
	if left < 1 || left > 2 {
		t.Errorf("%d pages left out", left)
	}
	m.wear[only].Density += 0.3
	moved := m.carried(t)
	for i, v := range moved.Series.Values {
		if d := math.Abs(v - whole.Series.Values[i]); d > 1e-4 { // the variances settle anew
			t.Errorf("%s moves by %g with the page left out", moved.Series.Labels[i], d)
		}
	}
}

// TestRefusedForFewDegrees: where the first office is clearly worn, but a handful
// of very unlike quires leave its standard error uncertain, the refusal says that
// and not that the office is hardly worn.
func TestRefusedForFewDegrees(t *testing.T) {
	book := bookOf(t, t.TempDir(), day)
	refusal := func(seed uint64) (words string, errors float64) {
		wear := makeWear(book, 0, day, seed)
		disturb(book, wear, 0.12, seed)
		c := made{[]*codex.Book{book}, wear}.carried(t)
		return c.Refused, c.Offices[0].Wear / c.Offices[0].SE
	}
	// Seeds at which Matins is 2.6 and 1.4 standard errors above nothing.
	for seed, want := range map[uint64]string{21: "degrees of freedom", 10: "hardly worn"} {
		words, errors := refusal(seed)
		if !strings.Contains(words, want) || (want == "hardly worn") != (errors < 1.96) {
			t.Errorf("%.1f standard errors above nothing: refused with %q", errors, words)
		}
	}
}
