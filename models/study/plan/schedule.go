package plan

import (
	"math/rand/v2"
	"time"

	"thumbed/models/codex"
	"thumbed/models/hypotheses/power"
	"thumbed/models/table"
)

// schedule deals the pages of a drawn campaign out among days and observers as the
// sheet would (see [Plan.Order]): openings to the days of their book by chance among
// neighbours, some of them measured again on another day, at the hours that the sheet
// gives, and the tile between them. Where the sheet's dates do
// not suffice for so many books there are as many days as are needed.
func (p *Plan) schedule(pages *table.Table, placings int, r *rand.Rand) ([]power.Sitting, error) {
	s := *p.File.Sheet
	s.Placings, s.Visits = placings, min(s.Visits, placings)
	var books []OrderBook
	var first []int // row of the campaign's pages at which each book begins
	row := 0
	for _, rows := range byBook(pages) {
		book := OrderBook{ID: rows.Column("book").Label(0), Pages: rows.Rows(), pages: rows}
		book.open()
		books, first = append(books, book), append(first, row)
		row += rows.Rows()
	}
	var parts []part
	var err error
	for days := max(2, len(s.Dates)); ; days++ {
		s.Dates = dates(days)
		// what is dealt must not depend on how many numbers of days were tried
		if parts, err = p.deal(books, &s, rand.New(rand.NewPCG(r.Uint64(), uint64(days)))); err == nil {
			break
		}
		if days > len(pages.Columns())+pages.Rows() {
			return nil, err
		}
	}
	var out []power.Sitting
	for day, date := range s.Dates {
		var today []*part
		for k := range parts {
			if parts[k].day == day {
				today = append(today, &parts[k])
			}
		}
		for _, step := range p.steps(books, today, &s) {
			at := power.Sitting{Row: -1, Day: date, Observer: s.Observers[day%len(s.Observers)], Hour: float64(step.Clock) / 3600}
			switch step.Kind {
			case OnTile:
				if at.Placings = step.Tiles; p.Setting.Instrument.Tile > 0 {
					out = append(out, at)
				}
			case Visit:
				at.Hour += p.Setting.Cost.Turn / 3600
				for k, visit := range step.Pages {
					at.Row, at.Placings, at.Zeros = first[step.Book]+books[step.Book].openings[step.opening][k], visit.Placings, visit.Zeros
					out = append(out, at)
					at.Hour += float64(visit.Placings+visit.Zeros) * p.Setting.Cost.Placing / 3600
				}
			}
		}
	}
	return out, nil
}

// dates are so many days, one after the other.
func dates(n int) []string {
	day := time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)
	out := make([]string, n)
	for i := range out {
		out[i] = day.AddDate(0, 0, i).Format(time.DateOnly)
	}
	return out
}

// open gathers the book's pages by opening.
func (b *OrderBook) open() {
	opening, position := b.pages.Column(codex.FeatureOpening), b.pages.Column(codex.FeaturePosition)
	for i := range b.pages.Rows() {
		if i > 0 && opening.Label(i) == opening.Label(i-1) {
			last := len(b.openings) - 1
			b.openings[last] = append(b.openings[last], i)
			continue
		}
		b.openings = append(b.openings, []int{i})
		if position != nil {
			b.leaf = append(b.leaf, int(position.Number(i))/2)
		}
	}
	b.Openings = len(b.openings)
}
