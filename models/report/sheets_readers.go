package report

import (
	"math"

	"thumbed/models/dropoff"
)

func (r *Results) sharedPlaceSheet() sheet {
	m := newSheet("shared_places", "Where books together have a drop-off", r.sharedPlaceRows())
	m.label("set", "which set of hours", func(p sharedPlaceRow) string { return p.set })
	m.label("after", "the last office before the drop; empty for no drop at one place", func(p sharedPlaceRow) string { return p.after.String() })
	m.count("order", "its place in the day from Matins, 1; 0 for no drop", func(p sharedPlaceRow) int { return p.after.Order() })
	m.number("probability", "of a drop that all books have there, or of none", func(p sharedPlaceRow) float64 { return p.probability })
	return m.sheet("set", "order")
}

func (r *Results) sharedBookSheet() sheet {
	m := newSheet("shared_books", "Which books have the shared drop-off", r.sharedBookRows())
	m.label("set", "which set of hours", func(b sharedBookRow) string { return b.set })
	m.label("after", "the last office before the shared drop", func(b sharedBookRow) string { return b.after.String() })
	m.label("book", "the book's id", func(b sharedBookRow) string { return b.book.ID })
	m.number("drop", "share of the earlier offices' wear that is missing in the later ones", func(b sharedBookRow) float64 {
		return b.value(func(d *dropoff.BookDrop) float64 { return d.Drop })
	})
	m.number("low", "lower end of drop's interval, 95 % for all books at once", func(b sharedBookRow) float64 {
		return b.value(func(d *dropoff.BookDrop) float64 { return d.Low })
	})
	m.number("high", "upper end of that interval", func(b sharedBookRow) float64 {
		return b.value(func(d *dropoff.BookDrop) float64 { return d.High })
	})
	m.label("has", "yes where the interval lies above 0, no where it does not, empty where there is none", sharedBookRow.has)
	m.number("alone", "probability of a drop after that office, from this book alone", func(b sharedBookRow) float64 {
		if b.drop != nil {
			for _, p := range b.drop.Places {
				if p.After == b.after {
					return p.Probability
				}
			}
		}
		return math.NaN()
	})
	m.number("alone_none", "probability of no drop at all, from this book alone", func(b sharedBookRow) float64 {
		if b.drop == nil {
			return math.NaN()
		}
		return b.drop.None
	})
	m.label("reason", "why there is no interval; else empty", func(b sharedBookRow) string { return b.reason })
	return m.sheet("set", "book")
}

func (r *Results) pairSheet() sheet {
	m := newSheet("reader_pairs", "Readers compared two by two", r.Pairs)
	for _, side := range sides {
		m.label(side.prefix+"_book", "the "+side.words+" book's id", func(p ReaderPair) string { return r.Books[side.of(p).Book].Book.ID })
		m.label(side.prefix+"_set", "its set of hours", func(p ReaderPair) string { return side.of(p).Set })
	}
	of := func(value func(*dropoff.Difference) float64) func(ReaderPair) float64 {
		return func(p ReaderPair) float64 {
			if p.Difference == nil {
				return math.NaN()
			}
			return value(p.Difference)
		}
	}
	m.number("f", "test that all shares carried on are the same", of(func(d *dropoff.Difference) float64 { return d.F }))
	m.number("df1", "its degrees of freedom: offices compared", of(func(d *dropoff.Difference) float64 { return d.DF1 }))
	m.number("df2", "those of the shares' errors", of(func(d *dropoff.Difference) float64 { return d.DF2 }))
	m.number("p", "p-value of the test", ReaderPair.P)
	m.number("p_adjusted", "p adjusted over all pairs compared (Holm 1979)", func(p ReaderPair) float64 { return p.Adjusted })
	m.count("together", "pairs compared", func(p ReaderPair) int { return p.Together })
	m.yesNo("asked", "whether the study file names the pair", func(p ReaderPair) bool { return p.Asked })
	m.label("failed", "why they could not be compared; empty where they could", func(p ReaderPair) string { return p.Failed })
	return m.sheet("one_book", "one_set", "other_book", "other_set")
}

// A side is one of the two readers of a pair.
type side struct {
	prefix, words string
	of            func(ReaderPair) Reader
}

var sides = []side{
	{"one", "first", func(p ReaderPair) Reader { return p.One }},
	{"other", "second", func(p ReaderPair) Reader { return p.Other }},
}

func (r *Results) differenceSheet() sheet {
	m := newSheet("reader_differences", "How much farther one of two readers carried on than the other", r.pairRows())
	for _, side := range sides {
		m.label(side.prefix+"_book", "the "+side.words+" book's id", func(p pairRow) string { return r.Books[side.of(p.ReaderPair).Book].Book.ID })
		m.label(side.prefix+"_set", "its set of hours", func(p pairRow) string { return side.of(p.ReaderPair).Set })
	}
	m.label("office", "an office that both have", func(p pairRow) string { return p.office.Office.String() })
	m.count("order", "its place in the day from Matins, 1", func(p pairRow) int { return p.office.Office.Order() })
	m.number("difference", "share carried on by the first reader less that by the second", func(p pairRow) float64 { return p.office.Difference })
	m.number("low", "lower end of its 95 % interval", func(p pairRow) float64 { return p.office.Low })
	m.number("high", "upper end of its 95 % interval", func(p pairRow) float64 { return p.office.High })
	return m.sheet("one_book", "one_set", "other_book", "other_set", "office")
}

func (r *Results) habitSheet() sheet {
	m := newSheet("habits", "Where the level of wear changes along whole books, their sections not looked at", r.habitRows())
	m.label("book", "the book's id", func(h habitRow) string { return h.book.ID })
	m.count("after", "row of the pages measured, from 1, after which the level changes", func(h habitRow) int { return h.change().After })
	m.label("at", "the page of that row", func(h habitRow) string { return h.change().At })
	m.label("low", "page at the lower end of its 95 % interval", func(h habitRow) string { return rowLabel(h.habits.Series.Labels, h.change().Low) })
	m.label("high", "page at the upper end of its 95 % interval", func(h habitRow) string { return rowLabel(h.habits.Series.Labels, h.change().High) })
	m.number("probability", "probability of the change", func(h habitRow) float64 { return h.change().Probability })
	m.number("size", "new level less old level, density", func(h habitRow) float64 { return h.change().Size })
	m.number("size_low", "lower end of size's 95 % interval", func(h habitRow) float64 { return h.change().SizeLow })
	m.number("size_high", "upper end of size's 95 % interval", func(h habitRow) float64 { return h.change().SizeHigh })
	m.label("section", "the section whose beginning is nearest", func(h habitRow) string { return h.border().Section })
	m.count("pages", "measured pages from that beginning to the change; below 0 where the change comes first", func(h habitRow) int { return h.border().Pages })
	m.yesNo("holds", "whether the interval holds that beginning", func(h habitRow) bool { return h.border().Holds })
	return m.sheet("book", "after")
}

func (r *Results) habitBookSheet() sheet {
	rows := r.habitBooks()
	m := newSheet("habit_books", "How changes along whole books agree with their sections", rows)
	m.label("book", "the book's id", func(h habitBook) string { return h.book.ID })
	m.count("pages", "pages measured and looked at", func(h habitBook) int { return len(h.habits.Pages) })
	m.count("changes", "changes found", func(h habitBook) int { return h.changes() })
	m.number("chance", "how many of them would hold a section's beginning if they lay anywhere", func(h habitBook) float64 { return h.agreed(h.habits.Chance) })
	m.number("agreement", "adjusted Rand index of stretches and sections: 1 the same, 0 no more than by chance", func(h habitBook) float64 { return h.agreed(h.habits.Agreement) })
	m.label("refused", "why changes could not be looked for; else empty", func(h habitBook) string { return h.habits.Refused })
	return m.sheet("book")
}
