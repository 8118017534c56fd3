package codex_test

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"thumbed/models/codex"
)

// A page on which one text ends and the next begins counts in the one that
// begins, or in the one that has no other page.
func TestSharedPages(t *testing.T) {
	const head = "book,section,kind,set,office,extent\n"
	for _, test := range []struct {
		name, sections string
		counted        string // section: its pages
		incipits       string
		note           string
	}{
		{"end and beginning", "hazel,A,prayer,,,ff. 1r–2r\nhazel,B,prayer,,,ff. 2r–2v\n",
			"A: 1r 1v; B: 2r 2v", "1r 2r", "2r counts in “B” and not in “A”"},
		{"the table's order does not matter", "hazel,B,prayer,,,ff. 2r–2v\nhazel,A,prayer,,,ff. 1r–2r\n",
			"A: 1r 1v; B: 2r 2v", "1r 2r", "2r counts in “B” and not in “A”"},
		{"a text of one page keeps it", "hazel,A,prayer,,,ff. 1r–2r\nhazel,B,prayer,,,f. 2r\nhazel,C,prayer,,,ff. 2r–2v\n",
			"A: 1r 1v; B: 2r; C: 2v", "1r 2r", "2r counts in “B” and not in “A”, “C”"},
		{"both ends shared", "hazel,A,prayer,,,ff. 1r–v\nhazel,B,prayer,,,ff. 1v–2r\nhazel,C,prayer,,,ff. 2r–v\n",
			"A: 1r; B: 1v; C: 2r 2v", "1r 1v 2r", "1v counts in “B” and not in “A”; 2r counts in “C” and not in “B”"},
		{"a text broken off and taken up again", "hazel,A,prayer,,,\"ff. 1r–v, 2v–3r\"\nhazel,B,prayer,,,ff. 1v–2v\n",
			"A: 1r 2v 3r; B: 1v 2r", "1r 1v", "1v counts in “B” and not in “A”; 2v counts in “A” and not in “B”"},
		{"none shared", "hazel,A,prayer,,,f. 1r\nhazel,B,prayer,,,f. 1v\n", "A: 1r; B: 1v", "1r 1v", ""},
	} {
		t.Run(test.name, func(t *testing.T) {
			x := small
			x.sections = head + test.sections
			b := x.load(t)[0]
			var counted, incipits []string
			for _, s := range b.Sections {
				words := s.Name + ":"
				for _, page := range s.Pages {
					words += " " + b.Pages[page].Label.String()
				}
				counted = append(counted, words)
			}
			for _, p := range b.Pages {
				if p.Incipit {
					incipits = append(incipits, p.Label.String())
				}
			}
			if diff := cmp.Diff(test.counted, strings.Join(counted, "; ")); diff != "" {
				t.Error(diff)
			}
			if diff := cmp.Diff(test.incipits, strings.Join(incipits, " ")); diff != "" {
				t.Error(diff)
			}
			if note := b.SharedNote(); note != test.note && !strings.HasSuffix(note, ": "+test.note+".") {
				t.Errorf("the note is %q", note)
			}
		})
	}
}

// Places in a section are counted along its extent as written.
func TestSharedPagesKeepTheirPlaces(t *testing.T) {
	x := small
	x.sections = "book,section,kind,extent\nhazel,A,prayer,ff. 1r–2r\nhazel,B,prayer,f. 2r\nhazel,C,prayer,ff. 2r–v\n"
	b := x.load(t)[0]
	verso, ok := b.Find(codex.PageLabel{Folio: codex.Folio{Number: 2}, Side: codex.Verso})
	if p := b.Pages[verso]; !ok || p.SectionPlace != 2 || b.Section(verso).Length != 2 {
		t.Errorf("2v is page %d of %d", p.SectionPlace, b.Section(verso).Length)
	}
}
