package chapter

import (
	"fmt"
	"regexp"
	"slices"
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"

	"thumbed/models/report"
)

// citeKey is the key of a work in the bibliography: "holm1979", "iso5-4".
func citeKey(w report.Reference) string {
	if w.Kind == report.Standard {
		return strings.ToLower(strings.ReplaceAll(w.Number, " ", ""))
	}
	name := strings.Map(func(c rune) rune {
		if c < 0x80 && unicode.IsLetter(c) {
			return unicode.ToLower(c)
		}
		return -1
	}, norm.NFD.String(w.Authors[0].Family))
	return name + w.Year
}

// inBrackets are words between brackets without others inside.
var inBrackets = regexp.MustCompile(`\([^()]*\)`)

// cited sets a paragraph with its citations as commands of natbib, which biblatex
// knows too: what stands in brackets alone becomes \citep, what is named inside
// longer brackets \citealp, and what the sentence names \citet.
func (s *setter) cited(paragraph string, works []report.Reference) string {
	var b strings.Builder
	from := 0
	for _, at := range inBrackets.FindAllStringIndex(paragraph, -1) {
		b.WriteString(s.named(paragraph[from:at[0]], works, `\citet`))
		inside := paragraph[at[0]+1 : at[1]-1]
		if keys := onlyKeys(inside, works); keys != nil {
			b.WriteString(`\citep{` + strings.Join(keys, ",") + `}`)
		} else {
			b.WriteString("(" + s.named(inside, works, `\citealp`) + ")")
		}
		from = at[1]
	}
	b.WriteString(s.named(paragraph[from:], works, `\citet`))
	return b.String()
}

// onlyKeys are the keys of the works named, where the text names works and says
// nothing else.
func onlyKeys(text string, works []report.Reference) []string {
	var keys []string
	for _, name := range strings.Split(text, "; ") {
		k := slices.IndexFunc(works, func(w report.Reference) bool { return w.Key == name })
		if k < 0 {
			return nil
		}
		keys = append(keys, citeKey(works[k]))
	}
	return keys
}

// named sets text in which works are named, each name as a citation.
func (s *setter) named(text string, works []report.Reference, command string) string {
	var b strings.Builder
	for text != "" {
		at, work := len(text), report.Reference{}
		for _, w := range works {
			if k := strings.Index(text, w.Key); k >= 0 && (k < at || k == at && len(w.Key) > len(work.Key)) {
				at, work = k, w
			}
		}
		b.WriteString(s.text(text[:at]))
		if at == len(text) {
			break
		}
		b.WriteString(command + `{` + citeKey(work) + `}`)
		text = text[at+len(work.Key):]
	}
	return b.String()
}

// methodsFile is the methods with their citations.
func (s *setter) methodsFile(paragraphs []string, works []report.Reference) []byte {
	var b strings.Builder
	b.WriteString("% What was really done in this study, in paragraphs; references.bib holds the works cited.\n")
	for _, p := range paragraphs {
		b.WriteString("\n" + s.cited(p, works) + "\n")
	}
	return []byte(b.String())
}

// bibliography is the works as BibTeX reads them, in the order of their keys, in
// ASCII, which every version of BibTeX sorts alike.
func bibliography(works []report.Reference) []byte {
	works = slices.SortedFunc(slices.Values(works), func(a, b report.Reference) int { return strings.Compare(citeKey(a), citeKey(b)) })
	var b strings.Builder
	b.WriteString("The works that methods.tex cites, for BibTeX or biber.\n")
	for _, w := range works {
		writeEntry(&b, w)
	}
	return []byte(b.String())
}

// entryTypes are BibTeX's names of the kinds of works.
var entryTypes = map[report.Kind]string{report.Article: "article", report.Book: "book", report.Paper: "inproceedings", report.Standard: "misc", report.WebPage: "misc"}

func writeEntry(b *strings.Builder, w report.Reference) {
	s := &setter{ascii: true, beyond: map[rune]bool{}}
	fmt.Fprintf(b, "\n@%s{%s", entryTypes[w.Kind], citeKey(w))
	field := func(name, value string) {
		if value != "" {
			fmt.Fprintf(b, ",\n  %-9s = {%s}", name, value)
		}
	}
	dashed := strings.NewReplacer("–", "--").Replace
	title := w.Title
	if w.Kind == report.Standard {
		field("key", s.text(w.Number)) // stands where the authors of others stand
		title = w.Number + ":" + w.Year + ", " + title
	}
	var authors []string
	for _, a := range w.Authors {
		authors = append(authors, s.text(a.Family)+", "+s.text(a.Given))
	}
	field("author", strings.Join(authors, " and "))
	field("title", "{"+s.text(title)+"}") // braced twice: its capitals are as they should be
	switch w.Kind {
	case report.Article:
		field("journal", s.text(w.In))
		field("volume", w.Volume)
		field("number", w.Number)
	case report.Paper:
		field("booktitle", s.text(w.In))
	case report.Standard:
		field("howpublished", "International Organization for Standardization")
	}
	field("publisher", s.text(w.Press))
	field("address", s.text(w.Place))
	field("year", w.Year)
	field("pages", dashed(w.Pages))
	field("note", s.text(w.Part))
	field("doi", w.DOI)
	field("url", w.Address)
	b.WriteString("\n}\n")
}
