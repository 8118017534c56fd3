package readings

import (
	"cmp"
	"slices"
)

// A Counted is a tally of the log.
type Counted struct {
	Readings  int `json:"readings"`   // rows of the log
	Page      int `json:"page"`       // of them, on a thumbed place
	Zero      int `json:"zero"`       // of them, on a zero
	Tile      int `json:"tile"`       // of them, on a tile
	Excluded  int `json:"excluded"`   // of them, left out by the scholar
	AtFloor   int `json:"at_floor"`   // of them, at the instrument's floor
	AtCeiling int `json:"at_ceiling"` // of them, at the instrument's ceiling
	Pages     int `json:"pages"`      // pages measured
	Days      int `json:"days"`       // days of measuring
	Unclear   int `json:"unclear"`    // pages with readings but no wear
}

// An Excluded is a reading that the scholar left out.
type Excluded struct {
	File    string  `json:"file"`                   // table of readings
	Line    int     `json:"line"`                   // line of it
	Book    string  `json:"book"`                   // the book's id
	Page    string  `json:"page"`                   // the page's label
	Density float64 `json:"density" unit:"density"` // what the instrument showed
	Reason  string  `json:"reason"`                 // why it is left out, in the scholar's words

	Target Target `json:"-"`
}

// A Result is the wear of every measured page, in the order of books and
// pages, with the report on the measuring.
type Result struct {
	Wear      []Wear      `json:"-"`
	Precision Precision   `json:"precision"`           // how precise the readings are
	Shared    []Source    `json:"-"`                   // errors that the pages of one day, observer or instrument share, where there are two or more of them
	Counted   Counted     `json:"counted"`             // what the log holds
	Drift     []DayDrift  `json:"drift"`               // the drift of each day and instrument
	Elsewhere []Elsewhere `json:"elsewhere,omitempty"` // instruments whose readings come from elsewhere, with an error that their source states; left out where there are none
	Excluded  []Excluded  `json:"excluded"`            // readings left out by the scholar, with the reasons, by book, page, day, instrument and observer
	Agreement []Agreement `json:"agreement"`           // two instruments on the same pages or spots
	Notes     []string    `json:"notes"`               // plain sentences on what should be known before the numbers are used: what was assumed or corrected
}

// An Elsewhere is a source of readings that no densitometer of the study took.
type Elsewhere struct {
	Instrument string  `json:"instrument"`        // its name in the table of instruments
	SD         float64 `json:"sd" unit:"density"` // standard deviation of one reading as the source states it, on the scale that wear is on
	Readings   int     `json:"readings"`          // kept readings on pages, zeros and tiles
}

// elsewhere lists the instruments with a stated error that have kept readings.
func (l *Log) elsewhere() []Elsewhere {
	counts := make([]int, len(l.Instruments))
	for i := range l.Readings {
		if r := &l.Readings[i]; r.Excluded == "" {
			counts[r.Instrument]++
		}
	}
	var out []Elsewhere
	for i, in := range l.Instruments {
		if in.StatedSD > 0 && counts[i] > 0 {
			out = append(out, Elsewhere{Instrument: in.ID, SD: in.StatedSD, Readings: counts[i]})
		}
	}
	return out
}

// OfBook is the wear of one book's pages, in page order: a part of Wear, found
// without a look at the other books, so that a study of thousands of books can
// be walked through book by book.
func (r *Result) OfBook(book int) []Wear {
	byBook := func(w Wear, book int) int { return cmp.Compare(w.Book, book) }
	from, _ := slices.BinarySearchFunc(r.Wear, book, byBook)
	to, _ := slices.BinarySearchFunc(r.Wear, book+1, byBook)
	return r.Wear[from:to:to]
}

// result puts together what was found.
func (w *weighing) result() *Result {
	slices.SortFunc(w.wear, func(a, b Wear) int { return cmp.Or(cmp.Compare(a.Book, b.Book), cmp.Compare(a.Page, b.Page)) })
	r := &Result{Wear: w.wear, Precision: w.precision(), Drift: w.drift.report(w.log), Counted: w.count(), Excluded: w.log.excluded(), Elsewhere: w.log.elsewhere()}
	for i := range r.Drift {
		if r.Drift[i].Break {
			if z, ok := w.zerosAt(i, i+1); ok {
				r.Drift[i].Zeros = z.sentence()
			}
		}
	}
	r.share(w)
	r.Agreement = append(slices.Clone(w.log.paired), w.agreements()...)
	r.Notes = w.notes(r)
	return r
}

func (w *weighing) count() Counted {
	c := Counted{Unclear: len(w.odd.unclear)}
	days := map[string]bool{}
	pages := map[[2]int]bool{}
	for r := range w.log.left() {
		c.Readings++
		if r.Excluded != "" {
			c.Excluded++
			continue
		}
		days[r.Day] = true
		switch r.Target {
		case OnPage:
			c.Page++
			pages[[2]int{r.Book, r.Page}] = true
		case OnZero:
			c.Zero++
		case OnTile:
			c.Tile++
		}
		switch r.Limit {
		case Below:
			c.AtFloor++
		case Above:
			c.AtCeiling++
		}
	}
	c.Pages, c.Days = len(pages), len(days)
	return c
}

// excluded lists the readings left out, in the order of readings (orderOf), which is
// that of what they say: only where two say the same in every column does the
// order of rows tell, and then in nothing but the line.
func (l *Log) excluded() []Excluded {
	var out []Excluded
	for r := range l.left() {
		if r.Excluded == "" {
			continue
		}
		e := Excluded{File: r.File, Line: r.Line, Target: r.Target, Density: r.Density, Reason: r.Excluded}
		if r.Target != OnTile {
			e.Book, e.Page = l.books[r.Book].ID, l.pageLabel(r.Book, r.Page)
		}
		out = append(out, e)
	}
	return out
}

// share keeps the sources with two levels or more, and that of drift, and lets the pages' loadings
// point to them.
func (r *Result) share(w *weighing) {
	sources, place := w.shared.list()
	if source, has := w.drift.either(w.log); has {
		sources, place = append(sources, source), append(place, len(sources))
	}
	r.Shared = sources
	for i := range r.Wear {
		for k := range r.Wear[i].Shared {
			load := &r.Wear[i].Shared[k]
			load.Source = place[load.Source]
		}
	}
	r.shareConversions(w.log)
	for i := range r.Wear {
		r.addShared(&r.Wear[i])
	}
}

// addShared sums up what a page shares with others.
func (r *Result) addShared(w *Wear) {
	parts := make([]variancePart, len(r.Shared))
	for k, source := range r.Shared {
		parts[k].df = source.DF
	}
	total := 0.0
	for _, load := range w.Shared {
		sd := load.Weight * r.Shared[load.Source].SD
		parts[load.Source].variance += sd * sd
		total += sd * sd
	}
	if total > 0 {
		w.SharedSE, w.SharedDF = combine(parts)
	}
}
