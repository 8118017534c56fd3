package workbook

import (
	"fmt"
	"maps"
	"os"
	"slices"
	"strings"
	"time"

	"thumbed/models/codex"
	"thumbed/models/table"
	"thumbed/models/table/sheet"
	"thumbed/models/traces"
)

// A Change is one thing that a person changed in the workbook.
type Change struct {
	Where  string // page 12r; the book
	Column string
	From   string
	To     string
}

// String tells the change in one line.
func (c Change) String() string {
	switch {
	case c.From == "":
		return fmt.Sprintf("%s, %s: %s is new", c.Where, c.Column, quote(c.To))
	case c.To == "":
		return fmt.Sprintf("%s, %s: %s is taken away", c.Where, c.Column, quote(c.From))
	}
	return fmt.Sprintf("%s, %s: %s, not %s", c.Where, c.Column, quote(c.To), quote(c.From))
}

func quote(text string) string { return "“" + text + "”" }

// Take reads a workbook back, makes its changes in the tables in memory, and checks
// these as a study would. The error is a [*table.Fault] with every problem. Nothing
// is written before [Editor.Save].
func (e *Editor) Take(path string) ([]Change, error) {
	data, err := os.ReadFile(path)
	if err != nil {
		return nil, err
	}
	t := taker{Editor: e, file: path}
	t.read(data)
	if t.ps.Len() == 0 {
		t.compare()
	}
	if t.ps.Len() == 0 {
		t.apply()
		books := codex.FromTables(codex.Tables{Books: e.books.table(), Leaves: e.leaves.table(), Pages: e.pages.table(), Sections: e.sections.table()}, &t.ps)
		var looks []*table.Table
		for _, c := range e.looks {
			looks = append(looks, c.table())
		}
		if t.ps.Len() == 0 && len(looks) > 0 {
			traces.FromTables(looks, e.coding, books, &t.ps)
		}
	}
	return t.changes, t.ps.Err()
}

// Save writes the tables that a workbook changed; the former ones are kept in the
// folder that it names. It writes nothing where nothing was changed.
func (e *Editor) Save(now time.Time) (former string, err error) {
	if !slices.ContainsFunc(e.all(), func(c *cells) bool { return c.changed }) {
		return "", nil
	}
	return e.save(now)
}

// A taker compares a workbook with itself as it was written.
type taker struct {
	*Editor
	file    string
	ps      table.Problems
	sheets  map[string]*table.Table
	changes []Change

	now     view            // the book as the tables have it
	edited  []row           // as the workbook has it
	cells   map[key]changed // cells that were changed, by row
	added   []row           // rows that are new, in order
	removed map[key]bool    // further texts whose row is gone
}

// A changed is the new cells of a row.
type changed map[string]string

// read reads the sheets.
func (t *taker) read(data []byte) {
	t.sheets = map[string]*table.Table{}
	for _, s := range sheet.Read(t.file, data, &sheet.Mapping{Decimal: "."}, &t.ps) {
		t.sheets[s.Name] = s.Table
	}
	for _, name := range []string{pagesSheet, pagesBefore} {
		if t.sheets[name] == nil && t.ps.Len() == 0 {
			t.ps.Add(table.Problem{File: t.file, Value: "no sheet “" + name + "”", Expected: "a workbook that thumbed book wrote",
				Remedy: "save it with all its sheets, the hidden ones too; a table of another kind is read by thumbed import sheet"})
		}
	}
	if about := t.sheets[bookSheet]; about != nil && t.ps.Len() == 0 {
		if id := words(about)[codex.ColumnBook]; id != t.book.ID {
			t.ps.Add(table.Problem{File: t.file, Column: codex.ColumnBook, Value: id, Expected: "the workbook of " + t.book.ID, Remedy: "name the book that the workbook is of"})
		}
	}
}

// words are the cells of the sheet on the book as a whole.
func words(t *table.Table) map[string]string {
	out := map[string]string{}
	what, said := t.Column("what"), t.Column("words")
	if what == nil || said == nil {
		return out
	}
	for i := range t.Rows() {
		out[what.Label(i)] = said.Label(i)
	}
	return out
}

// rowsOf reads the rows of a sheet of pages, keyed by page and number of the text.
func (t *taker) rowsOf(name string) (rows []row, columns []string) {
	sheet := t.sheets[name]
	pages := sheet.Column(codex.ColumnPage)
	if pages == nil {
		t.ps.Add(table.Problem{File: t.file + ", sheet " + name, Column: codex.ColumnPage, Expected: "the column of pages", Remedy: "put it back: rows are known by their pages"})
		return nil, nil
	}
	texts := map[string]int{}
	for i := range sheet.Rows() {
		page := pages.Label(i)
		r := row{key: key{page, texts[page]}, cells: map[string]string{}, line: sheet.Line(i), page: -1, section: -1}
		if page != "" {
			texts[page]++
		}
		for _, c := range sheet.Columns() {
			cell := c.Label(i)
			if truth := []string{codex.ColumnPicture, codex.ColumnBlank, columnLost}; cell == "no" && slices.Contains(truth, c.Name) {
				cell = "" // an empty cell means no
			}
			r.cells[c.Name] = cell
		}
		rows = append(rows, r)
	}
	return rows, slices.DeleteFunc(sheet.Names(), func(name string) bool { return name == codex.ColumnPage })
}

// compare finds what was changed since the workbook was written, and that the study
// still has what it had.
func (t *taker) compare() {
	t.now = viewOf(t.book, t.own)
	before, _ := t.rowsOf(pagesBefore)
	edited, columns := t.rowsOf(pagesSheet)
	t.edited, t.cells, t.removed = edited, map[key]changed{}, map[key]bool{}
	was, is, there := byKey(before), byKey(edited), byKey(t.now.rows)
	for _, r := range edited {
		old, known := was[r.key]
		if !known || r.key.page == "" {
			t.added = append(t.added, r)
			continue
		}
		for _, column := range columns {
			if r.cells[column] == old.cells[column] {
				continue
			}
			if t.stale(pagesSheet, r.line, column, old.cells[column], r.cells[column], there[r.key].cells[column]) {
				continue
			}
			if t.cells[r.key] == nil {
				t.cells[r.key] = changed{}
			}
			t.cells[r.key][column] = r.cells[column]
			t.changes = append(t.changes, Change{"page " + r.key.String(), column, old.cells[column], r.cells[column]})
		}
	}
	for _, r := range before {
		if _, stays := is[r.key]; stays {
			continue
		}
		if r.key.text == 0 {
			t.fault(0, codex.ColumnPage, r.key.page, "a row for each page that the workbook was written with", "put the row back; a leaf that is gone has yes under lost, and one that never was is deleted in leaves.csv")
			continue
		}
		t.removed[r.key] = true
		t.changes = append(t.changes, Change{"page " + r.key.String(), columnText, r.cells[columnText], ""})
	}
	t.compareBook()
	t.compareLooks()
}

func byKey(rows []row) map[key]row {
	out := map[key]row{}
	for _, r := range rows {
		out[r.key] = r
	}
	return out
}

// fault adds a problem of a cell of the sheet of pages.
func (t *taker) fault(line int, column, value, expected, remedy string) {
	t.faultIn(pagesSheet, line, column, value, expected, remedy)
}

// faultIn adds a problem of a cell of a sheet.
func (t *taker) faultIn(sheet string, line int, column, value, expected, remedy string) {
	t.ps.Add(table.Problem{File: t.file + ", sheet " + sheet, Line: line, Column: column, Value: value, Expected: expected, Remedy: remedy})
}

// stale tells whether the study no longer has what it had when the workbook was
// written, nor what the workbook has now, and reports it.
func (t *taker) stale(sheet string, line int, column, was, is, now string) bool {
	if now == was || now == is {
		return false
	}
	t.faultIn(sheet, line, column, is, fmt.Sprintf("a change to %s, as the study was when the workbook was written; the study now has %s", quote(was), quote(now)),
		"write the workbook anew, and make the change there")
	return true
}

// compareBook finds what was changed of the book as a whole, and changes it.
func (t *taker) compareBook() {
	if t.sheets[bookSheet] == nil || t.sheets[bookBefore] == nil {
		return
	}
	was, is := words(t.sheets[bookBefore]), words(t.sheets[bookSheet])
	for _, column := range bookColumns {
		if was[column] != is[column] {
			t.changes = append(t.changes, Change{"the book", column, was[column], is[column]})
			t.books.set(t.book.Row, column, is[column])
		}
	}
}

// apply makes the changes in the tables.
func (t *taker) apply() {
	there := byKey(t.now.rows)
	for _, r := range t.now.rows { // in the book's order
		if cells := t.cells[r.key]; cells != nil {
			t.applyPage(r, cells)
			t.applyLeaf(r, cells)
		}
	}
	t.applyNewLeaves(there)
	if t.textsChanged() {
		t.applyTexts(there)
	}
}

// applyPage writes what is said of one page. A page of which nothing was said gets a
// row of its own.
func (t *taker) applyPage(r row, cells changed) {
	values := map[string]string{}
	for column, cell := range cells {
		if !slices.Contains(leafColumns, column) && !slices.Contains(textColumns, column) {
			values[column] = cell
		}
	}
	if len(values) == 0 {
		return
	}
	if at := t.book.Pages[r.page].Row; at >= 0 {
		for _, column := range slices.Sorted(maps.Keys(values)) {
			t.pages.set(at, column, values[column])
		}
		return
	}
	values[codex.ColumnBook], values[codex.ColumnPage] = t.book.ID, r.key.page
	t.pages.insert(t.rowBehind(r.page), values)
}

// rowBehind is the row of pages.csv behind which that of a page belongs.
func (t *taker) rowBehind(page int) int {
	for i := page - 1; i >= 0; i-- {
		if at := t.book.Pages[i].Row; at >= 0 {
			return at
		}
	}
	return t.pages.lastRow(t.book.ID)
}

// applyLeaf writes what is said of a leaf, on either of its pages.
func (t *taker) applyLeaf(r row, cells changed) {
	at := t.book.Leaves[t.book.Pages[r.page].Leaf].Row
	for _, column := range leafColumns {
		cell, ok := cells[column]
		if !ok {
			continue
		}
		other := r.page ^ 1 // the other side
		if said, ok := t.cells[key{pageNames(t.book)[other], 0}][column]; ok && said != cell {
			t.fault(0, column, cell, fmt.Sprintf("the same on both sides of the leaf; the other has %s", quote(said)), "write it on one of the two, or alike on both")
			continue
		}
		if column == columnLost {
			column = codex.ColumnState
			if cell == "yes" {
				cell = "lost"
			}
		}
		t.leaves.set(at, column, cell)
	}
}

// applyNewLeaves enters leaves whose rows are new: with a folio or a page of one, or
// without one where they are lost.
func (t *taker) applyNewLeaves(there map[key]row) {
	behind, made := -1, ""
	if len(t.book.Leaves) > 0 {
		behind = t.book.Leaves[0].Row - 1
	}
	for _, r := range t.edited {
		if known, ok := there[r.key]; ok && r.key.page != "" {
			behind = t.book.Leaves[t.book.Pages[known.page].Leaf].Row
			continue
		}
		if r.key.text > 0 && r.key.page != "" {
			continue // a further text
		}
		label := leafOf(r.key.page)
		if label == made && label != "" {
			continue // its other side
		}
		if made = label; label == "" && r.cells[columnLost] != "yes" {
			t.fault(r.line, codex.ColumnPage, r.key.page, "a page such as 13bisr, or yes under lost for a leaf without a number", "write one of them, or delete the row")
			continue
		}
		values := map[string]string{codex.ColumnBook: t.book.ID, codex.ColumnLeaf: label, codex.ColumnQuire: r.cells[codex.ColumnQuire]}
		if r.cells[columnLost] == "yes" {
			values[codex.ColumnState] = "lost"
		}
		t.leaves.insert(behind, values)
		t.changes = append(t.changes, Change{"the leaves", codex.ColumnLeaf, "", strings.TrimSpace(label + map[bool]string{true: " (lost)"}[r.cells[columnLost] == "yes"])})
		if values := t.said(r); len(values) > 0 && label != "" {
			values[codex.ColumnBook], values[codex.ColumnPage] = t.book.ID, r.key.page
			t.pages.insert(t.pages.lastRow(t.book.ID), values)
		}
	}
}

// said is what a new row says of its page.
func (t *taker) said(r row) map[string]string {
	values := map[string]string{}
	for column, cell := range r.cells {
		if cell != "" && column != codex.ColumnPage && !slices.Contains(leafColumns, column) && !slices.Contains(textColumns, column) {
			values[column] = cell
		}
	}
	return values
}

// leafOf is the folio of a page's label; of a folio itself that folio.
func leafOf(page string) string {
	if label, err := codex.ParsePage(page); err == nil {
		return label.Folio.String()
	}
	return page
}
