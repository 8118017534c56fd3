package sheet

import (
	"archive/zip"
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"path"
	"strconv"
	"strings"

	"github.com/xuri/excelize/v2"
)

// A stored is a cell as a worksheet stores it (ISO/IEC 29500-1, section 18.3.1.4).
type stored struct {
	column, row int // from 1
	kind        string
	style       int // −1 where the cell names none
	value       string
	formula     string // empty where it shares that of another cell
	computed    bool   // by a formula
}

// A worksheet is the part of a workbook that holds a sheet's cells, read as a stream:
// no more than one row of it is ever held.
type worksheet struct {
	shared []string // strings that cells share
	xml    *xml.Decoder
	row    int

	cell          func(stored) error
	hiddenRows    cells
	hiddenColumns []int
	merged        []area
}

// withoutCells is the archive with its worksheets emptied, for a library that would
// hold them whole.
func withoutCells(archive *zip.Reader) ([]byte, error) {
	var out bytes.Buffer
	w := zip.NewWriter(&out)
	for _, f := range archive.File {
		if !strings.HasPrefix(strings.ToLower(f.Name), "xl/worksheets/") || strings.Contains(f.Name, "_rels") {
			if err := w.Copy(f); err != nil {
				return nil, err
			}
			continue
		}
		empty, err := w.Create(f.Name)
		if err == nil {
			_, err = io.WriteString(empty, `<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData/></worksheet>`)
		}
		if err != nil {
			return nil, err
		}
	}
	err := w.Close()
	return out.Bytes(), err
}

// partsOf finds the part of each sheet by its name, and the part of the strings that
// cells share; that is nil where there is none.
func partsOf(archive *zip.Reader) (sheets map[string]*zip.File, shared *zip.File, err error) {
	byName := map[string]*zip.File{}
	for _, f := range archive.File {
		byName[strings.ToLower(strings.ReplaceAll(f.Name, "\\", "/"))] = f
	}
	var book struct {
		Sheets []struct {
			Name string `xml:"name,attr"`
			ID   string `xml:"http://schemas.openxmlformats.org/officeDocument/2006/relationships id,attr"`
			Same string `xml:"http://purl.oclc.org/ooxml/officeDocument/relationships id,attr"`
		} `xml:"sheets>sheet"`
	}
	var links struct {
		Links []struct {
			ID     string `xml:"Id,attr"`
			Kind   string `xml:"Type,attr"`
			Target string `xml:"Target,attr"`
		} `xml:"Relationship"`
	}
	for name, into := range map[string]any{"xl/workbook.xml": &book, "xl/_rels/workbook.xml.rels": &links} {
		if err := decodePart(byName[name], into); err != nil {
			return nil, nil, fmt.Errorf("%s: %w", name, err)
		}
	}
	sheets = map[string]*zip.File{}
	for _, link := range links.Links {
		target := path.Join("xl", link.Target)
		if strings.HasPrefix(link.Target, "/") {
			target = strings.TrimPrefix(link.Target, "/")
		}
		part := byName[strings.ToLower(target)]
		if strings.HasSuffix(link.Kind, "/sharedStrings") {
			shared = part
		}
		for _, s := range book.Sheets {
			if s.ID+s.Same == link.ID && strings.HasSuffix(link.Kind, "/worksheet") {
				sheets[s.Name] = part
			}
		}
	}
	return sheets, shared, nil
}

func decodePart(f *zip.File, into any) error {
	if f == nil {
		return errors.New("it is not in the archive")
	}
	in, err := f.Open()
	if err != nil {
		return err
	}
	defer in.Close() // only read from
	return xml.NewDecoder(in).Decode(into)
}

// sharedStrings reads the strings that cells share, without their readings aloud.
func sharedStrings(f *zip.File) (out []string, err error) {
	if f == nil {
		return nil, nil
	}
	in, err := f.Open()
	if err != nil {
		return nil, err
	}
	defer in.Close() // only read from
	d := xml.NewDecoder(in)
	for {
		token, err := d.RawToken()
		if err == io.EOF {
			return out, nil
		}
		if err != nil {
			return nil, err
		}
		if e, ok := token.(xml.StartElement); ok && e.Name.Local == "si" {
			text, err := textOf(d, "si")
			if err != nil {
				return nil, err
			}
			if out = append(out, text); len(out) > mostCells {
				return nil, fmt.Errorf("more than %d shared strings", mostCells)
			}
		}
	}
}

// textOf reads the texts inside an element to its end.
func textOf(d *xml.Decoder, element string) (string, error) {
	var text strings.Builder
	inText, aloud := false, 0
	for {
		token, err := d.RawToken()
		if err != nil {
			return "", unexpected(err)
		}
		switch token := token.(type) {
		case xml.StartElement:
			switch token.Name.Local {
			case "t":
				inText = aloud == 0
			case "rPh":
				aloud++
			}
		case xml.EndElement:
			switch token.Name.Local {
			case "t":
				inText = false
			case "rPh":
				aloud--
			case element:
				return text.String(), nil
			}
		case xml.CharData:
			if inText {
				text.Write(token)
			}
		}
	}
}

func unexpected(err error) error {
	if err == io.EOF {
		return io.ErrUnexpectedEOF
	}
	return err
}

// read walks over the part.
func (w *worksheet) read(f *zip.File) error {
	in, err := f.Open()
	if err != nil {
		return err
	}
	defer in.Close() // only read from
	w.xml = xml.NewDecoder(in)
	column := 0
	for {
		token, err := w.xml.RawToken()
		if err == io.EOF {
			return nil
		}
		if err != nil {
			return err
		}
		e, ok := token.(xml.StartElement)
		if !ok {
			continue
		}
		switch e.Name.Local {
		case "row":
			column = 0
			if err := w.startRow(e); err != nil {
				return err
			}
		case "c":
			if column, err = w.readCell(e, column); err != nil {
				return err
			}
		case "col":
			w.hideColumns(e)
		case "mergeCell":
			if a, ok := areaOf(plainAttr(e, "ref")); ok {
				w.merged = append(w.merged, a)
			}
		}
	}
}

func plainAttr(e xml.StartElement, name string) string {
	for _, a := range e.Attr {
		if a.Name.Local == name && a.Name.Space == "" {
			return a.Value
		}
	}
	return ""
}

func isTrue(word string) bool { return word == "1" || word == "true" }

func (w *worksheet) startRow(e xml.StartElement) error {
	w.row++
	if n, err := strconv.Atoi(plainAttr(e, "r")); err == nil {
		w.row = n
	}
	if w.row < 1 || w.row > mostRows {
		return fmt.Errorf("row %d; expected rows from 1 to %d", w.row, mostRows)
	}
	if isTrue(plainAttr(e, "hidden")) {
		w.hiddenRows.add(1, w.row)
	}
	return nil
}

func (w *worksheet) hideColumns(e xml.StartElement) {
	first, err1 := strconv.Atoi(plainAttr(e, "min"))
	last, err2 := strconv.Atoi(plainAttr(e, "max"))
	if err1 != nil || err2 != nil || !isTrue(plainAttr(e, "hidden")) {
		return
	}
	for k := max(first, 1); k <= min(last, mostColumns); k++ {
		w.hiddenColumns = append(w.hiddenColumns, k)
	}
}

// readCell reads a cell to its end and hands it on; it stands behind the column given
// where it does not say where it stands.
func (w *worksheet) readCell(e xml.StartElement, before int) (column int, err error) {
	c := stored{column: before + 1, row: w.row, kind: plainAttr(e, "t"), style: -1}
	if name := plainAttr(e, "r"); name != "" {
		if c.column, c.row, err = excelize.CellNameToCoordinates(name); err != nil {
			return 0, err
		}
	}
	if style, err := strconv.Atoi(plainAttr(e, "s")); err == nil {
		c.style = style
	}
	var into *string
	for {
		token, err := w.xml.RawToken()
		if err != nil {
			return 0, unexpected(err)
		}
		switch token := token.(type) {
		case xml.StartElement:
			switch token.Name.Local {
			case "v":
				into = &c.value
			case "f":
				into, c.computed = &c.formula, true
			case "is":
				if c.value, err = textOf(w.xml, "is"); err != nil {
					return 0, err
				}
			}
		case xml.EndElement:
			into = nil
			if token.Name.Local == "c" {
				return c.column, w.handOn(c)
			}
		case xml.CharData:
			if into != nil {
				*into += string(token)
			}
		}
	}
}

// handOn gives a cell its shared string.
func (w *worksheet) handOn(c stored) error {
	if c.kind == "s" {
		i, err := strconv.Atoi(strings.TrimSpace(c.value))
		if err != nil || i < 0 || i >= len(w.shared) {
			return fmt.Errorf("cell %s names the shared string %q; there are %d", at(c.column, c.row), c.value, len(w.shared))
		}
		c.value = w.shared[i]
	}
	return w.cell(c)
}

// areaOf reads the name of an area, B2:B7.
func areaOf(name string) (a area, ok bool) {
	first, last, two := strings.Cut(name, ":")
	if !two {
		return area{}, false
	}
	var err1, err2 error
	a.column, a.row, err1 = excelize.CellNameToCoordinates(first)
	a.lastColumn, a.lastRow, err2 = excelize.CellNameToCoordinates(last)
	return a, err1 == nil && err2 == nil
}
