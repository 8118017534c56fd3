package codex_test

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"thumbed/models/codex"
	"thumbed/models/table"
)

// drawBook draws a book: flyleaves, quires of one to six sheets with leaves
// put in and cut out, lost leaves with and without labels, bis leaves, supplied numbers,
// pictures, and sections that fill part of it.
func drawBook(t *rapid.T) *codex.Book {
	var leaves, pages, sections strings.Builder
	leaves.WriteString("book,leaf,quire,state,conjugate\n")
	pages.WriteString("book,page,picture\n")
	sections.WriteString("book,section,kind,extent\n")
	number := 0
	var labels []string // of leaves that have one
	leaf := func(quire, conjugate string) {
		label := ""
		switch rapid.IntRange(0, 9).Draw(t, "label") {
		case 0:
			if number > 0 {
				label = fmt.Sprintf("%dbis", number)
				break
			}
			fallthrough
		default:
			number++
			label = fmt.Sprint(number)
		case 1:
			number++
			label = fmt.Sprintf("[%d]", number)
		}
		if len(labels) > 0 && labels[len(labels)-1] == label {
			number++
			label = fmt.Sprint(number)
		}
		state := ""
		if rapid.IntRange(0, 7).Draw(t, "lost") == 0 {
			state = "lost"
			if rapid.Bool().Draw(t, "unlabelled") {
				label = ""
			}
		}
		if label != "" {
			labels = append(labels, label)
			if state == "" && rapid.IntRange(0, 5).Draw(t, "picture") == 0 {
				fmt.Fprintf(&pages, "hazel,%sr,yes\n", label)
			}
		}
		fmt.Fprintf(&leaves, "hazel,%s,%s,%s,%s\n", label, quire, state, conjugate)
	}
	for i := range rapid.IntRange(0, 3).Draw(t, "flyleaves") {
		fmt.Fprintf(&leaves, "hazel,%s,,,\n", strings.Repeat("i", i+1))
	}
	quires := rapid.IntRange(1, 5).Draw(t, "quires")
	for q := range quires {
		whole := false
		for range 2 * rapid.IntRange(1, 6).Draw(t, "sheets") {
			if rapid.IntRange(0, 11).Draw(t, "put in") == 0 {
				leaf(fmt.Sprint(q+1), "singleton")
			}
			if whole && rapid.IntRange(0, 15).Draw(t, "cut out") == 0 {
				fmt.Fprintf(&leaves, "hazel,,%d,cancelled,\n", q+1)
				continue
			}
			whole = true
			leaf(fmt.Sprint(q+1), "")
		}
	}
	for i := 0; i < len(labels); {
		end := min(len(labels)-1, i+rapid.IntRange(0, 9).Draw(t, "leaves of the section"))
		if rapid.Bool().Draw(t, "section") {
			fmt.Fprintf(&sections, "hazel,S%d,prayer,ff. %sr–%sv\n", i, labels[i], labels[end])
		}
		i = end + 1
	}
	dir, err := os.MkdirTemp("", "codex")
	if err != nil {
		t.Fatal(err)
	}
	defer os.RemoveAll(dir) // a folder of this draw alone
	put := func(name, text string) string {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		return path
	}
	var ps table.Problems
	books := codex.Load(codex.Paths{Books: put("books.csv", "book,outer\nhazel,"+rapid.SampledFrom([]string{"hair", "flesh"}).Draw(t, "outer")+"\n"),
		Leaves: put("leaves.csv", leaves.String()), Pages: put("pages.csv", pages.String()), Sections: put("sections.csv", sections.String())}, &ps)
	if err := ps.Err(); err != nil {
		t.Fatal(err)
	}
	return books[0]
}

func TestBookInvariants(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := drawBook(t)
		checkPositions(t, b)
		checkOpenings(t, b)
		checkSheets(t, b)
		checkSections(t, b)
		checkGaps(t, b)
	})
}

// Positions ascend by one, and every label finds its page.
func checkPositions(t *rapid.T, b *codex.Book) {
	if len(b.Pages) != 2*len(b.Leaves) {
		t.Fatalf("%d pages of %d leaves", len(b.Pages), len(b.Leaves))
	}
	for i, p := range b.Pages {
		if at, ok := b.At(p.Position); p.Position != i+1 || !ok || at != i {
			t.Fatalf("page %d has position %d", i, p.Position)
		}
		if p.Label.String() == "" {
			continue
		}
		if found, ok := b.Find(p.Label); !ok || found != i {
			t.Fatalf("%s finds page %d, not %d", p.Label, found, i)
		}
	}
}

// Each of two facing pages faces the other, they are neighbours, a verso and a
// recto, and neither is lost.
func checkOpenings(t *rapid.T, b *codex.Book) {
	for page := range b.Pages {
		other, ok := b.Opening(page)
		if !ok {
			continue
		}
		if back, ok := b.Opening(other); !ok || back != page {
			t.Fatalf("%d faces %d, which faces %d", page, other, back)
		}
		verso, recto := min(page, other), max(page, other)
		if recto != verso+1 || b.Pages[verso].Label.Side != codex.Verso || b.Pages[recto].Label.Side != codex.Recto || b.Pages[verso].Lost || b.Pages[recto].Lost {
			t.Fatalf("%d and %d are no opening", verso, recto)
		}
	}
}

// The other half of a leaf's other half is the leaf; both are in one quire;
// sheets nest; and by Gregory's rule facing pages of one quire are of one side
// of the skin, where no leaf put in is among them.
func checkSheets(t *rapid.T, b *codex.Book) {
	for i, leaf := range b.Leaves {
		mate := leaf.Conjugate
		if mate < 0 {
			continue
		}
		if b.Leaves[mate].Conjugate != i || mate == i || b.Leaves[mate].Quire != leaf.Quire {
			t.Fatalf("leaf %d is conjugate with %d, which is with %d", i, mate, b.Leaves[mate].Conjugate)
		}
		for j := min(i, mate) + 1; j < max(i, mate); j++ {
			if inner := b.Leaves[j].Conjugate; inner >= 0 && (inner < min(i, mate) || inner > max(i, mate)) {
				t.Fatalf("the sheets of %d and %d cross", i, j)
			}
		}
		if other := b.Leaves[mate].RectoSide; leaf.RectoSide == other || leaf.RectoSide == "" {
			t.Fatalf("the rectos of one sheet are %q and %q", leaf.RectoSide, other)
		}
	}
	for page := range b.Pages {
		other, ok := b.Opening(page)
		if !ok || b.Leaves[page/2].Quire != b.Leaves[other/2].Quire || b.Skin(page) == "" || b.Skin(other) == "" || cutBetween(b, min(page, other)/2) {
			continue
		}
		if b.Skin(page) != b.Skin(other) {
			t.Fatalf("%s is %s and faces %s, %s", b.Pages[page].Label, b.Skin(page), b.Pages[other].Label, b.Skin(other))
		}
	}
}

// cutBetween tells whether a leaf was cut out between a leaf and the next.
func cutBetween(b *codex.Book, leaf int) bool {
	for _, c := range b.Quires[b.Leaves[leaf].Quire].Cancelled {
		if c.Before == b.Leaves[leaf].Place {
			return true
		}
	}
	return false
}

// A page is in the section that lists it; sections stand in physical order;
// the extent prints back.
func checkSections(t *rapid.T, b *codex.Book) {
	listed := 0
	last := -1
	for k, s := range b.Sections {
		for i, page := range s.Pages {
			listed++
			if b.Pages[page].Section != k || b.Pages[page].Lost || page <= last {
				t.Fatalf("page %d (%d of section %d) is in section %d", page, i, k, b.Pages[page].Section)
			}
			last = page
		}
		if again, err := codex.ParseExtent(s.Extent.String()); err != nil || again.Written != s.Extent.Written {
			t.Fatalf("%q prints back as %q (%v)", s.Extent.Written, again, err)
		}
	}
	for i, p := range b.Pages {
		if p.Section >= 0 && !p.Lost {
			listed--
		}
		if got := b.Section(i); (got == nil) != (p.Section < 0) {
			t.Fatalf("page %d: section %v", i, got)
		}
	}
	if listed != 0 {
		t.Fatalf("%d pages too many or too few are listed", listed)
	}
}

// Gaps and present pages together are the whole book.
func checkGaps(t *rapid.T, b *codex.Book) {
	pages := len(b.Present())
	for _, g := range b.Gaps() {
		pages += g.To - g.From + 1
		if g.To-g.From+1 != 2*g.Leaves || len(g.Labels) > g.Leaves {
			t.Fatalf("gap %+v", g)
		}
		for position := g.From; position <= g.To; position++ {
			if !b.Pages[position-1].Lost {
				t.Fatalf("position %d is in a gap", position)
			}
		}
	}
	if pages != len(b.Pages) {
		t.Fatalf("%d pages are present or in gaps, of %d", pages, len(b.Pages))
	}
}

// Features hold one row a present page, in order, and what they say is what
// the book says.
func TestFeatureInvariants(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := drawBook(t)
		f := codex.Features([]*codex.Book{b})
		present := b.Present()
		if f.Rows() != len(present) {
			t.Fatalf("%d rows of %d pages", f.Rows(), len(present))
		}
		for i, page := range present {
			want := map[string]string{
				"page": b.Pages[page].Label.String(), "position": fmt.Sprint(page + 1), "hair": b.Skin(page),
				"edge": fmt.Sprint(min(page/2, len(b.Leaves)-1-page/2)),
			}
			for name, label := range want {
				if got := f.Column(name).Label(i); got != label {
					t.Fatalf("%s of %s is %s, not %s", name, b.Pages[page].Label, got, label)
				}
			}
			for _, name := range []string{"place", "section_place"} {
				if v := f.Column(name).Number(i); v < 0 || v > 1 {
					t.Fatalf("%s of %s is %g", name, b.Pages[page].Label, v)
				}
			}
		}
		// Each opening has one row or two, and facing is what the other says.
		rows := map[string][]int{}
		for i := range f.Rows() {
			opening := f.Column("opening").Label(i)
			rows[opening] = append(rows[opening], i)
		}
		for opening, two := range rows {
			if len(two) > 2 {
				t.Fatalf("opening %s has %d pages", opening, len(two))
			}
			if len(two) == 2 && (f.Column("facing").Label(two[0]) != f.Column("picture").Label(two[1]) || f.Column("facing").Label(two[1]) != f.Column("picture").Label(two[0])) {
				t.Fatalf("opening %s: facing is not the other page's picture", opening)
			}
		}
	})
}
