package plan

import (
	_ "embed"
	"fmt"
	"html/template"
	"io"
	"slices"

	"thumbed/models/report"
	"thumbed/models/wording"
)

//go:embed sheet.html.tmpl
var sheetTemplate string

var sheetMaker = template.Must(template.New("sheet").Funcs(template.FuncMap{"number": func(table int) int { return table + 2 }}).Parse(sheetTemplate))

// A sheetView is all that the printed sheet shows.
type sheetView struct {
	Meta     report.Meta
	Question string
	Notes    []string
	Tables   [][]bookView // what each book is asked for, a printed page each; the first stands below the notes
	Cautions []report.Caution
	Box      float64 // millimetres: the width of a box to write in
	Leaves   []leafView
	Pages    int // printed pages in all, the first with the cautions among them
}

// A leafView is one printed page of rows.
type leafView struct {
	Number     int
	Date       string
	Observer   string
	Instrument string
	Books      string // whose rows stand on it
	Rows       []rowView
}

// A rowView is one line to fill in.
type rowView struct {
	Kind         StepKind
	Clock        string
	Book         string // where the book changes
	Opening      string // where the opening changes
	Way          string // "forwards" or "backwards", where the sweep changes
	Page         string
	Boxes        []string // what each box is for
	inside       bool     // an opening that the row before has begun
	book         string   // whose row it is; empty of a tile or a rest
	opening, way string
	Again        bool
}

// rowsOnPage is how many lines a printed page has room for.
const rowsOnPage = 21

// Page writes the order as a page to print, A4, with boxes to write in and the
// cautions first. It needs nothing beside it.
func (o *Order) Page(w io.Writer) error {
	f := o.plan.File
	v := sheetView{
		Meta:     report.Meta{Title: f.Title, Author: f.Author, Note: f.Note, Invented: f.Invented},
		Question: o.plan.Setting.Question.Words, Notes: o.Notes, Cautions: report.Cautions(),
	}
	v.Tables = o.bookTables()
	widest := f.Sheet.Tiles
	for _, day := range o.Days {
		rows := o.rowsOf(&day)
		for _, r := range rows {
			widest = max(widest, len(r.Boxes))
		}
		for len(rows) > 0 {
			n := leaf(rows)
			v.Leaves = append(v.Leaves, leafView{Number: len(v.Leaves) + 2 + len(v.Tables), Date: day.Date, Observer: day.Observer, Instrument: f.Sheet.Instrument,
				Books: heading(rows[:n]), Rows: rows[:n]})
			rows = rows[n:]
		}
	}
	v.Pages = len(v.Leaves) + 1 + len(v.Tables)
	v.Box = min(15, 92/float64(widest))
	return sheetMaker.Execute(w, v)
}

// A bookView is a line of the table of books: what the order asks of each, and with
// what it goes.
type bookView struct {
	ID                         string
	Pages, Turns, Leaves, Days int
	Course, Bend, Day, By      string // the greatest correlation with each, and of what
}

// Lines of the table of books that a printed page has room for: below the notes, and
// alone.
const booksBelow, booksAlone = 14, 24

// bookTables are the books' lines by printed page.
func (o *Order) bookTables() [][]bookView {
	var lines []bookView
	for i := range o.Books {
		b := &o.Books[i]
		line := bookView{ID: b.ID, Pages: b.Pages, Turns: b.Turns, Leaves: b.Leaves, Days: b.Days}
		for _, c := range b.greatest() {
			text := fmt.Sprintf("%s (%s)", wording.Fixed(c.Value, 2), c.With)
			switch c.Along {
			case AlongDay:
				line.Course = text
			case AlongBend:
				line.Bend = text
			case alongDays:
				line.Day = text
			case alongObserver:
				line.By = text
			}
		}
		lines = append(lines, line)
	}
	room := booksBelow
	var out [][]bookView
	for first := true; first || len(lines) > 0; first = false {
		n := min(room, len(lines))
		out, lines, room = append(out, lines[:n]), lines[n:], booksAlone
	}
	return out
}

// leaf is how many of the rows stand on the next printed page: no opening is parted, and
// a last reading of the tile does not stand without a book.
func leaf(rows []rowView) int {
	n := min(rowsOnPage, len(rows))
	for k := n; k < len(rows) && k > 1; k-- {
		if !rows[k].inside && slices.ContainsFunc(rows[k:], func(r rowView) bool { return r.book != "" }) {
			return k
		}
	}
	return n
}

// heading names the books of a printed page, and lets its first row of a book say
// which opening it is and which way the sweep goes.
func heading(rows []rowView) string {
	var books []string
	for i := range rows {
		r := &rows[i]
		if r.book == "" {
			continue
		}
		if len(books) == 0 {
			r.Book, r.Opening, r.Way = r.book, r.opening, r.way
		}
		if !slices.Contains(books, r.book) {
			books = append(books, r.book)
		}
	}
	return wording.List(books)
}

// rowsOf are the lines of a day: one a reading of the tile, one a page.
func (o *Order) rowsOf(day *OrderDay) []rowView {
	var out []rowView
	book, sweep := -1, 0
	for _, step := range day.Steps {
		row := rowView{Kind: step.Kind, Clock: clock(float64(step.Clock))[:5]}
		switch step.Kind {
		case OnTile:
			for k := range step.Tiles {
				row.Boxes = append(row.Boxes, fmt.Sprintf("tile %d", k+1))
			}
		case Visit:
			if step.Book != book {
				row.Book = o.Books[step.Book].ID
			}
			if step.Book != book || step.Sweep != sweep {
				row.Way = way(&step)
			}
			book, sweep = step.Book, step.Sweep
			row.Opening = step.Opening
			for k, page := range step.Pages {
				if k > 0 {
					row = rowView{Kind: Visit, inside: true}
				}
				row.book, row.opening, row.way = o.Books[step.Book].ID, step.Opening, way(&step)
				row.Page, row.Again = page.Page, page.Again
				for z := range page.Zeros {
					row.Boxes = append(row.Boxes, fmt.Sprintf("zero %d", z+1))
				}
				for n := range page.Placings {
					row.Boxes = append(row.Boxes, fmt.Sprintf("page %d", n+1))
				}
				out = append(out, row)
			}
			continue
		}
		out = append(out, row)
	}
	return out
}

// way says in which direction a sweep goes through the book.
func way(step *Step) string {
	if step.Back {
		return "backwards"
	}
	return "forwards"
}
