package sheet

import (
	"bytes"
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"time"

	"github.com/xuri/excelize/v2"

	"thumbed/models/table"
)

// readXLSX reads an Office Open XML workbook. A workbook that the library cannot
// bear is reported like any other that cannot be read.
func readXLSX(file string, data []byte, ps *table.Problems) (grids []*grid) {
	refuse := func(reason any) {
		ps.Add(table.Problem{File: file, Value: "a damaged workbook", Expected: "a workbook that can be opened",
			Remedy: fmt.Sprintf("open it in a spreadsheet program and save it again (%v)", reason)})
		grids = nil
	}
	defer func() {
		if fault := recover(); fault != nil {
			refuse(fault)
		}
	}()
	// The limits are the same so that nothing is unpacked to the disk.
	book, err := excelize.OpenReader(bytes.NewReader(data), excelize.Options{RawCellValue: true, UnzipSizeLimit: mostBytes, UnzipXMLSizeLimit: mostBytes})
	if err != nil {
		refuse(err)
		return nil
	}
	defer book.Close() // nothing is written
	x := &xlsx{File: book, looks: map[int]look{}}
	if props, err := book.GetWorkbookProps(); err == nil && props.Date1904 != nil {
		x.from1904 = *props.Date1904
	}
	for _, name := range book.GetSheetList() {
		if _, err := book.GetSheetDimension(name); err != nil && strings.Contains(err.Error(), "is not a worksheet") {
			continue // a sheet of charts has no cells
		}
		g, err := x.grid(name)
		if err != nil {
			refuse(fmt.Errorf("sheet %s: %w", name, err))
			return nil
		}
		grids = append(grids, g)
	}
	return grids
}

type xlsx struct {
	*excelize.File
	from1904 bool // days are counted from 1904
	looks    map[int]look
}

// A look is what a style says of a cell.
type look struct {
	day, clock bool   // its number is a day, or a time of day
	percent    bool   // its number is shown as a percentage
	fill       string // its colour; empty without one
}

func (x *xlsx) grid(name string) (*grid, error) {
	g := &grid{name: name, told: true, fills: map[string]cells{}, comments: map[string]string{}}
	values, err := x.values(name)
	if err != nil {
		return nil, err
	}
	width := 0
	for _, row := range values {
		width = max(width, len(row))
	}
	if width > mostColumns || len(values)*width > mostCells {
		return nil, fmt.Errorf("%d rows by %d columns; expected at most %d columns and %d cells", len(values), width, mostColumns, mostCells)
	}
	for i, row := range values {
		out := make([]cell, len(row))
		for k := range width {
			raw := ""
			if k < len(row) {
				raw = row[k]
			}
			c, err := x.cell(g, k+1, i+1, raw)
			if err != nil {
				return nil, err
			}
			if k < len(row) {
				out[k] = c
			}
		}
		g.rows = append(g.rows, out)
	}
	merged, err := x.GetMergeCells(name, true)
	if err != nil {
		return nil, err
	}
	for _, m := range merged {
		var a area
		for _, end := range []struct {
			cell        string
			column, row *int
		}{{m.GetStartAxis(), &a.column, &a.row}, {m.GetEndAxis(), &a.lastColumn, &a.lastRow}} {
			if *end.column, *end.row, err = excelize.CellNameToCoordinates(end.cell); err != nil {
				return nil, err
			}
		}
		g.merged = append(g.merged, a)
	}
	comments, err := x.GetComments(name)
	if err != nil {
		return nil, err
	}
	for _, c := range comments {
		text := c.Text
		for _, run := range c.Paragraph {
			text += run.Text
		}
		g.comments[c.Cell] = text
	}
	return g, x.hidden(g, width)
}

// values are the cells of a sheet as they are stored, row by row.
func (x *xlsx) values(name string) ([][]string, error) {
	rows, err := x.Rows(name)
	if err != nil {
		return nil, err
	}
	var values [][]string
	total := 0
	for rows.Next() {
		row, err := rows.Columns(excelize.Options{RawCellValue: true})
		if err != nil {
			return nil, err
		}
		total += len(row)
		if len(values) == mostRows || total > mostCells {
			return nil, fmt.Errorf("more than %d cells or %d rows", mostCells, mostRows)
		}
		values = append(values, row)
	}
	for len(values) > 0 && len(values[len(values)-1]) == 0 {
		values = values[:len(values)-1]
	}
	if err := rows.Error(); err != nil {
		return nil, err
	}
	return values, rows.Close()
}

// cell reads one cell, and notes its colour and formula.
func (x *xlsx) cell(g *grid, column, row int, raw string) (cell, error) {
	name := at(column, row)
	style, err := x.GetCellStyle(g.name, name)
	if err != nil {
		return cell{}, err
	}
	look, err := x.look(style)
	if err != nil {
		return cell{}, err
	}
	if look.fill != "" && row > 1 {
		c := g.fills[look.fill]
		c.add(column, row)
		g.fills[look.fill] = c
	}
	formula, err := x.GetCellFormula(g.name, name)
	if err != nil {
		return cell{}, err
	}
	if formula != "" {
		g.formulas.add(column, row)
		if raw == "" {
			return cell{fault: "a formula without a saved value, =" + formula}, nil
		}
	}
	if raw == "" {
		return cell{}, nil
	}
	kind, err := x.GetCellType(g.name, name)
	if err != nil {
		return cell{}, err
	}
	return x.typed(kind, look, raw), nil
}

// typed reads a stored value by its kind and look.
func (x *xlsx) typed(kind excelize.CellType, look look, raw string) cell {
	switch kind {
	case excelize.CellTypeBool:
		if raw == "1" || strings.EqualFold(raw, "true") {
			return cell{text: "yes"}
		}
		return cell{text: "no"}
	case excelize.CellTypeError:
		return cell{fault: raw}
	case excelize.CellTypeDate:
		for _, layout := range []string{time.RFC3339, "2006-01-02T15:04:05", "2006-01-02T15:04:05.000", time.DateOnly} {
			if t, err := time.Parse(layout, raw); err == nil {
				return moment(t, true, true)
			}
		}
	case excelize.CellTypeUnset, excelize.CellTypeNumber:
		v, err := strconv.ParseFloat(raw, 64)
		if err != nil {
			break
		}
		if look.day || look.clock {
			if t, err := excelize.ExcelDateToTime(v, x.from1904); err == nil {
				return moment(t, look.day, look.clock)
			}
		}
		return cell{text: number(v), percent: look.percent}
	}
	return cell{text: strings.TrimSpace(raw)}
}

// look reads a style, once.
func (x *xlsx) look(style int) (look, error) {
	if known, ok := x.looks[style]; ok {
		return known, nil
	}
	read, err := x.GetStyle(style)
	if err != nil {
		return look{}, err
	}
	var l look
	if f := read.Fill; f.Type == "pattern" && f.Pattern > 0 && len(f.Color) > 0 && f.Color[0] != "" && !strings.EqualFold(strings.TrimPrefix(f.Color[0], "#"), "FFFFFF") {
		l.fill = "#" + strings.ToUpper(strings.TrimPrefix(f.Color[0], "#"))
	} else if f.Type == "gradient" {
		l.fill = "of a gradient"
	} else if f.Type == "pattern" && f.Pattern > 0 && len(f.Color) == 0 {
		l.fill = x.painted(style)
	}
	if read.CustomNumFmt != nil {
		l.day, l.clock = timeForm(*read.CustomNumFmt)
		l.percent = strings.Contains(reAside.ReplaceAllString(*read.CustomNumFmt, ""), "%")
	} else {
		l.day, l.clock = builtIn(read.NumFmt)
		l.percent = read.NumFmt == 9 || read.NumFmt == 10
	}
	x.looks[style] = l
	return l, nil
}

// painted is the colour of a style whose fill the library does not give, as it
// stands in the file (ISO/IEC 29500-1, section 18.8.32).
func (x *xlsx) painted(style int) string {
	const untold = "that the file does not name"
	if x.Styles == nil || x.Styles.CellXfs == nil || x.Styles.Fills == nil || style < 0 || style >= len(x.Styles.CellXfs.Xf) {
		return untold
	}
	id := x.Styles.CellXfs.Xf[style].FillID
	if id == nil || *id < 0 || *id >= len(x.Styles.Fills.Fill) {
		return untold
	}
	pattern := x.Styles.Fills.Fill[*id].PatternFill
	if pattern == nil || pattern.FgColor == nil || len(pattern.FgColor.RGB) < 6 {
		return untold
	}
	rgb := strings.ToUpper(pattern.FgColor.RGB[len(pattern.FgColor.RGB)-6:])
	if rgb == "FFFFFF" {
		return ""
	}
	return "#" + rgb
}

// builtIn tells whether a number format of ISO/IEC 29500-1, section 18.8.30,
// shows a day or a time of day. Formats 27 to 36 and 50 to 58 are days in the
// languages that have them.
func builtIn(format int) (day, clock bool) {
	switch {
	case format >= 14 && format <= 17, format >= 27 && format <= 31, format == 36, format >= 50 && format <= 54, format == 57, format == 58:
		return true, false
	case format >= 18 && format <= 21, format >= 32 && format <= 35, format >= 45 && format <= 47, format == 55, format == 56:
		return false, true
	case format == 22:
		return true, true
	}
	return false, false
}

// reAside are the parts of a number format that are shown as they stand, and
// those in square brackets other than the hours, minutes and seconds gone by.
var (
	reAside = regexp.MustCompile(`"[^"]*"|\\.|_.|\*.|\[[^\]]*\]`)
	reGone  = regexp.MustCompile(`(?i)\[(h+|m+|s+)\]`)
)

// timeForm tells the same of a format of the scholar's own.
func timeForm(format string) (day, clock bool) {
	format, _, _ = strings.Cut(format, ";")
	format = reGone.ReplaceAllString(format, "$1")
	format = strings.ToLower(reAside.ReplaceAllString(format, ""))
	if strings.Contains(format, "general") || strings.Contains(format, "standard") {
		return false, false
	}
	day = strings.ContainsAny(format, "yd")
	clock = strings.ContainsAny(format, "hs")
	if !day && !clock && strings.Contains(format, "m") && !strings.ContainsAny(format, "0#?") {
		day = true // months alone
	}
	return day, clock
}

// hidden notes rows and columns that the sheet hides.
func (x *xlsx) hidden(g *grid, width int) error {
	visible, err := x.GetSheetVisible(g.name)
	if err != nil {
		return err
	}
	if !visible {
		g.hidden = append(g.hidden, "the whole sheet")
	}
	var columns []string
	for k := range width {
		if shown, err := x.GetColVisible(g.name, letters(k+1)); err != nil {
			return err
		} else if !shown {
			columns = append(columns, letters(k+1))
		}
	}
	if columns != nil {
		g.hidden = append(g.hidden, "columns "+strings.Join(columns, ", "))
	}
	var rows cells
	for i := range g.rows {
		if shown, err := x.GetRowVisible(g.name, i+1); err != nil {
			return err
		} else if !shown {
			rows.add(1, i+1)
		}
	}
	if rows.count > 0 {
		names := make([]string, len(rows.names))
		for i, name := range rows.names {
			names[i] = strings.TrimPrefix(name, "A")
		}
		g.hidden = append(g.hidden, "rows "+cells{rows.count, names}.String())
	}
	return nil
}
