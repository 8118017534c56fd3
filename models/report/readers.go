package report

import (
	"fmt"
	"math"

	"thumbed/models/codex"
	"thumbed/models/dropoff"
	"thumbed/models/wording"
)

// A Reader is who read one set of hours of one book.
type Reader struct {
	Book int // index into [Results.Books]
	Set  string
}

// A SharedDrop is what the books that have one set of hours say together of
// where their readers stopped.
type SharedDrop struct {
	Set     string
	Readers []*dropoff.Decline    // what Shared counts in
	Shared  *dropoff.SharedChange // nil where too few could be compared
	Failed  string                // a sentence why; else empty
}

// A ReaderPair is two readers compared by their decline.
type ReaderPair struct {
	One, Other Reader
	Difference *dropoff.Difference // nil where they could not be compared
	Adjusted   float64             // p by Holm's method over the pairs compared; NaN where Difference is nil
	Together   int                 // pairs compared
	Asked      bool                // the study file names the pair
	Failed     string              // a sentence why they could not be compared; else empty
}

// P is the probability of a difference as great were the two alike; NaN where they
// could not be compared.
func (p ReaderPair) P() float64 {
	if p.Difference == nil {
		return math.NaN()
	}
	return p.Difference.P
}

// apartLevel is the adjusted p at or below which two readers are told apart.
const apartLevel = 0.05

// apart tells whether two readers differ in their decline.
func (p ReaderPair) apart() bool { return p.Difference != nil && p.Adjusted <= apartLevel }

// last is the difference at the last office that both have.
func (p ReaderPair) last() dropoff.OfficeDifference {
	return p.Difference.Offices[len(p.Difference.Offices)-1]
}

// CarriedBy is the decline of a reader; nil where that could not be computed.
func (r *Results) DeclineBy(reader Reader) *dropoff.Decline {
	for _, c := range r.Books[reader.Book].Declines {
		if c.Set == reader.Set {
			return c
		}
	}
	return nil
}

// bookOf is the book of one of the readers of a shared drop.
func (r *Results) bookOf(c *dropoff.Decline) *codex.Book { return r.Books[c.Book].Book }

// A sharedPlaceRow is the probability of a shared drop after one office; office is
// codex.NoOffice for that of none.
type sharedPlaceRow struct {
	set         string
	after       codex.Office
	probability float64
}

func (r *Results) sharedPlaceRows() []sharedPlaceRow {
	var out []sharedPlaceRow
	for _, s := range r.Shared {
		if s.Shared == nil {
			continue
		}
		for _, p := range s.Shared.Places {
			out = append(out, sharedPlaceRow{s.Set, p.After, p.Probability})
		}
		out = append(out, sharedPlaceRow{s.Set, codex.NoOffice, s.Shared.None})
	}
	return out
}

// A sharedBookRow is one book's drop at the shared place, or why it has none.
type sharedBookRow struct {
	set    string
	after  codex.Office
	book   *codex.Book
	drop   *dropoff.BookDrop // nil where the book was left out
	reason string            // where drop is nil or refused
}

// given is the drop; nil where the book was left out or it was refused.
func (b sharedBookRow) given() *dropoff.BookDrop {
	if b.reason != "" {
		return nil
	}
	return b.drop
}

func (b sharedBookRow) has() string {
	switch {
	case b.reason != "":
		return ""
	case b.drop.Has:
		return "yes"
	}
	return "no"
}

// alone is the probability of a drop at the shared place from this book alone; NaN
// where it was left out.
func (b sharedBookRow) alone() float64 {
	if b.drop != nil {
		for _, p := range b.drop.Places {
			if p.After == b.after {
				return p.Probability
			}
		}
	}
	return math.NaN()
}

// none is the probability of no drop at all from this book alone.
func (b sharedBookRow) none() float64 {
	if b.drop == nil {
		return math.NaN()
	}
	return b.drop.None
}

func (r *Results) sharedBooks(s SharedDrop) []sharedBookRow {
	if s.Shared == nil {
		return nil
	}
	var out []sharedBookRow
	for i := range s.Shared.Books {
		drop := &s.Shared.Books[i]
		out = append(out, sharedBookRow{s.Set, s.Shared.After, r.bookOf(s.Readers[drop.Decline]), drop, drop.Refused})
	}
	for _, left := range s.Shared.Left {
		out = append(out, sharedBookRow{s.Set, s.Shared.After, r.bookOf(s.Readers[left.Decline]), nil, left.Why})
	}
	return out
}

// A pairRow is the difference of two readers at one office.
type pairRow = rowOf[ReaderPair, dropoff.OfficeDifference]

func (p ReaderPair) rows() []pairRow {
	if p.Difference == nil {
		return nil
	}
	return rowsUnder(p, p.Difference.Offices)
}

// A habitRow is one change along a whole book.
type habitRow struct {
	book   *codex.Book
	habits *dropoff.Habits
	index  int
}

func (h habitRow) change() dropoff.Change { return h.habits.Changes.Changes[h.index] }

// border is how the change lies to the sections; empty where the book has none.
func (h habitRow) border() dropoff.NearestSection {
	if h.index < len(h.habits.Nearest) {
		return h.habits.Nearest[h.index]
	}
	return dropoff.NearestSection{}
}

func (b BookResult) habitRows() []habitRow {
	var out []habitRow
	if b.Habits != nil && b.Habits.Changes != nil {
		for k := range b.Habits.Changes.Changes {
			out = append(out, habitRow{b.Book, b.Habits, k})
		}
	}
	return out
}

// A habitBook is a book whose habits were looked for.
type habitBook struct {
	book   *codex.Book
	habits *dropoff.Habits
}

func (r *Results) habitBooks() []habitBook {
	var out []habitBook
	for _, b := range r.Books {
		if b.Habits != nil {
			out = append(out, habitBook{b.Book, b.Habits})
		}
	}
	return out
}

func (h habitBook) changes() int {
	if h.habits.Changes == nil {
		return 0
	}
	return len(h.habits.Changes.Changes)
}

// agreed is a value of the agreement with sections; NaN where there is none.
func (h habitBook) agreed(v float64) float64 {
	if !h.habits.Agrees {
		return math.NaN()
	}
	return v
}

// sharedFile names the figure and the table of a shared drop.
func (r *Results) sharedFile(s SharedDrop) string {
	var sets []string
	for _, other := range r.Shared {
		sets = append(sets, setName(other.Set))
		if other.Set == s.Set {
			break
		}
	}
	return distinct(sets)
}

// nearest tells how a change lies to the section that begins nearest.
func (h habitRow) nearest() string {
	if h.index >= len(h.habits.Nearest) {
		return ""
	}
	b := h.border()
	where := "there"
	switch {
	case b.Pages > 0:
		where = wording.Count(b.Pages, "page", "pages") + " before"
	case b.Pages < 0:
		where = wording.Count(-b.Pages, "page", "pages") + " after"
	}
	if !b.Holds {
		where += ", outside the interval"
	}
	return fmt.Sprintf("%s, %s", b.Section, where)
}

// pageInterval is the interval of a change's place in folios.
func pageInterval(labels []string, change dropoff.Change) string {
	low, high := rowLabel(labels, change.Low), rowLabel(labels, change.High)
	if low == high {
		return "no wider than that page"
	}
	return "f." + wording.NoBreak + low + " to f." + wording.NoBreak + high
}
