package report

import (
	"fmt"
	"strings"

	"thumbed/models/codex"
	"thumbed/models/dropoff"
	"thumbed/models/report/grid"
	"thumbed/models/wording"
)

// namedKnown is how many known breaks a sentence names.
const namedKnown = 4

// knownText tells the known breaks along a series as what they are: no finding,
// but a difference at a place that was known beforehand; nothing where there are
// none.
func knownText(c *dropoff.Changes, s *Sentence) string {
	if len(c.Known) == 0 {
		return ""
	}
	var told []string
	for k, b := range c.Known {
		s.Numbers = append(s.Numbers, Number{Name: "level after the known break before " + b.Before + " less that before it", Value: b.Size, Low: b.SizeLow, High: b.SizeHigh, Unit: "density"})
		if k < namedKnown {
			told = append(told, knownBreakText(b))
		}
	}
	if rest := len(c.Known) - namedKnown; rest > 0 {
		told = append(told, wording.Whole(rest)+" more in the table")
	}
	if len(c.Known) == 1 {
		return " A known break lies " + told[0] + ". That is not counted as found, and a stop right there is not distinguishable from what the break does."
	}
	return " Known breaks lie " + strings.Join(told, "; ") + ". They are not counted as found, and a stop right at one is not distinguishable from what the break does."
}

// knownBreakText tells one: its place, its reason and what differs there.
func knownBreakText(b dropoff.KnownBreak) string {
	text := "before f." + wording.NoBreak + b.Before
	if b.Reason != "" {
		text += " (" + b.Reason + ")"
	}
	differs := "behind it the level differs by "
	if !b.Differs() {
		differs = "no difference of level shows there, "
	}
	return text + ": " + differs + wording.Estimate(b.Size, b.SizeLow, b.SizeHigh, wording.DensityDecimals) + " density"
}

// acrossText warns that a share compares pages on both sides of known breaks.
func acrossText(breaks []string) string {
	switch len(breaks) {
	case 0:
		return ""
	case 1:
		return " A known break lies among these offices, " + breaks[0] + ": part of that may be its doing and not the reader’s."
	}
	return " Known breaks lie among these offices, " + wording.List(breaks) + ": part of that may be their doing and not the reader’s."
}

// knownRow is a known break along one series of a book.
type knownRow struct {
	book *codex.Book
	set  string // of hours; empty along the whole book
	dropoff.KnownBreak
}

func (r *Results) knownRows() []knownRow {
	var out []knownRow
	add := func(b *codex.Book, set string, c *dropoff.Changes) {
		if c == nil {
			return
		}
		for _, k := range c.Known {
			out = append(out, knownRow{b, set, k})
		}
	}
	for _, b := range r.Books {
		for _, c := range b.Declines {
			add(b.Book, c.Set, c.Changes)
		}
		if b.Habits != nil {
			add(b.Book, "", b.Habits.Changes)
		}
	}
	return out
}

func (r *Results) knownSheet() grid.Grid {
	m := grid.Of("known_breaks", "By how much wear differs at breaks that were known beforehand", r.knownRows())
	m.Label("book", "the book's id", func(k knownRow) string { return k.book.ID })
	m.Label("set", "which set of hours; empty along the whole book", func(k knownRow) string { return k.set })
	m.Label("before", "the page before which the break lies", func(k knownRow) string { return k.Before })
	m.Label("reason", "why it is known", func(k knownRow) string { return k.Reason })
	m.Count("after", "last row of the series before it, from 1", func(k knownRow) int { return k.After })
	m.Label("at", "the page of that row", func(k knownRow) string { return k.At })
	m.Number("size", "level after it less level before it, density", func(k knownRow) float64 { return k.Size })
	m.Ends("size_", "size's", func(k knownRow) (low, high float64) { return k.SizeLow, k.SizeHigh })
	return m.Made()
}

// knownMethod says what was known of the books beforehand and what was made of it;
// empty where nothing was.
func (r *Results) knownMethod() string {
	var breaks, whole []string
	for _, b := range r.Books {
		for _, k := range b.Book.Known.Breaks {
			breaks = append(breaks, fmt.Sprintf("in %s before f.%s%s (%s)", r.quotedName(b.Book), wording.NoBreak, pageLabel(b.Book, k.Page), k.Reason))
		}
		for _, w := range b.Book.Known.Unbroken {
			whole = append(whole, fmt.Sprintf("in %s from f.%s%s to f.%s%s (%s)", r.quotedName(b.Book), wording.NoBreak, pageLabel(b.Book, w.From), wording.NoBreak, pageLabel(b.Book, w.To), w.Reason))
		}
	}
	text := ""
	if len(breaks) > 0 {
		text += " Breaks were known beforehand " + wording.List(breaks) + ": there the level was left free to differ, which is no change found; how much it differs bears on nothing else, and the noise without change against which changes were judged was drawn with the same breaks."
	}
	if len(whole) > 0 {
		text += " No change was looked for " + wording.List(whole) + "."
	}
	return text
}
