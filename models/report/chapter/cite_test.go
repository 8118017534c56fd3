package chapter

import (
	"strings"
	"testing"

	"thumbed/models/report"
)

var works = []report.Reference{
	{Key: "Holm 1979", Kind: report.Article, Authors: []report.Author{{Given: "S.", Family: "Holm"}}, Title: "A simple procedure", In: "A Journal", Volume: "6", Number: "2", Year: "1979", Pages: "65–70"},
	{Key: "Benjamini and Hochberg 1995", Kind: report.Article, Authors: []report.Author{{Given: "Y.", Family: "Benjamini"}, {Given: "Y.", Family: "Hochberg"}}, Title: "Rates & discoveries", In: "B", Volume: "57", Year: "1995", Pages: "289–300", DOI: "10.1111/j.2517-6161.1995.tb02031.x"},
	{Key: "Mächler 2015", Kind: report.Book, Authors: []report.Author{{Given: "M.", Family: "Mächler"}}, Title: "Fitting", Press: "Press", Place: "Zürich", Year: "2015", Part: "section 3"},
	{Key: "ISO 5-4", Kind: report.Standard, Number: "ISO 5-4", Year: "2009", Title: "Density"},
	{Key: "ISO 5-42", Kind: report.Standard, Number: "ISO 5-42", Year: "2011", Title: "Another"},
}

func TestCitations(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		{"adjusted (Holm 1979).", `adjusted \citep{holm1979}.`},
		{"follow Holm 1979; so", `follow \citet{holm1979}; so`},
		{"as such (Holm 1979; Mächler 2015), and", `as such \citep{holm1979,machler2015}, and`},
		{"family (Holm 1979, or for the rate Benjamini and Hochberg 1995).", `family (\citealp{holm1979}, or for the rate \citealp{benjamini1995}).`},
		{"as limits (Holm 1979, Mächler 2015).", `as limits \citep{holm1979,machler2015}.`},
		{"()", "()"},
		{"(ISO 5-4) and ISO 5-42", `\citep{iso5-4} and \citet{iso5-42}`},
		{"by book (intercept & picture)", `by book (intercept \& picture)`},
		{"no citation", "no citation"},
	} {
		s := newSetter()
		s.works = works
		if got := s.prose(c.text); got != c.want {
			t.Errorf("%q becomes %q; want %q", c.text, got, c.want)
		}
	}
}

// TestBibliography: entries in order of their keys, in ASCII, braces in pairs.
func TestBibliography(t *testing.T) {
	text := string(bibliography(works))
	at := -1
	for _, want := range []string{
		"\n@article{benjamini1995,\n", "author    = {Benjamini, Y. and Hochberg, Y.},\n", `title     = {{Rates \& discoveries}}`, "doi       = {10.1111/j.2517-6161.1995.tb02031.x}\n}\n",
		"\n@article{holm1979,\n", "number    = {2},\n", "pages     = {65--70}\n}\n",
		"\n@misc{iso5-4,\n  key       = {ISO 5-4},\n", "title     = {{ISO 5-4:2009, Density}}",
		"\n@book{machler2015,\n", `author    = {M{\"{a}}chler, M.}`, `address   = {Z{\"{u}}rich}`, "note      = {section 3}",
	} {
		k := strings.Index(text, want)
		if k <= at {
			t.Errorf("the bibliography lacks %q, or has it out of order:\n%s", want, text)
		}
		at = k
	}
	for _, c := range text {
		if c >= 0x80 {
			t.Errorf("the bibliography holds %q", c)
		}
	}
	if at := unpaired(text); at != "" {
		t.Errorf("braces do not pair at %q", at)
	}
}
