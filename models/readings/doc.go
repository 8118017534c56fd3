// Package readings answers: how worn is each page, and how sure is that?
//
// It turns the log of a reflection densitometer into wear: the density of the
// page's thumbed corner over the page's own untouched zero, corrected for the
// instrument's drift inside each measuring day, averaged over placings, with a
// standard error from the pooled repeatability. Values at the instrument's
// floor or ceiling stay limits and are never taken for numbers.
//
// [Load] reads the instruments and the readings and reports all that is wrong
// with them at once; [Log.Wear] gives the wear of every page with the report
// on the measuring; [Join] sets the wear beside the features of the pages.
//
// The way from readings to wear, and where it stands:
//
//	drift           the day's tile readings as a line along time     drift.go
//	repeatability   scatter inside cells, rounding, odd cells        pools.go, rounding.go, scatter.go
//	spots           the darkest of several, brought to one number    spots.go, darkest.go
//	entries         a page's readings against their zeros            entries.go
//	estimate        maximum likelihood, limits as limits             estimate.go
//	standard error  its parts and their degrees of freedom           standard_error.go
//	one sitting     of one page, with a repeatability that is known           determine.go
//	precision       between observers, instruments and days          precision.go
//	coverage        Murray–Davies                                    density.go
package readings
