package plan

import (
	"fmt"
	"math"
	"slices"
	"strconv"

	"thumbed/models/codex"
	"thumbed/models/table"
)

// book makes the book that a layout describes, under an id.
func (f *File) book(id string) (*codex.Book, error) {
	l := f.Layout
	quire := l.Quire
	if quire == 0 {
		quire = usualQuire
	}
	leaves, books, pages, sections := newRows(codex.ColumnBook, codex.ColumnLeaf, codex.ColumnQuire, codex.ColumnConjugate), newRows(codex.ColumnBook, codex.ColumnTitle, codex.ColumnOuter),
		newRows(codex.ColumnBook, codex.ColumnPage, codex.ColumnPicture), newRows(codex.ColumnBook, codex.ColumnSection, codex.ColumnKind, codex.ColumnSet, codex.ColumnOffice, codex.ColumnExtent)
	books.add(id, id, l.Outer)
	for leaf := range l.Leaves {
		conjugate := "" // first with last
		last := min(leaf-leaf%quire+quire, l.Leaves) - 1
		if odd := (last%quire+1)%2 == 1; odd && leaf == last {
			conjugate = "singleton" // a quire of an odd number ends with a single leaf
		}
		leaves.add(id, strconv.Itoa(leaf+1), strconv.Itoa(leaf/quire+1), conjugate)
	}
	own := ownOfPages(f.Columns)
	for _, c := range own {
		pages.names = append(pages.names, c.Name)
		pages.cells = append(pages.cells, nil)
	}
	pictured := f.pictured()
	for page := range 2 * l.Leaves {
		cells := []string{id, label(page), "no"}
		if pictured[page] {
			cells[2] = "yes"
		}
		for _, c := range own {
			cells = append(cells, c.Labels[turn(c.Shares, page)])
		}
		pages.add(cells...)
	}
	at := 0
	for _, s := range f.Sections {
		from, to := codex.PageLabel{}, codex.PageLabel{}
		var err error
		if from, err = codex.ParsePage(label(at)); err != nil {
			return nil, err
		}
		if to, err = codex.ParsePage(label(at + s.Pages - 1)); err != nil {
			return nil, err
		}
		extent := codex.Extent{Ranges: []codex.Range{{From: from, To: to}}}
		sections.add(id, s.Name, s.Kind, s.Set, s.Office, extent.String())
		at += s.Pages
	}
	var ps table.Problems
	tables := codex.Tables{Books: books.table(), Leaves: leaves.table(), Pages: pages.table()}
	if len(f.Sections) > 0 {
		tables.Sections = sections.table()
	}
	made := codex.FromTables(tables, &ps)
	if err := ps.Err(); err != nil {
		return nil, fmt.Errorf("the layout makes no book: %w", err)
	}
	return made[0], nil
}

// label is the label of a page from 0: 1r, 1v, 2r …
func label(page int) string { return strconv.Itoa(page/2+1) + string("rv"[page%2]) }

// pictured tells which pages have a picture: those that the texts name, and of
// the others an even share.
func (f *File) pictured() []bool {
	out := make([]bool, 2*f.Layout.Leaves)
	at := 0
	var others []int
	for _, s := range f.Sections {
		for page := range s.Pages {
			if len(s.Pictures) == 0 {
				others = append(others, at+page)
			} else {
				out[at+page] = slices.Contains(s.Pictures, page+1)
			}
		}
		at += s.Pages
	}
	for ; at < len(out); at++ {
		others = append(others, at)
	}
	for k, page := range others {
		out[page] = math.Floor(float64(k+1)*f.Layout.Pictures) > math.Floor(float64(k)*f.Layout.Pictures)
	}
	return out
}

func ownOfPages(columns []Column) []Column {
	return slices.DeleteFunc(slices.Clone(columns), func(c Column) bool { return c.Of != "page" })
}

// turn is the label of the n-th page: shares follow each other along the
// book in a fixed pattern (the fractional parts of multiples of the golden
// section, which fall into any part of 0 to 1 in its share).
func turn(shares []float64, page int) int {
	_, at := math.Modf(float64(page+1) * (math.Sqrt(5) - 1) / 2)
	for label, share := range shares {
		if at -= share; at < 0 {
			return label
		}
	}
	return len(shares) - 1
}

// rows gathers a table row by row.
type rows struct {
	names []string
	cells [][]string
}

func newRows(names ...string) *rows { return &rows{names, make([][]string, len(names))} }

func (r *rows) add(cells ...string) {
	for k, cell := range cells {
		r.cells[k] = append(r.cells[k], cell)
	}
}

func (r *rows) table() *table.Table {
	t := &table.Table{}
	for k, name := range r.names {
		if err := t.Add(table.Labels(name, r.cells[k])); err != nil {
			panic("plan: " + err.Error()) // names are checked, lengths are this package's doing
		}
	}
	return t
}

// pagesOf are the features of a book's pages, with yes and no in order.
func pagesOf(book *codex.Book) *table.Table { return codex.Features([]*codex.Book{book}) }
