package report

import (
	"cmp"
	"math"
	"slices"

	"thumbed/models/codex"
	"thumbed/models/dropoff"
	"thumbed/models/readings"
	"thumbed/models/report/grid"
	"thumbed/models/wording"
)

func (r *Results) wearSheet() grid.Grid {
	return wearTable("wear", "Wear of every measured page", r.wearRows())
}

// wearGrid is that of one book, for people.
func (r *Results) wearGrid(i int) grid.Grid {
	b := r.Books[i].Book
	g := wearTable("pages-of-"+r.bookFile(b), "Wear of every measured page of "+r.quotedName(b)+" (density)", r.wearRowsOf(i))
	g.Long, g.Empty = true, "No page of this book was measured."
	return g
}

func wearTable(name, title string, rows []wearRow) grid.Grid {
	m := grid.Of(name, title, rows)
	m.Label("book", "the book's id", func(w wearRow) string { return w.book.ID })
	m.Label("page", "the page's label", func(w wearRow) string { return pageLabel(w.book, w.wear.Page) }).As("Page")
	m.Count("position", "the page's place along the physical book from 1, pages of lost leaves counted", func(w wearRow) int { return w.page().Position })
	m.Label("section", "the text on it", func(w wearRow) string { s, _ := w.section(); return s.Name })
	m.Show("Text", func(w wearRow) grid.Cell { s, _ := w.section(); return grid.Words(sectionName(s)) })
	m.Label("set", "which set of hours", func(w wearRow) string { s, _ := w.section(); return s.Set })
	m.Label("office", "which office of the day", func(w wearRow) string { s, _ := w.section(); return s.Office.String() })
	m.YesNo("picture", "whether it has a picture", func(w wearRow) bool { return w.page().Picture })
	m.Show("Picture", func(w wearRow) grid.Cell {
		if w.page().Picture {
			return grid.Words(cmp.Or(w.page().Subject, "picture"))
		}
		return grid.Words("")
	})
	m.Show("Wear#", func(w wearRow) grid.Cell { return grid.Density(w.wear.Density).After(boundWords(w.wear.Limit)) })
	m.Number("wear", "density above the page's own zero; the bound where limit is set", func(w wearRow) float64 { return w.wear.Density })
	m.Number("wear_se", "standard error of wear, density", func(w wearRow) float64 { return w.wear.SE }).As("Standard error", 4)
	m.Number("wear_df", "degrees of freedom of wear_se", func(w wearRow) float64 { return w.wear.DF })
	m.Label("limit", "below: wear is at most this; above: at least; empty: a number", func(w wearRow) string { return string(w.wear.Limit) })
	m.Number("coverage", "area coverage from 0 to 1 (Murray–Davies)", func(w wearRow) float64 { return w.wear.Coverage })
	m.Number("coverage_se", "standard error of coverage", func(w wearRow) float64 { return w.wear.CoverageSE })
	m.Count("placings", "placings of the instrument on the page", func(w wearRow) int { return w.wear.Placings })
	m.Count("zeros", "readings of the page's own zero", func(w wearRow) int { return w.wear.Zeros })
	m.Count("at_limit", "of placings and zeros, those at the instrument's floor or ceiling", func(w wearRow) int { return w.wear.AtLimit })
	m.Count("sittings", "days, instruments and observers", func(w wearRow) int { return w.wear.Sittings })
	m.Label("spot", "fixed or darkest", func(w wearRow) string { return w.wear.Spot })
	m.Number("curve", "the curve at the page (its smooth and the level of its section), density: the level of a page without a picture, unless all measured pages have one or none has", func(w wearRow) float64 { return w.curve }).As("Curve", wording.DensityDecimals)
	m.Number("curve_se", "standard error of curve", func(w wearRow) float64 { return w.curveSE })
	m.Ends("curve_", "the curve's", func(w wearRow) (low, high float64) { return w.low, w.high })
	m.Show(interval95+"#", func(w wearRow) grid.Cell { return grid.Interval(w.low, w.high, wording.DensityDecimals) })
	m.Show("Placings#", func(w wearRow) grid.Cell { return grid.Whole(w.wear.Placings) })
	m.Number("in_area", "what the page adds to its section's area, density: wear, or where limit is set what the curve lets one expect beyond the bound; pages not measured add the mean of this over their section", func(w wearRow) float64 { return w.inArea })
	return m.Made("book", "page")
}

func (r *Results) sectionSheet() grid.Grid {
	return areaTable("sections", "Wear of every section", r.areaRows())
}

// sectionGrid is that of one book, for people.
func (r *Results) sectionGrid(i int) grid.Grid {
	b := r.Books[i]
	g := areaTable("sections-of-"+r.bookFile(b.Book), "Sections of "+r.quotedName(b.Book)+", the most worn by the page first (density)", b.areaRows())
	g.Empty = "No section of this book was measured."
	return g
}

func areaTable(name, title string, rows []areaRow) grid.Grid {
	m := grid.Of(name, title, rows)
	m.Label("book", "the book's id", func(a areaRow) string { return a.book.ID })
	m.Label("section", "the text", func(a areaRow) string { return a.section().Name })
	m.Show("Section", func(a areaRow) grid.Cell { return grid.Words(sectionName(a.section())) })
	m.Label("kind", "its kind", func(a areaRow) string { return a.section().Kind })
	m.Label("set", "which set of hours", func(a areaRow) string { return a.section().Set })
	m.Label("office", "which office of the day", func(a areaRow) string { return a.section().Office.String() })
	m.Label("extent", "where it stands", func(a areaRow) string { return a.section().Extent.Written }).As("Extent")
	m.Count("pages", "pages present", func(a areaRow) int { return a.area.Pages })
	m.Count("measured", "pages measured", func(a areaRow) int { return a.area.Measured })
	m.Count("at_limit", "of those, at an instrument's limit", func(a areaRow) int { return a.area.AtLimit })
	m.Show("Pages measured#", func(a areaRow) grid.Cell { return grid.Shown(float64(a.area.Measured), measuredOf(a.area)) })
	m.Show("Wear per page#", func(a areaRow) grid.Cell { return grid.Density(a.area.PerPage) })
	m.Show(interval95+"#", func(a areaRow) grid.Cell {
		return grid.Interval(a.area.PerPageLow, a.area.PerPageHigh, wording.DensityDecimals)
	})
	m.Number("total", "area under the pages' wear, density × pages", func(a areaRow) float64 { return a.area.Total }).As("Wear in all", 2)
	m.Number("total_se", "standard error of total", func(a areaRow) float64 { return a.area.TotalSE })
	m.Ends("total_", "total's", func(a areaRow) (low, high float64) { return a.area.TotalLow, a.area.TotalHigh })
	m.Show(interval95+"#", func(a areaRow) grid.Cell { return grid.Interval(a.area.TotalLow, a.area.TotalHigh, 2) })
	m.Number("per_page", "wear per page, density", func(a areaRow) float64 { return a.area.PerPage })
	m.Number("per_page_se", "standard error of per_page", func(a areaRow) float64 { return a.area.PerPageSE })
	m.Ends("per_page_", "per_page's", func(a areaRow) (low, high float64) { return a.area.PerPageLow, a.area.PerPageHigh })
	m.Number("df", "degrees of freedom of the standard errors", func(a areaRow) float64 { return a.area.DF })
	return m.Made()
}

func (r *Results) standoutSheet() grid.Grid {
	return standouts("standouts", "Pages that stand above the text pages of their own section", r.standoutRows())
}

// standoutGrid is that of one book, for people.
func (r *Results) standoutGrid(i int) grid.Grid {
	b := r.Books[i]
	g := standouts("standouts-of-"+r.bookFile(b.Book), "Pages of "+r.quotedName(b.Book)+" that stand above the text pages of their own section (density)", b.testRows(b.Profile.Standouts))
	g.Empty = "No page stands out at this rate."
	return g
}

// testSheet holds every page that was tested, whether it stands out or not.
func (r *Results) testSheet() grid.Grid {
	return standouts("tests", "Every page that was tested for standing out", r.testRows())
}

func standouts(name, title string, rows []standoutRow) grid.Grid {
	m := grid.Of(name, title, rows)
	m.Label("book", "the book's id", func(s standoutRow) string { return s.book.ID })
	m.Label("page", "the page's label", func(s standoutRow) string { return pageLabel(s.book, s.out.Page) })
	m.Show("Page", func(s standoutRow) grid.Cell { return grid.Words(folio(s.book, s.out.Page)) })
	m.Show("What is on it", func(s standoutRow) grid.Cell { return grid.Words(pageContent(s.page())) })
	m.Label("section", "the text on it", standoutRow.sectionName).As("Section")
	m.YesNo("picture", "whether it has a picture", func(s standoutRow) bool { return s.page().Picture })
	m.Label("subject", "what the picture shows", func(s standoutRow) string { return s.page().Subject })
	m.Number("level", "density of the section without this page", func(s standoutRow) float64 { return s.out.Level })
	m.YesNo("at_least", "whether excess, low and high are lower bounds, as the page's wear is", func(s standoutRow) bool { return s.out.AtLeast })
	m.Number("excess", "density above the section's level", func(s standoutRow) float64 { return s.out.Excess })
	m.Show("Above by#", func(s standoutRow) grid.Cell { return s.excess(wording.DensityDecimals) })
	m.Number("excess_se", "standard error of excess", func(s standoutRow) float64 { return s.out.SE })
	m.Ends("", "excess's", func(s standoutRow) (low, high float64) { return s.out.Low, s.out.High })
	m.Show(interval95+"#", func(s standoutRow) grid.Cell { return grid.Interval(s.out.Low, s.out.High, wording.DensityDecimals) })
	m.Show("p, adjusted#", func(s standoutRow) grid.Cell { return grid.Shown(s.out.Q, wording.PValue(s.out.Q)) })
	m.Number("excess_sd", "standard deviation of excess where the page is like the others of its section: p is by Student's t of excess over it", func(s standoutRow) float64 { return s.out.Drawn })
	m.Number("p", "one-sided p-value", func(s standoutRow) float64 { return s.out.P })
	m.Number("q", "p adjusted for all pages of the book (Benjamini and Hochberg 1995)", func(s standoutRow) float64 { return s.out.Q })
	m.Number("limit", "q at or below which a page stands out: 5 % shared out over all that is looked for unasked, and of pictures 5 % where those of the book add to wear as a whole", func(s standoutRow) float64 { return s.limit })
	m.Number("df", "degrees of freedom of p and of the interval", func(s standoutRow) float64 { return s.out.DF })
	return m.Made("book", "page")
}

func (r *Results) officeSheet() grid.Grid {
	return officeTable("offices", "Wear of the day's offices against the first", hourRows(r, officeRows))
}

// officeGrid is that of one set of hours, for people.
func (r *Results) officeGrid(b *codex.Book, c *dropoff.Decline) grid.Grid {
	return officeTable("offices-of-"+r.setFile(b, c), "The "+setName(c.Set)+" in "+r.quotedName(b)+", office by office", officeRows(b, c))
}

func officeTable(name, title string, rows []officeRow) grid.Grid {
	m := grid.Of(name, title, rows)
	m.Label("book", "the book's id", func(o officeRow) string { return o.book.ID })
	m.Label("set", "which set of hours", func(o officeRow) string { return o.carried.Set })
	m.Label("office", "the office", func(o officeRow) string { return o.share.Office.String() }).As("Office")
	m.Count("order", "its place in the day from Matins, 1", func(o officeRow) int { return o.share.Office.Order() })
	m.Count("pages", "pages measured", func(o officeRow) int { return o.share.Pages }).As("Pages", 0)
	m.Number("wear", "adjusted mean wear, density", func(o officeRow) float64 { return o.share.Wear }).As("Wear (density)", wording.DensityDecimals)
	m.Number("wear_se", "standard error of wear", func(o officeRow) float64 { return o.share.SE }).As("Standard error", 4)
	m.Number("share", "wear as a share of the first office's", func(o officeRow) float64 { return o.share.Share })
	m.Ends("", "share's", func(o officeRow) (low, high float64) { return o.share.Low, o.share.High })
	m.Show("Share of the first#", func(o officeRow) grid.Cell { return o.given(o.carried.Refused == "", grid.Percent(o.share.Share)) })
	m.Show(interval95+"#", func(o officeRow) grid.Cell {
		return o.given(o.carried.Refused == "", o.reach(o.share.Low, o.share.High))
	})
	m.Show("Falling curve#", func(o officeRow) grid.Cell { return o.given(o.carried.Curve != nil, grid.Percent(o.point.Share)) })
	m.Show("95"+wording.Narrow+"% band, all offices at once#", func(o officeRow) grid.Cell {
		return o.given(o.carried.Curve != nil, o.reach(o.point.Low, o.point.High))
	})
	handled := numbersOf(func(o officeRow) *dropoff.Handled { return o.share.Handled })
	m.Number("handled", "how often pages of the office were handled, those of the first 1, by the stated calibration of handling against density; empty without one", handled(func(h *dropoff.Handled) float64 { return h.Share }))
	m.Number("handled_low", "lower end of its 95 % interval", handled(func(h *dropoff.Handled) float64 { return h.Low }))
	m.Number("handled_high", "upper end", handled(func(h *dropoff.Handled) float64 { return h.High }))
	if slices.ContainsFunc(rows, func(o officeRow) bool { return o.share.Handled != nil }) {
		told := func(of func(*dropoff.Handled) grid.Cell) func(o officeRow) grid.Cell {
			return func(o officeRow) grid.Cell {
				if o.share.Handled == nil {
					return grid.Instead("not given")
				}
				return of(o.share.Handled)
			}
		}
		m.Show("Handled, of the first#", told(func(h *dropoff.Handled) grid.Cell { return grid.Percent(h.Share) }))
		m.Show(interval95+"#", func(o officeRow) grid.Cell {
			return told(func(h *dropoff.Handled) grid.Cell { return o.reach(h.Low, h.High) })(o)
		})
	}
	m.Number("curve", "share on the curve that never rises; empty where none can be given", func(o officeRow) float64 { return o.point.Share })
	m.Number("curve_low", "lower end of the curve's 95 % band, over all offices at once", func(o officeRow) float64 { return o.point.Low })
	m.Number("curve_high", "upper end of that band", func(o officeRow) float64 { return o.point.High })
	return m.Made()
}

func (r *Results) changeSheet() grid.Grid {
	return changeTable("changes", "Where the level of wear changes along the day's offices", hourRows(r, changeRows))
}

// changeGrid is that of one set of hours, for people.
func (r *Results) changeGrid(b *codex.Book, c *dropoff.Decline) grid.Grid {
	return changeTable("changes-of-"+r.setFile(b, c), "Changes of level along the "+setName(c.Set)+" in "+r.quotedName(b), changeRows(b, c))
}

// noChange stands for a table of changes without any.
const noChange = "No change of level was found."

func changeTable(name, title string, rows []changeRow) grid.Grid {
	m := grid.Of(name, title, rows)
	m.Empty = noChange
	m.Label("book", "the book's id", func(c changeRow) string { return c.book.ID })
	m.Label("set", "which set of hours", func(c changeRow) string { return c.carried.Set })
	m.Count("after", "row of the series, from 1, after which the level changes", func(c changeRow) int { return c.change().After })
	m.Label("at", "the page of that row", func(c changeRow) string { return c.change().At })
	m.Show("After page", func(c changeRow) grid.Cell { return grid.Words("f." + wording.NoBreak + c.change().At) })
	m.Show(interval95+" of the place", func(c changeRow) grid.Cell { return grid.Words(changeInterval(c.carried, c.change())) })
	m.Count("low", "lower end of after's 95 % interval", func(c changeRow) int { return c.change().Low })
	m.Count("high", "upper end of after's 95 % interval", func(c changeRow) int { return c.change().High })
	m.Number("probability", "probability of the change", func(c changeRow) float64 { return c.change().Probability })
	showStep(m, func(c changeRow) dropoff.Change { return c.change() })
	m.Number("size", "new level less old level, density", func(c changeRow) float64 { return c.change().Size })
	m.Ends("size_", "size's", func(c changeRow) (low, high float64) { return c.change().SizeLow, c.change().SizeHigh })
	m.Number("before", "level before, density", func(c changeRow) float64 { return c.level(0) })
	m.Number("afterwards", "level after, density", func(c changeRow) float64 { return c.level(1) })
	return m.Made()
}

func (r *Results) adjustedSheet() grid.Grid {
	m := grid.Of("adjusted", "The pages of the hours in the order of the offices, adjusted for pictures, quires and the like; changes are sought along these", hourRows(r, adjustedRows))
	m.Label("book", "the book's id", func(a adjustedRow) string { return a.book.ID })
	m.Label("set", "which set of hours", func(a adjustedRow) string { return a.carried.Set })
	m.Count("row", "place in the series, from 1", func(a adjustedRow) int { return a.row + 1 })
	m.Label("page", "the page's label", func(a adjustedRow) string { return rowLabel(a.carried.Series.Labels, a.row+1) })
	m.Label("office", "the office on it", adjustedRow.office)
	m.Number("position", "place along the pages, from which their likeness fades", func(a adjustedRow) float64 { return a.of(a.carried.Series.Position) })
	m.Number("wear", "adjusted wear, density; half the floor for a page known to be below it, the ceiling for one above", func(a adjustedRow) float64 { return a.of(a.carried.Series.Values) })
	m.Number("wear_se", "standard error of measuring, density", func(a adjustedRow) float64 { return a.of(a.carried.Series.SE) })
	return m.Made()
}

func (r *Results) levelSheet() grid.Grid {
	m := grid.Of("levels", "The levels of wear between the changes", hourRows(r, levelRows))
	m.Label("book", "the book's id", func(l levelRow) string { return l.book.ID })
	m.Label("set", "which set of hours", func(l levelRow) string { return l.carried.Set })
	m.Count("from", "first row of the level, from 1", func(l levelRow) int { return l.level.From })
	m.Count("to", "last row of the level", func(l levelRow) int { return l.level.To })
	m.Label("first_page", "page of the first row", func(l levelRow) string { return rowLabel(l.carried.Series.Labels, l.level.From) })
	m.Label("last_page", "page of the last row", func(l levelRow) string { return rowLabel(l.carried.Series.Labels, l.level.To) })
	m.Number("mean", "mean wear, density", func(l levelRow) float64 { return l.level.Mean })
	m.Number("se", "standard error of mean", func(l levelRow) float64 { return l.level.SE })
	return m.Made()
}

func (r *Results) sharedErrorSheet() grid.Grid {
	m := grid.Of("shared_errors", "The errors that pages share by day, observer, instrument and drift; pages.csv has each page's part in them", r.sharedErrors())
	m.Label("by", "what the pages share", func(s readings.Source) string { return s.By })
	m.YesNo("known", "whether the spread is known", func(s readings.Source) bool { return s.Known })
	m.Number("sd", "standard deviation between days, observers or instruments, density; of drift, of the part of it that was one of scale; missing where not known", func(s readings.Source) float64 { return orUnknown(s.SD, s.Known) })
	m.Number("spread_df", "its degrees of freedom; missing where it is stated as known", func(s readings.Source) float64 { return orUnknown(s.SpreadDF, s.Known) })
	m.Number("df", "degrees of freedom of what stays unknown of each day, observer or instrument; missing likewise", func(s readings.Source) float64 { return orUnknown(s.DF, s.Known) })
	m.Count("levels", "days, observers or instruments", func(s readings.Source) int { return len(s.Levels) })
	return m.Made("by")
}

func (r *Results) sharedErrors() []readings.Source {
	if r.Readings == nil {
		return nil
	}
	return r.Readings.Shared
}

// orUnknown is a number that is known; else none.
func orUnknown(v float64, known bool) float64 {
	if !known {
		return math.NaN()
	}
	return v
}

// precision is the report on the measuring as a list of named values.
type precisionRow struct {
	name, about string
	value       float64
	df          float64 // degrees of freedom of value; noDF for what has none
}

// noDF stands for degrees of freedom of what has none.
const noDF = -1

func (r *Results) precisionRows() []precisionRow {
	if r.Readings == nil {
		return nil
	}
	p, c := r.Readings.Precision, r.Readings.Counted
	return []precisionRow{
		{"repeatability", "standard deviation of density between placings on one spot (s_r, ISO 5725-2)", p.Repeatability, p.DF},
		{"cells", "spots with more than one placing, pooled in it", float64(p.Cells), noDF},
		{"on_page", "repeatability on thumbed places alone", p.OnPage, p.OnPageDF},
		{"on_zero", "repeatability on zeros alone", p.OnZero, p.OnZeroDF},
		{"between", "standard deviation between observers or instruments (s_L, ISO 5725-2)", p.Between, noDF},
		{"reproducibility", "standard deviation of density over observers and instruments (s_R, ISO 5725-2)", p.Reproducibility, noDF},
		{"between_days", "standard deviation of density between days of one observer with one instrument on one page, beyond repeatability", p.BetweenDays, noDF},
		{"again", "pages measured again on another day", float64(p.Again), noDF},
		{"spot_spread", "standard deviation of density between spots of one page", p.SpotSpread, p.SpotSpreadDF},
		{"tile_sd", "standard deviation of tile readings about their day's line", p.TileSD, p.TileDF},
		{"readings", "rows of the log", float64(c.Readings), noDF},
		{"page_readings", "readings of a page's thumbed corner", float64(c.Page), noDF},
		{"zero_readings", "readings of a page's own zero", float64(c.Zero), noDF},
		{"tile_readings", "readings of the reference tile", float64(c.Tile), noDF},
		{"excluded", "readings left out with a reason", float64(c.Excluded), noDF},
		{"at_floor", "readings at the instrument's floor", float64(c.AtFloor), noDF},
		{"at_ceiling", "readings at the instrument's ceiling", float64(c.AtCeiling), noDF},
		{"pages", "pages with readings", float64(c.Pages), noDF},
		{"days", "measuring days", float64(c.Days), noDF},
		{"unclear", "pages with readings but no wear", float64(c.Unclear), noDF},
	}
}

func (r *Results) precisionSheet() grid.Grid { return precisionTable(r.precisionRows()) }

func precisionTable(given []precisionRow) grid.Grid {
	var rows []precisionRow
	for _, row := range given {
		rows = append(rows, row)
		if row.df != noDF {
			rows = append(rows, precisionRow{row.name + "_df", "its degrees of freedom", row.df, noDF})
		}
	}
	m := grid.Of("precision", "The measuring: repeatability and tallies", rows)
	m.Label("name", "what is given", func(p precisionRow) string { return p.name })
	m.Number("value", "its value; empty where the log cannot tell", func(p precisionRow) float64 { return p.value })
	m.Label("about", "what it means", func(p precisionRow) string { return p.about })
	return m.Made("name")
}

// driftTable is shown to people too.
func (r *Results) driftTable() grid.Grid {
	var rows []readings.DayDrift
	if r.Readings != nil {
		rows = r.Readings.Drift
	}
	m := grid.Of("drift", "The instruments’ drift day by day, as the reference tile departs from its certified density", rows)
	m.Empty = "The log holds no readings of a reference tile, so drift could not be corrected."
	m.Date("day", "measuring day", func(d readings.DayDrift) string { return d.Day }).As("Day")
	m.Label("instrument", "which instrument", func(d readings.DayDrift) string { return d.Instrument }).As("Instrument")
	m.Count("readings", "readings of its reference tile", func(d readings.DayDrift) int { return d.Readings }).As("Tile readings", 0)
	m.Number("start", "tile's departure from its certified density as the day begins", func(d readings.DayDrift) float64 { return d.Start }).As("As the day began", 4)
	m.Number("end", "and as it ends", func(d readings.DayDrift) float64 { return d.End }).As("As it ended", 4)
	m.Number("slope", "density an hour; empty where drift cannot be seen", func(d readings.DayDrift) float64 { return d.Slope })
	m.Number("slope_se", "standard error of slope", func(d readings.DayDrift) float64 { return d.SlopeSE })
	m.Number("p", "two-sided p-value of no slope", func(d readings.DayDrift) float64 { return d.P })
	m.Number("se", "standard error of the correction at mid-day, density", func(d readings.DayDrift) float64 { return d.SE }).As("Standard error", 4)
	m.Number("df", "degrees of freedom of se and p", func(d readings.DayDrift) float64 { return d.DF })
	m.Label("correction", "how readings were corrected: none, offset, scale or either", func(d readings.DayDrift) string { return string(d.Correction) }).As("Correction")
	return m.Made()
}

// excludedTable is shown to people too.
func (r *Results) excludedTable() grid.Grid {
	var rows []readings.Excluded
	if r.Readings != nil {
		rows = r.Readings.Excluded
	}
	m := grid.Of("excluded", "Readings left out, with the reason given", rows)
	m.Empty = "No reading was left out."
	m.Show("Where", func(e readings.Excluded) grid.Cell { return grid.Words(e.File + ", line " + wording.Whole(e.Line)) })
	m.Label("file", "table of readings", func(e readings.Excluded) string { return e.File })
	m.Count("line", "its line", func(e readings.Excluded) int { return e.Line })
	m.Label("book", "the book's id", func(e readings.Excluded) string { return e.Book }).As("Book")
	m.Label("page", "the page's label", func(e readings.Excluded) string { return e.Page }).As("Page")
	m.Number("density", "what the instrument showed", func(e readings.Excluded) float64 { return e.Density }).As("Density", 2)
	m.Label("reason", "the scholar's reason", func(e readings.Excluded) string { return e.Reason }).As("Reason")
	return m.Made()
}
