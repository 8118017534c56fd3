package power

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strconv"

	"thumbed/models/table"
)

// draw gives the pages that a campaign of a design measures, one row a page, and
// the number of openings that must be turned to.
func (s *Setting) draw(d Design, number int, r *rand.Rand) (pages *table.Table, openings int) {
	order := r.Perm(len(s.Books))
	if s.Each {
		order = []int{s.Draws[s.drawOf(number)].Book}
	}
	d.Books = s.drawn(d)
	parts := make([]*table.Table, d.Books)
	for i := range parts {
		book := s.Books[order[i%len(order)]]
		rows := Take(book, d.Pages, s.Keep, r)
		openings += len(openingsOf(book, rows))
		parts[i] = s.asBook(book.Select(rows), i)
	}
	return stack(parts), openings
}

// asBook names the pages' book by its number in the campaign, so that a book
// that is drawn twice counts as two, and gives it its label in the columns that
// differ between books.
func (s *Setting) asBook(pages *table.Table, number int) *table.Table {
	own := map[string]string{columnBook: strconv.Itoa(number + 1)}
	for _, c := range s.ByBook {
		own[c.Name] = c.Labels[c.turn(number)]
	}
	var columns []*table.Column
	for _, c := range pages.Columns() {
		if _, ours := own[c.Name]; !ours {
			columns = append(columns, c)
		}
	}
	for _, name := range slices.Concat([]string{columnBook}, names(s.ByBook)) {
		cells := make([]string, pages.Rows())
		for i := range cells {
			cells[i] = own[name]
		}
		columns = append(columns, table.Labels(name, cells))
	}
	return must(table.New(columns...))
}

func names(columns []BookColumn) []string {
	out := make([]string, len(columns))
	for i, c := range columns {
		out[i] = c.Name
	}
	return out
}

// turn is the label of the n-th book: the one that lags most behind its
// share, so that any number of books is as near to the shares as it can be.
func (c BookColumn) turn(number int) int {
	counts := make([]float64, len(c.Labels))
	label := 0
	for k := range number + 1 {
		label = 0
		for l := range counts {
			if c.lag(counts, l, k) > c.lag(counts, label, k)+1e-12 {
				label = l
			}
		}
		counts[label]++
	}
	return label
}

func (c BookColumn) lag(counts []float64, label, book int) float64 {
	return c.Shares[label]*float64(book+1) - counts[label]
}

// stack puts the pages of books below each other.
func stack(parts []*table.Table) *table.Table {
	var columns []*table.Column
	for _, first := range parts[0].Columns() {
		var labels []string
		var numbers []float64
		isNumber := true
		for _, part := range parts {
			c := part.Column(first.Name)
			isNumber = isNumber && (c.IsNumber() || allMissing(c))
		}
		for _, part := range parts {
			c := part.Column(first.Name)
			for i := range c.Len() {
				if isNumber {
					numbers = append(numbers, c.Number(i))
				} else {
					labels = append(labels, c.Label(i))
				}
			}
		}
		if isNumber {
			columns = append(columns, table.Numbers(first.Name, numbers))
		} else {
			columns = append(columns, table.Labels(first.Name, labels))
		}
	}
	return must(table.New(columns...))
}

func allMissing(c *table.Column) bool {
	for i := range c.Len() {
		if !c.Missing(i) {
			return false
		}
	}
	return true
}

// must takes tables made of columns of equal length and different names, which
// cannot fail.
func must(t *table.Table, err error) *table.Table {
	if err != nil {
		panic(fmt.Sprintf("power: %v", err))
	}
	return t
}

// Take chooses n of a book's pages to measure (rows of a table of features, in
// their order; all where the book has no more). First come the pages to keep,
// those whose column has one of the labels; then whole openings, spread evenly
// along the book from a place that the random numbers choose (systematic
// sampling: Cochran 1977, Sampling Techniques, chapter 8). Openings are taken
// whole since two pages that lie open together cost one turn.
func Take(pages *table.Table, n int, keep map[string][]string, r *rand.Rand) []int {
	all := make([]int, pages.Rows())
	for i := range all {
		all[i] = i
	}
	if n >= len(all) {
		return all
	}
	kept, rest := apart(pages, all, keep)
	if len(kept) >= n {
		return spread(openingsOf(pages, kept), n, r)
	}
	taken := append(kept, spread(openingsOf(pages, rest), n-len(kept), r)...)
	slices.Sort(taken)
	return taken
}

// apart parts rows into those to keep and the rest.
func apart(pages *table.Table, rows []int, keep map[string][]string) (kept, rest []int) {
	for _, i := range rows {
		wanted := false
		for name, labels := range keep {
			c := pages.Column(name)
			wanted = wanted || c != nil && slices.Contains(labels, c.Label(i))
		}
		if wanted {
			kept = append(kept, i)
		} else {
			rest = append(rest, i)
		}
	}
	return kept, rest
}

// openingsOf gathers rows that lie open together; a page of no known opening is
// one by itself.
func openingsOf(pages *table.Table, rows []int) [][]int {
	c := pages.Column(columnOpening)
	var out [][]int
	for k, i := range rows {
		if k > 0 && c != nil && !c.Missing(i) && c.Label(i) == c.Label(rows[k-1]) {
			out[len(out)-1] = append(out[len(out)-1], i)
			continue
		}
		out = append(out, []int{i})
	}
	return out
}

// spread takes n rows of whole openings, evenly along the book. Where openings
// are of one and of two pages the last ones may be left half.
func spread(openings [][]int, n int, r *rand.Rand) []int {
	total := 0
	for _, o := range openings {
		total += len(o)
	}
	wanted := min(len(openings), int(math.Ceil(float64(n)*float64(len(openings))/float64(total))))
	start := r.Float64()
	chosen := make([]bool, len(openings))
	var rows []int
	for k := range wanted {
		at := min(len(openings)-1, int((float64(k)+start)*float64(len(openings))/float64(wanted)))
		chosen[at] = true
		rows = append(rows, openings[at]...)
	}
	for at := r.IntN(len(openings)); len(rows) < n; at = (at + 1) % len(openings) { // short openings were met more often than expected
		if !chosen[at] {
			chosen[at] = true
			rows = append(rows, openings[at]...)
		}
	}
	for len(rows) > n { // long ones were: single pages go
		at := r.IntN(len(rows))
		rows = slices.Delete(rows, at, at+1)
	}
	slices.Sort(rows)
	return rows
}
