package report

import (
	"thumbed/models/readings"
)

func (r *Results) wearSheet() sheet {
	m := newSheet("wear", "Wear of every measured page", r.wearRows())
	m.label("book", "the book's id", func(w wearRow) string { return w.book.ID })
	m.label("page", "the page's label", func(w wearRow) string { return pageLabel(w.book, w.wear.Page) })
	m.count("position", "the page's place along the physical book from 1, pages of lost leaves counted", func(w wearRow) int { return w.page().Position })
	m.label("section", "the text on it", func(w wearRow) string { s, _ := w.section(); return s.Name })
	m.label("set", "which set of hours", func(w wearRow) string { s, _ := w.section(); return s.Set })
	m.label("office", "which office of the day", func(w wearRow) string { s, _ := w.section(); return s.Office.String() })
	m.yesNo("picture", "whether it has a picture", func(w wearRow) bool { return w.page().Picture })
	m.number("wear", "density above the page's own zero; the bound where limit is set", func(w wearRow) float64 { return w.wear.Density })
	m.number("wear_se", "standard error of wear, density", func(w wearRow) float64 { return w.wear.SE })
	m.number("wear_df", "degrees of freedom of wear_se", func(w wearRow) float64 { return w.wear.DF })
	m.label("limit", "below: wear is at most this; above: at least; empty: a number", func(w wearRow) string { return string(w.wear.Limit) })
	m.number("coverage", "area coverage from 0 to 1 (Murray–Davies)", func(w wearRow) float64 { return w.wear.Coverage })
	m.number("coverage_se", "standard error of coverage", func(w wearRow) float64 { return w.wear.CoverageSE })
	m.count("placings", "placings of the instrument on the page", func(w wearRow) int { return w.wear.Placings })
	m.count("zeros", "readings of the page's own zero", func(w wearRow) int { return w.wear.Zeros })
	m.count("at_limit", "of placings and zeros, those at the instrument's floor or ceiling", func(w wearRow) int { return w.wear.AtLimit })
	m.count("sittings", "days, instruments and observers", func(w wearRow) int { return w.wear.Sittings })
	m.label("spot", "fixed or darkest", func(w wearRow) string { return w.wear.Spot })
	m.number("curve", "the curve at the page (its smooth and the level of its section), density: the level of a page without a picture, unless all measured pages have one or none has", func(w wearRow) float64 { return w.curve })
	m.number("curve_se", "standard error of curve", func(w wearRow) float64 { return w.curveSE })
	m.number("curve_low", "lower end of the curve's 95 % interval", func(w wearRow) float64 { return w.low })
	m.number("curve_high", "upper end of the curve's 95 % interval", func(w wearRow) float64 { return w.high })
	return m.sheet("book", "page")
}

func (r *Results) sectionSheet() sheet {
	m := newSheet("sections", "Wear of every section", r.areaRows())
	m.label("book", "the book's id", func(a areaRow) string { return a.book.ID })
	m.label("section", "the text", func(a areaRow) string { return a.section().Name })
	m.label("kind", "its kind", func(a areaRow) string { return a.section().Kind })
	m.label("set", "which set of hours", func(a areaRow) string { return a.section().Set })
	m.label("office", "which office of the day", func(a areaRow) string { return a.section().Office.String() })
	m.label("extent", "where it stands", func(a areaRow) string { return a.section().Extent.Written })
	m.count("pages", "pages present", func(a areaRow) int { return a.area.Pages })
	m.count("measured", "pages measured", func(a areaRow) int { return a.area.Measured })
	m.count("at_limit", "of those, at an instrument's limit", func(a areaRow) int { return a.area.AtLimit })
	m.number("total", "area under the pages' wear, density × pages", func(a areaRow) float64 { return a.area.Total })
	m.number("total_se", "standard error of total", func(a areaRow) float64 { return a.area.TotalSE })
	m.number("total_low", "lower end of total's 95 % interval", func(a areaRow) float64 { return a.area.TotalLow })
	m.number("total_high", "upper end of total's 95 % interval", func(a areaRow) float64 { return a.area.TotalHigh })
	m.number("per_page", "wear per page, density", func(a areaRow) float64 { return a.area.PerPage })
	m.number("per_page_se", "standard error of per_page", func(a areaRow) float64 { return a.area.PerPageSE })
	m.number("per_page_low", "lower end of per_page's 95 % interval", func(a areaRow) float64 { return a.area.PerPageLow })
	m.number("per_page_high", "upper end of per_page's 95 % interval", func(a areaRow) float64 { return a.area.PerPageHigh })
	m.number("df", "degrees of freedom of the standard errors", func(a areaRow) float64 { return a.area.DF })
	return m.sheet()
}

func (r *Results) standoutSheet() sheet {
	return standouts("standouts", "Pages that stand above the text pages of their own section", r.standoutRows())
}

// testSheet holds every page that was tested, whether it stands out or not.
func (r *Results) testSheet() sheet {
	return standouts("tests", "Every page that was tested for standing out", r.testRows())
}

func standouts(name, title string, rows []standoutRow) sheet {
	m := newSheet(name, title, rows)
	m.label("book", "the book's id", func(s standoutRow) string { return s.book.ID })
	m.label("page", "the page's label", func(s standoutRow) string { return pageLabel(s.book, s.out.Page) })
	m.label("section", "the text on it", func(s standoutRow) string { return s.sectionName() })
	m.yesNo("picture", "whether it has a picture", func(s standoutRow) bool { return s.page().Picture })
	m.label("subject", "what the picture shows", func(s standoutRow) string { return s.page().Subject })
	m.number("level", "density of the section without this page", func(s standoutRow) float64 { return s.out.Level })
	m.yesNo("at_least", "whether excess, low and high are lower bounds, as the page's wear is", func(s standoutRow) bool { return s.out.AtLeast })
	m.number("excess", "density above the section's level", func(s standoutRow) float64 { return s.out.Excess })
	m.number("excess_se", "standard error of excess", func(s standoutRow) float64 { return s.out.SE })
	m.number("low", "lower end of excess's 95 % interval", func(s standoutRow) float64 { return s.out.Low })
	m.number("high", "upper end of excess's 95 % interval", func(s standoutRow) float64 { return s.out.High })
	m.number("p", "one-sided p-value", func(s standoutRow) float64 { return s.out.P })
	m.number("q", "p adjusted for all pages of the book (Benjamini and Hochberg 1995)", func(s standoutRow) float64 { return s.out.Q })
	m.number("df", "degrees of freedom of p and of the interval", func(s standoutRow) float64 { return s.out.DF })
	return m.sheet("book", "page")
}

func (r *Results) officeSheet() sheet {
	m := newSheet("offices", "How far the day's offices were carried on", r.officeRows())
	m.label("book", "the book's id", func(o officeRow) string { return o.book.ID })
	m.label("set", "which set of hours", func(o officeRow) string { return o.set })
	m.label("office", "the office", func(o officeRow) string { return o.share.Office.String() })
	m.count("order", "its place in the day from Matins, 1", func(o officeRow) int { return o.share.Office.Order() })
	m.count("pages", "pages measured", func(o officeRow) int { return o.share.Pages })
	m.number("wear", "adjusted mean wear, density", func(o officeRow) float64 { return o.share.Wear })
	m.number("wear_se", "standard error of wear", func(o officeRow) float64 { return o.share.SE })
	m.number("share", "wear as a share of the first office's", func(o officeRow) float64 { return o.share.Share })
	m.number("low", "lower end of share's 95 % interval", func(o officeRow) float64 { return o.share.Low })
	m.number("high", "upper end of share's 95 % interval", func(o officeRow) float64 { return o.share.High })
	m.number("curve", "share on the curve that never rises; empty where none can be given", func(o officeRow) float64 { return o.point.Share })
	m.number("curve_low", "lower end of the curve's 95 % band, over all offices at once", func(o officeRow) float64 { return o.point.Low })
	m.number("curve_high", "upper end of that band", func(o officeRow) float64 { return o.point.High })
	return m.sheet()
}

func (r *Results) changeSheet() sheet {
	m := newSheet("changes", "Where the level of wear changes along the day's offices", r.changeRows())
	m.label("book", "the book's id", func(c changeRow) string { return c.book.ID })
	m.label("set", "which set of hours", func(c changeRow) string { return c.carried.Set })
	m.count("after", "row of the series, from 1, after which the level changes", func(c changeRow) int { return c.change().After })
	m.label("at", "the page of that row", func(c changeRow) string { return c.change().At })
	m.count("low", "lower end of after's 95 % interval", func(c changeRow) int { return c.change().Low })
	m.count("high", "upper end of after's 95 % interval", func(c changeRow) int { return c.change().High })
	m.number("probability", "probability of the change", func(c changeRow) float64 { return c.change().Probability })
	m.number("size", "new level less old level, density", func(c changeRow) float64 { return c.change().Size })
	m.number("size_low", "lower end of size's 95 % interval", func(c changeRow) float64 { return c.change().SizeLow })
	m.number("size_high", "upper end of size's 95 % interval", func(c changeRow) float64 { return c.change().SizeHigh })
	m.number("before", "level before, density", func(c changeRow) float64 { return c.level(0) })
	m.number("afterwards", "level after, density", func(c changeRow) float64 { return c.level(1) })
	return m.sheet()
}

func (r *Results) levelSheet() sheet {
	m := newSheet("levels", "The levels of wear between the changes", r.levelRows())
	m.label("book", "the book's id", func(l levelRow) string { return l.book.ID })
	m.label("set", "which set of hours", func(l levelRow) string { return l.carried.Set })
	m.count("from", "first row of the level, from 1", func(l levelRow) int { return l.level.From })
	m.count("to", "last row of the level", func(l levelRow) int { return l.level.To })
	m.label("first_page", "page of the first row", func(l levelRow) string { return rowLabel(l.carried.Series.Labels, l.level.From) })
	m.label("last_page", "page of the last row", func(l levelRow) string { return rowLabel(l.carried.Series.Labels, l.level.To) })
	m.number("mean", "mean wear, density", func(l levelRow) float64 { return l.level.Mean })
	m.number("se", "standard error of mean", func(l levelRow) float64 { return l.level.SE })
	return m.sheet()
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

func (r *Results) precisionSheet() sheet {
	var rows []precisionRow
	for _, row := range r.precisionRows() {
		rows = append(rows, row)
		if row.df != noDF {
			rows = append(rows, precisionRow{row.name + "_df", "its degrees of freedom", row.df, noDF})
		}
	}
	m := newSheet("precision", "The measuring: repeatability and tallies", rows)
	m.label("name", "what is given", func(p precisionRow) string { return p.name })
	m.number("value", "its value; empty where the log cannot tell", func(p precisionRow) float64 { return p.value })
	m.label("about", "what it means", func(p precisionRow) string { return p.about })
	return m.sheet("name")
}

func (r *Results) driftSheet() sheet {
	var rows []readings.DayDrift
	if r.Readings != nil {
		rows = r.Readings.Drift
	}
	m := newSheet("drift", "The instruments' drift day by day", rows)
	m.labels("day", "measuring day", "date", func(d readings.DayDrift) string { return d.Day })
	m.label("instrument", "which instrument", func(d readings.DayDrift) string { return d.Instrument })
	m.count("readings", "readings of its reference tile", func(d readings.DayDrift) int { return d.Readings })
	m.number("start", "tile's departure from its certified density as the day begins", func(d readings.DayDrift) float64 { return d.Start })
	m.number("end", "and as it ends", func(d readings.DayDrift) float64 { return d.End })
	m.number("slope", "density an hour; empty where drift cannot be seen", func(d readings.DayDrift) float64 { return d.Slope })
	m.number("slope_se", "standard error of slope", func(d readings.DayDrift) float64 { return d.SlopeSE })
	m.number("p", "two-sided p-value of no slope", func(d readings.DayDrift) float64 { return d.P })
	m.number("se", "standard error of the correction at mid-day, density", func(d readings.DayDrift) float64 { return d.SE })
	m.number("df", "degrees of freedom of se and p", func(d readings.DayDrift) float64 { return d.DF })
	m.label("correction", "how readings were corrected: none, offset or scale", func(d readings.DayDrift) string { return string(d.Correction) })
	return m.sheet()
}

func (r *Results) excludedSheet() sheet {
	var rows []readings.Excluded
	if r.Readings != nil {
		rows = r.Readings.Excluded
	}
	m := newSheet("excluded", "Readings left out", rows)
	m.label("file", "table of readings", func(e readings.Excluded) string { return e.File })
	m.count("line", "its line", func(e readings.Excluded) int { return e.Line })
	m.label("book", "the book's id", func(e readings.Excluded) string { return e.Book })
	m.label("page", "the page's label", func(e readings.Excluded) string { return e.Page })
	m.number("density", "what the instrument showed", func(e readings.Excluded) float64 { return e.Density })
	m.label("reason", "the scholar's reason", func(e readings.Excluded) string { return e.Reason })
	return m.sheet()
}
