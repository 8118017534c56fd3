package dropoff

import (
	"fmt"
	"slices"
	"strings"

	"thumbed/models/codex"
	"thumbed/models/readings"
)

// hours are the pages of one set of hours of one book, in the order of the
// offices and inside an office in the order of the book.
type hours struct {
	book  *codex.Book
	set   string
	held  []codex.Office // offices that the book has in this set, in order
	rows  []hourPage     // pages measured
	among Among
	// beyond are the offices left out since all their pages are at a limit, with
	// what can be said of each.
	beyond map[codex.Office]string
}

// An hourPage is one page measured.
type hourPage struct {
	page   int // index into the book's Pages
	office codex.Office
	wear   readings.Wear
}

// newHours gathers the pages. It fails where the book has no such set.
func newHours(books []*codex.Book, book int, set string, wear []readings.Wear, among Among) (*hours, error) {
	if book < 0 || book >= len(books) {
		return nil, noSuchBook(book, len(books))
	}
	h := &hours{book: books[book], set: set, among: among}
	offices := map[int]codex.Office{}
	for _, section := range h.book.Sections {
		if section.Office == codex.NoOffice || section.Set != set {
			continue
		}
		if !slices.Contains(h.held, section.Office) {
			h.held = append(h.held, section.Office)
		}
		for _, page := range section.Pages {
			offices[page] = section.Office
		}
	}
	if len(h.held) == 0 {
		return nil, fmt.Errorf("book %s has no hours %q: %s", h.book.ID, set, h.setsRemedy())
	}
	slices.Sort(h.held)
	for _, w := range wear {
		if office, ok := offices[w.Page]; ok && w.Book == book {
			h.rows = append(h.rows, hourPage{w.Page, office, w})
		}
	}
	slices.SortStableFunc(h.rows, func(a, b hourPage) int {
		if a.office != b.office {
			return int(a.office) - int(b.office)
		}
		return h.book.Pages[a.page].Position - h.book.Pages[b.page].Position
	})
	return h, nil
}

func noSuchBook(book, books int) error {
	return fmt.Errorf("there is no book number %d among %d: count books from 0", book, books)
}

// setsRemedy names the sets of hours that the book has.
func (h *hours) setsRemedy() string {
	var sets []string
	for _, section := range h.book.Sections {
		if section.Office != codex.NoOffice && !slices.Contains(sets, section.Set) {
			sets = append(sets, section.Set)
		}
	}
	if len(sets) == 0 {
		return "none of its sections names an office; give each office of the hours its own row in the table of sections"
	}
	return "it has " + strings.Join(sets, ", ")
}

// measured are the offices with a page measured, in order.
func (h *hours) measured() []codex.Office {
	var out []codex.Office
	for _, row := range h.rows {
		if len(out) == 0 || out[len(out)-1] != row.office {
			out = append(out, row.office)
		}
	}
	return out
}

// officeNotes tell which offices the book does not have or no page of which
// was measured, and what the shares are relative to.
func (h *hours) officeNotes() []string {
	var notes, lacking, unmeasured []string
	measured := h.measured()
	for _, office := range codex.Offices() {
		switch {
		case !slices.Contains(h.held, office):
			lacking = append(lacking, office.String())
		case h.beyond[office] != "":
			notes = append(notes, h.beyond[office])
		case !slices.Contains(measured, office):
			unmeasured = append(unmeasured, office.String())
		}
	}
	if len(lacking) > 0 {
		notes = append(notes, fmt.Sprintf("The book has no %s in these hours: nothing can be said of them.", list(lacking, "or")))
	}
	if len(unmeasured) > 0 {
		notes = append(notes, fmt.Sprintf("No page of %s was measured: nothing can be said of them.", list(unmeasured, "or")))
	}
	if len(measured) > 1 && (measured[0] != codex.Matins || measured[len(measured)-1] != codex.Compline) {
		notes = append(notes, fmt.Sprintf("Shares are of %s, the first office measured; the last is %s.", measured[0], measured[len(measured)-1]))
	}
	return notes
}

// leaveUnbounded leaves out the offices all of whose pages are at the
// instrument's limits: their wear is bounded on one side only, and has no
// estimate.
func (h *hours) leaveUnbounded() {
	h.beyond = map[codex.Office]string{}
	for _, office := range h.measured() {
		below, above := 0, 0
		low, high := inf, 0.0
		for _, row := range h.rows {
			switch {
			case row.office != office:
			case row.wear.Limit == readings.Below:
				below++
				high = max(high, row.wear.Density)
			case row.wear.Limit == readings.Above:
				above++
				low = min(low, row.wear.Density)
			}
		}
		pages := h.pages(office)
		var said string
		switch pages {
		case below:
			said = fmt.Sprintf("floor, at most %.3g", high)
		case above:
			said = fmt.Sprintf("ceiling, at least %.3g", low)
		case below + above:
			said = "floor or ceiling"
		default:
			continue
		}
		h.beyond[office] = fmt.Sprintf("Of %s no page was measured within the instrument's limits (%s at its %s): no share of it can be given, and it is left out. Measure it with an instrument that reaches farther.",
			office, count(pages, "page"), said)
	}
	h.rows = slices.DeleteFunc(h.rows, func(row hourPage) bool { return h.beyond[row.office] != "" })
}

// limitNotes tell how pages known only as bounds enter.
func (h *hours) limitNotes() []string {
	below, above := 0, 0
	for _, row := range h.rows {
		switch row.wear.Limit {
		case readings.Below:
			below++
		case readings.Above:
			above++
		}
	}
	var notes []string
	if below > 0 {
		notes = append(notes, fmt.Sprintf("%s censored, at most a bound: the model takes %s so, the series as half of it.", count(below, "page")+stood(below), them(below)))
	}
	if above > 0 {
		notes = append(notes, fmt.Sprintf("%s censored, at least a bound: the model takes %s so, the series as the bound itself.", count(above, "page")+stood(above), them(above)))
	}
	return notes
}

func stood(n int) string {
	if n == 1 {
		return " is"
	}
	return " are"
}

func them(n int) string {
	if n == 1 {
		return "it"
	}
	return "them"
}

// list writes words as a list with the joining word before the last.
func list(words []string, joined string) string {
	if len(words) < 2 {
		return strings.Join(words, "")
	}
	last := len(words) - 1
	return strings.Join(words[:last], ", ") + " " + joined + " " + words[last]
}
