package tei_test

import (
	"bytes"
	"fmt"
	"os"
	"strings"
	"testing"
	"unicode/utf16"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"thumbed/models/codex/catalogue/cataloguetest"
	"thumbed/models/codex/tei"
	"thumbed/models/table"
)

const sound = `<TEI><msDesc><msContents><msItem><locus>1r-2v</locus><title>Litany</title></msItem></msContents></msDesc></TEI>`

// Files that cannot be read, and what is said of them.
func TestBrokenFiles(t *testing.T) {
	for _, test := range []struct{ name, data, want string }{
		{"empty", "", `record.xml, line 1: found nothing; expected a TEI file; the file is empty: fetch it again.`},
		{"spaces", " \n ", `record.xml, line 1: found nothing; expected a TEI file; the file is empty: fetch it again.`},
		{"a web page", "<!DOCTYPE html><html><head><title>x</title></head></html>", `record.xml, line 1: found "no msDesc in a file of html"; expected a TEI file with the description of a manuscript, msDesc; give the library's catalogue record in TEI, not its page or its transcription.`},
		{"a transcription", "<TEI><text><body><p>x</p></body></text></TEI>", `record.xml, line 1: found "no msDesc in a file of TEI"; expected a TEI file with the description of a manuscript, msDesc; give the library's catalogue record in TEI, not its page or its transcription.`},
		{"words", "Hours of the Virgin", `record.xml, line 1: found "no msDesc"; expected a TEI file with the description of a manuscript, msDesc; give the library's catalogue record in TEI, not its page or its transcription.`},
		{"a JSON file", `{"a":1}`, `record.xml, line 1: found "no msDesc"; expected a TEI file with the description of a manuscript, msDesc; give the library's catalogue record in TEI, not its page or its transcription.`},
		{"cut short", "<TEI>\n<msDesc><msContents>", `record.xml, line 2: found "<TEI>\n<msDesc><msContents>"; expected well-formed XML; the file ends too early: fetch it again.`},
		{"crossed", "<TEI><msDesc><a></msDesc></a></TEI>", `record.xml, line 1: found "<TEI><msDesc><a></msDesc>"; expected well-formed XML; element <a> closed by </msDesc>; mend the file, or fetch it again.`},
		{"an attribute twice without quotes", "<TEI><msDesc n=1/></TEI>", `record.xml, line 1: found "<TEI><msDesc n=1"; expected well-formed XML; unquoted or missing attribute value in element; mend the file, or fetch it again.`},
		{"a bare ampersand", "<TEI><msDesc><p>a & b</p></msDesc></TEI>", `record.xml, line 1: found "<TEI><msDesc><p>a &"; expected well-formed XML; invalid character entity & (no semicolon); entities that stand for files or for other entities are not expanded here, for safety: write the characters themselves.`},
		{"an unknown encoding", `<?xml version="1.0" encoding="EBCDIC-9"?><TEI/>`, `record.xml, line 1: found "on=\"1.0\" encoding=\"EBCDIC-9\"?>"; expected well-formed XML; xml: opening charset "EBCDIC-9": the encoding "EBCDIC-9" is not known; save the file again as UTF-8.`},
		{"bytes that are no UTF-8", "<TEI><msDesc><p>\xff\xfe</p></msDesc></TEI>", `record.xml, line 1: found "<TEI><msDesc><p>?"; expected well-formed XML; invalid UTF-8; mend the file, or fetch it again.`},
		{"a NUL", "<TEI><msDesc><p>\x00</p></msDesc></TEI>", `record.xml, line 1: found "<TEI><msDesc><p>\x00"; expected well-formed XML; illegal character code U+0000; mend the file, or fetch it again.`},
	} {
		t.Run(test.name, func(t *testing.T) {
			got := read(t, []byte(test.data))
			if got.Err == nil || got.Err.Error() != test.want {
				t.Errorf("\n%v\nnot\n%s", got.Err, test.want)
			}
		})
	}
}

// Files that mean harm: nothing is expanded, fetched or filled.
func TestHostileFiles(t *testing.T) {
	secret := t.TempDir() + "/secret"
	if err := os.WriteFile(secret, []byte("SECRET"), 0o600); err != nil {
		t.Fatal(err)
	}
	laughs := `<!DOCTYPE TEI [<!ENTITY a "ha">`
	for c := 'b'; c <= 'k'; c++ {
		laughs += fmt.Sprintf("<!ENTITY %c \"%s\">", c, strings.Repeat(fmt.Sprintf("&%c;", c-1), 10))
	}
	for name, data := range map[string]string{
		"a billion laughs":    laughs + `]><TEI><msDesc><p>&k;</p></msDesc></TEI>`,
		"an external entity":  `<!DOCTYPE TEI [<!ENTITY x SYSTEM "file://` + secret + `">]><TEI><msDesc><head>&x;</head></msDesc></TEI>`,
		"a remote entity":     `<!DOCTYPE TEI [<!ENTITY x SYSTEM "http://127.0.0.1:9/x">]><TEI><msDesc><head>&x;</head></msDesc></TEI>`,
		"a parameter entity":  `<!DOCTYPE TEI [<!ENTITY % x SYSTEM "file://` + secret + `"> %x;]><TEI><msDesc><head>&y;</head></msDesc></TEI>`,
		"a very deep element": `<TEI><msDesc>` + strings.Repeat("<msItem>", 100_000),
		"deep outside":        strings.Repeat("<div>", 1_000_000),
	} {
		t.Run(name, func(t *testing.T) {
			got := read(t, []byte(data))
			if got.Err == nil || strings.Contains(got.Err.Error(), "SECRET") {
				t.Errorf("%v", got.Err)
			}
		})
	}
	t.Run("an inclusion is not followed", func(t *testing.T) {
		got := read(t, []byte(`<TEI xmlns:xi="http://www.w3.org/2001/XInclude"><msDesc><head><xi:include href="file://`+secret+`" parse="text"/></head><msContents><msItem><locus>1r</locus><title>Litany</title></msItem></msContents></msDesc></TEI>`))
		if got.Err != nil || strings.Contains(got.Account.String()+cataloguetest.Cells(got.Tables.Books, "title"), "SECRET") {
			t.Errorf("%v", got.Err)
		}
	})
	t.Run("a file too large", func(t *testing.T) {
		got := read(t, bytes.Repeat([]byte(" "), 64<<20+1))
		if got.Err == nil || !strings.Contains(got.Err.Error(), "at most 64 megabytes") {
			t.Errorf("%v", got.Err)
		}
	})
	t.Run("a name that is a path", func(t *testing.T) {
		got := read(t, []byte(`<TEI><msDesc xml:id="../../etc/passwd"><msContents><msItem><locus>1r</locus><title>../x</title></msItem></msContents></msDesc></TEI>`))
		if id := cataloguetest.Cells(got.Tables.Books, "book"); id != "etc-passwd" {
			t.Errorf("the book is called %q", id)
		}
	})
	t.Run("numbers beyond any book", func(t *testing.T) {
		got := read(t, []byte(`<TEI><msDesc><msContents><msItem><locus>1r-99999v</locus><title>Litany</title></msItem><msItem><locus>1r-2v</locus><title>Prayers</title></msItem></msContents><physDesc><extent>99999 leaves</extent></physDesc></msDesc></TEI>`))
		if n := len(got.Books[0].Leaves); n != 5000 || got.Sections() != "Prayers|prayer|||ff. 1r–2v" {
			t.Errorf("%d leaves, %s", n, got.Sections())
		}
	})
}

// Records that can be read, and what is left of them.
func TestLeft(t *testing.T) {
	item := func(body string) string { return "<msContents><msItem>" + body + "</msItem></msContents>" }
	six := func(contents string) string { return contents + leaves(6) }
	const none = ": the record does not tell where it stands; enter it in sections.csv"
	for _, test := range []struct{ name, contents, want string }{
		{"no place", six("<msContents><msItem><title>Litany</title></msItem><msItem><locus>1r-2v</locus><title>Prayers</title></msItem></msContents>"), "the text “Litany”" + none},
		{"a beginning before a text without a place", six("<msContents><msItem><locus>1r</locus><title>Litany</title></msItem><msItem><title>Calendar</title></msItem><msItem><locus>4r</locus><title>Prayers</title></msItem></msContents>"),
			"the text “Litany”: the record tells where it begins, 1r, and not where it ends, and the text after it has no place; enter it in sections.csv|the text “Calendar”" + none},
		{"words for a place", six(item("<locus>throughout</locus><title>Litany</title>")), "the text “Litany”: its place “throughout” cannot be read; write it such as ff. 13r–25v"},
		{"a target alone", six(item(`<locus target="#f3"/><title>Litany</title>`)), "the text “Litany”: its place “#f3” cannot be read; write it such as ff. 13r–25v"},
		{"backward", six(item(`<locus from="5r" to="3v"/><title>Litany</title>`)), "the text “Litany”: 5r–3v runs backward; correct it"},
		{"a folio beyond any book", six(item(`<locus from="5r" to="70000v"/><title>Litany</title>`)), "the text “Litany”: it names leaf 70000, and no book is taken to have more than 5000; correct the number"},
		{"pages in a record of leaves", `<msContents><msItem><locus>1r-2v</locus><title>Litany</title></msItem><msItem><locus>pp. 5-6</locus><title>Prayers</title></msItem></msContents>` + leaves(6),
			"the text “Prayers”: its place is in pages, where the record goes by leaves|the text “Prayers”" + none},
		{"an extent without a count", item(`<locus>1r</locus><title>Litany</title>`) + "<physDesc><extent>One volume</extent></physDesc>", "the extent “One volume”: no count of leaves can be read in it"},
		{"no leaf at all", "<msContents><p>Prayers</p></msContents>", "the book “Rowan 3”: the record tells of no leaf: no count of leaves, no collation, no place of a text or picture"},
		{"two collations in two parts", `<msPart><msContents><msItem><locus>1r-2v</locus><title>Litany</title></msItem></msContents><physDesc><collation>1:8</collation></physDesc></msPart><msPart><physDesc><collation>1:8</collation></physDesc></msPart>`, "the collation: the book is described in 2 parts, each with a collation of its own, which are not put together: enter the quires in leaves.csv"},
		{"another numbering", item(`<locus scheme="#a" from="1r" to="1v"/><locus scheme="#a" from="2r" to="2v"/><locus scheme="#b" from="9r" to="9v"/><title>Litany</title>`), "the text “Litany”: its place is in another numbering, #b"},
	} {
		t.Run(test.name, func(t *testing.T) {
			got := read(t, record(test.contents, ""))
			if got.Err != nil {
				t.Fatal(got.Err)
			}
			var left []string
			for _, e := range got.Account.Left {
				left = append(left, e.What+": "+e.Words)
			}
			if diff := cmp.Diff(test.want, strings.Join(left, "|")); diff != "" {
				t.Errorf("%s\n%s", diff, got.Account)
			}
		})
	}
}

// Encodings that records come in.
func TestEncodings(t *testing.T) {
	text := strings.Replace(sound, "Litany", "Prière", 1)
	sixteen := []byte{0xff, 0xfe}
	for _, unit := range utf16.Encode([]rune(`<?xml version="1.0" encoding="UTF-16"?>` + text)) {
		sixteen = append(sixteen, byte(unit), byte(unit>>8))
	}
	for name, data := range map[string][]byte{
		"UTF-8": []byte(text), "UTF-8 with a mark": []byte("\ufeff" + text),
		"Latin-1": []byte(`<?xml version="1.0" encoding="ISO-8859-1"?>` + strings.ReplaceAll(text, "è", "\xe8")),
		"UTF-16":  sixteen, "a named character": []byte(strings.ReplaceAll(text, "è", "&egrave;")), "a numbered character": []byte(strings.ReplaceAll(text, "è", "&#xE8;")),
		"an earlier version": []byte(strings.ReplaceAll(text, "msDesc", "msDescription")),
	} {
		if got := read(t, data); got.Err != nil || got.Sections() != "Prière|prayer|||ff. 1r–2v" {
			t.Errorf("%s: %v, %s", name, got.Err, cmp.Diff("", got.Account.String()))
		}
	}
}

// A record cut short anywhere is refused with its line, or was whole.
func TestTruncation(t *testing.T) {
	data, err := os.ReadFile("testdata/alder.xml")
	if err != nil {
		t.Fatal(err)
	}
	rapid.Check(t, func(rt *rapid.T) {
		cut := rapid.IntRange(0, len(data)-8).Draw(rt, "cut")
		got := read(t, data[:cut])
		if fault, ok := got.Err.(*table.Fault); !ok || len(fault.Problems) != 1 || fault.Problems[0].Line == 0 {
			rt.Fatalf("cut at %d: %v", cut, got.Err)
		}
	})
}

// No file makes the import fail other than by a problem, and what is imported
// always loads.
func FuzzRead(f *testing.F) {
	data, err := os.ReadFile("testdata/alder.xml")
	if err != nil {
		f.Fatal(err)
	}
	f.Add(data)
	f.Add([]byte(sound))
	f.Add(record(`<msContents><msItem><locusGrp scheme="a"><locus from="1r" to="2v"/></locusGrp><p>ff. 1r–2v x</p><msItem><locus>pp. 3-9</locus></msItem></msItem></msContents>`,
		`<physDesc><supportDesc material="perg"><extent>ii + 10 + i</extent><collation>1<hi rend="sup">8-1</hi> (wants 2) 2:2</collation><foliation>paginated</foliation></supportDesc><decoDesc><decoNote>fol. 3r x; 4v y</decoNote></decoDesc></physDesc>`))
	f.Add([]byte(`<msDesc><msItem><locus>iv-3bisv, 3aterr</locus><incipit><locus>1r</locus></incipit><explicit><locus>2</locus></explicit></msItem><msItem><locus from="[13]r"/></msItem></msDesc>`))
	f.Add([]byte(`<?xml version="1.0" encoding="latin1"?><!DOCTYPE a [<!ENTITY b "c">]><msDesc>&b;&eacute;<msPart/><msPart/></msDesc>`))
	f.Fuzz(func(t *testing.T, data []byte) { read(t, data) })
}

// A record of five megabytes: two thousand texts and pictures with long notes.
func BenchmarkFiveMegabytes(b *testing.B) {
	var contents, notes strings.Builder
	filler := strings.Repeat("An invented note that runs on, so that the file grows as long as a large record. ", 28)
	for i := range 2000 {
		fmt.Fprintf(&contents, "<msItem n=\"%d\"><locus from=\"%dr\" to=\"%dv\">fols. %dr–%dv</locus><title>Prayer %d</title><note>%s</note></msItem>\n", i, i+1, i+1, i+1, i+1, i, filler)
		fmt.Fprintf(&notes, "<decoNote type=\"miniature\"><locus>fol. %dr</locus> Scene %d</decoNote>\n", i+1, i)
	}
	data := record("<msContents>"+contents.String()+"</msContents>", "<physDesc><objectDesc><supportDesc><extent>2000 leaves</extent></supportDesc></objectDesc><decoDesc>"+notes.String()+"</decoDesc></physDesc>")
	b.SetBytes(int64(len(data)))
	for b.Loop() {
		if got := read(b, data); got.Err != nil || len(got.Books[0].Sections) != 2000 {
			b.Fatal(got.Err)
		}
	}
}

// Characters that turn the direction of text are left out, and that is told.
func TestUnprintable(t *testing.T) {
	got := read(t, record("<msContents><msItem><locus>1r-2v</locus><title>Li&#x202E;tany</title></msItem></msContents>", leaves(2)))
	if names := cataloguetest.Cells(got.Tables.Sections, "section"); names != "Litany" || !strings.Contains(got.Account.String(), "1 character was left out") {
		t.Errorf("%q\n%s", names, got.Account)
	}
}

// Whatever is damaged in a record, its tables load or it is refused in words.
func TestDamagedRecords(t *testing.T) {
	whole, err := os.ReadFile("testdata/alder.xml")
	if err != nil {
		t.Fatal(err)
	}
	pieces := []string{"1r", "9999v", "fol. 3", "c", "ii", "12r–4v", "two leaves missing after fol. 2", "0", "-1", "4999", "blank", "(", "1-2⁸", `<locus from="3r"/>`, "ff. 1–500", " + 4500 + ", "first leaf missing"}
	rapid.Check(t, func(t *rapid.T) {
		text := string(whole)
		for range rapid.IntRange(1, 20).Draw(t, "damages") {
			at := rapid.IntRange(0, len(text)-1).Draw(t, "at")
			switch rapid.IntRange(0, 2).Draw(t, "how") {
			case 0:
				text = text[:at] + rapid.SampledFrom(pieces).Draw(t, "piece") + text[at:]
			case 1:
				if digit := strings.IndexAny(text[at:], "0123456789"); digit >= 0 {
					text = text[:at+digit] + fmt.Sprint(rapid.IntRange(0, 400).Draw(t, "number")) + text[at+digit+1:]
				}
			case 2:
				if end := min(len(text), at+rapid.IntRange(1, 40).Draw(t, "cut")); !strings.ContainsAny(text[at:end], `<>&"`) {
					text = text[:at] + text[end:]
				}
			}
		}
		cataloguetest.Read(t, tei.Read, "record.xml", []byte(text))
	})
}
