// Package report answers: how is a result shown, so that page, figure, table
// and file all say the same?
//
// It holds the one typed value of a whole study, [Results], and its faces: the
// HTML page, the figures (SVG, PDF, PNG), the tables (CSV) and the numbers
// (JSON).
package report
