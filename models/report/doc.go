// Package report answers: how is a result shown, so that page, figure, table
// and file all say the same?
//
// It holds the one typed value of a whole study, [Results], and its faces:
//
//   - [Results.Sentences], the answers in words with their intervals;
//   - [Results.Page], one self-contained HTML file;
//   - [Results.Figures], each as SVG, PDF and PNG;
//   - [Results.Tables] with [Results.Schemas], as CSV with a Table Schema each;
//   - [Results.JSON], every number;
//   - [Results.Methods], what was really done, with the works cited;
//   - [Results.Printed], what a chapter prints, which the room chapter sets in LaTeX.
//
// [Results.Write] writes all but the chapter into a folder. Nothing is computed here that
// a scholar would cite: each face shows the values that it was given, to the
// same digits (format.go), and all faces are the same bytes on every run.
//
// # Map
//
//	results.go                 the value
//	format.go, label.go        numbers, phrases and names as every face shows them
//	name.go                    names of files and of places on the page
//	sentence*.go               the answers in words
//	rows.go, sheets_*.go       the tables, on disk and for people; see the package grid
//	numbers.go, json.go        results.json
//	palette.go, drawing.go     inks, marks and lines of figures; spread.go: places for labels
//	strip.go, chart_*.go       the figures, each drawn once for all three forms
//	figure.go, svg.go, pdf.go  the forms
//	page.go, page.html.tmpl, page.css, cautions.go
//	methods.go, references.go  what was done, and the works cited
//	printed*.go                sections, captions and tables of a chapter
//	write.go                   the folder
package report
