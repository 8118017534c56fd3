// Package readings answers: how worn is each page, and how sure is that?
//
// It turns the log of a reflection densitometer into wear: the density of the
// page's thumbed corner over the page's own untouched zero, corrected for the
// instrument's drift inside each measuring day, averaged over placings, with a
// standard error from the pooled repeatability. Values at the instrument's
// floor or ceiling stay limits and are never taken for numbers.
package readings
