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

// prose sets a paragraph with its citations as commands of natbib, which biblatex
// knows too: what stands in brackets alone becomes \citep, what is named inside
// longer brackets \citealp, and what the sentence names \citet.
func (s *setter) prose(paragraph string) string {
	var b strings.Builder
	from := 0
	for _, at := range inBrackets.FindAllStringIndex(paragraph, -1) {
		b.WriteString(s.named(paragraph[from:at[0]], `\citet`))
		inside := paragraph[at[0]+1 : at[1]-1]
		if keys := s.onlyWorks(inside); keys != nil {
			b.WriteString(`\citep{` + strings.Join(keys, ",") + `}`)
		} else {
			b.WriteString("(" + s.named(inside, `\citealp`) + ")")
		}
		from = at[1]
	}
	b.WriteString(s.named(paragraph[from:], `\citet`))
	return b.String()
}

// onlyWorks are the keys of the works named, where the text names works and says
// nothing else.
func (s *setter) onlyWorks(text string) []string {
	var keys []string
	for {
		at, work := s.firstWork(text)
		if between := strings.Trim(text[:at], " ;,"); between != "" {
			return nil
		}
		if at == len(text) {
			return keys
		}
		keys = append(keys, s.cite(work))
		text = text[at+len(work.Key):]
	}
}

// firstWork finds where text first names a work: at its end where it names none.
func (s *setter) firstWork(text string) (at int, work report.Reference) {
	at = len(text)
	for _, w := range s.works {
		if k := strings.Index(text, w.Key); k >= 0 && (k < at || k == at && len(w.Key) > len(work.Key)) {
			at, work = k, w
		}
	}
	return at, work
}

// cite is a work's key; the work will be in the bibliography.
func (s *setter) cite(w report.Reference) string {
	s.cited[w.Key] = true
	return citeKey(w)
}

// named sets text in which works are named, each name as a citation.
func (s *setter) named(text, command string) string {
	var b strings.Builder
	for {
		at, work := s.firstWork(text)
		b.WriteString(s.text(text[:at]))
		if at == len(text) {
			return b.String()
		}
		b.WriteString(command + `{` + s.cite(work) + `}`)
		text = text[at+len(work.Key):]
	}
}

// citedWorks are the works cited so far.
func (s *setter) citedWorks() []report.Reference {
	return slices.DeleteFunc(slices.Clone(s.works), func(w report.Reference) bool { return !s.cited[w.Key] })
}

// methodsFile is the methods with their citations.
func (s *setter) methodsFile(paragraphs []string) []byte {
	var b strings.Builder
	b.WriteString("% What was really done in this study, in paragraphs; references.bib holds the works cited.\n")
	for _, p := range paragraphs {
		b.WriteString("\n" + s.prose(p) + "\n")
	}
	return []byte(b.String())
}

// bibliography is the works as BibTeX reads them, in the order of their keys, in
// ASCII, which every version of BibTeX sorts alike.
func bibliography(works []report.Reference) []byte {
	works = slices.SortedFunc(slices.Values(works), func(a, b report.Reference) int { return strings.Compare(citeKey(a), citeKey(b)) })
	var b strings.Builder
	b.WriteString("The works that the parts cite, for BibTeX or biber.\n")
	for _, w := range works {
		writeEntry(&b, w)
	}
	return []byte(b.String())
}

// entryTypes are BibTeX's names of the kinds of works.
var entryTypes = map[report.Kind]string{report.Article: "article", report.Book: "book", report.Paper: "inproceedings", report.Standard: "misc"}

func writeEntry(b *strings.Builder, w report.Reference) {
	s := newSetter()
	s.ascii = true
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
	b.WriteString("\n}\n")
}
