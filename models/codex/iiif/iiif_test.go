package iiif_test

import (
	"encoding/json"
	"fmt"
	"net/url"
	"os"
	"runtime"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"thumbed/models/codex"
	"thumbed/models/codex/catalogue/cataloguetest"
	"thumbed/models/codex/iiif"
	"thumbed/models/table"
)

// read imports a manifest, whose tables must load.
func read(t cataloguetest.T, data []byte) cataloguetest.Imported {
	t.Helper()
	return cataloguetest.Read(t, iiif.Read, "manifest.json", data)
}

// version2 and version3 are manifests of canvases with labels, each in JSON, and
// of the JSON of their ranges.
func version2(structures string, labels ...string) []byte {
	var canvases []string
	for i, label := range labels {
		canvases = append(canvases, fmt.Sprintf(`{"@id":"https://example.org/c%d","@type":"sc:Canvas","label":%s,"width":1000,"height":1400,"images":[]}`, i+1, label))
	}
	return []byte(`{"@context":"http://iiif.io/api/presentation/2/context.json","@id":"https://example.org/manifest","@type":"sc:Manifest","label":"Rowan 3",
"sequences":[{"@type":"sc:Sequence","canvases":[` + strings.Join(canvases, ",") + `]}],"structures":[` + structures + `]}`)
}

func version3(structures string, labels ...string) []byte {
	var canvases []string
	for i, label := range labels {
		canvases = append(canvases, fmt.Sprintf(`{"id":"https://example.org/c%d","type":"Canvas","label":%s,"width":1000,"height":1400,"items":[]}`, i+1, label))
	}
	return []byte(`{"@context":"http://iiif.io/api/presentation/3/context.json","id":"https://example.org/manifest","type":"Manifest","label":{"en":["Rowan 3"]},
"items":[` + strings.Join(canvases, ",") + `],"structures":[` + structures + `]}`)
}

// quoted writes labels as plain JSON strings.
func quoted(labels ...string) []string {
	out := make([]string, len(labels))
	for i, label := range labels {
		text, _ := json.Marshal(label)
		out[i] = string(text)
	}
	return out
}

func TestVersion2(t *testing.T) {
	data, err := os.ReadFile("testdata/version2.json")
	if err != nil {
		t.Fatal(err)
	}
	check(t, read(t, data))
}

func TestVersion3(t *testing.T) {
	data, err := os.ReadFile("testdata/version3.json")
	if err != nil {
		t.Fatal(err)
	}
	check(t, read(t, data))
}

// check holds an import to what both invented manifests of one book say.
func check(t *testing.T, got cataloguetest.Imported) {
	t.Helper()
	if got.Err != nil {
		t.Fatal(got.Err)
	}
	for _, part := range []struct{ name, got, want string }{
		{"books", cataloguetest.Cells(got.Tables.Books, "book", "title", "owner", "place", "date", "material"), "alder-8|The Hours of Alderwick|Joan Aldous|Alderwick|about 1460|parchment"},
		{"leaves", cataloguetest.Cells(got.Tables.Leaves, "leaf"), "i\n1\n2\n3\n4\n5"},
		{"sections", got.Sections(), `Calendar|calendar|||ff. 1r–v
Matins of the Virgin|hours|of the Virgin|Matins|ff. 2r–3r
Lauds of the Virgin|hours|of the Virgin|Lauds|ff. 3r–v
Litany|litany|||f. 4r`},
		{"language", cataloguetest.Cells(got.Tables.Sections, "language"), "Latin\nLatin\nLatin\nLatin"},
	} {
		if diff := cmp.Diff(part.want, part.got); diff != "" {
			t.Errorf("%s: %s\n%s", part.name, diff, got.Account)
		}
	}
	var left []string
	for _, e := range got.Account.Left {
		left = append(left, e.String())
	}
	want := []string{"canvas 1, “Upper board”: its label names no page", "canvas 12, “Image 7”: its label names no page",
		"the metadata “Note”: not used: “An invented book & no other.”"}
	if diff := cmp.Diff(want, left); diff != "" {
		t.Error(diff)
	}
}

// The pages that labels of canvases name.
func TestLabels(t *testing.T) {
	for label, want := range map[string]string{
		"f. 12r": "12r", "12r": "12r", "fol. 012 recto": "12r", "Folio 12v": "12v", "12 verso": "12v", "[12r]": "[12]r", "f. [12]r": "[12]r", "13bis r": "13bisr",
		"MS. Alder 7, fol. 012 recto": "12r", "Alder_7_f012v": "12v", "Alder 7 - 12v": "12v", "flyleaf ii verso": "iiv", "iir": "iir", "f. 12ᵛ": "12v", "Bl. 12v": "12v", "c. 12v": "12v",
		"12v–13r": "12v 13r", "fols. 12v-13r": "12v 13r", "f. 12v / f. 13r": "12v 13r", "p. 3": "[2]r", "S. 4": "[2]v", "p. 2–3": "[1]v [2]r",
		"Image 7": "", "7": "", "0012": "", "f. 12": "", "Upper board": "", "Vorderdeckel": "", "Colour chart": "", "": "", "12r-15v": "", "spine": "", "iv": "iv", "12r (detail)": "12r",
		"2r (31r)": "2r", "Lacune (32r)": "", "Tape 1 Side 1": "", "Side 3": "[2]r",
		"fore-edge": "", "back cover": "", "17th century note": "",
	} {
		data := version3("", append(quoted(label), quoted("90r")...)...)
		var ps table.Problems
		m := iiif.ReadManifest("manifest.json", data, &ps)
		if m == nil {
			t.Fatal(ps.Err())
		}
		var pages []string
		for _, p := range m.Canvases[0].Pages {
			pages = append(pages, p.String())
		}
		if got := strings.Join(pages, " "); got != want {
			t.Errorf("%q names %q, not %q", label, got, want)
		}
	}
}

// Forms of labels in both versions.
func TestLabelForms(t *testing.T) {
	for _, form := range []string{
		`"12r"`, `["12r"]`, `{"@value":"12r"}`, `{"@value":"12r","@language":"en"}`, `[{"@value":"12r","@language":"en"},{"@value":"Bl. 12r","@language":"de"}]`,
		`{"none":["12r"]}`, `{"@none":["12r"]}`, `{"en":["12r"]}`, `{"en-GB":["12r"],"de":["x"]}`, `{"de":["Bl. 12r"]}`, `{"none":"12r"}`, `{"fr":["f. 12r"],"it":["c. 12r"]}`, `"<b>12r</b>"`, `"12r&nbsp;"`,
	} {
		for _, data := range [][]byte{version2("", form), version3("", form)} {
			got := read(t, data)
			if got.Err != nil || cataloguetest.Cells(got.Tables.Leaves, "leaf") != "12" {
				t.Errorf("%s: %v", form, got.Err)
			}
		}
	}
	for _, form := range []string{`null`, `7`, `true`, `[]`, `{}`, `[[]]`, `{"en":[7]}`, `{"@value":7}`, `{"en":{"en":{"en":"x"}}}`} {
		for _, data := range [][]byte{version2("", form), version3("", form)} {
			if got := read(t, data); got.Err == nil || !strings.Contains(got.Err.Error(), "canvases whose labels name pages") {
				t.Errorf("%s: %v", form, got.Err)
			}
		}
	}
}

// Ranges in the forms that manifests have them.
func TestRanges(t *testing.T) {
	labels := quoted("1r", "1v", "2r", "2v", "3r", "3v")
	const root3 = `{"id":"r0","type":"Range","label":{"none":["Contents"]},"items":[%s]}`
	for _, test := range []struct {
		name, want string
		data       []byte
	}{
		{"members", "Litany|litany|||ff. 1r–2r", version2(`{"@id":"r0","@type":"sc:Range","viewingHint":"top","label":"Contents","members":[{"@id":"r1","@type":"sc:Range","label":"Litany"}]},{"@id":"r1","@type":"sc:Range","label":"Litany","members":[{"@id":"https://example.org/c1","@type":"sc:Canvas"},{"@id":"https://example.org/c2","@type":"sc:Canvas"},{"@id":"https://example.org/c3","@type":"sc:Canvas"}]}`, labels...)},
		{"no root", "Litany|litany|||ff. 1r–v\nPrayer|prayer|||f. 3r", version2(`{"@id":"r1","@type":"sc:Range","label":"Litany","canvases":["https://example.org/c1","https://example.org/c2"]},{"@id":"r2","@type":"sc:Range","label":"Prayer","canvases":["https://example.org/c5"]}`, labels...)},
		{"parts of canvases", "Litany|litany|||ff. 1r–v", version3(fmt.Sprintf(root3, `{"id":"r1","type":"Range","label":{"en":["Litany"]},"items":[{"id":"https://example.org/c1#xywh=0,0,10,10","type":"Canvas"},{"type":"SpecificResource","source":"https://example.org/c2#xywh=1,1,5,5"}]}`), labels...)},
		{"sources that are objects", "Litany|litany|||f. 1v", version3(fmt.Sprintf(root3, `{"id":"r1","type":"Range","label":{"en":["Litany"]},"items":[{"type":"SpecificResource","source":{"id":"https://example.org/c2","type":"Canvas"}}]}`), labels...)},
		{"canvases by name", "Litany|litany|||f. 2v", version3(fmt.Sprintf(root3, `{"id":"r1","type":"Range","label":{"en":["Litany"]},"items":["https://example.org/c4"]}`), labels...)},
		{"another order of the pages", "Litany|litany|||f. 1r", version3(`{"id":"s","type":"Range","behavior":["sequence"],"label":{"en":["Former order"]},"items":[{"id":"https://example.org/c6","type":"Canvas"},{"id":"https://example.org/c1","type":"Canvas"}]},{"id":"r1","type":"Range","label":{"en":["Litany"]},"items":[{"id":"https://example.org/c1","type":"Canvas"}]}`, labels...)},
		{"a range within itself", "", version2(`{"@id":"r1","@type":"sc:Range","label":"Litany","ranges":["r2"],"canvases":["https://example.org/c1"]},{"@id":"r2","@type":"sc:Range","label":"Prayer","ranges":["r1"]}`, labels...)},
		{"canvases that are not there", "", version2(`{"@id":"r1","@type":"sc:Range","label":"Litany","canvases":["https://example.org/c99"]}`, labels...)},
		{"ranges without names", "Litany|litany|||f. 1r", version3(`{"type":"Range","label":{"en":["Litany"]},"items":[{"id":"https://example.org/c1","type":"Canvas"}]}`, labels...)},
		{"the page on which texts meet", "Litany|litany|||ff. 1r–v\nPrayer|prayer|||ff. 1v–2r", version2(`{"@id":"r1","@type":"sc:Range","label":"Litany","canvases":["https://example.org/c1","https://example.org/c2"]},{"@id":"r2","@type":"sc:Range","label":"Prayer","canvases":["https://example.org/c2","https://example.org/c3"]}`, labels...)},
	} {
		t.Run(test.name, func(t *testing.T) {
			got := read(t, test.data)
			if got.Err != nil {
				t.Fatal(got.Err)
			}
			if diff := cmp.Diff(test.want, got.Sections()); diff != "" {
				t.Errorf("%s\n%s", diff, got.Account)
			}
		})
	}
}

// Canvases that say that a leaf is not there, and ranges that tell only where texts
// begin.
func TestLacunae(t *testing.T) {
	got := read(t, version3(`{"id":"r1","type":"Range","label":{"en":["Litany"]},"items":[{"id":"https://example.org/c1","type":"Canvas"}]},{"id":"r2","type":"Range","label":{"en":["Prayer"]},"items":[{"id":"https://example.org/c6","type":"Canvas"}]}`,
		quoted("1r (31r)", "1v (31v)", "Lacune (32r)", "Lacune (32v)", "Lacune (33r)", "2r (34r)", "2v (34v)")...))
	if got.Err != nil {
		t.Fatal(got.Err)
	}
	if leaves := cataloguetest.Cells(got.Tables.Leaves, "leaf", "state"); leaves != "1\n|lost\n|lost\n2" {
		t.Error(leaves)
	}
	if sections := cataloguetest.Cells(got.Tables.Sections, "section", "extent", "extent_by"); sections != "Litany|ff. 1r–v|next text\nPrayer|ff. 2r–v|last leaf" {
		t.Error(sections)
	}
}

// Metadata of other languages (common practice, no source).
func TestMetadataOfOtherLanguages(t *testing.T) {
	data := strings.Replace(string(version2("", quoted("1r", "1v", "2r")...)), `"label":"Rowan 3"`, `"label":"Rowan 3","metadata":[{"label":"Umfang","value":"2 Bl."},{"label":"Entstehung","value":"Veldermond, um 1450"},{"label":"Signatur","value":"Rowan 3"},{"label":"Bibliothek","value":"Town Library"}]`, 1)
	got := read(t, []byte(data))
	if books := cataloguetest.Cells(got.Tables.Books, "short", "shelfmark", "library", "place", "date"); got.Err != nil || books != "Rowan 3|Rowan 3|Town Library|Veldermond|um 1450" || !strings.Contains(got.Account.String(), "as many leaves as the canvases show") {
		t.Errorf("%s\n%s", books, got.Account)
	}
	// Version 3 names who provides the images (Presentation API 3.0, section 3.3).
	provided := strings.Replace(string(data), `"metadata":`, `"provider":[{"id":"https://library.example/veldermond","type":"Agent","label":{"en":["Town Library of Veldermond"]}}],"metadata":`, 1)
	if books := cataloguetest.Cells(read(t, []byte(provided)).Tables.Books, "library", "library_id"); books != "Town Library of Veldermond|https://library.example/veldermond" {
		t.Error(books)
	}
}

// A manifest of more canvases than any book has pages is refused before it is read.
func TestManyCanvases(t *testing.T) {
	var b strings.Builder
	b.WriteString(`{"type":"Manifest","label":{"en":["x"]},"items":[`)
	for n := range 200_000 {
		if n > 0 {
			b.WriteByte(',')
		}
		fmt.Fprintf(&b, `{"id":"https://example.org/c%d","type":"Canvas","label":{"none":["%dr"]}}`, n, n)
	}
	b.WriteString("]}")
	data := []byte(b.String())
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	var ps table.Problems
	if m := iiif.ReadManifest("manifest.json", data, &ps); m != nil || ps.Err() == nil || !strings.Contains(ps.Err().Error(), "more than 20000 canvases") {
		t.Error(ps.Err())
	}
	runtime.ReadMemStats(&after)
	if used := after.TotalAlloc - before.TotalAlloc; used > 64<<20 {
		t.Errorf("%d MB were taken beside the file", used>>20)
	}
}

func TestOpenings(t *testing.T) {
	got := read(t, version3(`{"id":"r1","type":"Range","label":{"en":["Litany"]},"items":[{"id":"https://example.org/c2","type":"Canvas"},{"id":"https://example.org/c3","type":"Canvas"}]}`, quoted("1r", "1v–2r", "2v–3r", "3v")...))
	if leaves := cataloguetest.Cells(got.Tables.Leaves, "leaf"); leaves != "1\n2\n3" || got.Sections() != "Litany|litany|||ff. 1v–3r" {
		t.Errorf("%s; %s", leaves, got.Sections())
	}
}

func TestCollationOfAManifest(t *testing.T) {
	data := strings.Replace(string(version2("", quoted("ir", "1r", "2r", "3r", "4r", "iir")...)), `"label":"Rowan 3"`, `"label":"Rowan 3","metadata":[{"label":"Collation","value":"1⁴"}]`, 1)
	if got := read(t, []byte(data)); got.Err != nil || got.Books[0].Collation() != "i 1⁴ i" {
		t.Errorf("%v: %s", got.Err, got.Account)
	}
}

// Files that are no manifest, and what is said of them.
func TestBrokenFiles(t *testing.T) {
	for _, test := range []struct{ name, data, want string }{
		{"empty", "", `line 1: found nothing; expected a IIIF manifest, version 2 or 3; the file is empty: fetch it again.`},
		{"a page", "<html>", `line 1: found "<html>"; expected a IIIF manifest, version 2 or 3, in well-formed JSON; fetch it again, as the manifest itself and not the page around it (invalid character '<' looking for beginning of value).`},
		{"cut short", "{\n\"type\":\"Manifest\",", `line 2: found "\"type\":\"Manifest\","; expected a IIIF manifest, version 2 or 3, in well-formed JSON; fetch it again, as the manifest itself and not the page around it (unexpected EOF).`},
		{"two values", `{"type":"Manifest"} {}`, `line 1: found "{\"type\":\"Manifest\"} {}"; expected a IIIF manifest, version 2 or 3, in well-formed JSON; fetch it again, as the manifest itself and not the page around it (something follows its end).`},
		{"a list", `[]`, `line 1: found "[]"; expected a IIIF manifest, version 2 or 3, in well-formed JSON; fetch it again, as the manifest itself and not the page around it (it is no object).`},
		{"null", `null`, `line 1: found "null"; expected a IIIF manifest, version 2 or 3, in well-formed JSON; fetch it again, as the manifest itself and not the page around it (it is no object).`},
		{"a collection", `{"@type":"sc:Collection","manifests":[]}`, `line 1, column type: found "Collection"; expected a IIIF manifest, version 2 or 3; this is a list of manifests: fetch that of the one book.`},
		{"a collection of version 3", `{"type":"Collection","items":[]}`, `line 1, column type: found "Collection"; expected a IIIF manifest, version 2 or 3; this is a list of manifests: fetch that of the one book.`},
		{"another object", `{"a":1}`, `line 1, column type: found nothing; expected a IIIF manifest, version 2 or 3; fetch the manifest itself, whose type is Manifest.`},
		{"an image", `{"@type":"iiif:Image","width":3}`, `line 1, column type: found "iiif:Image"; expected a IIIF manifest, version 2 or 3; fetch the manifest itself, whose type is Manifest.`},
		{"no canvas", `{"type":"Manifest","items":[]}`, `column items: found "no canvas"; expected a canvas for each image; fetch the manifest again; without canvases it shows nothing of the book.`},
		{"canvases of nothing", `{"type":"Manifest","items":[1,"x",null,[]]}`, `column items: found "no canvas"; expected a canvas for each image; fetch the manifest again; without canvases it shows nothing of the book.`},
		{"an empty sequence", `{"sequences":[7]}`, `column items: found "no canvas"; expected a canvas for each image; fetch the manifest again; without canvases it shows nothing of the book.`},
		{"images by number", string(version2("", quoted("1", "2", "3")...)), `column label: found "2"; expected canvases whose labels name pages, such as 12r or f. 12 recto; write the label of each canvas in the file; numbers alone do not tell whether they count leaves, pages or images.`},
		{"a name twice", "{\"type\":\"Manifest\",\n\"items\":[],\n\"items\":[]}", `line 3, column items: found "a second “items” in one object"; expected each name once; keep the one that is right; programs differ in which of the two they take.`},
		{"a name twice further in", `{"type":"Manifest","items":[{"type":"Canvas","label":"1r","label":"1v"}]}`, `line 1, column label: found "a second “label” in one object"; expected each name once; keep the one that is right; programs differ in which of the two they take.`},
		{"too many canvases", string(version3("", slices.Repeat([]string{`"1r"`}, 20_001)...)), `column items: found "more than 20000 canvases"; expected at most 20000; check where the file comes from; no book has so many pages.`},
	} {
		t.Run(test.name, func(t *testing.T) {
			got := read(t, []byte(test.data))
			if got.Err == nil || !strings.HasSuffix(got.Err.Error(), test.want) || !strings.HasPrefix(got.Err.Error(), "manifest.json") {
				t.Errorf("\n%v\nnot\n%s", got.Err, test.want)
			}
		})
	}
	t.Run("very deep", func(t *testing.T) {
		deep := strings.Repeat(`{"type":"Range","items":[`, 3000) + strings.Repeat(`]}`, 3000)
		if got := read(t, version3(deep, `"1r"`)); got.Err != nil {
			t.Error(got.Err)
		}
		if got := read(t, []byte(strings.Repeat("[", 1_000_000))); got.Err == nil {
			t.Error("no problem")
		}
	})
	t.Run("too large", func(t *testing.T) {
		if got := read(t, make([]byte, 64<<20+1)); got.Err == nil || !strings.Contains(got.Err.Error(), "at most 64 megabytes") {
			t.Error(got.Err)
		}
	})
}

// A manifest cut short anywhere is refused.
func TestTruncation(t *testing.T) {
	data, err := os.ReadFile("testdata/version3.json")
	if err != nil {
		t.Fatal(err)
	}
	whole := len(strings.TrimSpace(string(data)))
	rapid.Check(t, func(t *rapid.T) {
		cut := rapid.IntRange(0, whole-1).Draw(t, "cut")
		got := read(t, data[:cut])
		if fault, ok := got.Err.(*table.Fault); !ok || fault.Problems[0].Line == 0 {
			t.Fatalf("cut at %d: %v", cut, got.Err)
		}
	})
}

// drawBook draws a book of leaves with texts that follow on each other, and
// some that share the page on which they meet.
func drawBook(t *rapid.T) *codex.Book {
	var leaves []codex.StatedLeaf
	for n := range rapid.IntRange(0, 2).Draw(t, "flyleaves") {
		leaves = append(leaves, codex.StatedLeaf{Label: codex.Folio{Number: n + 1, Roman: true}})
	}
	for n := range rapid.IntRange(2, 12).Draw(t, "leaves") {
		leaves = append(leaves, codex.StatedLeaf{Label: codex.Folio{Number: n + 1}})
		if rapid.IntRange(0, 5).Draw(t, "bis") == 0 {
			leaves = append(leaves, codex.StatedLeaf{Label: codex.Folio{Number: n + 1, Suffix: "bis"}})
		}
	}
	label := func(page int) codex.PageLabel {
		return codex.PageLabel{Folio: leaves[page/2].Label, Side: codex.Side(page % 2)}
	}
	var names, kinds, extents, books []string
	for page, last := 0, 2*len(leaves)-1; page <= last; {
		end := min(last, page+1+rapid.IntRange(0, 6).Draw(t, "pages"))
		if rapid.IntRange(0, 3).Draw(t, "text") > 0 {
			kind := rapid.SampledFrom([]string{"litany", "prayer", "calendar", "text"}).Draw(t, "kind")
			names = append(names, map[string]string{"litany": "Litany", "prayer": "Prayer", "calendar": "Calendar", "text": "Treatise"}[kind]+fmt.Sprint(" ", page))
			kinds, books = append(kinds, kind), append(books, "rowan-3")
			extents = append(extents, codex.Extent{Ranges: []codex.Range{{From: label(page), To: label(end)}}}.String())
		}
		page = end
		if page == last || rapid.Bool().Draw(t, "apart") {
			page++
		}
	}
	sections, err := table.New(table.Labels("book", books), table.Labels("section", names), table.Labels("kind", kinds), table.Labels("extent", extents))
	if err != nil {
		t.Fatal(err)
	}
	one, err := table.New(table.Labels("book", []string{"rowan-3"}), table.Labels("title", []string{"Rowan 3"}))
	if err != nil {
		t.Fatal(err)
	}
	var ps table.Problems
	loaded := codex.FromTables(codex.Tables{Books: one, Leaves: codex.LeavesTable("rowan-3", leaves), Sections: sections}, &ps)
	if err := ps.Err(); err != nil {
		t.Fatal(err)
	}
	return loaded[0]
}

// manifest writes a book as a manifest of either version.
func manifest(b *codex.Book, version int) []byte {
	var labels, ranges []string
	for _, p := range b.Pages {
		labels = append(labels, "f. "+p.Label.String())
	}
	for k, s := range b.Sections {
		var names []string
		for _, r := range s.Extent.Ranges {
			from, _ := b.Find(r.From)
			to, _ := b.Find(r.To)
			for page := from; page <= to; page++ {
				name := fmt.Sprintf(`"https://example.org/c%d"`, page+1)
				if version == 3 {
					name = fmt.Sprintf(`{"id":%s,"type":"Canvas"}`, name)
				}
				names = append(names, name)
			}
		}
		form := `{"@id":"r%d","@type":"sc:Range","label":"%s","canvases":[%s]}`
		if version == 3 {
			form = `{"id":"r%d","type":"Range","label":{"none":["%s"]},"items":[%s]}`
		}
		ranges = append(ranges, fmt.Sprintf(form, k, s.Name, strings.Join(names, ",")))
	}
	if version == 3 {
		return version3(strings.Join(ranges, ","), quoted(labels...)...)
	}
	return version2(strings.Join(ranges, ","), quoted(labels...)...)
}

// Our tables, as a manifest, come back as the same tables.
func TestRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		want := drawBook(t)
		for _, version := range []int{2, 3} {
			got := read(t, manifest(want, version))
			if got.Err != nil || len(got.Books) != 1 {
				t.Fatalf("version %d: %v", version, got.Err)
			}
			b := got.Books[0]
			if diff := cmp.Diff(labelsOf(want), labelsOf(b)); diff != "" || b.ID != want.ID || b.Title != want.Title {
				t.Fatalf("version %d: %s", version, diff)
			}
			if diff := cmp.Diff(textsOf(want), textsOf(b)); diff != "" {
				t.Fatalf("version %d: %s\n%s", version, diff, got.Account)
			}
		}
	})
}

func labelsOf(b *codex.Book) (labels []string) {
	for _, leaf := range b.Leaves {
		labels = append(labels, leaf.Label.String())
	}
	return labels
}

func textsOf(b *codex.Book) (texts []string) {
	for _, s := range b.Sections {
		texts = append(texts, fmt.Sprint(s.Name, s.Kind, s.Extent, s.Pages))
	}
	return texts
}

// Motivations of the Web Annotation Data Model, section 3.3.5 (W3C, 2017).
var motivations = []string{"assessing", "bookmarking", "classifying", "commenting", "describing", "editing", "highlighting", "identifying", "linking", "moderating", "questioning", "replying", "tagging"}

// checkAnnotation holds one annotation to what the Web Annotation Data Model
// (sections 3.1 and 3.2.4) says that it must have: exactly one id that is an
// IRI, a type, at least one target; of a textual body its type and one value.
func checkAnnotation(t *testing.T, value any) {
	t.Helper()
	a, ok := value.(map[string]any)
	if !ok {
		t.Fatalf("%v is no annotation", value)
	}
	for _, key := range []string{"id", "target"} {
		text, _ := a[key].(string)
		if at, err := url.Parse(text); err != nil || !at.IsAbs() || at.Host == "" {
			t.Errorf("%s is %q", key, text)
		}
	}
	body, _ := a["body"].(map[string]any)
	motivation, _ := a["motivation"].(string)
	if a["type"] != "Annotation" || body["type"] != "TextualBody" || body["format"] != "text/plain" || body["language"] != "en" || body["value"] == "" || !slices.Contains(motivations, motivation) {
		t.Errorf("%v", a)
	}
}

func decoded(t *testing.T, data []byte) map[string]any {
	t.Helper()
	var out map[string]any
	if err := json.Unmarshal(data, &out); err != nil {
		t.Fatal(err)
	}
	return out
}

func annotated(t *testing.T) (*iiif.Manifest, []iiif.AnnotationPage) {
	t.Helper()
	var ps table.Problems
	m := iiif.ReadManifest("manifest.json", version3("", quoted("1r", "1v–2r", "f. [2]v", "Image 4", "1r")...), &ps)
	if m == nil {
		t.Fatal(ps.Err())
	}
	page := func(n int, side codex.Side) codex.PageLabel {
		return codex.PageLabel{Folio: codex.Folio{Number: n}, Side: side}
	}
	pages, missing, err := m.Annotate("https://example.org/wear/", []iiif.Note{
		{Page: page(1, codex.Recto), Words: "wear 0.12 <b>& more"}, {Page: page(1, codex.Verso), Words: "wear 0.2"},
		{Page: page(2, codex.Recto), Words: "wear 0.3"}, {Page: page(2, codex.Verso), Words: "wear 0.4"}, {Page: page(9, codex.Verso), Words: "wear 0.5"}})
	if err != nil || len(missing) != 1 || missing[0].Words != "wear 0.5" {
		t.Fatalf("%v, missing %v", err, missing)
	}
	return m, pages
}

func TestAnnotate(t *testing.T) {
	_, pages := annotated(t)
	var targets []string
	for _, page := range pages {
		for _, a := range page.Items {
			targets = append(targets, page.ID+" "+a.ID+" "+a.Target)
		}
	}
	want := []string{
		"https://example.org/wear/canvas-1 https://example.org/wear/canvas-1/1r-1 https://example.org/c1",
		"https://example.org/wear/canvas-2 https://example.org/wear/canvas-2/1v-1 https://example.org/c2#xywh=0,0,500,1400",
		"https://example.org/wear/canvas-2 https://example.org/wear/canvas-2/2r-1 https://example.org/c2#xywh=500,0,500,1400",
		"https://example.org/wear/canvas-3 https://example.org/wear/canvas-3/2v-1 https://example.org/c3",
	}
	if diff := cmp.Diff(want, targets); diff != "" {
		t.Error(diff)
	}
	for _, base := range []string{"", "wear", "file:///x", "https://", "https://example.org/?a", "https://example.org/#a", "://"} {
		if _, _, err := (&iiif.Manifest{}).Annotate(base, nil); err == nil {
			t.Errorf("%q is taken", base)
		}
	}
}

// The Web Annotation Data Model, sections 5.1 and 5.2: a collection has its
// context, an id, its type and total, and its first page; a page an id, its type
// and its items.
func TestCollection(t *testing.T) {
	_, pages := annotated(t)
	data, err := iiif.Collection("https://example.org/wear", "Wear of Rowan 3", pages)
	if err != nil {
		t.Fatal(err)
	}
	if !strings.HasPrefix(string(data), "{\n  \"@context\": \"http://www.w3.org/ns/anno.jsonld\",") || !strings.Contains(string(data), "<b>& more") {
		t.Errorf("%s", data)
	}
	c := decoded(t, data)
	first := c["first"].(map[string]any)
	if c["type"] != "AnnotationCollection" || c["id"] != "https://example.org/wear" || c["total"] != 4.0 || first["type"] != "AnnotationPage" || first["id"] != "https://example.org/wear/page-1" ||
		first["partOf"] != c["id"] || first["startIndex"] != 0.0 || c["last"] != first["id"] {
		t.Errorf("%v", c)
	}
	items := first["items"].([]any)
	for _, item := range items {
		checkAnnotation(t, item)
	}
	if len(items) != 4 {
		t.Errorf("%d annotations", len(items))
	}
}

// The IIIF Presentation API 3.0: annotations of a canvas stand in Annotation
// Pages, each with an http(s) id, its type and its items, and their target is
// that canvas; the context stands at the top and there alone.
func TestManifestWithAnnotations(t *testing.T) {
	m, pages := annotated(t)
	data, err := m.With("https://example.org/wear/rowan-manifest.json", pages)
	if err != nil {
		t.Fatal(err)
	}
	if strings.Count(string(data), "@context") != 1 {
		t.Error("the context does not stand at the top alone")
	}
	if whole := decoded(t, data); whole["id"] != "https://example.org/wear/rowan-manifest.json" || len(whole["seeAlso"].([]any)) == 0 {
		t.Errorf("%v, %v", whole["id"], whole["seeAlso"])
	}
	canvases := decoded(t, data)["items"].([]any)
	count := 0
	for _, item := range canvases {
		canvas := item.(map[string]any)
		list, _ := canvas["annotations"].([]any)
		for _, entry := range list {
			page := entry.(map[string]any)
			if page["type"] != "AnnotationPage" || !strings.HasPrefix(page["id"].(string), "https://") {
				t.Errorf("%v", page)
			}
			for _, a := range page["items"].([]any) {
				count++
				checkAnnotation(t, a)
				if target := a.(map[string]any)["target"].(string); !strings.HasPrefix(target, canvas["id"].(string)) {
					t.Errorf("%s stands on %s", target, canvas["id"])
				}
			}
		}
	}
	if count != 4 || len(canvases) != 5 {
		t.Errorf("%d annotations on %d canvases", count, len(canvases))
	}
	var ps table.Problems
	if again := iiif.ReadManifest("manifest.json", data, &ps); again == nil || len(again.Canvases) != 5 {
		t.Error(ps.Err())
	}
}

// The IIIF Presentation API 2.1: annotation lists must not be embedded in the
// manifest, so each canvas refers to its list in otherContent (sections 5.3 and
// 5.5); a list has its context, an http(s) id at which it stands, its type and its
// resources; a comment is an oa:Annotation with an id, text in chars with its
// format and language, and the canvas or a part of it in on (sections 6.1, 6.2 and
// 6.7).
func TestAnnotationLists(t *testing.T) {
	var ps table.Problems
	m := iiif.ReadManifest("manifest.json", version2("", quoted("1r", "1v-2r", "2v")...), &ps)
	if m == nil {
		t.Fatal(ps.Err())
	}
	pages, missing, err := m.Annotate("https://example.org/wear/", []iiif.Note{{Page: label(t, "1r"), Words: "wear 0.12 <b>& more"}, {Page: label(t, "2r"), Words: "wear 0.3"}})
	if err != nil || missing != nil {
		t.Fatal(err, missing)
	}
	data, err := m.With("https://example.org/wear/rowan-manifest.json", pages)
	if err != nil {
		t.Fatal(err)
	}
	var refers []string
	canvases := decoded(t, data)["sequences"].([]any)[0].(map[string]any)["canvases"].([]any)
	on := map[string]string{}
	for _, item := range canvases {
		canvas := item.(map[string]any)
		lists, _ := canvas["otherContent"].([]any)
		for _, list := range lists {
			list := list.(map[string]any)
			if len(list) != 2 || list["@type"] != "sc:AnnotationList" {
				t.Errorf("%v", list)
			}
			refers = append(refers, list["@id"].(string))
			on[list["@id"].(string)] = canvas["@id"].(string)
		}
	}
	if diff := cmp.Diff([]string{"https://example.org/wear/canvas-1.json", "https://example.org/wear/canvas-2.json"}, refers); diff != "" {
		t.Error(diff)
	}
	lists, err := iiif.Lists(pages)
	if err != nil || len(lists) != len(refers) {
		t.Fatal(err, len(lists))
	}
	for i, list := range lists {
		o := decoded(t, list.Data)
		if "https://example.org/wear/"+list.Name != refers[i] || o["@id"] != refers[i] || o["@type"] != "sc:AnnotationList" || o["@context"] != "http://iiif.io/api/presentation/2/context.json" {
			t.Errorf("%s: %v", list.Name, o)
		}
		for _, r := range o["resources"].([]any) {
			a := r.(map[string]any)
			body := a["resource"].(map[string]any)
			if a["@type"] != "oa:Annotation" || a["motivation"] != "oa:commenting" || !strings.HasPrefix(a["@id"].(string), "https://") || !strings.HasPrefix(a["on"].(string), on[refers[i]]) {
				t.Errorf("%v", a)
			}
			if body["@type"] != "cnt:ContentAsText" || body["format"] != "text/plain" || body["language"] != "en" || !strings.HasPrefix(body["chars"].(string), "wear 0.") {
				t.Errorf("%v", body)
			}
		}
	}
}

// label is a page by its label.
func label(t *testing.T, text string) codex.PageLabel {
	t.Helper()
	page, err := codex.ParsePage(text)
	if err != nil {
		t.Fatal(err)
	}
	return page
}

// Ranges that say which one they are within, and are not listed there
// (Presentation API 2.1, section 3.4).
func TestRangesWithin(t *testing.T) {
	c := func(n ...int) string {
		var names []string
		for _, n := range n {
			names = append(names, fmt.Sprintf(`"https://example.org/c%d"`, n))
		}
		return "[" + strings.Join(names, ",") + "]"
	}
	structures := `{"@id":"https://example.org/r1","@type":"sc:Range","label":"Hours of the Virgin","canvases":` + c(1, 2, 3, 4) + `},
{"@id":"https://example.org/r1-1","@type":"sc:Range","within":"https://example.org/r1","label":"Matins","canvases":` + c(1, 2) + `},
{"@id":"https://example.org/r1-2","@type":"sc:Range","within":"https://example.org/r1","label":"Lauds","canvases":` + c(3, 4) + `}`
	got := read(t, version2(structures, quoted("1r", "1v", "2r", "2v")...))
	if got.Err != nil {
		t.Fatal(got.Err)
	}
	if diff := cmp.Diff("Matins of the Virgin|hours|of the Virgin|Matins|ff. 1r–v\nLauds of the Virgin|hours|of the Virgin|Lauds|ff. 2r–v", got.Sections()); diff != "" {
		t.Errorf("%s\n%s", diff, got.Account)
	}
}

// Where every range names one image, and the images show openings, texts begin there and
// run on, as they do where an image shows one page.
func TestTextsBeginOnOpenings(t *testing.T) {
	got := read(t, version3(`{"id":"r1","type":"Range","label":{"en":["Litany"]},"items":[{"id":"https://example.org/c1","type":"Canvas"}]},
		{"id":"r2","type":"Range","label":{"en":["Prayer"]},"items":[{"id":"https://example.org/c3","type":"Canvas"}]}`, quoted("f. 001v - 002", "f. 002v - 003", "f. 003v - 004")...))
	if got.Sections() != "Litany|litany|||ff. 1v–3r\nPrayer|prayer|||ff. 3v–4v" {
		t.Errorf("the texts are %q", got.Sections())
	}
}

// Forms of labels that libraries' manifests have.
func TestLabelsOfLibraries(t *testing.T) {
	for text, want := range map[string]string{
		"f. 13r": "13r", "Folio 13 recto": "13r", "fol. 13 r°": "13r", "[13r]": "13r", "f. 13 (recto)": "13r", "fol. 13, verso": "13v", "13 v.": "13v", "MS-alder-7_013r.jpg": "13r", "12v|13r": "12v 13r", "12v / 13r": "12v 13r",
		"f. 033v - 034": "33v 34r", "f. 12v-13": "12v 13r", "12v - 14": "12v", "f. 465v - garde": "", // as the Bibliothèque virtuelle des manuscrits médiévaux labels openings
		"p. 25": "13r", "[p. 25]": "13r", "page [26]": "13v", "Image 168 / Page 166": "83v", "The town's guilds pg. 61": "31r", "Bild 168 / Sida 166": "83v", "pp. 24-25": "12v 13r",
		"Flyleaf i recto": "ir", "Ir": "ir",
		"Front cover": "", "Garde supérieure 1r": "", "Front flyleaf 2 verso": "", "Vorsatz 1r": "", "Image 12": "", "12": "", "-": "", "bindingA": "",
	} {
		m := iiif.ReadManifest("manifest.json", version3("", fmt.Sprintf("%q", text)), &table.Problems{})
		var pages []string
		for _, page := range m.Canvases[0].Pages {
			page.Folio.Supplied = false
			pages = append(pages, page.String())
		}
		if got := strings.Join(pages, " "); got != want {
			t.Errorf("%q shows %q", text, got)
		}
	}
}

// No file makes the import fail other than by a problem, and what is imported
// always loads.
func FuzzRead(f *testing.F) {
	for _, name := range []string{"testdata/version2.json", "testdata/version3.json"} {
		data, err := os.ReadFile(name)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(data)
	}
	f.Add(version2(`{"@id":"r1","@type":"sc:Range","ranges":["r1"],"members":["https://example.org/c1",7,null]}`, `{"@value":"1r"}`, `[["2v"]]`))
	f.Add(version3(`{"type":"Range","items":[{"type":"SpecificResource","source":{"id":"https://example.org/c1"}},{"type":"Range","items":"https://example.org/c1"}]}`, `{"none":["p. 2–3"]}`, `"1v–2r"`))
	f.Add([]byte(`{"items":{"type":"Canvas","label":"1r","width":1e999}}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		read(t, data)
		var ps table.Problems
		if m := iiif.ReadManifest("manifest.json", data, &ps); m != nil {
			pages, _, err := m.Annotate("https://example.org/wear", []iiif.Note{{Page: codex.PageLabel{Folio: codex.Folio{Number: 1}}, Words: "x"}})
			if err != nil {
				t.Fatal(err)
			}
			if m.Version == 3 {
				if _, err := m.With("https://example.org/wear/rowan-manifest.json", pages); err != nil {
					t.Fatal(err)
				}
			}
		}
	})
}
