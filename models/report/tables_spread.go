package report

import (
	"cmp"
	"html/template"
	"math"

	"thumbed/models/codex"
	"thumbed/models/dropoff"
	"thumbed/models/hypotheses"
	"thumbed/models/profile"
	"thumbed/models/report/grid"
	"thumbed/models/wording"
)

// The tables of a book's spread.

// interval95 is the head of a column of intervals.
const interval95 = "95" + wording.Narrow + "% interval"

// short95 is the same where there is little room.
const short95 = "95" + wording.Narrow + "%"

// clearly is the mark of what holds at its error rate.
const clearly = "clear"

// sureMark is how sure an answer is as a shape: clear a full disc, open half of one,
// and where books differ two.
func sureMark(how string) template.HTML {
	shape := `<circle cx="8" cy="8" r="6.6" class="ring"/><path d="M8 1.4a6.6 6.6 0 0 0 0 13.2z" class="full"/>`
	switch how {
	case clearly:
		shape = `<circle cx="8" cy="8" r="6.6" class="ring"/><circle cx="8" cy="8" r="6.6" class="full"/>`
	case differs:
		shape = `<circle cx="4.2" cy="8" r="3.6" class="full"/><circle cx="12" cy="8" r="3" class="ring"/>`
	}
	return template.HTML(`<svg class="sure" viewBox="0 0 16 16" width="15" height="15" role="img" aria-label="` + how + `">` + shape + `</svg>`)
}

// sureOf is the shape of what is clear or open.
func sureOf(isClear bool) (mark template.HTML, said string) {
	if isClear {
		return sureMark(clearly), clearly
	}
	return sureMark(hypotheses.Open), hypotheses.Open
}

// sureCell shows whether something is clear, as a shape.
func sureCell(isClear bool) grid.Cell { return grid.Drawn(sureOf(isClear)) }

// A placed row has its rank, from 1.
type placed[T any] struct {
	rank int
	row  T
}

func place[T any](rows []T) []placed[T] {
	out := make([]placed[T], len(rows))
	for k, row := range rows {
		out[k] = placed[T]{k + 1, row}
	}
	return out
}

func showRank[T any](m *grid.Maker[placed[T]]) {
	m.Show("Rank#", func(t placed[T]) grid.Cell { return grid.Whole(t.rank) })
}

// textGrid ranks every text by its wear a page.
func (r *Results) textGrid(i int) grid.Grid {
	b := r.Books[i]
	m := grid.Of("texts-of-"+r.bookFile(b.Book), "Texts, the most worn first (density a page)", place(b.areaRows()))
	m.Empty = "No text of this book was measured."
	showRank(m)
	m.Show("Text", func(t placed[areaRow]) grid.Cell {
		return grid.Words(wording.Clipped(sectionName(t.row.section()), 44))
	})
	m.Show("Pages#", func(t placed[areaRow]) grid.Cell {
		return grid.Shown(float64(t.row.area.Measured), measuredOf(t.row.area))
	})
	m.Show("Wear#", func(t placed[areaRow]) grid.Cell { return grid.Number(t.row.area.PerPage, 2) })
	m.Show(short95+"#", func(t placed[areaRow]) grid.Cell {
		return grid.Interval(t.row.area.PerPageLow, t.row.area.PerPageHigh, 2)
	})
	return m.Made()
}

// pictureGrid ranks every picture that was tested by how far it stands above the
// text pages of its own text, whether that is clear or not.
func (r *Results) pictureGrid(i int) grid.Grid {
	b := r.Books[i]
	return r.testedGrid(i, "pictures-of-", "Pictures, by how far each stands above its own text", "Picture", "No picture of this book could be tested.", b.pictureTests())
}

// testedGrid ranks pages that were tested.
func (r *Results) testedGrid(i int, name, title, what, empty string, tests []profile.Standout) grid.Grid {
	b := r.Books[i]
	m := grid.Of(name+r.bookFile(b.Book), title, place(b.testRows(tests)))
	m.Empty = empty
	showRank(m)
	m.Show(what, func(t placed[standoutRow]) grid.Cell {
		return grid.Words(wording.Clipped(pageContent(t.row.page()), 40))
	})
	m.Show("Page", func(t placed[standoutRow]) grid.Cell { return grid.Words(pageLabel(b.Book, t.row.out.Page)) })
	m.Show("Above by#", func(t placed[standoutRow]) grid.Cell { return t.row.excess(2) })
	m.Show(short95+"#", func(t placed[standoutRow]) grid.Cell { return grid.Interval(t.row.out.Low, t.row.out.High, 2) })
	m.Show("Clear", func(t placed[standoutRow]) grid.Cell { return sureCell(b.standsOut(t.row.out)) })
	return m.Made()
}

// pageContent says what is on a page.
func pageContent(p codex.Page) string {
	switch {
	case p.Picture:
		return cmp.Or(p.Subject, "a picture")
	case p.Subject != "":
		return p.Subject
	case p.Incipit:
		return "text, the opening page"
	}
	return "text"
}

// shareRows are the offices, the last once more with the interval that claims are read
// from where that is another.
func shareRows(b *codex.Book, c *dropoff.Decline) []officeRow {
	rows := officeRows(b, c)
	if besideOthers(c) {
		last := rows[len(rows)-1]
		last.share.Low, last.share.High, last.beside = c.Low, c.High, ", "+amongTests
		rows = append(rows, last)
	}
	return rows
}

// shareGrid is how worn each office is.
func (r *Results) shareGrid(b *codex.Book, c *dropoff.Decline) grid.Grid {
	m := grid.Of("shares-of-"+r.setFile(b, c), setName(c.Set)+": each office as a share of the first", shareRows(b, c))
	m.Show("Office", func(o officeRow) grid.Cell { return grid.Words(o.share.Office.String() + o.beside) })
	m.Show("Pages#", func(o officeRow) grid.Cell { return grid.Whole(o.share.Pages) })
	m.Show("Share#", func(o officeRow) grid.Cell { return o.given(c.Refused == "", grid.Percent(o.share.Share)) })
	m.Show(short95+"#", func(o officeRow) grid.Cell {
		if c.Refused != "" || o.share.Office == c.Offices[0].Office {
			return grid.Instead("")
		}
		return grid.PercentInterval(o.share.Low, o.share.High)
	})
	return m.Made()
}

// showStep shows a change of level: its probability and its size.
func showStep[T any](m *grid.Maker[T], of func(T) dropoff.Change) {
	m.Show("Probability#", func(row T) grid.Cell {
		return grid.Shown(of(row).Probability, wording.Probability(of(row).Probability))
	})
	m.Show("Change of level (density)#", func(row T) grid.Cell { return grid.Density(of(row).Size) })
	m.Show(interval95+"#", func(row T) grid.Cell {
		return grid.Interval(of(row).SizeLow, of(row).SizeHigh, wording.DensityDecimals)
	})
}

// precisionGrid shows each value beside its degrees of freedom.
func (r *Results) precisionGrid() grid.Grid {
	m := grid.Of("precision", "The measuring: repeatability (standard deviations of density) and tallies", r.precisionRows())
	m.Show("What", func(p precisionRow) grid.Cell { return grid.Words(wording.Capital(wording.Typeset(p.about))) })
	m.Show("Value#", func(p precisionRow) grid.Cell {
		if p.df == noDF && p.value == math.Trunc(p.value) {
			return grid.Number(p.value, 0)
		}
		return grid.Number(p.value, 4)
	})
	m.Show("Degrees of freedom#", func(p precisionRow) grid.Cell {
		if p.df == noDF || !finite(p.value) {
			return grid.Instead("")
		}
		return grid.Shown(p.df, wording.DF(p.df))
	})
	return m.Made()
}
