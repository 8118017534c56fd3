package dropoff

import (
	"math"
	"slices"

	"thumbed/models/codex"
	"thumbed/models/readings"
)

// removed is what the disturbances add to the wear of row i.
func (a *adjustment) removed(i int) float64 {
	sum := 0.0
	for _, d := range a.used {
		for _, term := range a.fit.Fixed {
			if term.Term != d.effect {
				continue
			}
			column := a.table.Column(d.column)
			if d.column == columnEnds {
				sum += term.Estimate * column.Numbers[i]
			} else if column.Label(i) == "yes" {
				sum += term.Estimate
			}
		}
	}
	return sum + a.ofQuire(a.table.Column(codex.ColumnQuire).Label(i))
}

// series is the wear of the pages with the disturbances removed, and the
// standard error that measuring leaves on each; rows are the rows of the hours
// that it holds, all but those with full leverage, which notes name, and those apart:
// single ones far from their neighbours.
func (a *adjustment) series(h *hours) (s Series, rows, apart []int, notes []string) {
	position := 0.0
	for i, r := range h.rows {
		position += h.step(i)
		if a.fullLeverage[i] {
			continue
		}
		value, se := middle(r.wear)
		s.Values = append(s.Values, value-a.removed(i))
		s.SE = append(s.SE, se)
		s.Labels = append(s.Labels, h.book.Pages[r.page].Label.String())
		s.Position = append(s.Position, position)
		rows = append(rows, i)
	}
	s, rows, apart = leaveApart(s, rows)
	s.Shared, s.Bound = h.loading(rows), h.bound(rows)
	if note := a.fullLeverageNote(h); note != "" {
		notes = append(notes, note)
	}
	return s, rows, apart, notes
}

// bound tells which of some rows are censored; nil where
// none is.
func (h *hours) bound(rows []int) []bool {
	out := make([]bool, len(rows))
	for k, i := range rows {
		out[k] = h.rows[i].wear.Limit != readings.Measured
	}
	if !slices.Contains(out, true) {
		return nil
	}
	return out
}

// middle is the number that stands for a page's wear in a series: the wear
// itself; half the floor, where it is only known to be below; the ceiling,
// where it is above. The half has the spread of what it stands for, which lies
// anywhere from 0 to the floor.
func middle(w readings.Wear) (value, se float64) {
	if w.Limit == readings.Below && w.Density > 0 {
		return w.Density / 2, math.Hypot(w.SE, w.Density/math.Sqrt(12))
	}
	return w.Density, w.SE
}

// farApart is the distance in pages between pages that are not neighbours in
// the order of the book: they are not alike for standing near each other.
const farApart = 1000

// step is how many pages row i lies after the row before it.
func (h *hours) step(i int) float64 {
	if i == 0 {
		return 0
	}
	step := h.book.Pages[h.rows[i].page].Position - h.book.Pages[h.rows[i-1].page].Position
	if step <= 0 {
		return farApart
	}
	return float64(step)
}

// ofQuire is what the quire adds to the wear of its pages.
func (a *adjustment) ofQuire(quire string) float64 {
	for _, mode := range a.modes {
		if mode.Group == quire {
			return mode.Value
		}
	}
	return 0
}
