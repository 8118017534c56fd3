package dropoff

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/combin"

	"thumbed/models/codex"
	"thumbed/models/readings"
	"thumbed/models/wording"
)

// Habits are stretches of a whole book that were used differently, found
// without looking at its sections.
type Habits struct {
	Book     int              `json:"-"`        // index into the study's books
	Adjusted []string         `json:"adjusted"` // features whose effect was removed first
	Series   Series           `json:"-"`        // the pages measured in physical order, adjusted
	Pages    []int            `json:"-"`        // index into the book's Pages of each row of Series
	Changes  *Changes         `json:"changes"`  // where the series changes; null where that could not be looked for
	Nearest  []NearestSection `json:"borders"`  // for each change, the beginning of a section nearest to it
	// adjusted Rand index of stretches and sections (Hubert and Arabie 1985, Journal of
	// Classification 2, 193–218, equation 5): 1 where they are the same, 0 on average by chance
	Agreement float64  `json:"agreement"`
	Agrees    bool     `json:"agrees"`  // whether agreement and chance have a meaning: there are changes and sections
	Chance    float64  `json:"chance"`  // how many of the borders would hold if changes lay anywhere
	Notes     []string `json:"notes"`   // plain sentences on what should be known before the numbers are used
	Refused   string   `json:"refused"` // why they could not be looked for; else empty
}

// OutsideSections is what the nearest section is called for pages that are in no section.
const OutsideSections = "pages outside all sections"

// A NearestSection is a change of habit and the beginning of a section nearest to it.
type NearestSection struct {
	Section string `json:"section"` // the section that begins nearest
	Pages   int    `json:"pages"`   // measured pages from its beginning to the change; below 0 where the change comes first
	Holds   bool   `json:"holds"`   // whether the interval of the change holds its beginning
}

// HabitsOf proposes where in a book the level of wear changes: changes of level
// along all pages measured, in physical order, with pictures, pictures on the
// facing page, incipit pages and the book's outermost leaves allowed for as in
// [DeclineOf], by pages of the same section; quires are not, since a habit may begin
// with one. Where levels change sections do not tell; how well they agree is told after. At known breaks the level may differ
// anyway, and in stretches that hold no change none is placed ([codex.Known]). Wear of other books is passed
// over, as in [DeclineOf].
//
// Where too little was measured, Refused says so. It fails where there is no such
// book or the effects cannot be removed.
func HabitsOf(books []*codex.Book, book int, wear []readings.Wear, among ...Among) (*Habits, error) {
	if book < 0 || book >= len(books) {
		return nil, noSuchBook(book, len(books))
	}
	h := &hours{book: books[book], among: first(among)}
	for _, w := range wear {
		if w.Book == book {
			h.rows = append(h.rows, hourPage{page: w.Page, wear: w})
		}
	}
	slices.SortStableFunc(h.rows, func(a, b hourPage) int { return h.book.Pages[a.page].Position - h.book.Pages[b.page].Position })
	if measured := len(h.rows) - h.limited(); measured < leastHabits || h.limited() > len(h.rows)/2 {
		return &Habits{Book: book, Refused: fmt.Sprintf("%s measured, %d of them at the instrument's floor or ceiling: too little to find habits in. Measure %d pages or more, or with a finer instrument.",
			wording.Capital(count(len(h.rows), "page"))+were(len(h.rows)), h.limited(), leastHabits)}, nil
	}
	out := &Habits{Book: book}
	var a *adjustment
	var rows, single []int
	for { // a single stain would bend what pictures and the book's ends are taken to add
		var err error
		if a, err = h.adjust(); err != nil {
			return nil, err
		}
		var apart []int
		var notes []string
		out.Series, rows, apart, notes = a.series(h)
		if out.Pages = h.pagesOf(rows); len(apart) == 0 {
			out.Notes = slices.Concat(a.notes, h.limitNotes(), notes)
			break
		}
		single = append(single, h.pagesOf(apart)...)
		h.rows = slices.DeleteFunc(h.rows, func(r hourPage) bool { return slices.Contains(single, r.page) })
	}
	slices.Sort(single)
	out.Adjusted, out.Notes = a.adjusted(), append(out.Notes, h.apartNotes(single)...)
	o := h.options(rows)
	o.Adjust = a.adjusting(rows)
	var err error
	if out.Changes, err = Segment(out.Series, o); err != nil {
		out.Refused = wording.Capital(err.Error()) + "."
		return out, nil
	}
	out.compare(h.book)
	return out, nil
}

// leastHabits is the fewest pages in which habits are looked for.
const leastHabits = 20

func were(n int) string {
	if n == 1 {
		return " was"
	}
	return " were"
}

// compare tells how changes lie to sections.
func (h *Habits) compare(book *codex.Book) {
	sections := make([]int, len(h.Pages))
	var begins []int // rows, from 0, at which a section begins
	for i, page := range h.Pages {
		sections[i] = book.Pages[page].Section
		if i > 0 && sections[i] != sections[i-1] {
			begins = append(begins, i)
		}
	}
	if len(begins) == 0 || len(h.Changes.Changes) == 0 {
		return
	}
	stretches := make([]int, len(h.Pages)) // parted by what was found, not by what was known
	for _, change := range h.Changes.Changes {
		for i := change.After; i < len(stretches); i++ {
			stretches[i]++
		}
	}
	h.Agreement, h.Agrees = adjustedRand(stretches, sections), true
	for _, change := range h.Changes.Changes {
		nearest := begins[0]
		for _, begin := range begins {
			if distance(begin, change.After) < distance(nearest, change.After) {
				nearest = begin
			}
		}
		found := NearestSection{Section: OutsideSections, Pages: change.After - nearest, Holds: change.Low <= nearest && nearest <= change.High}
		if s := sections[nearest]; s >= 0 {
			found.Section = book.Sections[s].Name
		}
		h.Nearest = append(h.Nearest, found)
		h.Chance += chanceOf(change.High-change.Low+1, len(begins), len(h.Pages)-1)
	}
	h.Notes = append(h.Notes, h.agreement())
}

func distance(a, b int) int { return max(a-b, b-a) }

// chanceOf is the probability that an interval of some of the places between
// pages holds one of the beginnings, were these anywhere.
func chanceOf(length, begins, places int) float64 {
	none := 1.0
	for k := range begins {
		none *= max(float64(places-length-k)/float64(places-k), 0)
	}
	return 1 - none
}

// Held is how many of the changes may lie at the beginning of a section.
func (h *Habits) Held() int {
	held := 0
	for _, b := range h.Nearest {
		if b.Holds {
			held++
		}
	}
	return held
}

// agreement says it in a sentence.
func (h *Habits) agreement() string {
	return fmt.Sprintf("%d of %s may lie at the beginning of a section, where %.1f would by chance; stretches and sections agree with an adjusted Rand index of %.2f (1: the same, 0: no more than by chance).",
		h.Held(), count(len(h.Nearest), "change"), h.Chance, h.Agreement)
}

// adjustedRand compares two labellings of the same rows.
func adjustedRand(a, b []int) float64 {
	pairs := func(counts map[[2]int]int) float64 {
		sum := 0.0
		for _, n := range counts {
			if n > 1 {
				sum += float64(combin.Binomial(n, 2))
			}
		}
		return sum
	}
	both, ofA, ofB := map[[2]int]int{}, map[[2]int]int{}, map[[2]int]int{}
	for i := range a {
		both[[2]int{a[i], b[i]}]++
		ofA[[2]int{a[i]}]++
		ofB[[2]int{b[i]}]++
	}
	all := float64(combin.Binomial(len(a), 2))
	expected := pairs(ofA) * pairs(ofB) / all
	most := (pairs(ofA) + pairs(ofB)) / 2
	if math.Abs(most-expected) < 1e-12 {
		return 1 // both put all rows together, or each apart
	}
	return (pairs(both) - expected) / (most - expected)
}
