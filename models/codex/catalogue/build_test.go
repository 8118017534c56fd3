package catalogue_test

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"thumbed/models/codex"
	"thumbed/models/codex/catalogue"
	"thumbed/models/table"
)

// drawRange draws a range of a small book, some of them backward.
func drawRange(t *rapid.T) codex.Range {
	page := func() codex.PageLabel {
		folio := codex.Folio{Number: rapid.IntRange(1, 12).Draw(t, "number"), Supplied: rapid.Bool().Draw(t, "supplied")}
		switch rapid.IntRange(0, 9).Draw(t, "form") {
		case 0:
			folio.Suffix = "bis"
		case 1:
			folio = codex.Folio{Number: rapid.IntRange(1, 3).Draw(t, "flyleaf"), Roman: true}
		}
		return codex.PageLabel{Folio: folio, Side: codex.Side(rapid.IntRange(0, 1).Draw(t, "side"))}
	}
	from := page()
	if rapid.Bool().Draw(t, "one page") {
		return codex.Range{From: from, To: from}
	}
	return codex.Range{From: from, To: page()}
}

func drawItem(t *rapid.T, depth int) *catalogue.Item {
	item := &catalogue.Item{
		Line:  rapid.IntRange(1, 99).Draw(t, "line"),
		Title: rapid.SampledFrom([]string{"", "Calendar", "Hours of the Virgin", "Book of Hours", "Matins", "Vespers", "Litany", "Prayer", "A treatise"}).Draw(t, "title"),
		Loci:  rapid.SliceOfN(rapid.Custom(drawRange), 0, 3).Draw(t, "loci"),
		Part:  rapid.IntRange(0, 9).Draw(t, "part") == 0,
	}
	if len(item.Loci) == 1 {
		item.Begins = rapid.Bool().Draw(t, "begins")
		item.RunsOn = rapid.Bool().Draw(t, "runs on")
	}
	if depth > 0 {
		for range rapid.IntRange(0, 3).Draw(t, "parts") {
			item.Children = append(item.Children, drawItem(t, depth-1))
		}
	}
	return item
}

func drawRecord(t *rapid.T) catalogue.Record {
	r := catalogue.Record{Title: rapid.SampledFrom([]string{"Rowan 3", "", "ñ ß", "../x"}).Draw(t, "title")}
	for range rapid.IntRange(0, 5).Draw(t, "items") {
		r.Items = append(r.Items, drawItem(t, 2))
	}
	for range rapid.IntRange(0, 6).Draw(t, "pictures") {
		r.Pictures = append(r.Pictures, &catalogue.Picture{Loci: []codex.Range{drawRange(t)}, Subject: "David", Opens: rapid.SampledFrom([]string{"", "Lauds", "Prime", "Hours of the Virgin, Matins", "Hours of the Cross", "Penitential Psalms"}).Draw(t, "opens"), Full: rapid.Bool().Draw(t, "full"), Decoration: rapid.SampledFrom([]string{"", "border"}).Draw(t, "decoration")})
	}
	for range rapid.IntRange(0, 2).Draw(t, "gaps") {
		r.Gone = append(r.Gone, catalogue.Gap{After: codex.Folio{Number: rapid.IntRange(0, 12).Draw(t, "after")}, Before: rapid.Bool().Draw(t, "before"), AtEnd: rapid.Bool().Draw(t, "at the end"), Leaves: rapid.IntRange(1, 3).Draw(t, "lost")})
	}
	for n := range rapid.IntRange(0, 2).Draw(t, "listed") {
		r.Quires = append(r.Quires, catalogue.Quire{Label: string(rune('a' + n)), From: codex.Folio{Number: rapid.IntRange(1, 12).Draw(t, "first")}, To: codex.Folio{Number: rapid.IntRange(1, 12).Draw(t, "last")}, Regular: rapid.Bool().Draw(t, "regular")})
	}
	r.Blank = rapid.SliceOfN(rapid.Custom(drawRange), 0, 1).Draw(t, "blank")
	r.Counts = catalogue.Counts{Front: rapid.SampledFrom([]int{0, 1, 2, 3, 4500}).Draw(t, "front"), Leaves: rapid.IntRange(0, 14).Draw(t, "leaves"), End: rapid.IntRange(0, 2).Draw(t, "end")}
	r.Material = catalogue.Statement{Text: rapid.SampledFrom([]string{"", "parchment", "paper", "both"}).Draw(t, "material")}
	r.Outer = rapid.SampledFrom([]string{"", codex.Hair}).Draw(t, "outer")
	for range rapid.IntRange(0, 2).Draw(t, "collations") {
		r.Collations = append(r.Collations, catalogue.Statement{Text: rapid.SampledFrom([]string{"1⁸", "1⁸ 2⁴", "1⁸⁻¹ (wants 2) 2⁶", "i 1⁸ 2⁴ ii", "quaternions", "1–2⁶⁻¹ (wants 3)", "1⁷ 2⁵"}).Draw(t, "collation")})
	}
	return r
}

// Whatever records say, their tables load without a problem, and each text that
// has a place is told of as used or left.
func TestBuildAlwaysLoads(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var records []catalogue.Record
		for range rapid.IntRange(1, 3).Draw(t, "records") {
			records = append(records, drawRecord(t))
		}
		texts := 0
		var count func([]*catalogue.Item)
		count = func(items []*catalogue.Item) {
			for _, i := range items {
				texts++
				count(i.Children)
			}
		}
		for _, r := range records {
			count(r.Items)
		}
		account := &catalogue.Account{File: "x"}
		tables := catalogue.Build(records, account)
		if tables.Books.Rows() == 0 {
			return
		}
		var ps table.Problems
		codex.FromTables(tables, &ps)
		if err := ps.Err(); err != nil {
			var sections strings.Builder
			if err := tables.Sections.Write(&sections); err != nil {
				t.Fatal(err)
			}
			t.Fatalf("%v\n%s\n%s", err, sections.String(), account)
		}
	})
}

// Places as catalogues write them, and how they read here.
func TestParseLocus(t *testing.T) {
	for text, want := range map[string]string{
		"fols. 13r–25v": "ff. 13r–25v", "Bl. 13--26": "ff. 13r–26v", "(ff. 1–3)": "ff. 1r–3v", "13r:4–25v:3": "ff. 13r–25v",
		"fol. 13r, l. 4": "f. 13r", "cc. 13r-25v.": "ff. 13r–25v", "13ra–vb": "ff. 13r–v", "f. 13r to 15v": "ff. 13r–15v", "fol. 13r - fol. 15v": "ff. 13r–15v",
		"13r à 15v": "ff. 13r–15v", "13r bis 15v": "ff. 13r–15v", "13bisr": "f. 13bisr", "ff. 113r–15v": "ff. 113r–115v", "ff. 198v–203r": "ff. 198v–203r",
		"p. 3": "f. [2]r", "pp. 3–12": "ff. [2]r–[6]v", "S. 3-4, 7": "ff. [2]r–v, [4]r", "pag. 1": "f. [1]r", "fogli 3–4": "ff. 3r–4v", "feuillets 3–4": "ff. 3r–4v",
		"ff. 99–1": "ff. 99r–1v", "f. 13 recto": "f. 13r",
	} {
		l, ok := catalogue.ParseLocus(text)
		if got := (codex.Extent{Ranges: l.Ranges}).String(); !ok || got != want {
			t.Errorf("%q is %q (%v), not %q", text, got, ok, want)
		}
	}
	for _, text := range []string{"", "throughout", "pp. 4–3", "p. iv", "front pastedown", "13r–", strings.Repeat("1r, ", 300) + "1r", "p. 123456"} {
		if l, ok := catalogue.ParseLocus(text); ok {
			t.Errorf("%q is read as %v", text, l)
		}
	}
}

func TestLeadingLocus(t *testing.T) {
	for text, want := range map[string][2]string{
		"ff. 13r–25v Hours of the Virgin": {"ff. 13r–25v", "Hours of the Virgin"}, "(Bl. 3v) Kalender": {"f. 3v", "Kalender"},
		"fol. 3r: Annunciation": {"f. 3r", "Annunciation"}, "f. 3r": {"f. 3r", ""}, "pp. 3–4 Litany": {"ff. [2]r–v", "Litany"},
	} {
		l, rest, ok := catalogue.LeadingLocus(text)
		if got := [2]string{(codex.Extent{Ranges: l.Ranges}).String(), rest}; !ok || got != want {
			t.Errorf("%q is %q (%v), not %q", text, got, ok, want)
		}
	}
	for _, text := range []string{"", "Calendar", "Five leaves", "f. the first leaf", "Bl 3 and more", "12 prayers"} {
		if l, rest, ok := catalogue.LeadingLocus(text); ok && text != "Bl 3 and more" || rest == "" && text != "" {
			t.Errorf("%q is read as %v and %q", text, l, rest)
		}
	}
}

func TestLanguageName(t *testing.T) {
	for code, want := range map[string]string{"la": "Latin", "lat": "Latin", "en": "English", "frm": "Middle French", "de": "German", "Latin": "Latin", "Old Norse": "Old Norse", "": "", "x": "x"} {
		if got := catalogue.LanguageName(code); got != want {
			t.Errorf("%q is %q, not %q", code, got, want)
		}
	}
}

func TestAccount(t *testing.T) {
	a := &catalogue.Account{File: "record.xml"}
	a.Use(3, "the text “Litany”", "the section on %s", "f. 1r")
	a.Leave(0, "the binding", "not used")
	a.Leave(9, "hands", "not used")
	want := `What was made of record.xml

Used (1):
  line 3: the text “Litany”: the section on f. 1r

Inferred, for you to check (0):
  nothing

Left, for you to look at (2):
  the binding: not used
  line 9: hands: not used

To know (0):
  nothing more
`
	if diff := cmp.Diff(want, a.String()); diff != "" {
		t.Error(diff)
	}
	if diff := cmp.Diff("1 thing was used, 0 were inferred and 2 were left.\n  left: the binding: not used\n  and 1 more\n", a.Summary(1)); diff != "" {
		t.Error(diff)
	}
}
