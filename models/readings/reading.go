package readings

import (
	"cmp"
	"slices"
	"strings"

	"thumbed/models/codex"
)

// A Target is what a reading was taken on.
type Target string

// The targets: the thumbed corner of a page, an untouched place of the same
// page, and the instrument's reference tile.
const (
	OnPage Target = "page"
	OnZero Target = "zero"
	OnTile Target = "tile"
)

// A Spot tells how the place of a reading on the page was chosen.
type Spot string

// The spots: one agreed place on every page, or the darkest of the places
// tried on that page.
const (
	Fixed       Spot = "fixed"
	darkestSpot Spot = "darkest"
)

// A Limit tells whether a page's wear, or a single reading, is a number or
// only a bound.
type Limit string

// The limits. Below: the value is at most the density given. Above: at least.
const (
	Measured Limit = ""
	Below    Limit = "below"
	Above    Limit = "above"
)

// A Reading is one placing of the instrument: one row of the log.
type Reading struct {
	File       string
	Line       int
	Book, Page int     // indices into the books given and into its Pages; −1 on a tile
	Day        string  // the date, ISO 8601
	Hour       float64 // hours since midnight
	Instrument int     // index into Log.Instruments
	Observer   string  // empty where the log names none
	Target     Target
	Spot       Spot // empty on a zero and on a tile
	Tried      int  // spots of which this is the darkest; 1 for most
	Density    float64
	Limit      Limit  // whether Density stands at the instrument's floor or ceiling
	Excluded   string // the scholar's reason for leaving it out; empty where kept
	Note       string

	visit   int  // readings of one page that follow each other in a file share a visit
	seconds bool // the time was written to the second
}

// orderOf orders readings by what they say, books by their names, so that no
// result depends on the order of rows or of files.
func orderOf(books []*codex.Book) func(a, b *Reading) int {
	book := func(r *Reading) string {
		if r.Book < 0 || r.Book >= len(books) {
			return "" // a tile belongs to no book
		}
		return books[r.Book].ID
	}
	return func(a, b *Reading) int {
		if a.Book != b.Book {
			if c := strings.Compare(book(a), book(b)); c != 0 {
				return c
			}
		}
		if c := compareContent(a, b); c != 0 {
			return c
		}
		return cmp.Or(strings.Compare(a.File, b.File), cmp.Compare(a.Line, b.Line))
	}
}

// compareContent is 0 where two readings say the same in every column.
func compareContent(a, b *Reading) int {
	if c := compareSitting(a, b); c != 0 {
		return c
	}
	return cmp.Or(
		cmp.Compare(a.Tried, b.Tried),
		cmp.Compare(a.Hour, b.Hour),
		cmp.Compare(a.Density, b.Density),
		strings.Compare(a.Excluded, b.Excluded),
		strings.Compare(a.Note, b.Note),
	)
}

// compareSitting is 0 where two readings are of one target at one sitting: one
// page, day, instrument and observer.
func compareSitting(a, b *Reading) int {
	if a.Book != b.Book {
		return cmp.Compare(a.Book, b.Book)
	}
	if a.Page != b.Page {
		return cmp.Compare(a.Page, b.Page)
	}
	return cmp.Or(
		strings.Compare(a.Day, b.Day),
		cmp.Compare(a.Instrument, b.Instrument),
		strings.Compare(a.Observer, b.Observer),
		strings.Compare(string(a.Target), string(b.Target)),
		strings.Compare(string(a.Spot), string(b.Spot)),
	)
}

// sortReadings puts readings in their order. It orders their indices first and
// moves each reading once, since a reading is large.
func sortReadings(readings []Reading, books []*codex.Book) []Reading {
	compare := orderOf(books)
	order := make([]int32, len(readings))
	for i := range order {
		order[i] = int32(i)
	}
	slices.SortFunc(order, func(i, j int32) int { return compare(&readings[i], &readings[j]) })
	sorted := make([]Reading, len(readings))
	for k, i := range order {
		sorted[k] = readings[i]
	}
	return sorted
}
