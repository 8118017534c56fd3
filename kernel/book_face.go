package kernel

import (
	"fmt"
	"strings"

	"thumbed/models/codex"
	"thumbed/models/report"
	"thumbed/models/report/grid"
	"thumbed/models/wording"
)

// bookFaces shows a book: what it is, its texts, and how its leaves hang
// together.
func bookFaces(b *codex.Book) ([]Output, error) {
	words := []string{bookHead(b)}
	if formula := b.Collation(); formula != "" {
		words = append(words, "Collation: "+formula)
	}
	g := grid.Grid{Title: "Texts", Empty: "No text of this book is described.",
		Heads: grid.Heads("Text", "Extent", "Kind", "Office", "Pages#", "Opening words")}
	for _, s := range b.Sections {
		office := ""
		if s.Office != codex.NoOffice {
			office = s.Office.String()
		}
		g.AddTexts(s.Name, s.Extent.Written, s.Kind, office, wording.Whole(len(s.Pages)), s.Incipit)
	}
	out := []Output{{Plain: strings.Join(words, "\n") + "\n\n" + g.Text(), HTML: paragraphs(words...) + g.Notebook()}}
	figures, err := report.Collation(b)
	if err != nil {
		return nil, err
	}
	for _, f := range figures {
		diagram, err := figureFace(f)
		if err != nil {
			return nil, err
		}
		out = append(out, diagram)
	}
	return out, nil
}

// bookHead is the book in one line.
func bookHead(b *codex.Book) string {
	parts := []string{b.Title}
	if b.Title == "" {
		parts[0] = b.ID
	}
	for _, more := range []struct{ word, value string }{{"owned by ", b.Owner}, {"", b.Place}, {"", b.Date}, {"on ", b.Material}} {
		if more.value != "" {
			parts = append(parts, more.word+more.value)
		}
	}
	lost := 0
	for _, leaf := range b.Leaves {
		if leaf.State == codex.Lost {
			lost++
		}
	}
	leaves := wording.Count(len(b.Leaves)-lost, "leaf", "leaves")
	if lost > 0 {
		leaves += fmt.Sprintf(" and %d lost", lost)
	}
	return strings.Join(append(parts, leaves), ", ") + "."
}
