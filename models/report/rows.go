package report

import (
	"math"

	"thumbed/models/codex"
	"thumbed/models/dropoff"
	"thumbed/models/mixed"
	"thumbed/models/profile"
	"thumbed/models/readings"
	"thumbed/models/report/grid"
)

// The rows of the report's tables, in the order of books and of what each
// holds. The tables on disk and those of the page are made of the same rows.

// each gathers the rows of all parents, in their order.
func each[P, R any](parents []P, rows func(P) []R) []R {
	var out []R
	for _, p := range parents {
		out = append(out, rows(p)...)
	}
	return out
}

// A rowOf is one of several rows, with what they are of.
type rowOf[P, R any] struct {
	of  P
	row R
}

func rowsUnder[P, R any](of P, rows []R) []rowOf[P, R] {
	var out []rowOf[P, R]
	for _, row := range rows {
		out = append(out, rowOf[P, R]{of, row})
	}
	return out
}

// numbersOf gives the numbers of a part that not every row has; NaN where it has none.
func numbersOf[T, P any](part func(T) *P) func(func(*P) float64) func(T) float64 {
	return func(value func(*P) float64) func(T) float64 {
		return func(row T) float64 {
			if p := part(row); p != nil {
				return value(p)
			}
			return math.NaN()
		}
	}
}

// hourRows are the rows of all sets of hours of all books.
func hourRows[R any](r *Results, rows func(*codex.Book, *dropoff.Decline) []R) []R {
	return each(r.Books, func(b BookResult) []R {
		return each(b.Declines, func(c *dropoff.Decline) []R { return rows(b.Book, c) })
	})
}

type wearRow struct {
	book *codex.Book
	wear readings.Wear
	// The curve at the page, NaN where the book has none.
	curve, curveSE, low, high float64
	inArea                    float64 // what the page adds to its section's area; NaN likewise
}

func (w wearRow) page() codex.Page { return w.book.Pages[w.wear.Page] }

// section is the page's section; ok is false outside all sections.
func (w wearRow) section() (s codex.Section, ok bool) {
	if k := w.page().Section; k >= 0 {
		return w.book.Sections[k], true
	}
	return codex.Section{}, false
}

func (r *Results) wearRows() []wearRow {
	var out []wearRow
	for i := range r.Books {
		out = append(out, r.wearRowsOf(i)...)
	}
	return out
}

// newWearRow is a page's row without a curve.
func newWearRow(b *codex.Book, w readings.Wear) wearRow {
	return wearRow{book: b, wear: w, curve: math.NaN(), curveSE: math.NaN(), low: math.NaN(), high: math.NaN(), inArea: math.NaN()}
}

// wearRowsOf are the rows of one book.
func (r *Results) wearRowsOf(book int) []wearRow {
	b := r.Books[book]
	curve := map[int]int{}
	if b.Profile != nil {
		for k, position := range b.Profile.Curve.Position {
			curve[position] = k
		}
	}
	var out []wearRow
	for _, w := range r.wearOf(book) {
		row := newWearRow(b.Book, w)
		if b.Profile != nil {
			row.inArea = w.Density
			if filled, at := b.Profile.Filled[w.Page]; at {
				row.inArea = filled
			}
		}
		if k, ok := curve[row.page().Position]; ok {
			c := b.Profile.Curve
			row.curve, row.curveSE, row.low, row.high = c.Estimate[k], c.SE[k], c.Low[k], c.High[k]
		}
		out = append(out, row)
	}
	return out
}

type areaRow struct {
	book *codex.Book
	area profile.Area
}

func (a areaRow) section() codex.Section { return a.book.Sections[a.area.Section] }

func (r *Results) areaRows() []areaRow {
	return each(r.Books, func(b BookResult) []areaRow {
		if b.Profile == nil {
			return nil
		}
		return b.areaRowsOf(b.Profile.Areas)
	})
}

// areaRows are the texts of one book, the most worn first.
func (b BookResult) areaRows() []areaRow { return b.areaRowsOf(byWear(b.Profile.Areas)) }

func (b BookResult) areaRowsOf(areas []profile.Area) []areaRow {
	var out []areaRow
	for _, a := range areas {
		out = append(out, areaRow{b.Book, a})
	}
	return out
}

type standoutRow struct {
	book  *codex.Book
	out   profile.Standout
	limit float64 // of its adjusted p
}

func (s standoutRow) page() codex.Page { return s.book.Pages[s.out.Page] }

// sectionName is the name of the page's section; empty outside all.
func (s standoutRow) sectionName() string {
	if k := s.page().Section; k >= 0 {
		return sectionName(s.book.Sections[k])
	}
	return ""
}

func (r *Results) standoutRows() []standoutRow {
	return r.testRowsOf(func(p *profile.Profile) []profile.Standout { return p.Standouts })
}

func (r *Results) testRows() []standoutRow {
	return r.testRowsOf(func(p *profile.Profile) []profile.Standout { return p.Tests })
}

func (r *Results) testRowsOf(of func(*profile.Profile) []profile.Standout) []standoutRow {
	return each(r.Books, func(b BookResult) []standoutRow {
		if b.Profile == nil {
			return nil
		}
		return b.testRows(of(b.Profile))
	})
}

func (b BookResult) testRows(tests []profile.Standout) []standoutRow {
	var out []standoutRow
	for _, t := range tests {
		out = append(out, standoutRow{b.Book, t, b.Profile.Limit(t)})
	}
	return out
}

// excess is by how much the page stands above its text.
func (s standoutRow) excess(decimals int) grid.Cell {
	c := grid.Number(s.out.Excess, decimals)
	if s.out.AtLeast {
		c = c.After("at least ")
	}
	return c
}

type officeRow struct {
	book    *codex.Book
	carried *dropoff.Decline
	share   dropoff.OfficeShare
	point   dropoff.CurvePoint // NaN where there is no curve
	beside  string             // beside what its interval holds; empty: alone
}

// given is a cell that stands where the value can be given.
func (o officeRow) given(can bool, c grid.Cell) grid.Cell {
	if !can {
		return grid.Instead("not given")
	}
	return c
}

// reach is the interval of a share; that of the first office is one by definition.
func (o officeRow) reach(low, high float64) grid.Cell {
	if o.share.Office == o.carried.Offices[0].Office {
		return grid.Instead("by definition")
	}
	return grid.PercentInterval(low, high)
}

type changeRow struct {
	book    *codex.Book
	carried *dropoff.Decline
	index   int // into Changes.Changes
}

func (c changeRow) change() dropoff.Change { return c.carried.Changes.Changes[c.index] }

// level is the level before (0) or after (1) the change; NaN where not given.
func (c changeRow) level(after int) float64 {
	old, new, ok := c.carried.Changes.Around(c.change().After)
	switch {
	case !ok:
		return math.NaN()
	case after == 0:
		return old.Mean
	}
	return new.Mean
}

type levelRow struct {
	book    *codex.Book
	carried *dropoff.Decline
	level   dropoff.Level
}

// An adjustedRow is one row of the series that changes are sought along.
type adjustedRow struct {
	book    *codex.Book
	carried *dropoff.Decline
	row     int // into Series
}

// of is the row's value among some of the series; NaN where the series has none.
func (a adjustedRow) of(values []float64) float64 {
	if a.row >= len(values) {
		return math.NaN()
	}
	return values[a.row]
}

// office is that of the row; empty where it is not told.
func (a adjustedRow) office() string {
	if a.row >= len(a.carried.Offs) {
		return ""
	}
	return a.carried.Offs[a.row].String()
}

func adjustedRows(b *codex.Book, c *dropoff.Decline) []adjustedRow {
	var out []adjustedRow
	for i := range c.Series.Values {
		out = append(out, adjustedRow{b, c, i})
	}
	return out
}

// A modelPage is a page that a fit took: a row of Pages.
type modelPage = rowOf[ModelResult, int]

func officeRows(b *codex.Book, c *dropoff.Decline) []officeRow {
	var out []officeRow
	for k, o := range c.Offices {
		point := dropoff.CurvePoint{Share: math.NaN(), Low: math.NaN(), High: math.NaN()}
		if c.Curve != nil {
			point = c.Curve.Points[k]
		}
		out = append(out, officeRow{b, c, o, point, ""})
	}
	return out
}

func changeRows(b *codex.Book, c *dropoff.Decline) []changeRow {
	var out []changeRow
	if c.Changes != nil {
		for k := range c.Changes.Changes {
			out = append(out, changeRow{b, c, k})
		}
	}
	return out
}

func levelRows(b *codex.Book, c *dropoff.Decline) []levelRow {
	var out []levelRow
	if c.Changes != nil {
		for _, l := range c.Changes.Levels {
			out = append(out, levelRow{b, c, l})
		}
	}
	return out
}

type fixedRow struct {
	model ModelResult
	mixed.Coefficient
}

func (m ModelResult) fixedRows() []fixedRow {
	var out []fixedRow
	if m.Fit != nil {
		for _, c := range m.Fit.Fixed {
			out = append(out, fixedRow{m, c})
		}
	}
	return out
}

// A randomRow is one standard deviation: of a random term or of the residual.
type randomRow struct {
	model    ModelResult
	by       string
	groupsBy []string // columns that name the groups
	term     string
	sd       float64
	groups   int
	// with and correlation pair the term with another of the same groups; empty
	// and NaN where there is none.
	with        string
	correlation float64
	interval    *mixed.Interval // of the standard deviation; nil where none was looked for
}

func (m ModelResult) randomRows() []randomRow {
	if m.Fit == nil {
		return nil
	}
	var out []randomRow
	for _, random := range m.Fit.Random {
		out = append(out, randomTermRows(m, random)...)
	}
	between := m.deviations(mixed.GroupDeviation) // they stand in the same order
	k := 0
	for i := range out {
		if out[i].with == "" && k < len(between) {
			out[i].interval = &between[k]
			k++
		}
	}
	return append(out, randomRow{model: m, by: residualRow, term: "residual", sd: m.Fit.Residual.SD, groups: m.Fit.N, correlation: math.NaN()})
}

// deviations are the intervals of a fit's standard deviations of a kind: those that
// its model asks for, else those that every fit has.
func (m ModelResult) deviations(kind mixed.ParameterKind) []mixed.Interval {
	return deviationsOf(&m.Fit.Inferences, kind)
}

func deviationsOf(x *mixed.Inferences, kind mixed.ParameterKind) []mixed.Interval {
	all := x.Deviations
	if x.Intervals != nil {
		all = x.Intervals.Parameters
	}
	var out []mixed.Interval
	for _, i := range all {
		if i.Kind == kind {
			out = append(out, i)
		}
	}
	return out
}

// randomTermRows gives each term's standard deviation, then each pair's
// correlation where the terms were let correlate.
func randomTermRows(m ModelResult, random mixed.RandomFit) []randomRow {
	var out []randomRow
	by := groupName(random.By)
	for k, term := range random.Terms {
		sd := math.NaN()
		if k < len(random.SD) {
			sd = random.SD[k]
		}
		row := randomRow{model: m, by: by, groupsBy: random.By, term: term, sd: sd, groups: random.Groups, correlation: math.NaN()}
		out = append(out, row)
		for j := range k {
			if k < len(random.Correlation) && j < len(random.Correlation[k]) && random.Correlation[k][j] != 0 {
				row.with, row.correlation, row.sd = random.Terms[j], random.Correlation[k][j], math.NaN()
				out = append(out, row)
			}
		}
	}
	return out
}

// residualRow is what stands for groups at the residual.
const residualRow = "row"

// groupName names groups: "book", or "quire within book".
func groupName(by []string) string {
	out := ""
	for _, b := range by {
		if out != "" {
			out = " within " + out
		}
		out = b + out
	}
	return out
}
