package desk

import (
	"fmt"
	"slices"

	"gonum.org/v1/gonum/stat"

	"thumbed/models/readings"
	"thumbed/models/wording"
)

// Shares of the day's pages to be measured again on another day, and of those the
// part that is drawn among the pages with an alarm (common practice, no source).
// All others are drawn among all pages, so that what is measured again tells the
// spread of days and not that of odd pages.
const (
	againShare  = 10 // one page of so many
	againAlarms = 4  // one of so many draws
)

// Again draws the pages to measure again tomorrow. The draw is that of the day and
// the observer: asked for twice it is the same.
func (s *Session) Again() []Page {
	var all, alarmed []Page
	add := func(pages []Page, p Page) []Page {
		if p.Book == "" || slices.Contains(pages, p) {
			return pages
		}
		return append(pages, p)
	}
	for _, row := range s.table.rows {
		if c := s.cellOf(row); c.day == s.day && c.observer == s.Observer && c.target == string(readings.OnPage) {
			if _, ok := s.kept(row); ok {
				all = add(all, Page{c.book, c.page})
			}
		}
	}
	for _, step := range s.alarms {
		if p := (Page{step.Book, step.Page}); slices.Contains(all, p) {
			alarmed = add(alarmed, p)
		}
	}
	n := (len(all) + againShare - 1) / againShare
	r := s.draws(s.Observer, len(all))
	var drawn []Page
	for from, most := alarmed, n/againAlarms; ; from, most = all, n {
		for _, i := range r.Perm(len(from)) {
			if len(drawn) < most {
				drawn = add(drawn, from[i])
			}
		}
		if most == n {
			break
		}
	}
	slices.SortFunc(drawn, func(a, b Page) int { return slices.Index(all, a) - slices.Index(all, b) })
	return drawn
}

// Summary tells what the day brought.
func (s *Session) Summary() string {
	pages, count, back := map[Page]bool{}, 0, 0
	for _, row := range s.table.rows {
		c := s.cellOf(row)
		if c.day != s.day || c.observer != s.Observer || c.instrument != s.Instrument.ID {
			continue
		}
		if _, ok := s.kept(row); !ok {
			back++
			continue
		}
		count++
		if c.target == string(readings.OnPage) {
			pages[Page{c.book, c.page}] = true
		}
	}
	lines := []string{fmt.Sprintf("%s: %s on %s with %s.", s.day, wording.Count(count, "reading", "readings"), wording.Count(len(pages), "page", "pages"), s.Instrument.ID)}
	if back > 0 {
		lines[0] += fmt.Sprintf(" Left out, with the reason in the table: %s.", wording.Count(back, "reading", "readings"))
	}
	lines = append(lines, s.tiles()...)
	if sd, df := s.repeatability(); df >= fewest {
		lines = append(lines, fmt.Sprintf("Repeatability: %s density, from %s of the table.", wording.Fixed(sd, 4), wording.Count(df, "repeated placing", "repeated placings")))
	}
	return s.ending(lines, s.Again(), "Measure again on another day, by another observer where there is one: %s. They are drawn mostly at random; measure them whatever today's readings were.")
}

// tiles tells how the tile was read over the day.
func (s *Session) tiles() []string {
	values := s.today(Step{Target: readings.OnTile})
	if len(values) == 0 {
		return []string{"The tile was not read: drift over the day cannot be seen. Read it at the start, in the middle and at the end of a day (t)."}
	}
	third := max(1, len(values)/3)
	from, to := stat.Mean(values[:third], nil), stat.Mean(values[len(values)-third:], nil)
	return []string{fmt.Sprintf("Tile: %s, %s at first and %s at last.", wording.Count(len(values), "reading", "readings"), wording.Fixed(from, 3), wording.Fixed(to, 3))}
}
