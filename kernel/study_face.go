package kernel

import (
	"strings"

	"thumbed/models/codex"
	"thumbed/models/report/grid"
	"thumbed/models/study"
	"thumbed/models/wording"
)

// studyFaces shows what a study is of, and what it holds of each book.
func studyFaces(s *study.Study) []Output {
	found := s.Found()
	g := grid.Grid{Title: "What the study holds", Empty: "It holds no book.",
		Heads: grid.Heads("Book", "Title", "Leaves#", "Lost#", "Texts#", "Pages with a picture#", "Pages measured#")}
	for i, b := range found.Books {
		g.AddTexts(b.ID, s.Books[i].Title, wording.Whole(b.Leaves), wording.Whole(b.Lost), wording.Whole(b.Sections), wording.Whole(b.Pictures), wording.Whole(b.Measured))
	}
	words := []string{s.Title}
	if s.Author != "" {
		words[0] += ", by " + s.Author
	}
	if s.Note != "" {
		words = append(words, s.Note)
	}
	words = append(words, wording.Count(found.Readings, "reading", "readings")+" on "+wording.Count(found.Days, "day", "days")+
		", of which "+wording.Whole(found.Excluded)+" are left out; "+wording.Count(found.Models, "model", "models")+" and "+
		wording.Count(found.Questions, "question", "questions")+".")
	return []Output{{Plain: strings.Join(words, "\n") + "\n\n" + g.Text(), HTML: paragraphs(words...) + g.Notebook()}}
}

func booksFaces(books []*codex.Book) []Output {
	g := grid.Grid{Title: wording.Count(len(books), "book", "books"), Empty: "There is no book.",
		Heads: grid.Heads("Book", "Title", "Owner", "Place", "Date", "Collation")}
	for _, b := range books {
		g.AddTexts(b.ID, b.Title, b.Owner, b.Place, b.Date, b.Collation())
	}
	return []Output{tableOutput(g)}
}
