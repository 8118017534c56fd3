package sheet

import (
	"archive/zip"
	"bytes"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/xuri/excelize/v2"

	"thumbed/models/table"
)

// readXLSX reads an Office Open XML workbook. A workbook that the library cannot
// bear is reported like any other that cannot be read.
func readXLSX(file string, archive *zip.Reader, ps *table.Problems) (grids []*grid) {
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
	emptied, err := withoutCells(archive)
	if err != nil {
		refuse(err)
		return nil
	}
	// The limits are the same so that nothing is unpacked to the disk.
	book, err := excelize.OpenReader(bytes.NewReader(emptied), excelize.Options{RawCellValue: true, UnzipSizeLimit: mostBytes, UnzipXMLSizeLimit: mostBytes})
	if err != nil {
		refuse(err)
		return nil
	}
	defer book.Close() // nothing is written
	x := &xlsx{File: book, looks: map[int]look{}, texts: map[string]string{}}
	if props, err := book.GetWorkbookProps(); err == nil && props.Date1904 != nil {
		x.from1904 = *props.Date1904
	}
	parts, shared, err := partsOf(archive)
	if err != nil {
		refuse(err)
		return nil
	}
	if x.shared, err = sharedStrings(shared); err != nil {
		refuse(fmt.Errorf("the strings that cells share: %w", err))
		return nil
	}
	for _, name := range book.GetSheetList() {
		if parts[name] == nil {
			continue // a sheet of charts has no cells
		}
		g, err := x.grid(name, parts[name])
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
	shared   []string
	texts    map[string]string // said before, each once
	looks    map[int]look
}

// A look is what a style says of a cell.
type look struct {
	day, clock bool   // its number is a day, or a time of day
	percent    bool   // its number is shown as a percentage
	fill       string // its colour; empty without one
}

// grid reads a sheet from its part.
func (x *xlsx) grid(name string, part *zip.File) (*grid, error) {
	g := &grid{name: name, told: true, fills: map[string]cells{}, comments: map[string]string{}}
	total := 0
	w := worksheet{shared: x.shared}
	w.cell = func(c stored) error {
		here, err := x.cell(g, c)
		if err != nil || here == (cell{}) {
			return err
		}
		if c.column > mostColumns {
			return fmt.Errorf("a value in column %s; expected at most %d columns", letters(c.column), mostColumns)
		}
		if total += g.set(c.column, c.row, here); total > mostCells {
			return fmt.Errorf("more than %d cells", mostCells)
		}
		return nil
	}
	if err := w.read(part); err != nil {
		return nil, err
	}
	g.merged = w.merged
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
	return g, x.hidden(g, &w)
}

// cell reads one cell, and notes its colour and formula.
func (x *xlsx) cell(g *grid, c stored) (cell, error) {
	look, err := x.look(c.style)
	if err != nil {
		return cell{}, err
	}
	if look.fill != "" && c.row > 1 {
		filled := g.fills[look.fill]
		filled.add(c.column, c.row)
		g.fills[look.fill] = filled
	}
	if c.computed {
		g.formulas.add(c.column, c.row)
		if c.value == "" {
			return faulty("a formula without a saved value, =" + c.formula), nil
		}
	}
	if c.value == "" {
		return cell{}, nil
	}
	here := x.typed(c.kind, look, c.value)
	here.text = x.one(here.text)
	return here, nil
}

// mostKept is how many texts are kept to be shared, and how long they are at most.
const (
	mostKept    = 1 << 16
	mostKeptLen = 64
)

// one gives one text for all cells that say the same: most say what others said.
func (x *xlsx) one(text string) string {
	if len(text) > mostKeptLen {
		return text
	}
	if known, ok := x.texts[text]; ok {
		return known
	}
	if len(x.texts) < mostKept {
		text = strings.Clone(text)
		x.texts[text] = text
	}
	return text
}

// typed reads a stored value by its kind (section 18.18.11) and look.
func (x *xlsx) typed(kind string, look look, raw string) cell {
	switch kind {
	case "b":
		if raw == "1" || strings.EqualFold(raw, "true") {
			return cell{text: "yes"}
		}
		return cell{text: "no"}
	case "e":
		return faulty(raw)
	case "d":
		for _, layout := range []string{time.RFC3339, "2006-01-02T15:04:05", "2006-01-02T15:04:05.000", time.DateOnly} {
			if t, err := time.Parse(layout, raw); err == nil {
				return moment(t, true, true)
			}
		}
	case "", "n":
		v, err := strconv.ParseFloat(raw, 64)
		if err != nil {
			break
		}
		if look.day || look.clock {
			if t, err := excelize.ExcelDateToTime(v, x.from1904); err == nil {
				return moment(t, look.day, look.clock)
			}
		}
		if look.percent {
			return cell{number(v), percentage}
		}
		return cell{text: number(v)}
	}
	return cell{text: strings.TrimSpace(raw)}
}

// look reads a style, once. A cell may name none, and a workbook have none.
func (x *xlsx) look(style int) (look, error) {
	if style < 0 || x.Styles == nil || x.Styles.CellXfs == nil {
		return look{}, nil
	}
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
func (x *xlsx) hidden(g *grid, w *worksheet) error {
	visible, err := x.GetSheetVisible(g.name)
	if err != nil {
		return err
	}
	if !visible {
		g.hidden = append(g.hidden, "the whole sheet")
	}
	var columns []string
	for _, k := range w.hiddenColumns {
		if slices.ContainsFunc(g.rows, func(row []cell) bool { return len(row) >= k }) {
			columns = append(columns, letters(k))
		}
	}
	if columns != nil {
		g.hidden = append(g.hidden, "columns "+strings.Join(columns, ", "))
	}
	if rows := w.hiddenRows; rows.count > 0 {
		names := make([]string, len(rows.names))
		for i, name := range rows.names {
			names[i] = strings.TrimPrefix(name, "A")
		}
		g.hidden = append(g.hidden, "rows "+cells{rows.count, names}.String())
	}
	return nil
}
