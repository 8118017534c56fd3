package dropoff_test

import (
	"errors"
	"strings"
	"testing"

	"thumbed/models/dropoff"
	"thumbed/models/table"
)

// severalBooks is an invented table of wear: two books, with pages at the limits.
const severalBooks = `book,page,picture,wear,wear_se,limit
Alder,1r,no,0.31,0.02,
Alder,1v,yes,0.45,0.02,above
Alder,2r,no,0.30,0.02,
Alder,2v,no,0.29,0.02,
Birch,1r,no,0.02,0.02,below
Birch,1v,no,0.12,0.02,
Birch,2r,yes,0.13,0.02,
`

// TestSeriesOfOneBook: a table with the pages of several books is refused with
// the way to choose one; chosen, the rows and their lines are those of the book.
func TestSeriesOfOneBook(t *testing.T) {
	wear := dropoff.Columns{Values: "wear", SE: "wear_se"}
	_, err := read(t, severalBooks, wear)
	var fault *table.Fault
	if !errors.As(err, &fault) || !strings.Contains(err.Error(), "choose one of Alder and Birch, as with --only book=Alder") {
		t.Errorf("several books: %v", err)
	}
	wear.Only = []dropoff.Choice{{Column: "book", Label: "Birch"}}
	s, err := read(t, severalBooks, wear)
	if err != nil || len(s.Values) != 3 || s.Values[1] != 0.12 || s.Label(1) != "1r" {
		t.Errorf("Birch: %+v, %v", s, err)
	}
	wear.Only = append(wear.Only, dropoff.Choice{Column: "picture", Label: "no"})
	if s, err = read(t, severalBooks, wear); err != nil || len(s.Values) != 2 {
		t.Errorf("Birch without pictures: %+v, %v", s, err)
	}
	// a row for each book is a series of books
	if s, err = read(t, "book,wear\nAlder,0.3\nBirch,0.2\nElm,0.1\n", dropoff.Columns{Values: "wear"}); err != nil || s.Label(2) != "Birch" {
		t.Errorf("a row for each book: %+v, %v", s, err)
	}
	for _, c := range []struct {
		choice dropoff.Choice
		want   string
	}{
		{dropoff.Choice{Column: "book", Label: "Brich"}, "did you mean Birch? It has Alder and Birch"},
		{dropoff.Choice{Column: "book", Label: "Oak and everything"}, "it has Alder and Birch"},
		{dropoff.Choice{Column: "boök", Label: "Birch"}, "column of this table"},
	} {
		_, err := read(t, severalBooks, dropoff.Columns{Values: "wear", Only: []dropoff.Choice{c.choice}})
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("only %v: %v", c.choice, err)
		}
	}
	// a fault names the line of the file, not that of the choice
	_, err = read(t, strings.Replace(severalBooks, "0.13", "worn", 1), wear)
	if err != nil {
		t.Errorf("a fault in a row that was not chosen: %v", err)
	}
	_, err = read(t, strings.Replace(severalBooks, "0.12", "worn", 1), wear)
	if err == nil || !strings.Contains(err.Error(), "line 7, column wear") {
		t.Errorf("a fault in a row that was chosen: %v", err)
	}
}

// TestSeriesOfBounds: rows whose value is a bound are told, in the result too.
func TestSeriesOfBounds(t *testing.T) {
	var b strings.Builder
	b.WriteString("page,wear,limit\n")
	for i := range 12 {
		b.WriteString([]string{"0.31,", "0.29,", "0.45,above"}[i%3])
		b.WriteString("\n")
	}
	text := strings.ReplaceAll(b.String(), "0.", "p,0.")
	s, err := read(t, text, dropoff.Columns{Values: "wear"})
	if err != nil {
		t.Fatal(err)
	}
	const want = "In 4 of 12 rows the value is only a bound (column limit: 0 below, 4 above)"
	if len(s.Notes) != 1 || !strings.HasPrefix(s.Notes[0], want) {
		t.Errorf("notes of the series: %q", s.Notes)
	}
	c, err := dropoff.Segment(s, dropoff.Options{})
	if err != nil || !strings.HasPrefix(c.Notes[0], want) {
		t.Errorf("notes of the result: %q, %v", c.Notes, err)
	}
	// the column says what rows are, and does not name them
	if s, err = read(t, strings.NewReplacer("page,", "", "p,", "").Replace(text), dropoff.Columns{Values: "wear"}); err != nil || s.Label(3) != "3" {
		t.Errorf("row 3 is called %q, %v", s.Label(3), err)
	}
	// a column limit with another meaning is left alone
	s, err = read(t, strings.ReplaceAll(text, "above", "5"), dropoff.Columns{Values: "wear"})
	if err != nil || len(s.Notes) != 0 {
		t.Errorf("notes of the series: %q, %v", s.Notes, err)
	}
}
