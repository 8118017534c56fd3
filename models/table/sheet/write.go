package sheet

import (
	"fmt"
	"io"
	"math"
	"strings"

	"github.com/xuri/excelize/v2"

	"thumbed/models/table"
)

// A Page is one sheet of a workbook to be written.
type Page struct {
	Name   string
	Table  *table.Table
	Hidden bool
	Lists  map[string][]string // by column: the words that a drop-down list offers; others may be written
	Marks  []Mark              // cells to look at
}

// A Mark colours a cell and says why in a comment.
type Mark struct {
	Row     int // of the table, from 0
	Column  string
	Comment string
}

// markColour fills marked cells: a light yellow of our own.
const markColour = "FBEFC6"

// widest is the width of a column of long texts, in characters.
const widest = 42

// Write writes a workbook (.xlsx, ISO/IEC 29500) with typed cells: numbers where
// every present cell of a column is one, else text, which no spreadsheet takes for a
// formula or a date.
func Write(w io.Writer, pages []Page) error {
	f := excelize.NewFile()
	defer f.Close() // holds no file yet
	head, err := f.NewStyle(&excelize.Style{Font: &excelize.Font{Bold: true}, Border: []excelize.Border{{Type: "bottom", Color: "000000", Style: 1}}})
	if err != nil {
		return err
	}
	marked, err := f.NewStyle(&excelize.Style{Fill: excelize.Fill{Type: "pattern", Pattern: 1, Color: []string{markColour}}})
	if err != nil {
		return err
	}
	for i := range pages {
		p := pageWriter{Page: &pages[i], file: f, head: head, marked: marked}
		if i == 0 {
			err = f.SetSheetName("Sheet1", p.Name)
		} else {
			_, err = f.NewSheet(p.Name)
		}
		if err != nil {
			return err
		}
		for _, step := range []func() error{p.cells, p.lists, p.marks, p.look} {
			if err := step(); err != nil {
				return fmt.Errorf("sheet %s: %w", p.Name, err)
			}
		}
	}
	_, err = f.WriteTo(w)
	return err
}

// A pageWriter writes one sheet.
type pageWriter struct {
	*Page
	file         *excelize.File
	head, marked int // styles
}

func (p *pageWriter) cells() error {
	columns := p.Table.Columns()
	for k, c := range columns {
		if err := p.file.SetCellStr(p.Name, at(k+1, 1), c.Name); err != nil {
			return err
		}
	}
	for i := range p.Table.Rows() {
		for k := len(columns); k > 0; k-- { // from the last, so that a row grows once
			var err error
			switch c := columns[k-1]; {
			case c.Label(i) == "":
			case c.IsNumber() && !math.IsInf(c.Number(i), 0):
				err = p.file.SetCellFloat(p.Name, at(k, i+2), c.Number(i), -1, 64)
			default:
				err = p.file.SetCellStr(p.Name, at(k, i+2), c.Label(i))
			}
			if err != nil {
				return err
			}
		}
	}
	return p.file.SetCellStyle(p.Name, "A1", at(max(1, len(columns)), 1), p.head)
}

// lists offers words below the names of their columns, and some rows beyond the
// last.
func (p *pageWriter) lists() error {
	const beyond = 200
	for k, c := range p.Table.Columns() {
		words, ok := p.Lists[c.Name]
		if !ok {
			continue
		}
		list := excelize.NewDataValidation(true)
		list.SetSqref(at(k+1, 2) + ":" + at(k+1, p.Table.Rows()+beyond))
		if err := list.SetDropList(words); err != nil {
			return err
		}
		list.SetError(excelize.DataValidationErrorStyleInformation, "Another word", "None of the usual words is written here: "+strings.Join(words, ", ")+". It is taken as it stands.")
		if err := p.file.AddDataValidation(p.Name, list); err != nil {
			return err
		}
	}
	return nil
}

func (p *pageWriter) marks() error {
	for _, m := range p.Marks {
		for k, c := range p.Table.Columns() {
			if c.Name != m.Column {
				continue
			}
			cell := at(k+1, m.Row+2)
			if err := p.file.SetCellStyle(p.Name, cell, cell, p.marked); err != nil {
				return err
			}
			if err := p.file.AddComment(p.Name, excelize.Comment{Cell: cell, Author: "thumbed", Text: m.Comment}); err != nil {
				return err
			}
		}
	}
	return nil
}

// look keeps the columns' names in sight, makes columns as wide as their words, and
// hides what is hidden.
func (p *pageWriter) look() error {
	if err := p.file.SetPanes(p.Name, &excelize.Panes{Freeze: true, YSplit: 1, TopLeftCell: "A2", ActivePane: "bottomLeft"}); err != nil {
		return err
	}
	for k, c := range p.Table.Columns() {
		width := len(c.Name)
		for i := range p.Table.Rows() {
			width = max(width, len([]rune(c.Label(i))))
		}
		if err := p.file.SetColWidth(p.Name, letters(k+1), letters(k+1), float64(min(width+2, widest))); err != nil {
			return err
		}
	}
	return p.file.SetSheetVisible(p.Name, !p.Hidden)
}
