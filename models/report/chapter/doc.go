// Package chapter answers: how do the results stand in a printed chapter?
//
// It sets what [report.Results.Printed] gives in LaTeX: tables with booktabs,
// figures with captions that carry their numbers, the methods with citations, a
// BibTeX file of the works cited, and a small main file that compiles as it
// stands with pdfLaTeX and BibTeX. Nothing is computed or rounded here: each
// number is the text that the page shows. The same results give the same bytes.
//
// The parts are letters and commands that every engine knows; what pdfLaTeX's
// fonts lack is left as it is for LuaLaTeX and XeLaTeX, and preamble.tex says
// what pdfLaTeX shall set in its place.
//
// # Map
//
//	chapter.go   the files and the folder
//	letters.go   the scholar's own words made safe
//	columns.go   widths and line breaks of a table's columns
//	align.go     numbers below each other by their points
//	table.go     tables; words.go: what is said; figure.go: figures
//	cite.go      citations in the methods, and the bibliography
//	main.go      chapter.tex and preamble.tex
package chapter
