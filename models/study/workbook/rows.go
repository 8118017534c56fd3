package workbook

import (
	"fmt"
	"slices"
	"strings"

	"thumbed/models/codex"
	"thumbed/models/table"
	"thumbed/models/table/sheet"
)

// Columns of the workbook that are no column of a table of the same name.
const (
	columnText  = "text"  // that begins on the page: the name of its section
	columnUntil = "until" // the page that it runs to
	columnLost  = "lost"
	columnNote  = "note" // the scholar's own column of pages.csv
)

// Columns by what they describe.
var (
	leafColumns = []string{codex.ColumnQuire, columnLost}
	textColumns = []string{columnText, codex.ColumnKind, codex.ColumnSet, codex.ColumnOffice, columnUntil}
	pageColumns = []string{codex.ColumnPicture, codex.ColumnSubject, codex.ColumnDecoration, codex.ColumnBlank, codex.ColumnLanguage}
)

// Sheets of a workbook.
const (
	pagesSheet  = "pages"
	bookSheet   = "book"
	pagesBefore = "pages as written" // hidden
	bookBefore  = "book as written"  // hidden
)

// A key names a row: the page, and which of the texts that begin on it.
type key struct {
	page string
	text int // from 0
}

func (k key) String() string {
	if k.text > 0 {
		return fmt.Sprintf("%s, text %d", k.page, k.text+1)
	}
	return k.page
}

// A row is one page, or a further text that begins on it.
type row struct {
	key
	cells   map[string]string // by column
	line    int               // of the sheet; 0 where made of the tables
	page    int               // index into Book.Pages; −1 where it is new
	section int               // index into Book.Sections of the text; −1 with none
	mark    string            // why the end of its text is inferred
}

// grounds say what the end of a text was inferred by.
var grounds = map[string]string{
	codex.ByNextText: "The record gives no end: the text was taken to run until the next begins. Write the page where it ends, if you know it.",
	codex.ByWhole:    "The record gives no end: the text was taken to run to the end of what it is part of. Write the page where it ends, if you know it.",
	codex.ByExplicit: "The end was taken from the place of the text's last words. Write another page, if that is wrong.",
	codex.ByLastLeaf: "The record gives no end: the text was taken to run to the last leaf. Write the page where it ends, if you know it.",
}

// A view is a book as rows.
type view struct {
	columns []string // besides the page
	rows    []row
}

// viewOf makes the rows of a book. own are the scholar's own columns of pages.csv.
func viewOf(b *codex.Book, own []string) view {
	v := view{columns: columnsWith(own)}
	names := pageNames(b)
	beginning := map[int][]int{} // sections by the page that they begin on
	for s := range b.Sections {
		if page, ok := firstPage(b, s); ok {
			beginning[page] = append(beginning[page], s)
		}
	}
	for i := range b.Pages {
		p := &b.Pages[i]
		r := row{key: key{page: names[i]}, page: i, section: -1, cells: map[string]string{
			columnLost: yes(p.Lost), codex.ColumnPicture: yes(p.Picture), codex.ColumnSubject: p.Subject, codex.ColumnDecoration: p.Decoration,
			codex.ColumnBlank: yes(p.Blank), codex.ColumnLanguage: ownLanguage(b, p),
		}}
		if q := b.Leaves[p.Leaf].Quire; q >= 0 {
			r.cells[codex.ColumnQuire] = b.Quires[q].Label
		}
		for column, cell := range p.Own {
			r.cells[column] = cell
		}
		for k, s := range beginning[i] {
			if k > 0 {
				v.rows = append(v.rows, r)
				r = row{key: key{names[i], k}, page: i, cells: map[string]string{}}
			}
			section := &b.Sections[s]
			r.section, r.mark = s, grounds[section.ExtentBy]
			r.cells[columnText], r.cells[codex.ColumnKind], r.cells[codex.ColumnSet] = section.Name, section.Kind, section.Set
			if section.Office != codex.NoOffice {
				r.cells[codex.ColumnOffice] = section.Office.String()
			}
			r.cells[columnUntil] = until(section.Extent)
		}
		v.rows = append(v.rows, r)
	}
	return v
}

// columnsWith are the columns of a view; a note is always among them.
func columnsWith(own []string) []string {
	columns := slices.Concat([]string{codex.ColumnQuire}, textColumns, pageColumns, []string{columnLost}, own)
	if !slices.Contains(columns, columnNote) {
		columns = append(columns, columnNote)
	}
	return columns
}

// pageNames are the pages' labels; those of a lost leaf without one are counted.
func pageNames(b *codex.Book) []string {
	names := make([]string, len(b.Pages))
	lost := 0
	for i := range b.Pages {
		names[i] = b.Pages[i].Label.String()
		if b.Pages[i].Label.Folio.IsZero() {
			if i%2 == 0 {
				lost++
			}
			names[i] = fmt.Sprintf("lost %d%s", lost, "rv"[i%2:i%2+1])
		}
	}
	return names
}

// firstPage is the page that a section begins on.
func firstPage(b *codex.Book, section int) (int, bool) {
	ranges := b.Sections[section].Extent.Ranges
	if len(ranges) == 0 {
		return 0, false
	}
	return b.Find(ranges[0].From)
}

// until is an extent without its first page: where it runs to, and further ranges.
func until(e codex.Extent) string {
	parts := []string{e.Ranges[0].To.String()}
	for _, r := range e.Ranges[1:] {
		parts = append(parts, r.String())
	}
	return strings.Join(parts, ", ")
}

// ownLanguage is the language of a page where it differs from its section's, which
// the page else has.
func ownLanguage(b *codex.Book, p *codex.Page) string {
	if p.Section >= 0 && b.Sections[p.Section].Language == p.Language {
		return ""
	}
	return p.Language
}

func yes(is bool) string {
	if is {
		return "yes"
	}
	return ""
}

// table makes the sheet of the rows.
func (v view) table() *table.Table {
	names := append([]string{codex.ColumnPage}, v.columns...)
	out := &table.Table{}
	for _, name := range names {
		cells := make([]string, len(v.rows))
		for i, r := range v.rows {
			cells[i] = r.cells[name]
			if name == codex.ColumnPage {
				cells[i] = r.key.page
			}
		}
		if err := out.Add(table.Labels(name, cells)); err != nil {
			panic("workbook: " + err.Error()) // names are told apart where the tables are read
		}
	}
	return out
}

// marks are the cells whose value was inferred.
func (v view) marks() (marks []sheet.Mark) {
	for i, r := range v.rows {
		if r.mark != "" {
			marks = append(marks, sheet.Mark{Row: i, Column: columnUntil, Comment: r.mark})
		}
	}
	return marks
}
