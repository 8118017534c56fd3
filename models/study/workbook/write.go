package workbook

import (
	"io"
	"slices"

	"thumbed/models/codex"
	"thumbed/models/table"
	"thumbed/models/table/sheet"
)

// bookColumns are those of books.csv that a workbook has, one a row.
var bookColumns = []string{codex.ColumnTitle, codex.ColumnShort, codex.ColumnShelfmark, codex.ColumnLibrary, codex.ColumnLibraryID, codex.ColumnOwner, codex.ColumnPlace, codex.ColumnDate, codex.ColumnMaterial, codex.ColumnOuter}

// lists are the words that a drop-down list offers in a column.
func lists() map[string][]string {
	truth := []string{"yes", "no"}
	var offices []string
	for office := codex.Matins; office <= codex.Compline; office++ {
		offices = append(offices, office.String())
	}
	return map[string][]string{
		codex.ColumnKind:    {"calendar", "lessons", "hours", "psalms", "litany", "office of the dead", "suffrage", "prayer"},
		codex.ColumnSet:     {"of the Virgin", "of the Cross", "of the Holy Spirit"},
		codex.ColumnOffice:  offices,
		codex.ColumnPicture: truth, codex.ColumnBlank: truth, columnLost: truth,
	}
}

// Write writes the workbook of a book.
func (e *Editor) Write(w io.Writer) error {
	v := viewOf(e.book, e.own)
	about := e.about()
	pages := []sheet.Page{
		{Name: pagesSheet, Table: v.table(), Lists: lists(), Marks: v.marks()},
		{Name: bookSheet, Table: about},
		{Name: pagesBefore, Table: v.table(), Hidden: true},
		{Name: bookBefore, Table: about, Hidden: true},
	}
	if len(e.looks) > 0 {
		looks := e.looksTable()
		pages = slices.Insert(pages, 2, sheet.Page{Name: looksSheet, Table: looks, Lists: e.lookLists()})
		pages = append(pages, sheet.Page{Name: looksBefore, Table: looks, Hidden: true})
	}
	return sheet.Write(w, pages)
}

// about is the sheet on the book as a whole: what, and what is said of it.
func (e *Editor) about() *table.Table {
	cells := make([]string, len(bookColumns))
	for i, column := range bookColumns {
		cells[i] = e.books.cell(e.book.Row, column)
	}
	t, err := table.New(table.Labels("what", append([]string{codex.ColumnBook}, bookColumns...)), table.Labels("words", append([]string{e.book.ID}, cells...)))
	if err != nil {
		panic("workbook: " + err.Error()) // two columns of one length
	}
	return t
}
