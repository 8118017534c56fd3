package power

import (
	"fmt"
	"math/rand/v2"

	"thumbed/models/codex"
	"thumbed/models/hypotheses"
	"thumbed/models/mixed"
	"thumbed/models/readings"
	"thumbed/models/table"
)

// A Sitting is one visit to a page, so many placings on it and on its zero, or to the
// tile.
type Sitting struct {
	Row             int // of the campaign's pages; −1 for the tile
	Day, Observer   string
	Hour            float64 // at which it begins, since midnight
	Placings, Zeros int
}

// A Scheduler gives the order in which a campaign's pages are measured, with so many
// placings on each. The pages have the columns of [Setting.Books], book and page
// among them.
type Scheduler func(pages *table.Table, placings int, r *rand.Rand) ([]Sitting, error)

// readLog measures pages by a schedule, and takes what was measured through the
// readings' own room, as a study does: drift within a day is subtracted by the tile, what
// days and observers differ by is estimated from pages measured again, or stays unknown. It gives the pages with
// their wear, and the model with the errors that they share.
func (s *Setting) readLog(model mixed.Model, pages *table.Table, wear []float64, sittings []Sitting, r *rand.Rand) (*table.Table, mixed.Model, error) {
	books, places, err := booksOf(pages)
	if err != nil {
		return nil, model, err
	}
	log := readings.NewLog([]readings.Instrument{s.Instrument}, s.place(wear, sittings, places, r), books)
	result, err := log.Wear(readings.Options{Drift: s.Correction})
	if err != nil {
		return nil, model, err
	}
	joined, err := readings.Join(pages, books, result)
	return joined, hypotheses.Sharing(model, result.Shared), err
}

// place draws the readings of all sittings, in their order.
func (s *Setting) place(wear []float64, sittings []Sitting, places [][2]int, r *rand.Rand) []readings.Reading {
	observers, days, scales, drifts, scaled := map[string]float64{}, map[string]float64{}, map[string]float64{}, map[string]float64{}, map[string]float64{}
	draw := func(of map[string]float64, label string, sd float64) float64 {
		if _, drawn := of[label]; !drawn {
			of[label] = sd * r.NormFloat64()
		}
		return of[label]
	}
	grounds := make([]float64, len(wear))
	for i := range grounds {
		grounds[i] = s.Ground + s.GroundSpread*r.NormFloat64()
	}
	onPage, onZero, onTile := s.unrounded(s.OnPage), s.unrounded(s.OnZero), s.unrounded(s.OnTile)
	hours := map[string][2]float64{} // first and last of each day
	for _, at := range sittings {
		day, begun := hours[at.Day]
		if !begun {
			day[0] = at.Hour
		}
		hours[at.Day] = [2]float64{min(day[0], at.Hour), max(day[1], at.Hour)}
	}
	var out []readings.Reading
	for _, at := range sittings {
		hour := at.Hour
		add := func(target readings.Target, spot readings.Spot, density, sd float64) {
			day := hours[at.Day]
			if length := day[1] - day[0]; length > 0 {
				drift := draw(drifts, at.Day, s.Drift) * (hour - day[0]) / length
				if s.Correction == readings.DriftScale || s.Correction == readings.DriftEither && draw(scaled, at.Day, 1) > 0 {
					drift *= density / s.Instrument.Tile
				}
				density += drift
			}
			read := readings.Reading{Book: -1, Page: -1, Day: at.Day, Hour: hour, Observer: at.Observer,
				Target: target, Spot: spot, Tried: 1, Density: s.Instrument.Show(density + sd*r.NormFloat64()), Line: len(out) + 1}
			if at.Row >= 0 {
				read.Book, read.Page = places[at.Row][0], places[at.Row][1]
			}
			out = append(out, read)
			hour += s.Cost.Placing / 3600
		}
		if at.Row < 0 {
			for range at.Placings {
				add(readings.OnTile, "", s.Instrument.Tile, onTile)
			}
			continue
		}
		shift := draw(observers, at.Observer, s.Between) + draw(days, at.Day, s.BetweenDays)
		scale := 1 + draw(scales, at.Day, s.Scale)
		for range at.Zeros {
			add(readings.OnZero, "", grounds[at.Row], onZero)
		}
		for range at.Placings {
			add(readings.OnPage, readings.Fixed, grounds[at.Row]+scale*wear[at.Row]+shift, onPage)
		}
	}
	return out
}

// booksOf makes the books that the rows of pages are of, and says which page of
// which book each is.
func booksOf(pages *table.Table) (books []*codex.Book, places [][2]int, err error) {
	ids, codes := pages.Column(columnBook).Levels()
	for _, id := range ids {
		books = append(books, &codex.Book{ID: id})
	}
	label := pages.Column(codex.ColumnPage)
	for i := range pages.Rows() {
		b := books[codes[i]]
		at, err := codex.ParsePage(label.Label(i))
		if err != nil {
			return nil, nil, fmt.Errorf("page %q of the campaign has no label that can be logged: %w", label.Label(i), err)
		}
		places = append(places, [2]int{int(codes[i]), len(b.Pages)})
		b.Pages = append(b.Pages, codex.Page{Label: at, Section: -1})
	}
	return books, places, nil
}
