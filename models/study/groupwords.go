package study

import (
	"strings"

	"thumbed/models/wording"
)

// groupWords names a group of pages or looks by its columns and their labels: "f. 64v of
// Hours of Aleit Corvaes".
func (s *Study) groupWords(by, labels []string) string {
	out := ""
	for k, column := range by {
		label := labels[k]
		switch column {
		case "book":
			label = s.bookCalled(label)
		case "page":
			label = "f." + wording.NoBreak + label
		case "section":
			label = "the text “" + label + "”"
		default:
			label = strings.ReplaceAll(column, "_", " ") + " " + label
		}
		if out != "" {
			label += " of " + out
		}
		out = label
	}
	return out
}

// bookCalled is what sentences call a book.
func (s *Study) bookCalled(id string) string {
	for _, b := range s.Books {
		if b.ID == id {
			return b.Called()
		}
	}
	return id
}
