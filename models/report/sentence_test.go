package report

import (
	"math"
	"strings"
	"testing"
	"unicode"
	"unicode/utf8"

	"thumbed/models/codex"
	"thumbed/models/dropoff"
	"thumbed/models/profile"
	"thumbed/models/wording"
)

// TestSentencesAreWhole: each sentence starts with a capital, ends as one, and
// shows no value that is none.
func TestSentencesAreWhole(t *testing.T) {
	for _, s := range fixture(t).Sentences() {
		first, _ := utf8.DecodeRuneInString(s.Text)
		if !unicode.IsUpper(first) && !unicode.IsDigit(first) {
			t.Errorf("starts small: %q", s.Text)
		}
		if !strings.ContainsAny(s.Text[len(s.Text)-1:], ".?!") {
			t.Errorf("has no end: %q", s.Text)
		}
		for _, bad := range []string{"NaN", "Inf", "%!", "  ", "..", " ,", "<nil>"} {
			if strings.Contains(s.Text, bad) {
				t.Errorf("%q holds %q", s.Text, bad)
			}
		}
		if strings.Contains(s.Text, " %") {
			t.Errorf("a per-cent sign can be parted from its number in %q", s.Text)
		}
	}
}

// TestSentencesInOrder: the scholar's questions come first, then each book has what
// was read, its pictures and its drop-offs in that order; what is the referee's
// comes after all else, in the same order, with how sure it is last.
func TestSentencesInOrder(t *testing.T) {
	order := map[Topic]int{Read: 1, Pictures: 2, Stopped: 3, Sure: 4}
	last := map[string]int{}
	asking, folded := true, false
	for _, s := range fixture(t).Sentences() {
		if s.Topic == Asked {
			if !asking {
				t.Errorf("a question comes late: %q", s.Text)
			}
			continue
		}
		asking = false
		if s.Aside && !folded {
			folded, last = true, map[string]int{}
		}
		if folded && !s.Aside {
			t.Errorf("stands after what is the referee's: %q", s.Text)
		}
		if order[s.Topic] < last[s.Book] {
			t.Errorf("out of order in %q: %q", s.Book, s.Text)
		}
		last[s.Book] = order[s.Topic]
	}
	for _, id := range []string{"MW1", "MW2"} {
		if last[id] == 0 {
			t.Errorf("nothing is said of %s", id)
		}
	}
}

// TestSentencesTellTheirNumbers: the numbers that a sentence carries stand in
// its words, to the digits that it shows, with their intervals.
func TestSentencesTellTheirNumbers(t *testing.T) {
	checked := 0
	for _, s := range fixture(t).Sentences() {
		for _, n := range s.Numbers {
			var want string
			switch {
			case s.Topic == Asked || strings.HasPrefix(n.Name, "level"):
				continue // the question's words are its own room's; levels are told without intervals
			case n.Unit == "density" && !math.IsNaN(n.Low):
				want = wording.Interval(n.Low, n.High, wording.DensityDecimals)
			case n.Unit == "share" && !math.IsNaN(n.Low):
				want = wording.PercentEstimate(n.Value, n.Low, n.High)
			case n.Unit == "probability":
				want = wording.Probability(n.Value)
			default:
				continue
			}
			if checked++; !strings.Contains(s.Text, want) {
				t.Errorf("%q does not tell %s, %s", s.Text, n.Name, want)
			}
		}
	}
	if checked < 20 {
		t.Errorf("only %d numbers were looked at", checked)
	}
}

func TestSentencesOfSpecialCases(t *testing.T) {
	r := fixture(t)
	book := r.Books[0]
	area := func(section int, low, high float64) profile.Area {
		return profile.Area{Section: section, Pages: 4, Measured: 4, PerPage: (low + high) / 2, PerPageSE: (high - low) / 4, DF: 60, PerPageLow: low, PerPageHigh: high}
	}
	with := func(areas ...profile.Area) BookResult {
		return BookResult{Book: book.Book, Profile: &profile.Profile{Areas: areas, Tested: 40, Rate: 0.05}}
	}
	stained := with(area(0, 0.1, 0.2), area(1, 0.3, 0.4))
	for _, page := range book.Book.Sections[1].Pages {
		if !book.Book.Pages[page].Picture {
			stained.Profile.Standouts = []profile.Standout{{Page: page}}
		}
	}
	changed := func(levels []dropoff.Level, low, high, share float64) *dropoff.Decline {
		c := &dropoff.Decline{Set: "of the Virgin", Share: share, Low: low, High: high, Less: high < 1, More: low > 1,
			Offices: []dropoff.OfficeShare{{Office: codex.Matins}, {Office: codex.Compline}},
			Series:  dropoff.Series{Labels: []string{"1r", "1v", "2r", "2v"}},
			Offs:    []codex.Office{codex.Matins, codex.Matins, codex.Compline, codex.Compline}}
		c.Changes = &dropoff.Changes{N: 4, Levels: levels}
		if len(levels) == 2 {
			c.Changes.Changes = []dropoff.Change{{After: 2, At: "1v", Low: 1, High: 2, Probability: 0.96}}
		}
		return c
	}
	rising := []dropoff.Level{{From: 1, To: 2, Mean: 0.1, SE: 0.01}, {From: 3, To: 4, Mean: 0.2, SE: 0.01}}
	for name, c := range map[string]struct {
		got  string
		want []string
	}{
		"no section":       {readSentence("B", with()).Text, []string{"no page of a section was measured"}},
		"one section":      {readSentence("B", with(area(1, 0.1, 0.2))).Text, []string{"one section can be ranked", "0.150 (95\u202f% interval 0.100 to 0.200)"}},
		"a stain":          {readSentence("B", stained).Text, []string{"The first counts f.", "stands out without a picture"}},
		"two apart":        {readSentence("B", with(area(0, 0.1, 0.2), area(1, 0.3, 0.4))).Text, []string{"the text most worn, its pictures included, is Matins", "the least worn is Calendar", "the first is more worn than the other"}},
		"two overlapping":  {readSentence("B", with(area(0, 0.1, 0.35), area(1, 0.2, 0.4))).Text, []string{"not distinguishable", "stays open"}},
		"interval missing": {readSentence("B", with(area(0, 0.1, 0.2), area(1, math.NaN(), math.NaN()))).Text, []string{"one section can be ranked", "Too few pages were measured to rank “Matins (Hours of the Virgin)”."}},
		"unlisted":         {readSentence("B", BookResult{Book: &codex.Book{}, Profile: &profile.Profile{}}).Text, []string{"cannot be ranked, since the table of sections names none"}},
		"none tested":      {pictureSentence("B", BookResult{Book: book.Book, Profile: &profile.Profile{}}).Text, []string{"No page of B could be tested"}},
		"no standout":      {pictureSentence("B", with()).Text, []string{"none stands above", "(false-discovery rate 5"}},
		"rise":             {stopSentence("B", changed(rising, 1.1, 2.1, 1.5)).Text, []string{"wear rises after f.\u00a01v, between Matins and Compline", "f.\u00a01r to f.\u00a01v", "0.96", "from 0.100 to 0.200", "worn more than the first"}},
		"no change":        {stopSentence("B", changed(nil, 0.7, 1.2, 0.9)).Text, []string{"no change of level is found", "90\u202f% (70 to 120\u202f%)", "equal wear is not ruled out"}},
		"less":             {stopSentence("B", changed(nil, 0.2, 0.6, 0.4)).Text, []string{"leaves out equal wear"}},
		"far too wide":     {stopSentence("B", changed(nil, 0, 9.9, 0.7)).Text, []string{"too wide to say"}},
		"doubtful change":  {stopSentence("B", doubtfulChange(changed(rising, 0.2, 0.6, 0.4))).Text, []string{"wear may rise after f.\u00a01v", "probability 0.41"}},
		"tentative change": {stopSentence("B", tentative(changed(rising, 0.2, 0.6, 0.4))).Text, []string{"no change of level is claimed", "Treat it as a place to look at."}},
		"steady decline":   {stopSentence("B", declining(changed(nil, 0.2, 0.6, 0.4))).Text, []string{"no place is found where the reader stopped", "but a gradual one."}},
		"doubtful none":    {stopSentence("B", unsettled(changed(nil, 0.2, 0.6, 0.4))).Text, []string{"probability of no change at all is 0.55", "do not settle it"}},
		"no readings":      {(&Results{}).precisionSentence().Text, []string{"nothing here is measured"}},
	} {
		for _, want := range c.want {
			if !strings.Contains(c.got, want) {
				t.Errorf("%s: %q lacks %q", name, c.got, want)
			}
		}
	}
}

func doubtfulChange(c *dropoff.Decline) *dropoff.Decline {
	c.Changes.Changes[0].Probability = 0.41
	return c
}

func tentative(c *dropoff.Decline) *dropoff.Decline {
	c.Changes.Tentative, c.Changes.Doubtful, c.Changes.Changes = true, c.Changes.Changes, nil
	c.Changes.Compared = &dropoff.Comparison{Best: dropoff.NoChange, Sentence: "Treat it as a place to look at"}
	return c
}

func declining(c *dropoff.Decline) *dropoff.Decline {
	c.Changes.Compared = &dropoff.Comparison{Best: dropoff.Steady, Sentence: "No abrupt change is claimed, but a gradual one"}
	return c
}

func unsettled(c *dropoff.Decline) *dropoff.Decline {
	c.Changes.CountProbability = []float64{0.55, 0.45}
	return c
}

func TestBookNames(t *testing.T) {
	book := func(id, title string) BookResult { return BookResult{Book: &codex.Book{ID: id, Title: title}} }
	r := &Results{Books: []BookResult{book("A", "Hours of Ann (Town, MS 1)"), book("B", "Hours of Bea (Town, MS 2)"), book("C", "Hours of Bea (City, MS 2)"), book("D", ""), book("E", "(no title)")}}
	for i, want := range []string{"Hours of Ann", "Hours of Bea (B)", "Hours of Bea (C)", "D", "(no title)"} {
		if got := r.bookName(r.Books[i].Book); got != want {
			t.Errorf("book %d is called %q, want %q", i, got, want)
		}
	}
}
