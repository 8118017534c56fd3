package sheet

import (
	"archive/zip"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"math"
	"regexp"
	"strconv"
	"strings"
	"time"

	"thumbed/models/table"
)

// readODS reads an OpenDocument spreadsheet (ISO/IEC 26300-1, OpenDocument 1.2,
// part 1: sections 9, Tables, and 19, Attributes).
func readODS(file string, archive *zip.Reader, ps *table.Problems) []*grid {
	var content io.ReadCloser
	for _, f := range archive.File {
		if f.Name == "content.xml" && content == nil {
			part, err := f.Open()
			if err != nil {
				ps.Add(damaged(file, err))
				return nil
			}
			content = part
		}
	}
	if content == nil {
		ps.Add(damaged(file, errors.New("its content cannot be found")))
		return nil
	}
	defer content.Close() // only read from
	o := &ods{xml: xml.NewDecoder(content), colours: map[string]string{}, unshown: map[string]bool{}}
	if err := o.read(); err != nil {
		ps.Add(damaged(file, err))
		return nil
	}
	return o.grids
}

func damaged(file string, err error) table.Problem {
	return table.Problem{File: file, Value: "a damaged workbook", Expected: "a workbook that can be opened",
		Remedy: fmt.Sprintf("open it in a spreadsheet program and save it again (%v)", err)}
}

type ods struct {
	xml     *xml.Decoder
	grids   []*grid
	colours map[string]string // background of each cell style
	unshown map[string]bool   // styles of sheets that are hidden

	style    string // the cell style that is being read
	styled   string // the style of any kind that is being read
	columns  int    // columns of the sheet told of so far
	row      int    // row reached, from 1
	column   int    // column reached, from 1
	total    int    // cells of the sheet so far
	repeated int    // how many rows the row being read stands for
}

// mostDepth is how deep elements may stand inside each other.
const mostDepth = 250

func (o *ods) read() error {
	depth := 0
	for {
		token, err := o.xml.Token()
		if err == io.EOF {
			return nil
		}
		if err != nil {
			return err
		}
		switch token := token.(type) {
		case xml.StartElement:
			if depth++; depth > mostDepth {
				return fmt.Errorf("more than %d elements inside each other", mostDepth)
			}
			taken, err := o.start(token)
			if err != nil {
				return err
			}
			if taken {
				depth-- // read to its end
			}
		case xml.EndElement:
			depth--
			if token.Name.Local == "table-row" {
				if err := o.endRow(); err != nil {
					return err
				}
			}
		}
	}
}

// start reads an element; taken where it was read to its end.
func (o *ods) start(e xml.StartElement) (taken bool, err error) {
	switch e.Name.Local {
	case "style":
		o.style, o.styled = "", attr(e, "name")
		if attr(e, "family") == "table-cell" {
			o.style = attr(e, "name")
		}
	case "table-cell-properties":
		if colour := attr(e, "background-color"); o.style != "" && colour != "" && colour != "transparent" && !strings.EqualFold(colour, "#ffffff") {
			o.colours[o.style] = strings.ToUpper(colour)
		}
	case "table-properties":
		if attr(e, "display") == "false" {
			o.unshown[o.styled] = true
		}
	case "table-column":
		if len(o.grids) > 0 {
			if n := repeats(e, "number-columns-repeated"); attr(e, "visibility") == "collapse" && n < mostColumns {
				o.sheet().hidden = append(o.sheet().hidden, "column "+letters(o.columns+1))
				o.columns += n
			} else {
				o.columns = min(o.columns+n, mostColumns)
			}
		}
	case "table":
		if len(o.grids) >= 1000 {
			return false, errors.New("more than 1000 sheets")
		}
		o.grids = append(o.grids, &grid{name: attr(e, "name"), told: true, fills: map[string]cells{}, comments: map[string]string{}})
		o.row, o.total, o.columns = 0, 0, 0
		if o.unshown[attr(e, "style-name")] {
			o.sheet().hidden = append(o.sheet().hidden, "the whole sheet")
		}
	case "table-row":
		return false, o.startRow(e)
	case "table-cell", "covered-table-cell":
		return true, o.cell(e)
	}
	return false, nil
}

func (o *ods) sheet() *grid { return o.grids[len(o.grids)-1] }

func (o *ods) startRow(e xml.StartElement) error {
	if len(o.grids) == 0 {
		return errors.New("a row outside a sheet")
	}
	o.row++
	o.column = 0
	o.repeated = repeats(e, "number-rows-repeated")
	if o.row > mostRows {
		return fmt.Errorf("more than %d rows", mostRows)
	}
	if v := attr(e, "visibility"); v == "collapse" || v == "filter" {
		o.sheet().hidden = append(o.sheet().hidden, fmt.Sprintf("row %d", o.row))
	}
	return nil
}

// endRow repeats the row as often as it stands for, if anything is in it.
func (o *ods) endRow() error {
	if len(o.grids) == 0 {
		return nil
	}
	g := o.sheet()
	extra := o.repeated - 1
	if len(g.rows) == o.row && o.row > 0 {
		row := g.rows[o.row-1]
		if o.row+extra > mostRows || extra > (mostCells-o.total)/max(1, len(row)) {
			return fmt.Errorf("row %d stands for %d rows; expected at most %d cells in a sheet", o.row, o.repeated, mostCells)
		}
		for range extra {
			g.rows = append(g.rows, row)
		}
		o.total += extra * len(row)
	}
	o.row += extra
	return nil
}

// cell reads a cell to its end, and repeats it as often as it stands for, if
// anything is in it.
func (o *ods) cell(e xml.StartElement) error {
	if len(o.grids) == 0 || o.row == 0 {
		return errors.New("a cell outside a row")
	}
	text, comment, err := o.texts()
	if err != nil {
		return err
	}
	g, n := o.sheet(), repeats(e, "number-columns-repeated")
	first := o.column + 1
	o.column += n
	c := typedODS(e, text)
	colour := o.colours[attr(e, "style-name")]
	if e.Name.Local == "covered-table-cell" {
		c = cell{} // what a merged cell covers is not shown
	}
	o.merge(e, first)
	if comment != "" {
		g.comments[at(first, o.row)] = comment
	}
	formula := attr(e, "formula") != ""
	if formula && !c.filled() && attr(e, "value-type") == "" {
		c = faulty("a formula without a saved value, " + attr(e, "formula"))
	}
	if !c.filled() && (colour == "" || n > mostColumns) {
		return nil
	}
	if first+n-1 > mostColumns {
		return fmt.Errorf("more than %d columns in row %d", mostColumns, o.row)
	}
	for k := first; k < first+n; k++ {
		if colour != "" && o.row > 1 {
			filled := g.fills[colour]
			filled.add(k, o.row)
			g.fills[colour] = filled
		}
		if formula {
			g.formulas.add(k, o.row)
		}
		if c.filled() {
			o.total += g.set(k, o.row, c)
		}
	}
	if o.total > mostCells {
		return fmt.Errorf("more than %d cells", mostCells)
	}
	return nil
}

// set puts a cell into its place, and tells by how many cells its row grew.
func (g *grid) set(column, row int, c cell) (grown int) {
	for len(g.rows) < row {
		g.rows = append(g.rows, nil)
	}
	here := g.rows[row-1]
	if here == nil && row > 1 { // as wide as the row above, as a rule
		here = make([]cell, 0, max(column, len(g.rows[row-2])))
	}
	grown = max(0, column-len(here))
	for len(here) < column {
		here = append(here, cell{})
	}
	here[column-1] = c
	g.rows[row-1] = here
	return grown
}

// merge notes an area of merged cells.
func (o *ods) merge(e xml.StartElement, column int) {
	wide, high := repeats(e, "number-columns-spanned"), repeats(e, "number-rows-spanned")
	if wide > 1 || high > 1 {
		o.sheet().merged = append(o.sheet().merged, area{column, o.row, column + wide - 1, o.row + high - 1})
	}
}

// texts reads the paragraphs of a cell and those of its comment.
func (o *ods) texts() (text, comment string, err error) {
	var parts, notes []string
	var current strings.Builder
	depth, noted := 1, 0
	for depth > 0 {
		token, err := o.xml.Token()
		if err != nil {
			if err == io.EOF {
				err = io.ErrUnexpectedEOF
			}
			return "", "", err
		}
		switch token := token.(type) {
		case xml.StartElement:
			if depth++; depth > mostDepth {
				return "", "", fmt.Errorf("more than %d elements inside each other", mostDepth)
			}
			switch token.Name.Local {
			case "annotation":
				noted = depth
			case "s", "tab", "line-break":
				current.WriteByte(' ')
			}
		case xml.EndElement:
			if noted > 0 && (token.Name.Local == "creator" || token.Name.Local == "date") {
				current.Reset() // who wrote the comment, and when
			}
			if token.Name.Local == "p" {
				if noted > 0 {
					notes = append(notes, current.String())
				} else {
					parts = append(parts, current.String())
				}
				current.Reset()
			}
			if depth == noted {
				noted = 0
				current.Reset()
			}
			depth--
		case xml.CharData:
			current.Write(token)
		}
	}
	return strings.TrimSpace(strings.Join(parts, " ")), strings.TrimSpace(strings.Join(notes, " ")), nil
}

// typedODS is the value of a cell by its type (section 19.385,
// office:value-type).
func typedODS(e xml.StartElement, text string) cell {
	switch attr(e, "value-type") {
	case "float", "percentage", "currency":
		if v, err := strconv.ParseFloat(attr(e, "value"), 64); err == nil {
			if attr(e, "value-type") == "percentage" {
				return cell{number(v), percentage}
			}
			return cell{text: number(v)}
		}
	case "boolean":
		if attr(e, "boolean-value") == "true" {
			return cell{text: "yes"}
		}
		return cell{text: "no"}
	case "date":
		stated := attr(e, "date-value")
		for _, layout := range []string{time.DateOnly, "2006-01-02T15:04:05", "2006-01-02T15:04:05.999999999", "2006-01-02T15:04:05Z07:00"} {
			if t, err := time.Parse(layout, stated); err == nil {
				return moment(t, true, true)
			}
		}
	case "time":
		if t, ok := duration(attr(e, "time-value")); ok {
			return moment(t, false, true)
		}
	}
	if strings.HasPrefix(text, "#") && attr(e, "formula") != "" || strings.HasPrefix(text, "Err:") {
		return faulty(text)
	}
	return cell{text: text}
}

var reDuration = regexp.MustCompile(`^PT(?:(\d{1,4})H)?(?:(\d{1,5})M)?(?:(\d{1,6}(?:[.,]\d{1,9})?)S)?$`)

// duration reads a time of day as XML Schema writes durations, PT14H05M00S, to the
// nearest second.
func duration(text string) (time.Time, bool) {
	match := reDuration.FindStringSubmatch(text)
	if match == nil {
		return time.Time{}, false
	}
	seconds := 0.0
	for i, unit := range []float64{3600, 60, 1} {
		if match[i+1] != "" {
			v, _ := strconv.ParseFloat(strings.Replace(match[i+1], ",", ".", 1), 64) // a few figures
			seconds += unit * v
		}
	}
	at := time.Date(1, 1, 1, 0, 0, 0, 0, time.UTC).Add(time.Duration(math.Round(seconds)) * time.Second)
	return at, at.Day() == 1
}

// attr is an attribute by its local name; the one of the office namespace wins
// where two have it.
func attr(e xml.StartElement, name string) string {
	value := ""
	for _, a := range e.Attr {
		if a.Name.Local != name {
			continue
		}
		if value == "" || strings.Contains(a.Name.Space, ":office:") {
			value = a.Value
		}
	}
	return value
}

// repeats is how often an element stands for itself, from 1.
func repeats(e xml.StartElement, name string) int {
	n, err := strconv.Atoi(attr(e, name))
	if err != nil || n < 1 {
		return 1
	}
	return min(n, mostRows)
}
