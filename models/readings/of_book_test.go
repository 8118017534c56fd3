package readings

import (
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

// TestOfBook: the parts of all books, put together, are the whole, and each
// holds its own book alone; books without wear have an empty part.
func TestOfBook(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		pages := rapid.SliceOfN(rapid.IntRange(0, 4), 0, 8).Draw(t, "pages of each book")
		var r Result
		for book, n := range pages {
			for page := range n {
				r.Wear = append(r.Wear, Wear{Book: book, Page: page})
			}
		}
		var together []Wear
		for book, n := range pages {
			own := r.OfBook(book)
			if len(own) != n || slices.ContainsFunc(own, func(w Wear) bool { return w.Book != book }) {
				t.Fatalf("book %d: %v", book, own)
			}
			together = append(together, own...)
		}
		if !cmp.Equal(together, r.Wear) {
			t.Fatalf("%v is not %v", together, r.Wear)
		}
	})
}
