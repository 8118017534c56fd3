// Package reporttest holds what people read of a study to the rules by which its
// sentences are written.
package reporttest

import (
	"encoding/json"
	"html"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"unicode/utf8"
)

// A sentence outside the referee's part has at most so many words, and a paragraph.
const (
	mostInSentence  = 30
	mostInParagraph = 60
)

// named finds names of columns and levels: "office_order", "picture=yes".
var named = regexp.MustCompile(`\pL=[\pL\d]|\pL_\pL`)

// Names fails where a text holds a name of a column or of a level.
func Names(t testing.TB, where, text string) {
	t.Helper()
	if found := named.FindStringIndex(text); found != nil {
		t.Errorf("%s: a name of a column in %q", where, around(text, found))
	}
}

// around is what stands about a place in a text.
func around(text string, at []int) string {
	from, to := max(0, at[0]-60), min(len(text), at[1]+60)
	return strings.ToValidUTF8(text[from:to], "")
}

// Short fails where a paragraph, or a sentence of it, is longer than outside the
// referee's part it may be. What does not break is one word.
func Short(t testing.TB, where, text string) {
	t.Helper()
	if n := words(text); n > mostInParagraph {
		t.Errorf("%s: a paragraph of %d words: %q", where, n, text)
	}
	for _, one := range ends.Split(text, -1) {
		if n := words(one); n > mostInSentence {
			t.Errorf("%s: a sentence of %d words: %q", where, n, one)
		}
	}
}

// ends are the ends of sentences.
var ends = regexp.MustCompile(`[.?!:]["”’)]*[ \n]+`)

// words counts the words between plain spaces.
func words(text string) int {
	return len(strings.FieldsFunc(text, func(c rune) bool { return c == ' ' || c == '\n' || c == '\t' }))
}

var (
	unread   = regexp.MustCompile(`(?s)<(script|style|svg|table)\b.*?</(script|style|svg|table)>`)
	folded   = regexp.MustCompile(`(?s)<details\b.*?</details>`)
	block    = regexp.MustCompile(`(?s)<(p|li|dd|figcaption|h1|h2|h3|span|i)\b[^>]*>(.*?)</(p|li|dd|figcaption|h1|h2|h3|span|i)>`)
	anchored = regexp.MustCompile(`(?s)<a\b[^>]*>.*?</a>`)
	tags     = regexp.MustCompile(`<[^>]*>`)
	heading  = regexp.MustCompile(`(?s)<(title|header)\b.*?</(title|header)>`)
)

// Page fails where a page names columns anywhere outside its tables and charts, or has
// long sentences outside its folded parts.
func Page(t testing.TB, where, page string) {
	t.Helper()
	read := heading.ReplaceAllString(unread.ReplaceAllString(page, " "), " ") // titles and authors are the scholar's
	Names(t, where, html.UnescapeString(tags.ReplaceAllString(anchored.ReplaceAllString(read, " "), " ")))
	open := folded.ReplaceAllString(read, " ")
	seen := 0
	for _, b := range block.FindAllStringSubmatch(open, -1) {
		text := strings.TrimSpace(html.UnescapeString(tags.ReplaceAllString(b[2], " ")))
		if utf8.RuneCountInString(text) > 0 {
			seen++
			Short(t, where, text)
		}
	}
	if seen < 5 {
		t.Errorf("%s: only %d texts were read", where, seen)
	}
}

// Folder holds the page and the sentences of a folder of results to all of this. It
// gives the number of sentences.
func Folder(t testing.TB, dir string) int {
	t.Helper()
	page, err := os.ReadFile(filepath.Join(dir, "index.html"))
	if err != nil {
		t.Fatal(err)
	}
	Page(t, dir, string(page))
	data, err := os.ReadFile(filepath.Join(dir, "results.json"))
	if err != nil {
		t.Fatal(err)
	}
	var results struct {
		Sentences []struct {
			Topic, Text string
			Aside       bool
		}
	}
	if err := json.Unmarshal(data, &results); err != nil {
		t.Fatal(err)
	}
	for _, s := range results.Sentences {
		Names(t, dir, s.Text)
		if !s.Aside && s.Topic != "question" { // a question's words are the scholar's; its answer in full is the referee's
			Short(t, dir, s.Text)
		}
	}
	return len(results.Sentences)
}

// Written holds a page to all of this as it is written.
func Written(t testing.TB, where string, write func(io.Writer) error) {
	t.Helper()
	var page strings.Builder
	if err := write(&page); err != nil {
		t.Fatal(err)
	}
	Page(t, where, page.String())
}
