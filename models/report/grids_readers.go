package report

import (
	"fmt"

	"thumbed/models/codex"
	"thumbed/models/dropoff"
	"thumbed/models/wording"
)

func (r *Results) sharedGrid(s SharedDrop) Grid {
	g := Grid{ID: "shared-" + r.sharedFile(s), Caption: "Books with the " + setName(s.Set) + ", and what each is worn less after the shared place", Long: len(s.Readers) > 40,
		Heads: heads("Book", "Less by#", "95"+wording.Narrow+"% interval, all books at once#", "Has it", "From this book alone: a drop there#", "No drop at all#"),
		Empty: "No book could be compared."}
	for _, row := range r.sharedBooks(s) {
		name := words(r.bookName(row.book))
		if row.drop == nil {
			g.add(name, instead("left out"), instead("none"), words(wording.Typeset(wording.Sentence(row.reason))), instead("none"), instead("none"))
			continue
		}
		drop, reach, has := shown(row.drop.Drop, wording.Percent(row.drop.Drop)), percentInterval(row.drop.Low, row.drop.High), words(row.has())
		if row.reason != "" {
			drop, reach, has = instead("not given"), instead("none"), words(wording.Typeset(wording.Sentence(row.reason)))
		}
		there := 0.0
		for _, p := range row.drop.Places {
			if p.After == row.after {
				there = p.Probability
			}
		}
		g.add(name, drop, reach, has, shown(there, wording.Probability(there)), shown(row.drop.None, wording.Probability(row.drop.None)))
	}
	return g
}

// sharedFile names the figure and the table of a shared drop.
func (r *Results) sharedFile(s SharedDrop) string {
	var sets []string
	for _, other := range r.Shared {
		sets = append(sets, setName(other.Set))
		if other.Set == s.Set {
			break
		}
	}
	return distinct(sets)
}

func (r *Results) pairGrid() Grid {
	g := Grid{ID: "reader-pairs", Caption: "Readers compared by how far they carried on (shares of the first office that both have; the tables on disk have every office)",
		Heads: heads("First reader", "Second reader", "Hours", "F#", "p, adjusted#", "Last office of both", "Share there, first less second#", "95"+wording.Narrow+"% interval#")}
	for _, p := range r.Pairs {
		one, other, hours := words(r.bookName(r.Books[p.One.Book].Book)), words(r.bookName(r.Books[p.Other.Book].Book)), p.One.Set
		if p.Other.Set != p.One.Set {
			hours += "; " + p.Other.Set
		}
		if p.Difference == nil {
			g.add(one, other, words(hours), instead("none"), instead("none"), words(wording.Typeset(wording.Sentence(p.Failed))), instead("none"), instead("none"))
			continue
		}
		last := p.last()
		g.add(one, other, words(hours), number(p.Difference.F, 2), shown(p.Adjusted, wording.PValue(p.Adjusted)),
			words(last.Office.String()), shown(last.Difference, wording.Percent(last.Difference)), percentInterval(last.Low, last.High))
	}
	return g
}

func (r *Results) habitGrid(b BookResult) Grid {
	g := Grid{ID: "habits-of-" + r.bookFile(b.Book), Caption: "Where a different habit may begin in " + r.quotedName(b.Book) + ", its sections not looked at",
		Heads: heads("After page", "95"+wording.Narrow+"% interval of the place", "Probability#", "Change of level (density)#", "95"+wording.Narrow+"% interval#", "Nearest beginning of a section"),
		Empty: "No change of level was found."}
	for _, row := range r.habitRows() {
		if row.book != b.Book {
			continue
		}
		change := row.change()
		g.add(words("f."+wording.NoBreak+change.At), words(pageInterval(b.Habits.Series.Labels, change)), shown(change.Probability, wording.Probability(change.Probability)),
			density(change.Size), interval(change.SizeLow, change.SizeHigh, wording.DensityDecimals), words(row.nearest()))
	}
	return g
}

// nearest tells how a change lies to the section that begins nearest.
func (h habitRow) nearest() string {
	if h.index >= len(h.habits.Nearest) {
		return ""
	}
	b := h.border()
	where := "there"
	switch {
	case b.Pages > 0:
		where = wording.Count(b.Pages, "page", "pages") + " before"
	case b.Pages < 0:
		where = wording.Count(-b.Pages, "page", "pages") + " after"
	}
	if !b.Holds {
		where += ", outside the interval"
	}
	return fmt.Sprintf("%s, %s", b.Section, where)
}

// pageInterval is the interval of a change's place in folios.
func pageInterval(labels []string, change dropoff.Change) string {
	low, high := rowLabel(labels, change.Low), rowLabel(labels, change.High)
	if low == high {
		return "no wider than that page"
	}
	return "f." + wording.NoBreak + low + " to f." + wording.NoBreak + high
}

// curveCells are an office's share on the falling curve, and its band.
func curveCells(c *dropoff.Decline, office codex.Office) (curve, reach Cell) {
	if c.Curve != nil {
		for _, p := range c.Curve.Points {
			if p.Office == office {
				return shown(p.Share, wording.Percent(p.Share)), percentInterval(p.Low, p.High)
			}
		}
	}
	return instead("not given"), instead("not given")
}
