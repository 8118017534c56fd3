package report

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"thumbed/models/report/grid"
	"thumbed/models/table"
	"thumbed/models/table/sheet"
)

// Write writes every face of the results into dir, a folder that exists and is
// empty: index.html, figures/ (SVG, PDF, PNG), tables/ (CSV, each with its
// schema beside it), results.json and, of books with images, annotations/ (Web
// Annotations). It does not clean up after a failure: the
// caller makes the folder appear whole or not at all.
func (r *Results) Write(dir string) error {
	if err := writeFaces(dir, r); err != nil {
		return err
	}
	return r.writeAnnotations(filepath.Join(dir, "annotations"))
}

// A faced value has the faces that every folder of results holds.
type faced interface {
	Figures() ([]Figure, error)
	page(io.Writer, []Figure) error
	JSON() ([]byte, error)
	sheets() []grid.Grid
}

// writeFaces writes the faces of a value into dir, a folder that exists and is
// empty: index.html, results.json, figures/ and tables/.
func writeFaces(dir string, v faced) error {
	if err := checkEmpty(dir); err != nil {
		return err
	}
	figures, err := v.Figures()
	if err != nil {
		return err
	}
	var page bytes.Buffer
	if err := v.page(&page, figures); err != nil {
		return fmt.Errorf("the page: %w", err)
	}
	if err := writeFile(filepath.Join(dir, "index.html"), page.Bytes()); err != nil {
		return err
	}
	numbers, err := v.JSON()
	if err != nil {
		return err
	}
	if err := writeFile(filepath.Join(dir, "results.json"), numbers); err != nil {
		return err
	}
	if err := writeFigures(filepath.Join(dir, "figures"), figures); err != nil {
		return err
	}
	return writeSheets(filepath.Join(dir, "tables"), v.sheets())
}

// checkEmpty fails where dir is no empty folder, before anything is drawn.
func checkEmpty(dir string) error {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return fmt.Errorf("the folder for the report cannot be read: %w", err)
	}
	if len(entries) > 0 {
		return fmt.Errorf("the folder %s is not empty: give an empty one for the report", dir)
	}
	return nil
}

func writeFigures(dir string, figures []Figure) error {
	if err := os.Mkdir(dir, 0o755); err != nil {
		return err
	}
	for _, f := range figures {
		for _, form := range []struct {
			extension string
			data      []byte
		}{{".svg", f.SVG}, {".pdf", f.PDF}, {".png", f.PNG}} {
			if err := writeFile(filepath.Join(dir, f.Name+form.extension), form.data); err != nil {
				return err
			}
		}
	}
	return nil
}

func writeSheets(dir string, sheets []grid.Grid) error {
	if err := os.Mkdir(dir, 0o755); err != nil {
		return err
	}
	if err := fillWithSheets(dir, sheets); err != nil {
		return err
	}
	return writeWorkbook(filepath.Join(dir, workbookName), sheets)
}

// workbookName is the workbook of all tables, to be opened in a spreadsheet: in it text
// is text, where a spreadsheet takes a cell of a .csv that begins with =, +, - or @ for a
// formula.
const workbookName = "tables.xlsx"

// mostInWorkbook is how many rows a table has at most in the workbook; a longer one is
// named there, and stands in its .csv.
const mostInWorkbook = 20_000

// writeWorkbook writes the tables as one typed workbook, a sheet each behind a list of all.
func writeWorkbook(path string, grids []grid.Grid) error {
	var names, files, rows, notes []string
	pages := []sheet.Page{{Name: "contents"}}
	taken := map[string]bool{"contents": true}
	for _, g := range grids {
		t, _ := g.Disk()
		name := sheetName(g.Name, taken)
		note := ""
		if t.Rows() > mostInWorkbook {
			note = "too long for this workbook: see the .csv"
		} else {
			pages = append(pages, sheet.Page{Name: name, Table: t})
		}
		names, files, rows, notes = append(names, name), append(files, g.Name+".csv"), append(rows, strconv.Itoa(t.Rows())), append(notes, note)
	}
	contents, err := table.New(table.Labels("sheet", names), table.Labels("file", files), table.Cells("rows", rows), table.Labels("note", notes))
	if err != nil {
		return err
	}
	pages[0].Table = contents
	var out bytes.Buffer
	if err := sheet.Write(&out, pages); err != nil {
		return fmt.Errorf("the workbook of tables: %w", err)
	}
	return writeFile(path, out.Bytes())
}

// sheetName is a name of a sheet, which is short and once in a workbook whatever its
// capitals.
func sheetName(table string, taken map[string]bool) string {
	name := table[:min(len(table), 28)]
	for base, k := name, 2; taken[strings.ToLower(name)]; k++ {
		name = fmt.Sprintf("%s-%d", base, k)
	}
	taken[strings.ToLower(name)] = true
	return name
}

func fillWithSheets(dir string, sheets []grid.Grid) error {
	for _, s := range sheets {
		path := filepath.Join(dir, s.Name+".csv")
		rows, described := s.Disk()
		if err := writeTable(path, rows); err != nil {
			return fmt.Errorf("table %s: %w", s.Name, err)
		}
		schema, err := described.JSON()
		if err != nil {
			return fmt.Errorf("schema of table %s: %w", s.Name, err)
		}
		if err := writeFile(table.SchemaPath(path), schema); err != nil {
			return err
		}
	}
	return nil
}

// writeTable writes a table row by row: it may be as long as memory is.
func writeTable(path string, t *table.Table) error {
	out, err := os.Create(path)
	if err != nil {
		return err
	}
	return errors.Join(t.Write(out), out.Close())
}

func writeFile(path string, data []byte) error { return os.WriteFile(path, data, 0o644) }
