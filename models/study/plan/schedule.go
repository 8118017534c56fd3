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
// neighbours, some of them measured again on another day. Where the sheet's dates do
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
	for _, part := range parts {
		for k, sweep := range part.all() {
			for _, at := range sweep {
				for _, i := range books[part.book].openings[at.opening] {
					out = append(out, power.Sitting{Row: first[part.book] + i, Day: s.Dates[part.day], Observer: s.Observers[part.day%len(s.Observers)],
						Placings: s.placings(at, k == len(part.sweeps)), Zeros: s.Zeros})
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
