package report

import (
	"thumbed/models/dropoff"
	"thumbed/models/report/grid"
	"thumbed/models/wording"
)

func (r *Results) sharedPlaceSheet() grid.Grid {
	m := grid.Of("shared_places", "Where books together have a drop-off", r.sharedPlaceRows())
	m.Label("set", "which set of hours", func(p sharedPlaceRow) string { return p.set })
	m.Label("after", "the last office before the drop; empty for no drop at one place", func(p sharedPlaceRow) string { return p.after.String() })
	m.Count("order", "its place in the day from Matins, 1; 0 for no drop", func(p sharedPlaceRow) int { return p.after.Order() })
	m.Number("probability", "of a drop that all books have there, or of none", func(p sharedPlaceRow) float64 { return p.probability })
	return m.Made("set", "order")
}

func (r *Results) sharedBookSheet() grid.Grid {
	return r.sharedBookTable("shared_books", "Which books have the shared drop-off", each(r.Shared, r.sharedBooks))
}

// sharedGrid is that of one set of hours, for people.
func (r *Results) sharedGrid(s SharedDrop) grid.Grid {
	g := r.sharedBookTable("shared-"+r.sharedFile(s), "Books with the "+setName(s.Set)+", and what each is worn less after the shared place", r.sharedBooks(s))
	g.Long, g.Empty = len(s.Readers) > 40, "No book could be compared."
	return g
}

func (r *Results) sharedBookTable(name, title string, rows []sharedBookRow) grid.Grid {
	drop := numbersOf(sharedBookRow.given)
	alone := func(of func(sharedBookRow) float64) func(sharedBookRow) grid.Cell {
		return func(b sharedBookRow) grid.Cell {
			if b.drop == nil {
				return grid.Instead("none")
			}
			return grid.Shown(of(b), wording.Probability(of(b)))
		}
	}
	m := grid.Of(name, title, rows)
	m.Label("set", "which set of hours", func(b sharedBookRow) string { return b.set })
	m.Label("after", "the last office before the shared drop", func(b sharedBookRow) string { return b.after.String() })
	m.Label("book", "the book's id", func(b sharedBookRow) string { return b.book.ID })
	m.Show("Book", func(b sharedBookRow) grid.Cell { return grid.Words(r.short(b.book)) })
	m.Number("drop", "share of the earlier offices' wear that is missing in the later ones", drop(func(d *dropoff.BookDrop) float64 { return d.Drop }))
	m.Show("Less by#", func(b sharedBookRow) grid.Cell {
		if b.reason != "" {
			return grid.Instead("not given")
		}
		return grid.Percent(b.drop.Drop)
	})
	m.Number("low", "lower end of drop's interval, 95 % for all books at once", drop(func(d *dropoff.BookDrop) float64 { return d.Low }))
	m.Number("high", "upper end of that interval", drop(func(d *dropoff.BookDrop) float64 { return d.High }))
	m.Show(interval95+", all books at once#", func(b sharedBookRow) grid.Cell {
		if b.reason != "" {
			return grid.Instead("none")
		}
		return grid.PercentInterval(b.drop.Low, b.drop.High)
	})
	m.Label("has", "yes where the interval lies above 0, no where it does not, empty where there is none", sharedBookRow.has)
	m.Show("Has it", func(b sharedBookRow) grid.Cell {
		if b.reason != "" {
			return grid.Words(wording.Typeset(wording.Sentence(b.reason)))
		}
		return grid.Words(b.has())
	})
	m.Number("alone", "probability of a drop after that office, from this book alone", sharedBookRow.alone)
	m.Show("From this book alone: a drop there#", alone(sharedBookRow.alone))
	m.Number("alone_none", "probability of no drop at all, from this book alone", sharedBookRow.none)
	m.Show("No drop at all#", alone(sharedBookRow.none))
	m.Label("reason", "why there is no interval; else empty", func(b sharedBookRow) string { return b.reason })
	return m.Made("set", "book")
}

// pairTable is shown to people too, with the last office of both.
func (r *Results) pairTable() grid.Grid {
	m := grid.Of("reader_pairs", "Readers compared two by two", r.Pairs)
	m.Note = "Shares are of the first office that both have; the tables on disk have every office."
	for _, side := range sides {
		m.Label(side.prefix+"_book", "the "+side.words+" book's id", func(p ReaderPair) string { return r.Books[side.of(p).Book].Book.ID })
		m.Show(wording.Capital(side.words)+" reader", func(p ReaderPair) grid.Cell { return grid.Words(r.short(r.Books[side.of(p).Book].Book)) })
		m.Label(side.prefix+"_set", "its set of hours", func(p ReaderPair) string { return side.of(p).Set })
	}
	of := numbersOf(func(p ReaderPair) *dropoff.Difference { return p.Difference })
	compared := func(cell func(ReaderPair) grid.Cell) func(ReaderPair) grid.Cell {
		return func(p ReaderPair) grid.Cell {
			if p.Difference == nil {
				return grid.Instead("none")
			}
			return cell(p)
		}
	}
	m.Show("Hours", func(p ReaderPair) grid.Cell {
		if p.Other.Set != p.One.Set {
			return grid.Words(p.One.Set + "; " + p.Other.Set)
		}
		return grid.Words(p.One.Set)
	})
	f := of(func(d *dropoff.Difference) float64 { return d.F })
	m.Number("f", "test that all shares are the same", f)
	m.Show("F#", compared(func(p ReaderPair) grid.Cell { return grid.Number(f(p), 2) }))
	m.Number("df1", "its degrees of freedom: offices compared", of(func(d *dropoff.Difference) float64 { return d.DF1 }))
	m.Number("df2", "those of the shares' errors", of(func(d *dropoff.Difference) float64 { return d.DF2 }))
	m.Number("p", "p-value of the test", ReaderPair.P)
	m.Number("p_adjusted", "p adjusted over all pairs compared (Holm 1979)", func(p ReaderPair) float64 { return p.Adjusted })
	m.Show("p, adjusted#", compared(func(p ReaderPair) grid.Cell { return grid.Shown(p.Adjusted, wording.PValue(p.Adjusted)) }))
	m.Count("together", "pairs compared", func(p ReaderPair) int { return p.Together })
	m.YesNo("asked", "whether the study file names the pair", func(p ReaderPair) bool { return p.Asked })
	m.Label("failed", "why they could not be compared; empty where they could", func(p ReaderPair) string { return p.Failed })
	m.Show("Last office of both", func(p ReaderPair) grid.Cell {
		if p.Difference == nil {
			return grid.Words(wording.Typeset(wording.Sentence(p.Failed)))
		}
		return grid.Words(p.last().Office.String())
	})
	m.Show("Share there, first less second#", compared(func(p ReaderPair) grid.Cell { return grid.Percent(p.last().Difference) }))
	m.Show(interval95+"#", compared(func(p ReaderPair) grid.Cell { return grid.PercentInterval(p.last().Low, p.last().High) }))
	return m.Made("one_book", "one_set", "other_book", "other_set")
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

func (r *Results) differenceSheet() grid.Grid {
	m := grid.Of("reader_differences", "Share of wear left at each office, one of two readers against the other", each(r.Pairs, ReaderPair.rows))
	for _, side := range sides {
		m.Label(side.prefix+"_book", "the "+side.words+" book's id", func(p pairRow) string { return r.Books[side.of(p.of).Book].Book.ID })
		m.Label(side.prefix+"_set", "its set of hours", func(p pairRow) string { return side.of(p.of).Set })
	}
	m.Label("office", "an office that both have", func(p pairRow) string { return p.row.Office.String() })
	m.Count("order", "its place in the day from Matins, 1", func(p pairRow) int { return p.row.Office.Order() })
	m.Number("difference", "share of wear of the first reader less that of the second", func(p pairRow) float64 { return p.row.Difference })
	m.Ends("", "its", func(p pairRow) (low, high float64) { return p.row.Low, p.row.High })
	return m.Made("one_book", "one_set", "other_book", "other_set", "office")
}

func (r *Results) habitSheet() grid.Grid {
	return habitTable("habits", "Where the level of wear changes along whole books, their sections not looked at", each(r.Books, BookResult.habitRows))
}

// habitGrid is that of one book, for people.
func (r *Results) habitGrid(b BookResult) grid.Grid {
	return habitTable("habits-of-"+r.bookFile(b.Book), "Where the level of wear changes in "+r.quotedName(b.Book)+", its sections not looked at", b.habitRows())
}

func habitTable(name, title string, rows []habitRow) grid.Grid {
	m := grid.Of(name, title, rows)
	m.Empty = noChange
	m.Label("book", "the book's id", func(h habitRow) string { return h.book.ID })
	m.Count("after", "row of the pages measured, from 1, after which the level changes", func(h habitRow) int { return h.change().After })
	m.Label("at", "the page of that row", func(h habitRow) string { return h.change().At })
	m.Show("After page", func(h habitRow) grid.Cell { return grid.Words("f." + wording.NoBreak + h.change().At) })
	m.Show(interval95+" of the place", func(h habitRow) grid.Cell { return grid.Words(pageInterval(h.habits.Series.Labels, h.change())) })
	m.Label("low", "page at the lower end of its 95 % interval", func(h habitRow) string { return rowLabel(h.habits.Series.Labels, h.change().Low) })
	m.Label("high", "page at the upper end of its 95 % interval", func(h habitRow) string { return rowLabel(h.habits.Series.Labels, h.change().High) })
	m.Number("probability", "probability of the change", func(h habitRow) float64 { return h.change().Probability })
	showStep(m, func(h habitRow) dropoff.Change { return h.change() })
	m.Number("size", "new level less old level, density", func(h habitRow) float64 { return h.change().Size })
	m.Ends("size_", "size's", func(h habitRow) (low, high float64) { return h.change().SizeLow, h.change().SizeHigh })
	m.Label("section", "the section whose beginning is nearest", func(h habitRow) string { return h.border().Section })
	m.Show("Nearest beginning of a section", func(h habitRow) grid.Cell { return grid.Words(h.nearest()) })
	m.Count("pages", "measured pages from that beginning to the change; below 0 where the change comes first", func(h habitRow) int { return h.border().Pages })
	m.YesNo("holds", "whether the interval holds that beginning", func(h habitRow) bool { return h.border().Holds })
	return m.Made("book", "after")
}

func (r *Results) habitBookSheet() grid.Grid {
	rows := r.habitBooks()
	m := grid.Of("habit_books", "How changes along whole books agree with their sections", rows)
	m.Label("book", "the book's id", func(h habitBook) string { return h.book.ID })
	m.Count("pages", "pages measured and looked at", func(h habitBook) int { return len(h.habits.Pages) })
	m.Count("changes", "changes found", func(h habitBook) int { return h.changes() })
	m.Number("chance", "how many of them would hold a section's beginning if they lay anywhere", func(h habitBook) float64 { return h.agreed(h.habits.Chance) })
	m.Number("agreement", "adjusted Rand index of stretches and sections: 1 the same, 0 no more than by chance", func(h habitBook) float64 { return h.agreed(h.habits.Agreement) })
	m.Label("refused", "why changes could not be looked for; else empty", func(h habitBook) string { return h.habits.Refused })
	return m.Made("book")
}
