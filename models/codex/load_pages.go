package codex

import (
	"fmt"
	"slices"

	"thumbed/models/table"
)

func noLeaves(file, book string) table.Problem {
	return table.Problem{File: file, Column: ColumnBook, Value: "no leaf of book " + book, Expected: "a row for each leaf of every book of books.csv",
		Remedy: "enter its leaves, or delete the book from books.csv"}
}

func (l *loader) loadPages(r *rows) {
	own := l.ownColumns(r)
	id, page := r.column(ColumnBook), r.column(ColumnPage)
	picture, subject, blank := r.column(ColumnPicture), r.column(ColumnSubject), r.column(ColumnBlank)
	decoration, language := r.column(ColumnDecoration), r.column(ColumnLanguage)
	for _, b := range l.books {
		for _, c := range own {
			b.own = append(b.own, c.Name)
		}
	}
	for i := range r.Rows() {
		b := l.book(r, i, id(i))
		if b == nil || len(b.Pages) == 0 || page(i) == "" {
			continue
		}
		p := b.describe(r, i, page(i))
		if p == nil {
			continue
		}
		p.Picture, p.Subject, p.Blank = picture(i) == "yes", subject(i), blank(i) == "yes"
		p.Decoration, p.Language = decoration(i), language(i)
		if p.Picture || picture(i) == "" || picture(i) == "no" { // else the cell is a problem already
			p.check(r, i)
		}
		for _, c := range own {
			if !c.Missing(i) {
				if p.Own == nil {
					p.Own = map[string]string{}
				}
				p.Own[c.Name] = c.Label(i)
			}
		}
	}
}

// ownColumns are the columns that the scholar added. A name that a feature
// bears already is a problem.
func (l *loader) ownColumns(r *rows) []*table.Column {
	var own []*table.Column
	schema := PagesSchema()
	for _, c := range r.Columns() {
		if slices.ContainsFunc(schema.Fields, func(f table.Field) bool { return f.Name == c.Name }) {
			continue
		}
		if slices.Contains(FeatureNames(), c.Name) {
			r.ps.Add(table.Problem{File: r.File, Line: 1, Column: c.Name, Value: c.Name,
				Expected: "a name that no feature of the page bears already (" + c.Name + " is worked out from the other tables)",
				Remedy:   "rename the column, such as my_" + c.Name})
			continue
		}
		own = append(own, c)
	}
	return own
}

// describe finds the page that a row describes, and marks it as described; nil
// with a problem where it cannot be.
func (b *Book) describe(r *rows, row int, text string) *Page {
	label, err := ParsePage(text)
	if err != nil {
		r.label(row, ColumnPage, err)
		return nil
	}
	at, ok := b.Find(label)
	if !ok {
		r.fault(row, ColumnPage, text, "a page of book "+b.ID, b.NearestRemedy(label))
		return nil
	}
	p := &b.Pages[at]
	switch {
	case p.Row >= 0:
		r.fault(row, ColumnPage, text, fmt.Sprintf("each page once in a book (%s describes it already)", r.place(p.Row)),
			"join the two rows, or correct the page of one of them")
		return nil
	case p.Lost:
		r.fault(row, ColumnPage, text, fmt.Sprintf("a page that is still there; leaf %s of book %s is lost", p.Label.Folio, b.ID),
			"delete the row, or correct the state of the leaf in the table of leaves")
		return nil
	}
	p.Row = row
	return p
}

// NearestRemedy says, as the remedy of a problem, which page of the book is
// nearest to a label that the book does not have.
func (b *Book) NearestRemedy(label PageLabel) string {
	if near, ok := b.Nearest(label); ok {
		return "the nearest page is " + near.String()
	}
	return "give the book's leaves their labels first"
}

// check reports what cannot be true of a page at once.
func (p *Page) check(r *rows, row int) {
	if p.Picture && p.Blank {
		r.fault(row, ColumnBlank, "yes", "no, since the page has a picture", "correct one of the two")
	}
	if !p.Picture && p.Subject != "" {
		r.fault(row, ColumnSubject, p.Subject, "nothing, since the page has no picture", "write yes for the picture, or empty the subject")
	}
}
