package plan

import (
	"bytes"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"thumbed/models/readings"
	"thumbed/models/study"
	"thumbed/models/study/folder"
	"thumbed/models/table"
	"thumbed/models/wording"
)

// A MeasuringSheet says what a measuring sheet of a plan is made for.
type MeasuringSheet struct {
	Study  string `toml:"study"`  // the study whose books are measured; its readings need not be there. Else the pilot's, else the layout's
	Pages  int    `toml:"pages"`  // pages of each book
	Visits int    `toml:"visits"` // visits among which the placings of a page are shared out
	study.SheetOrder
}

// complete fills in what a sheet does not say.
func (s *MeasuringSheet) complete(f *File) {
	if s == nil {
		return
	}
	if s.Visits == 0 {
		s.Visits = 1
	}
	if s.Seed == 0 {
		s.Seed = f.Designs.Seed
	}
	s.Complete()
}

// share is the share of the openings that are measured again.
func (s *MeasuringSheet) share() float64 { return *s.Again }

// start is when the day's work begins, in seconds after midnight.
func (s *MeasuringSheet) start() int {
	at, err := time.Parse("15:04", s.Start)
	if err != nil {
		return 0 // the check has reported it
	}
	return 3600*at.Hour() + 60*at.Minute()
}

// say notes what the order separates, and what it cannot.
func (o *Order) say(s *MeasuringSheet) {
	say := func(format string, args ...any) { o.Notes = append(o.Notes, fmt.Sprintf(format, args...)) }
	o.Notes = append(o.Notes, o.plan.chosen...)
	but := ""
	if s.Sweeps == 2 {
		but = ", but for a drift out and back over the day"
	}
	say("What is read goes as little as can be with when it is measured and by whom: correlations of at most %s%s. Read straight through, that of the order of the leaves with the course of the day would be 1.00.", wording.Fixed(o.worst(s.Sweeps), 2), but)
	var single, fewer, untold []string
	for _, b := range o.Books {
		if len(b.untold) > 0 {
			untold = append(untold, fmt.Sprintf("%s (%s)", b.ID, wording.List(b.untold)))
		}
		if b.Days == 1 {
			single = append(single, b.ID)
		}
		if b.Pages < s.Pages {
			fewer = append(fewer, fmt.Sprintf("%s has %d", b.ID, b.Pages))
		}
	}
	if o.plan.described == nil && len(fewer) > 0 {
		say("Of the %d pages asked for not all can be used by the plan's model: %s. Pages that it cannot use, such as those outside all texts, are not on the sheet; add by hand those that you want.", s.Pages, wording.List(fewer))
	}
	if len(untold) > 0 {
		say("Read at too few openings for their correlations to tell anything: %s. A text or a quire that is read at one time only goes with that time in any order; more pages would part them.", wording.List(untold))
	}
	if idle := o.idle(s); len(idle) > 0 {
		say("There is no day for %s: observers take the days in turn, and there are fewer dates. Give as many dates as observers, two a book, or leave them out.", wording.List(idle))
	}
	if len(single) > 0 {
		say("Measured on one day only: %s. What that day differs by is not distinguishable from what the book does. days_a_book = 2 would tell them apart, for one more day of handling.", wording.List(single))
	}
	if by := o.confounded(); len(by) > 0 {
		say("Measured by one observer alone: %s. What observers differ by is not distinguishable from what these books do; two days a book, taken in turn, would tell them apart.", wording.List(by))
	}
	if s.Sweeps == 2 {
		bend := 0.0
		for i := range o.Books {
			for _, c := range o.Books[i].Correlations {
				if c.Along == AlongBend {
					bend = math.Max(bend, math.Abs(c.Value))
				}
			}
		}
		say("Two sweeps a day, there and back, ask for the fewest leaves to be turned over. A straight drift over the day then cancels, but one that goes out and back lies along the book (correlation up to %s): read the tile often, and take four sweeps where the binding bears it.", wording.Fixed(bend, 2))
	} else {
		say("Each day a book is gone through %d times (there, back, back, there): neither a straight drift over the day nor one that goes out and back lies along the book. Each sweep turns over the leaves of the whole book; sweeps = 2 would ask for fewer, and let a drift out and back lie along the book.", s.Sweeps)
	}
	if s.share() == 0 {
		say("No page is measured on a second day, so that nothing will tell what days and observers differ by: again = 0.1 would.")
	}
}

// idle names the observers of the sheet who have no day.
func (o *Order) idle(s *MeasuringSheet) []string {
	return slices.DeleteFunc(slices.Clone(s.Observers), func(name string) bool {
		return slices.ContainsFunc(o.Days, func(d OrderDay) bool { return d.Observer == name })
	})
}

// Correlated tells the book's greatest correlations in words.
func (b *OrderBook) Correlated() string {
	var parts []string
	for _, c := range b.greatest() {
		part := fmt.Sprintf("%s %s", c.Along, wording.Fixed(c.Value, 2))
		if math.Abs(c.Value) >= 0.005 {
			part += " (" + c.With + ")"
		}
		parts = append(parts, part)
	}
	return wording.List(parts)
}

// readingsName is the table that the scholar fills in.
const readingsName = "readings-to-fill.csv"

// Rows are the order as rows of a readings table (see [readings.ReadingsSchema]):
// one a placing, in the order of placing, times as planned, densities empty.
func (o *Order) Rows() *table.Table {
	r := newRows("book", "page", "date", "time", "instrument", "observer", "target", "spot", "tried", "density", "excluded", "note")
	placing := o.plan.Setting.Cost.Placing
	for _, day := range o.Days {
		for _, step := range day.Steps {
			at := float64(step.Clock)
			add := func(book, page string, target readings.Target, spot readings.Spot, note string) {
				r.add(book, page, day.Date, clock(at), o.plan.File.Sheet.Instrument, day.Observer, string(target), string(spot), "", "", "", note)
				at += placing
			}
			for range step.Tiles {
				add("", "", readings.OnTile, "", "")
			}
			if step.Kind == Visit {
				at += o.plan.Setting.Cost.Turn
			}
			for _, page := range step.Pages {
				note := ""
				if page.Again {
					note = "measured again"
				}
				for range page.Zeros {
					add(o.Books[step.Book].ID, page.Page, readings.OnZero, "", note)
				}
				for range page.Placings {
					add(o.Books[step.Book].ID, page.Page, readings.OnPage, readings.Fixed, note)
				}
			}
		}
	}
	return r.table()
}

// clock writes seconds after midnight as a time of day.
func clock(seconds float64) string {
	s := min(int(math.Round(seconds)), 24*3600-1)
	return fmt.Sprintf("%02d:%02d:%02d", s/3600, s/60%60, s%60)
}

// Write writes the order as a new folder dir: the table of readings to fill in,
// with its schema, and the sheet to print. dir must not be there yet: a sheet
// that somebody has begun to fill in is never written over.
func (o *Order) Write(dir string) error {
	return folder.Create(dir, func(fresh string) error {
		var rows, page bytes.Buffer
		if err := o.Rows().Write(&rows); err != nil {
			return err
		}
		if err := o.Page(&page); err != nil {
			return err
		}
		schema, err := readings.ReadingsSchema().JSON()
		if err != nil {
			return err
		}
		for name, content := range map[string][]byte{readingsName: rows.Bytes(), table.SchemaPath(readingsName): schema, "sheet.html": page.Bytes()} {
			if err := os.WriteFile(filepath.Join(fresh, name), content, 0o644); err != nil {
				return err
			}
		}
		return nil
	})
}

// work tells what the order asks of the book.
func (b *OrderBook) work() string {
	return fmt.Sprintf("%s on %s, %s to an opening with %s turned over, over %s", wording.Count(b.Pages, "page", "pages"), wording.Count(b.Openings, "opening", "openings"),
		wording.Count(b.Turns, "turn", "turns"), wording.Count(b.Leaves, "leaf", "leaves"), wording.Count(b.Days, "day", "days"))
}

// Text says what the order is, in a few lines.
func (o *Order) Text() string {
	placings, tiles := 0, 0
	for _, day := range o.Days {
		for _, step := range day.Steps {
			tiles += step.Tiles
			for _, page := range step.Pages {
				placings += page.Zeros + page.Placings
			}
		}
	}
	var b strings.Builder
	fmt.Fprintf(&b, "%s on pages and zeros and %d on the tile, on %s; the best of %s.\n",
		wording.Count(placings, "placing", "placings"), tiles, wording.Count(len(o.Days), "day", "days"), wording.Count(o.Draws, "order drawn", "orders drawn"))
	for _, book := range o.Books {
		fmt.Fprintf(&b, "%s: %s. Greatest correlations: %s.\n", book.ID, book.work(), book.Correlated())
	}
	for _, note := range o.Notes {
		b.WriteString(note + "\n")
	}
	return b.String()
}
