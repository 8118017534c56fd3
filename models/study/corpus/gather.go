package corpus

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"thumbed/models/report"
	"thumbed/models/table"
)

// byFolder puts pieces in the order of their folders.
func byFolder(pieces []Piece) {
	slices.SortFunc(pieces, func(a, b Piece) int { return strings.Compare(a.Folder, b.Folder) })
}

// booksOf are the books of all pieces in the order of their ids. Books that share
// an id are left out, each with a failure: whose pages would be whose?
func booksOf(pieces []Piece) (books []bookPiece, failures []report.CorpusFailure) {
	folders := map[string][]string{} // by id
	for _, p := range pieces {
		failures = append(failures, p.Failures...)
		for _, b := range p.Books {
			folders[b.Book.ID] = append(folders[b.Book.ID], p.Folder)
		}
	}
	for _, p := range pieces {
		for _, b := range p.Books {
			if in := folders[b.Book.ID]; len(in) > 1 {
				var others []string // in quotes, since a folder may have any name
				for _, folder := range in {
					if folder != p.Folder {
						others = append(others, strconv.Quote(folder))
					}
				}
				failures = append(failures, report.CorpusFailure{Folder: p.Folder, Book: b.Book.ID, Stage: stageNames,
					Problem:  fmt.Sprintf("found a book %s in %s too; expected %s.", b.Book.ID, strings.Join(others, ", "), ownID),
					Expected: ownID,
					Remedy:   "rename it in all tables of its folder, or take the folder of a double out of the corpus"})
				continue
			}
			books = append(books, b)
		}
	}
	slices.SortFunc(books, func(a, b bookPiece) int { return strings.Compare(a.Book.ID, b.Book.ID) })
	slices.SortStableFunc(failures, func(a, b report.CorpusFailure) int {
		return cmp.Or(strings.Compare(a.Folder, b.Folder), strings.Compare(a.Book, b.Book))
	})
	return books, failures
}

// pagesOf is the table that models are fitted to: the pages of all books in
// their order, with the columns that were kept. The pieces' own columns are let
// go on the way.
func pagesOf(books []bookPiece, names []string) (*table.Table, error) {
	total := 0
	for _, b := range books {
		total += b.Rows
	}
	t := &table.Table{}
	for _, name := range names {
		c := joined(books, name, total)
		if c == nil {
			continue // no book has it; the fit says so
		}
		if err := t.Add(c); err != nil {
			return nil, err
		}
	}
	return t, nil
}

// ownID is what is expected of the ids of books.
const ownID = "an id of its own for each book of the corpus, so that no pages are taken for another's"

// joined is one column over all books; what a book does not have is missing. It
// is nil where none has it.
func joined(books []bookPiece, name string, total int) *table.Column {
	labels, cells := false, false
	var numbers []float64
	row := 0
	of := make([]*column, len(books)) // nil where the book does not have it
	for b := range books {
		if k := slices.IndexFunc(books[b].Columns, func(c column) bool { return c.Name == name }); k >= 0 {
			c := &books[b].Columns[k]
			of[b] = c
			labels, cells = labels || c.Codes != nil, cells || c.Cells
			if c.Codes == nil {
				if numbers == nil {
					numbers = slices.Repeat([]float64{math.NaN()}, total)
				}
				copy(numbers[row:], c.Numbers)
				c.Numbers = nil
			}
		}
		row += books[b].Rows
	}
	each := func(yield func(string) bool) {
		for b, c := range of {
			for i := range books[b].Rows {
				label := ""
				if c != nil && c.Codes != nil && c.Codes[i] >= 0 {
					label = c.Labels[c.Codes[i]]
				}
				if !yield(label) {
					return
				}
			}
			if c != nil {
				c.Labels, c.Codes = nil, nil
			}
		}
	}
	switch {
	case cells:
		return table.RecurringCells(name, each)
	case labels:
		return table.Recurring(name, each)
	case numbers != nil:
		return table.Numbers(name, numbers)
	}
	return nil
}
