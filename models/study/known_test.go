package study_test

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"

	"thumbed/models/codex"
	"thumbed/models/study"
	"thumbed/models/table"
)

// knowing is a copy of the demonstration whose study file says more.
func knowing(t testing.TB, text string) string {
	t.Helper()
	return copied(t, map[string]func([]byte) []byte{study.FileName: func(old []byte) []byte { return append(old, text...) }})
}

const wellKnown = `
[[break]]
book   = "Corvaes"
before = "f. 38r"
reason = "a second scribe begins"
[[break]]
book   = "Corvaes"
before = "26r"
reason = "rebound in two volumes"
[[whole]]
book   = "Corvaes"
pages  = "ff. 55–62"
reason = "the office of the dead, read as one"
`

// TestKnownBreaksReachTheBook: in physical order, by pages, with their reasons.
func TestKnownBreaksReachTheBook(t *testing.T) {
	s, err := study.Open(knowing(t, wellKnown))
	if err != nil {
		t.Fatal(err)
	}
	b, err := s.Book("Corvaes")
	if err != nil {
		t.Fatal(err)
	}
	label := func(page int) string { return b.Pages[page].Label.String() }
	known := b.Known
	if len(known.Breaks) != 2 || label(known.Breaks[0].Page) != "26r" || label(known.Breaks[1].Page) != "38r" || known.Breaks[1].Reason != "a second scribe begins" {
		t.Errorf("breaks %+v", known.Breaks)
	}
	if len(known.Unbroken) != 1 || label(known.Unbroken[0].From) != "55r" || label(known.Unbroken[0].To) != "62v" {
		t.Errorf("stretches %+v", known.Unbroken)
	}
	if slices.ContainsFunc(s.Books, func(other *codex.Book) bool {
		return other.ID != "Corvaes" && len(other.Known.Breaks)+len(other.Known.Unbroken) > 0
	}) {
		t.Error("another book has them too")
	}
}

// TestKnownBreaksThatCannotBe: all are told at once, each at its line and key.
func TestKnownBreaksThatCannotBe(t *testing.T) {
	cases := []struct{ text, column, expected string }{
		{"[[break]]\nbook = \"Corves\"\nbefore = \"26r\"\nreason = \"x\"\n", "break.book", "a book of the study"},
		{"[[break]]\nbefore = \"26r\"\nreason = \"x\"\n", "break.book", "the id of a book"},
		{"[[break]]\nbook = \"Corvaes\"\nbefore = \"27r\"\n", "break.reason", "why the break is known"},
		{"[[break]]\nbook = \"Corvaes\"\nreason = \"x\"\n", "break.before", "the first page after the break"},
		{"[[break]]\nbook = \"Corvaes\"\nbefore = \"28\"\nreason = \"x\"\n", "break.before", "a folio with its side"},
		{"[[break]]\nbook = \"Corvaes\"\nbefore = \"230r\"\nreason = \"x\"\n", "break.before", "which has no 230r"},
		{"[[break]]\nbook = \"Corvaes\"\nbefore = \"22r\"\nreason = \"x\"\n", "break.before", "leaf 22 of book Corvaes is lost"},
		{"[[break]]\nbook = \"Tremele\"\nbefore = \"FIRST\"\nreason = \"x\"\n", "break.before", "a page with others before it"},
		{"[[break]]\nbook = \"Corvaes\"\nbefore = \"30r\"\nreason = \"x\"\n[[break]]\nbook = \"Corvaes\"\nbefore = \"30r\"\nreason = \"y\"\n", "break.before", "each break once"},
		{"[[whole]]\nbook = \"Corvaes\"\npages = \"40r–42v\"\nreason = \"x\"\n[[break]]\nbook = \"Corvaes\"\nbefore = \"41r\"\nreason = \"y\"\n", "break.before", "a break outside the stretches"},
		{"[[whole]]\nbook = \"Corvaes\"\npages = \"46v–45r\"\nreason = \"x\"\n", "whole.pages", "runs forward"},
		{"[[whole]]\nbook = \"Corvaes\"\npages = \"50r–51v\"\nreason = \"x\"\n[[whole]]\nbook = \"Corvaes\"\npages = \"51r–52v\"\nreason = \"y\"\n", "whole.pages", "share no page"},
		{"[[whole]]\nbook = \"Corvaes\"\npages = \"60r\"\nreason = \"x\"\n", "whole.pages", "two pages or more"},
		{"[[whole]]\nbook = \"Corvaes\"\npages = \"60r–v, 62r–v\"\nreason = \"x\"\n", "whole.pages", "one stretch of pages"},
		{"[[whole]]\nbook = \"Corvaes\"\npages = \"from here\"\nreason = \"x\"\n", "whole.pages", "an extent"},
		{"[[whole]]\nbook = \"Corvaes\"\npages = \"63r–64v\"\n", "whole.reason", "why the stretch is known"},
		{"[[whole]]\nbook = \"Corvaes\"\npages = \"63r–301v\"\nreason = \"x\"\n", "whole.pages", "which has no 301v"},
	}
	s, err := study.Open(committed)
	if err != nil {
		t.Fatal(err)
	}
	b, err := s.Book("Tremele")
	if err != nil {
		t.Fatal(err)
	}
	first := b.Pages[b.Present()[0]].Label.String()
	var all strings.Builder
	for _, c := range cases {
		all.WriteString(strings.ReplaceAll(c.text, "FIRST", first))
	}
	dir := knowing(t, "\n"+all.String())
	_, err = study.Check(dir)
	var fault *table.Fault
	if !errors.As(err, &fault) {
		t.Fatalf("the error is %v", err)
	}
	for _, c := range cases {
		if !slices.ContainsFunc(fault.Problems, func(p table.Problem) bool {
			return p.Column == c.column && strings.Contains(p.Expected, c.expected) && p.Line > 0 && p.Remedy != "" && strings.HasSuffix(p.File, study.FileName)
		}) {
			t.Errorf("no problem of %s expects %q", c.column, c.expected)
		}
	}
	if t.Failed() || len(fault.Problems) != len(cases) {
		t.Errorf("%d problems, of %d:\n%v", len(fault.Problems), len(cases), err)
	}
}

// TestKnownBreaksAreTold: as what was known, in the sentences, the methods and the
// tables.
func TestKnownBreaksAreTold(t *testing.T) {
	s, err := study.Open(knowing(t, wellKnown))
	if err != nil {
		t.Fatal(err)
	}
	results, err := s.Run(nil)
	if err != nil {
		t.Fatal(err)
	}
	all := ""
	for _, sentence := range results.Sentences() {
		all += sentence.Text + "\n"
	}
	paragraphs, _ := results.Methods()
	plain := strings.NewReplacer("\u00a0", " ", "\u202f", " ")
	for words, in := range map[string]string{
		"A known break lies before f. 26r (rebound in two volumes): behind it the level differs by −0.1": all,
		"A known break lies among these offices, before f. 26r (rebound in two volumes), between Prime":  all,
		"Breaks were known beforehand in “Hours of Aleit Corvaes” before f. 26r":                         strings.Join(paragraphs, " "),
		"No change was looked for in “Hours of Aleit Corvaes” from f. 55r to f. 62v":                     strings.Join(paragraphs, " "),
	} {
		if !strings.Contains(plain.Replace(in), words) {
			t.Errorf("nothing says %q in:\n%s", words, plain.Replace(in))
		}
	}
	known := results.Tables()["known_breaks"]
	if known == nil || known.Rows() != 3 { // along the hours of the Virgin one, along the whole book two
		t.Errorf("the table of known breaks is %v", fmt.Sprint(known))
	}
}
