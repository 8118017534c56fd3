package tei_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"thumbed/models/codex/catalogue/cataloguetest"
)

// The forms in these tests are those of the TEI P5 Guidelines, chapter
// “Manuscript Description”, in the sections named, and of published catalogues
// of several countries. All texts and books are invented but where the
// Guidelines' own example is named.

// How records write where a text stands (section “References to Locations within
// a Manuscript”). The book has 40 leaves.
func TestLoci(t *testing.T) {
	for locus, want := range map[string]string{
		"<locus>(fols. 13r-25v)</locus>":                                          "ff. 13r–25v",
		"<locus>fols. 13r -25v</locus>":                                           "ff. 13r–25v",
		"<locus>fols 12-14, 16r</locus>":                                          "ff. 12r–14v, 16r",
		"<locus>Ff. 1-22v°</locus>":                                               "ff. 1r–22v",
		"<locus>Fol. 3 v° à 15</locus>":                                           "ff. 3v–15v",
		"<locus>18 à 20</locus>":                                                  "ff. 18r–20v",
		"<locus>Bl. 13 bis 25</locus>":                                            "ff. 13r–25v",
		"<locus>fols. 3 to 7</locus>":                                             "ff. 3r–7v",
		"<locus>f. 1ra-b</locus>":                                                 "f. 1r",
		"<locus>f. 1ra–vb</locus>":                                                "ff. 1r–v",
		"<locus>13va–25rb</locus>":                                                "ff. 13v–25r",
		"<locus>[Texts 2–3 occupy quire III](fols. 13r–17r)</locus>":              "ff. 13r–17r",
		"<locus>Incipit found on folio 13b. Explicit found on folio 25a.</locus>": "ff. 13v–25r",
		"<locus>c. 12r</locus>":                                                   "ff. 12r–40v", // the only text
		"<locus>13r-</locus>":                                                     "ff. 13r–40v",
		`<locus from="13r">13r–(?)</locus>`:                                       "ff. 13r–40v",
		"<locus>fol. 13r ff.</locus>":                                             "ff. 13r–40v",
		`<locus n="7v"/>`:                                                         "ff. 7v–40v",
		`<locus target="#7v #9r"/>`:                                               "ff. 7v, 9r",
		`<locus from="(7r?)" to="9v?"/>`:                                          "ff. 7r–9v",
		"<locus>foll. 13r–25v</locus>":                                            "ff. 13r–25v",
		"<locus>h. 3r-10v</locus>":                                                "ff. 3r–10v",
		"<locus>hh. 3-10</locus>":                                                 "ff. 3r–10v",
		"<locus>fls. 3r-10v</locus>":                                              "ff. 3r–10v",
		"<locus>1r:1-2v:30</locus>":                                               "ff. 1r–2v",
		"<locus>fol. 4r.12–5v.3</locus>":                                          "ff. 4r–5v",
		`<locus from="5r" to="5v">5r/v</locus>`:                                   "ff. 5r–v",
		`<locus from="5r" to="5v">5rv</locus>`:                                    "ff. 5r–v",
		`<locusGrp><locus>ff. 3v-5r</locus><locus>f. 7r</locus></locusGrp>`:       "ff. 3v–5r, 7r",
		"<p>Fol. 3 v° à 15. Calendar of the town.</p>":                            "ff. 3v–15v",
		"<p>— 9 v° à 12. Calendar of the town.</p>":                               "ff. 9v–12v",
		"<locus>(fols. 31v-33v, first rubric on 31r)</locus>":                     "ff. 31v–33v",
		`<incipit><locus>fol. 3r</locus> Ianuarius</incipit><explicit><locus>fol. 5v</locus> finis</explicit>`: "ff. 3r–5v",
		`<locus from="6" to="13">ff. 6v-13r (matn)</locus>`:                                                    "ff. 6v–13r",
		`<locus from="3r">f. 3r, col. 1</locus><locus to="5v"/>`:                                               "ff. 3r–5v",
		"<locus>(fols. 15v–20r, f. 15r blank)</locus>":                                                         "ff. 15v–20r",
		"<locus>(fols. 13r-25v) (quire 3)</locus>":                                                             "ff. 13r–25v",
		`<locus from="13r" to="13r">Fol. 14r</locus>`:                                                          "ff. 14r–40v", // the words where they disagree
		"<locus>ff. 15r-20(i)r</locus>":                                                                        "ff. 15r–20r",
		"<locus>(fols. 13-25v; 26rv blank)</locus>":                                                            "ff. 13r–25v",
		`<locus from="13va5" to="25rb12"/>`:                                                                    "ff. 13v–25r",
		"<locus>fols 13r/5–25v/6</locus>":                                                                      "ff. 13r–25v",
		"<locus>(fols. 13r (14r)–25v (26v))</locus>":                                                           "ff. 13r–25v",
		"<locus>(quires 2–3) (fols. 13–25v)</locus>":                                                           "ff. 13r–25v",
		"<locus>(fols. 2rv, 5–9r, (12rv), 13]</locus>":                                                         "ff. 2r–v, 5r–9r, 12r–13v",
		"<locus>(fols. 3vb–c, 4v lower margin; 5r–v lower margin; 7vb–8vc)</locus>":                            "ff. 3v, 4v–5v, 7v–8v",
		"<locus>Ff. 13r.-25v.</locus>":                                                                         "ff. 13r–25v",
		"<locus>(fosl. 13r-25v)</locus>":                                                                       "ff. 13r–25v",
		"<locus>(fols. 13r–25v (?))</locus>":                                                                   "ff. 13r–25v",
		`<locus from="7153_13b" to="7153_25a">Add. 7,153, fol. 13 b to fol. 25 a</locus>`:                      "ff. 13v–25r",
		"<locus>(fol. 13; see 25)</locus>":                                                                     "ff. 13r–40v",
		`<locus from="ii-verso">(fol. ii verso)</locus>`:                                                       "ff. iiv–40v",
		"<note>Fol. 3 has the title of the book.</note><locus>4r-5v</locus>":                                   "ff. 4r–5v",
		// Left, with the reason.
		"<locus>39 à -41r</locus>":                   "",
		`<locus from="1" to="28">Lines 1-28</locus>`: "", // of a roll
		"<locus>Ar à Cr</locus>":                     "",
		`<locus from="L1r" to="L1v">L1r</locus>`:     "",
	} {
		got := read(t, record("<msContents><msItem>"+locus+"<title>Calendar</title></msItem></msContents>", leaves(40)))
		if got.Err != nil {
			t.Fatal(got.Err)
		}
		if extent := cataloguetest.Cells(got.Tables.Sections, "extent"); extent != want {
			t.Errorf("%s is %q and not %q\n%s", locus, extent, want, got.Account)
		}
		if want == "" && len(got.Account.Left) != 1 {
			t.Errorf("%s: left %v", locus, got.Account.Left)
		}
	}
}

// Catalogues of Hebrew and Arabic books have a and b for recto and verso; others
// have them for leaves of one number, and for columns.
func TestLetteredSides(t *testing.T) {
	item := func(locus string) string {
		return "<msItem><locus>" + locus + "</locus><title>Prayers</title></msItem>"
	}
	for _, test := range []struct{ items, want string }{
		{item("fol. 1b") + item("fols. 2a-9b"), "f. 1v\nff. 2r–9v"},
		{"<msItem><incipit><locus>Fol. 1b.1</locus> Audi</incipit><explicit><locus>Fol. 9b.5--7</locus> finis</explicit><title>Prayers</title></msItem>", "ff. 1v–9v"},
		{item("fol. 1") + item("fols. 5b-5") + item("fols. 7a-9"), "ff. 1r–v\nf. 5v\nff. 7r–9v"},     // no leaf runs backward
		{item("fol. 1r") + item("fol. 5a"), "ff. 1r–5v\nff. 5ar–v"},                                  // leaf 5a
		{item("fols. 1-4") + item("fols. 5-7") + item("fol. 8a"), "ff. 1r–4v\nff. 5r–7v\nff. 8ar–v"}, // leaf 8a
	} {
		got := read(t, record("<msContents>"+test.items+"</msContents>", ""))
		if diff := cmp.Diff(test.want, cataloguetest.Cells(got.Tables.Sections, "extent")); diff != "" {
			t.Errorf("%s: %s", test.items, diff)
		}
	}
}

// A title inside a note or a reference is that of another book (sections
// “Authors and Titles” and “Rubrics, Incipits, Explicits, and Other Quotations
// from the Text”).
func TestTitles(t *testing.T) {
	for item, want := range map[string]string{
		"<note>Gospel lessons</note><note>(printed in <title>Horae Veldermondenses</title>, 32)</note>": "Gospel lessons",
		"<incipit>Obsecro te</incipit><note>[masculine forms] (cf. MS. Rowan 2)</note>":                 "Obsecro te",
		"<rubric>Oraison de sainte Barbe</rubric><note>(<title>Répertoire</title>, no. 7)</note>":       "Oraison de sainte Barbe",
		"<rubric><note>at the foot of f. 8r</note>De sideribus</rubric>":                                "De sideribus",
		"<title>Aratea<note>(vv. 1–471)</note></title>":                                                 "Aratea",
		`<title xml:lang="ar">كتاب</title><title type="desc">Prayers for travel</title>`:                "Prayers for travel",
		"<rubric><title>Oratio sancti Augustini.</title></rubric><incipit>Dulcissime</incipit>":         "Oratio sancti Augustini",
		"<textLang>Middle French</textLang>":                                                            "untitled text",
		"<textLang>The Seven Penitential Psalms.</textLang>":                                            "The Seven Penitential Psalms",
		"<bibl><title>Corpus</title></bibl><p>Litany of the saints</p>":                                 "Litany of the saints",
	} {
		got := read(t, record("<msContents><msItem><locus>1r</locus>"+item+"</msItem></msContents>", leaves(2)))
		if title := cataloguetest.Cells(got.Tables.Sections, "section"); title != want {
			t.Errorf("%s is %q", item, title)
		}
	}
}

// Where a book has several languages and no text tells its own, that is left to the
// scholar.
func TestSeveralLanguages(t *testing.T) {
	for contents, left := range map[string]int{
		`<textLang mainLang="la" otherLangs="de">Latin and German</textLang><msItem><locus>1r</locus><title>Calendar</title></msItem>`:                                          1,
		`<textLang mainLang="la">Latin</textLang><msItem><locus>1r</locus><title>Calendar</title></msItem>`:                                                                     0,
		`<textLang mainLang="la" otherLangs="de">Latin and German</textLang><msItem><locus>1r</locus><title>Calendar</title><textLang mainLang="de">German</textLang></msItem>`: 0,
	} {
		got := read(t, record("<msContents>"+contents+"</msContents>", leaves(2)))
		if len(got.Account.Left) != left {
			t.Errorf("%s: left %v", contents, got.Account.Left)
		}
	}
}

// Wordings of the extent (section “Extent”): flyleaves in front, leaves,
// flyleaves at the end. The first three are the Guidelines' own.
func TestExtents(t *testing.T) {
	for extent, want := range map[string]string{
		"ii + 97 + ii": "2+97+2",
		"ii + 321 leaves <dimensions unit=\"cm\"><height>35</height><width>27</width></dimensions>":                                          "2+321+0",
		`<measure type="composition" unit="leaf" quantity="10">10 Bl.</measure> <measure type="height" quantity="37" unit="cm">37</measure>`: "0+10+0",
		"i (marbled paper, conjoint with the pastedown) + 125 + i (marbled paper)":                                                           "1+125+1",
		"i (paper) + i (old parchment) + 77 + i (old parchment) + i (paper).":                                                                "2+77+2",
		"VI, 280, I Bl.":         "6+280+1",
		"10 ll. [incl. t.p.]":    "0+10+0",
		"1 l.":                   "0+1+0",
		"150 palm-leaves":        "0+150+0",
		"iii + 245 folios + iii": "3+245+3",
		"1 f. + 120 ff. + 1 f.":  "1+120+1",
		"[2] + 125 leaves":       "2+125+0",
		"ff. 1–120":              "0+120+0",
		"446 ff. à 2 col. (A-I + 443), 370 sur 260 mm.": "0+446+0",
		"III + 120 h. + II":     "3+120+2",
		"120 hojas":             "0+120+0",
		"118 bladen, perkament": "0+118+0",
		"fls. 96":               "0+96+0",
		"240 Seiten":            "0+120+0",
		"cc. II + 9 + I'":       "2+9+1",
		`<measure type="left_flyleaves" quantity="1"/><measure type="textblock_leaves" quantity="58"/><measure type="right_flyleaves" quantity="2"/>`: "1+58+2",
	} {
		got := read(t, record("<msContents/>", "<physDesc><objectDesc><supportDesc><extent>"+extent+"</extent></supportDesc></objectDesc></physDesc>"))
		if got.Err != nil {
			t.Fatalf("%s: %v", extent, got.Err)
		}
		front, others, end := 0, 0, 0
		for _, leaf := range got.Books[0].Leaves {
			switch {
			case !leaf.Label.Roman:
				others++
			case others == 0:
				front++
			default:
				end++
			}
		}
		if counts := fmt.Sprintf("%d+%d+%d", front, others, end); counts != want {
			t.Errorf("%s: %s and not %s", extent, counts, want)
		}
	}
}

// A foliation that lists its numbers says which of them the flyleaves have
// (section “Foliation”).
func TestFoliationListed(t *testing.T) {
	physical := func(extent, foliation string) string {
		return "<physDesc><objectDesc><supportDesc><extent>" + extent + "</extent><foliation>" + foliation + "</foliation></supportDesc></objectDesc></physDesc>"
	}
	for _, test := range []struct{ extent, foliation, first, last string }{
		{"i + 12 + i", "Foliated in modern pencil: i, 1-13.", "i", "13"},
		{"i + i + 7 + i", "Foliated in modern pencil: i, 1–9.", "i", "9"},
		{"15 leaves", "modern in pencil, i–iii + 1–5 + 5* + 6–11", "i", "11"},
		{"12 leaves", "1-7, 8a-b, 9, 10, 11", "1", "11"},
		{"15 leaves", "modern, in pencil; i–ii + 1–7a + 7b–12.", "i", "12"},
		{"i + 12 + i", "Modern foliation in pencil, 1–12.", "i", "ii"},          // of the leaves alone
		{"i + 12 + i", "Foliated in modern pencil: i, 1-19.", "i", "ii"},        // as many as there are not
		{"i + 12 + i", "Foliated before 1-13 was known to be wrong", "i", "ii"}, // no list
	} {
		got := read(t, record("<msContents/>", physical(test.extent, test.foliation)))
		all := got.Books[0].Leaves
		if first, last := all[0].Label.String(), all[len(all)-1].Label.String(); first != test.first || last != test.last {
			t.Errorf("%s, %s: from %s to %s", test.extent, test.foliation, first, last)
		}
	}
	// A text that ends on the count of all leaves ends on the last number.
	got := read(t, record(`<msContents><msItem><locus from="1r" to="15v"/><title>Psalms</title></msItem></msContents>`, physical("15 leaves", "i–ii + 1–7a + 7b–12.")))
	if extent := cataloguetest.Cells(got.Tables.Sections, "extent"); extent != "ff. 1r–12v" || len(got.Books[0].Leaves) != 15 {
		t.Error(extent, got.Account)
	}
	// A text beyond the list and beyond the leaves counted is a slip.
	got = read(t, record("<msContents><msItem><locus>20r</locus><title>Prayer</title></msItem></msContents>", physical("i + 12 + i", "Foliated: i, 1-13.")))
	if extent := cataloguetest.Cells(got.Tables.Sections, "extent"); extent != "" || !strings.Contains(got.Account.String(), "it names leaf 20, and it counts 12") {
		t.Error(extent, got.Account)
	}
}

// What a text runs over where the record tells only where it begins, in the dialects
// of several libraries, and by what the end was inferred.
func TestBeginnings(t *testing.T) {
	item := func(locus, title, parts string) string {
		return "<msItem>" + locus + "<title>" + title + "</title>" + parts + "</msItem>"
	}
	for _, test := range []struct{ name, contents, want string }{
		{"beginnings alone", item("<locus>fol. 1</locus>", "Litany", "") + item("<locus>fol. 5v</locus>", "Prayers", ""), "Litany|ff. 1r–5r|next text\nPrayers|ff. 5v–12v|last leaf"},
		{"the same page twice", item("<locus>fol. 1r</locus>", "Litany", "") + item("<locus>fol. 1r</locus>", "Prayers", "") + item("<locus>fol. 3r</locus>", "Calendar", ""), "Litany|f. 1r|next text\nPrayers|ff. 1r–2v|next text\nCalendar|ff. 3r–12v|last leaf"},
		{"parts of a whole with an end", item("<locus>fols. 2r-9r</locus>", "Psalms", item("<locus>fol. 2r</locus>", "First", "")+item("<locus>fol. 4v</locus>", "Second", "")), "First|ff. 2r–4r|next text\nSecond|ff. 4v–9r|end of the whole"},
		{"one page among ranges", item("<locus>fols. 1r-3v</locus>", "Litany", "") + item("<locus>fol. 5r</locus>", "Charm", "") + item("<locus>fols. 7r-9v</locus>", "Prayers", ""), "Litany|ff. 1r–3v\nCharm|f. 5r\nPrayers|ff. 7r–9v"},
		{"an end that the library inferred", item(`<locus from="1" to="4r" type="inferredEnd">(fol. 1)</locus>`, "Litany", "") + item("<locus>fol. 4v</locus>", "Prayers", ""), "Litany|ff. 1r–4r|next text\nPrayers|ff. 4v–12v|last leaf"},
		{"last words", item(`<locus from="1r"/>`, "Litany", `<explicit><locus>fol. 3r</locus> amen</explicit>`) + item(`<locus from="6r"/>`, "Prayers", ""), "Litany|ff. 1r–3r|last words\nPrayers|ff. 6r–12v|last leaf"},
		{"a text in its elder sibling", item("<locus>fols. 1r-8v</locus>", "Psalms", "") + item("<locus>fols. 3r-4v</locus>", "Litany", ""), "Psalms (the rest)|ff. 1r–2v, 5r–8v\nLitany|ff. 3r–4v"},
		{"one text without a place", item("", "Litany", ""), "Litany|ff. 1r–12v|end of the whole"},
		{"attributes that say one page twice", item(`<locus from="1r" to="1r">1r</locus>`, "Litany", "") + item(`<locus from="5v" to="5r">5v</locus>`, "Prayers", ""), "Litany|ff. 1r–5r|next text\nPrayers|ff. 5v–12v|last leaf"},
		{"words before attributes", item(`<locus from="2r" to="3v">ff. 1v-3v</locus>`, "Litany", ""), "Litany|ff. 1v–3v"},
		{"a title that begins as a place may", item("<locus>ff. 2r-3v</locus>", "On Urines", ""), "On Urines|ff. 2r–3v"},
		{"a heading over one text", "<msItem><note>Added:</note>" + item("<locus>fol. 2r-3v</locus>", "Litany", "") + "</msItem>", "Litany|ff. 2r–3v"},
		{"remarks on leaves", "<msItem><note>Fol. 1 is a flyleaf.</note></msItem>" + item("<locus>fols. 2r-3v</locus>", "Litany", "") + "<msItem><note>Fols. 3v, see above.</note></msItem><msItem><note>On fol. 4v are verses.</note></msItem>", "Litany|ff. 2r–3v\nuntitled text|f. 4v"},
		{"a place copied from another text", item(`<locus from="1r" to="3v">ff. 1r-3v</locus>`, "Litany", "") + item(`<locus from="4r" to="9r">ff. 1r-3v</locus>`, "Prayers", ""), "Litany|ff. 1r–3v\nPrayers|ff. 4r–9r"},
		{"last words of a whole", "<msItem><title>Psalms</title><explicit><locus>fol. 9r</locus> amen</explicit>" + item("<locus>fol. 1r</locus>", "First", "") + item("<locus>fol. 4v</locus>", "Second", "") + "</msItem>", "First|ff. 1r–4r|next text\nSecond|ff. 4v–9r|last words"},
		{"nothing but last words", item("<locus>fols. 1r-3v</locus>", "Litany", "") + "<msItem><colophon><locus>fol. 4r</locus> Finished in spring.</colophon></msItem>", "Litany|ff. 1r–3v\nFinished in spring|f. 4r"},
		{"a place behind the words that name it", "<msItem><note>Magnificat (fol. 2v)</note></msItem><msItem><note>Common of the dedication (fol. 4) and the saints (fol. 6)</note></msItem><msItem><note>Imperfect at the end.</note></msItem>", "Magnificat|ff. 2v–3v|next text\nCommon of the dedication|ff. 4r–5v|next text\nsaints|ff. 6r–12v|last leaf"},
		{"a text that the title names beside it", "<msItem><locus from='1r'/><note>Hours of the Cross and the Holy Ghost (fol. 3)</note></msItem><msItem><locus from='6r'/><note>Penitential (fol. 6) and Gradual (fol. 8) Psalms</note></msItem>", "Hours of the Cross|ff. 1r–2v|next text\nHours of the Holy Ghost|ff. 3r–5v|next text\nPenitential Psalms|ff. 6r–7v|next text\nGradual Psalms|ff. 8r–12v|last leaf"},
		{"a place before the texts in front", item(`<locus from="1r"/>`, "Litany", "") + item(`<locus from="4r"/>`, "Prayers", "") + item(`<locus from="1r"/>`, "Hymns", item(`<locus from="6r"/>`, "First tone", "")+item(`<locus from="8v"/>`, "Second tone", "")), "Litany|ff. 1r–3v|next text\nPrayers|ff. 4r–5v|next text\nFirst tone|ff. 6r–8r|next text\nSecond tone|ff. 8v–12v|last leaf"},
		{"sides in brackets", item("<locus>f. 2</locus>", "Litany", "") + item("<locus>f. 3(b)</locus>", "Prayers", ""), "Litany|ff. 2r–3r|next text\nPrayers|ff. 3v–12v|last leaf"},
	} {
		t.Run(test.name, func(t *testing.T) {
			got := read(t, record("<msContents>"+test.contents+"</msContents>", leaves(12)))
			if diff := cmp.Diff(test.want, cataloguetest.Cells(got.Tables.Sections, "section", "extent", "extent_by")); diff != "" {
				t.Errorf("%s\n%s", diff, got.Account)
			}
		})
	}
}

// Hours are named from titles: not from first words, not from what is worked into
// them; the offices under the Office of the Dead are its own.
func TestHours(t *testing.T) {
	item := func(locus, body string) string { return "<msItem><locus>" + locus + "</locus>" + body + "</msItem>" }
	for _, test := range []struct{ name, contents, want string }{
		{"others worked in", item("1r-4v", "<title>Hours of the Virgin with the Hours of the Cross and of the Holy Ghost worked in</title>"), "hours|of the Virgin"},
		{"an antiphon", item("1r-4v", "<title>Hours of the Virgin</title>"+item("1r-2v", "<title>Matins</title>")+item("3r-4v", "<title>Antiphon of the Cross</title>")), "hours|of the Virgin|Matins\nantiphon"},
		{"first words", item("1r-2v", "<incipit>Officium sancte crucis</incipit>"), "text"},
		{"offices of the dead", item("1r-6v", "<title>Office of the Dead</title>"+item("1r-2v", "<title>Vespers</title>")+item("3r-6v", "<title>Matins</title>")), "office of the dead\noffice of the dead"},
		{"a saint's", item("1r-4v", "<title>Hours of St Catherine, Use of Rome</title>"), "hours|of St Catherine"},
		{"nobody's", item("1r-4v", "<title>Hours, Use of Sarum</title>"), "hours"},
		{"offices in a remark", item("1r-9v", "<title>Hours of the Virgin</title><note>Matins, fol. 1r; Lauds, fol. 4r (rubric, fol. 3v); Prime, fol. 7v</note>"), "hours|of the Virgin|Matins\nhours|of the Virgin|Lauds\nhours|of the Virgin|Prime"},
		{"a note in the place of the title", item("1r-4v", "<note>Hours of the Cross; imperfect at the end.</note>"), "hours|of the Cross"},
	} {
		got := read(t, record("<msContents>"+test.contents+"</msContents>", leaves(12)))
		if kinds := cataloguetest.Cells(got.Tables.Sections, "kind", "set", "office"); kinds != test.want {
			t.Errorf("%s: %q and not %q\n%s", test.name, kinds, test.want, got.Account)
		}
	}
	got := read(t, record("<msContents>"+item("1r-4v", "<title>Hours, Use of Sarum</title>")+"</msContents>", leaves(12)))
	if !strings.Contains(got.Account.String(), "the set of hours: no title tells which “Hours, Use of Sarum” are") {
		t.Error(got.Account)
	}
}

// Dates of other calendars are marked as such (common practice, no source).
func TestCalendars(t *testing.T) {
	for date, want := range map[string]string{
		`<origDate calendar="#Hijri-qamari">1023</origDate>`:                     "1023 AH",
		`<origDate when-custom="1023" datingMethod="#Hijri-qamari"/>`:            "1023 AH",
		`<origDate calendar="#Gregorian" notBefore="1400" notAfter="1500"/>`:     "1400–1500",
		`<origDate calendar="#Hijri-qamari">1023 AH (1614 CE)</origDate>`:        "1023 AH (1614 CE)",
		`<origDate datingMethod="#Seleucid" when-custom="1467"></origDate>`:      "1467 of the Greeks",
		`<origDate calendar="#Hijri" when="1614" when-custom="1023"></origDate>`: "1023 AH (1614)",
	} {
		got := read(t, record(`<msContents/>`, leaves(2)+"<history><origin>"+date+"</origin></history>"))
		if dates := cataloguetest.Cells(got.Tables.Books, "date"); dates != want {
			t.Errorf("%s is %q and not %q", date, dates, want)
		}
	}
}

// A composite book whose parts count their own leaves (section “Manuscript
// Parts”).
func TestParts(t *testing.T) {
	part := func(extent, locus string) string {
		return "<msPart><msContents><msItem><locus>" + locus + "</locus><title>Prayers</title></msItem></msContents><physDesc><objectDesc><supportDesc><extent>" + extent + "</extent></supportDesc></objectDesc></physDesc></msPart>"
	}
	got := read(t, record("", `<physDesc><objectDesc><supportDesc><extent><measure type="left_flyleaves" quantity="1"/></extent></supportDesc></objectDesc></physDesc>`+part("8 ff.", "1r-8v")+part("4 ff.", "9r-12v")))
	if n := len(got.Books[0].Leaves); n != 13 {
		t.Errorf("%d leaves\n%s", n, got.Account)
	}
	if extents := cataloguetest.Cells(got.Tables.Sections, "extent"); extents != "ff. 1r–8v\nff. 9r–12v" {
		t.Error(extents)
	}
	if notes := fmt.Sprint(got.Account.Notes); !strings.Contains(notes, "2 parts; their leaves are added up") {
		t.Error(notes)
	}
}

// Pages that a record calls blank where a text would stand.
func TestBlank(t *testing.T) {
	got := read(t, record(`<msContents><msItem><locus>1r-2r</locus><title>Litany</title></msItem><msItem><locus>2r-3r</locus><note>blank.</note></msItem><msItem><locus>4r</locus><note>leer</note></msItem></msContents>`,
		`<physDesc><objectDesc><supportDesc><extent>4 ff.</extent></supportDesc></objectDesc><decoDesc><decoNote type="miniature"><locus>4r</locus> Arms</decoNote></decoDesc></physDesc>`))
	if diff := cmp.Diff("2v||yes\n3r||yes\n4r|yes", cataloguetest.Cells(got.Tables.Pages, "page", "picture", "blank")); diff != "" {
		t.Error(diff)
	}
}

// Notes on decoration as catalogues structure them (section “Decoration”). The
// first is the Guidelines' own example, cut short.
func TestDecorationInLists(t *testing.T) {
	for _, test := range []struct{ note, want string }{
		{`<decoNote type="miniatures"><p>Fourteen large miniatures with arched tops, above five lines of text: <list><item><locus>fol. 14r</locus>Pericopes. <term>St. John writing on Patmos</term>, with the Eagle holding his ink-pot and pen-case; some flaking of pigment, especially in the sky</item><item><locus>fol. 26r</locus>Hours of the Virgin, Matins. <term>Annunciation</term>; Gabriel and the Dove to the right</item></list></p></decoNote>`,
			"14r|yes|St. John writing on Patmos, with the Eagle holding his ink-pot and pen-case; some flaking of pigment, especially in the sky (Pericopes)\n26r|yes|Annunciation; Gabriel and the Dove to the right (Hours of the Virgin, Matins)"},
		{`<decoNote type="other"><p>Two miniatures, with full borders (that on fol. 3r with birds): <list><item>(fol. 3r) Lauds. Visitation</item><item> (fol. 5r) Prime. Nativity; two angels</item></list></p><p>One initial in blue <locus>(fol. 8r)</locus></p></decoNote>`,
			"3r|yes|Visitation (Lauds)|border\n5r|yes|Nativity (Prime)\n8r|||initial"},
		{`<decoNote>Peintures : fol. 3 v°, la Trinité; fol. 8, l’Annonciation; fol. 9 r°, messe</decoNote>`, "3v|yes|la Trinité\n9r|yes|messe"},
		{`<decoNote type="miniature"><p>Fol. 3v: David; Fol. 8: the fool; Fol. 9v: the king; Fol. 12v: singers</p></decoNote>`, "3v|yes|David\n8r|yes|the fool\n9v|yes|the king\n12v|yes|singers"}, // no recto has a letter
		{`<decoNote type="histInit">Beatus-initial on fol. 3r, on gold background, infilled with king David; fol. 6v,Psalm 80 (initial E), David playing bells</decoNote><decoNote type="bibliography">Alder and Rowan, plates of fols. 1r and 9v.</decoNote>`, "3r|yes|Beatus-initial|histInit\n6v|yes|Psalm 80 (initial E), David playing bells|histInit"},
	} {
		got := read(t, record("<msContents/>", "<physDesc><objectDesc><supportDesc><extent>30 leaves</extent></supportDesc></objectDesc><decoDesc>"+test.note+"</decoDesc></physDesc>"))
		if diff := cmp.Diff(test.want, cataloguetest.Cells(got.Tables.Pages, "page", "picture", "subject", "decoration")); diff != "" {
			t.Errorf("%s\n%s", diff, got.Account)
		}
	}
	// A note inside a text of one page has that page; in a text of several it has none.
	got := read(t, record(`<msContents><msItem><locus>3r</locus><title>Prayer</title><decoNote>Miniature of the Cross</decoNote></msItem><msItem><locus>4r-5v</locus><title>Prayers</title><decoNote>Miniature of St Osyth</decoNote></msItem></msContents>`, leaves(6)))
	if pages := cataloguetest.Cells(got.Tables.Pages, "page", "subject"); pages != "3r|Miniature of the Cross" {
		t.Error(pages)
	}
}

// Offices that only the headings of pictures tell, as catalogues of books of hours list
// them; what no picture opens is asked for.
func TestOfficesOfPictures(t *testing.T) {
	hours := `<msContents><msItem><locus>%s</locus><title>Hours of the Virgin with the Hours of the Cross worked in</title></msItem><msItem><locus>21r-24v</locus><title>Litany</title></msItem></msContents>`
	for _, test := range []struct{ name, locus, note, want, asked string }{
		{"each told", "1r-20v", `Miniatures above five lines of text: <list><item>(fol. 1r) Hours of the Virgin, Matins. Annunciation</item><item>(fol. 8v) Lauds. Visitation</item><item>(fol. 12r) Hours of the Cross. Crucifixion</item><item>(fol. 13r) Prime. Nativity</item><item>(fol. 15r) Terce. Shepherds</item><item>(fol. 16r) Sext. Magi</item><item>(fol. 17r) None. Presentation</item><item>(fol. 18r) Vespers. Flight</item><item>(fol. 19r) Compline. Coronation</item></list>`,
			"Matins of the Virgin|of the Virgin|Matins|ff. 1r–8r|next text\nLauds of the Virgin|of the Virgin|Lauds|ff. 8v–11v|next text\nHours of the Cross|of the Cross||ff. 12r–v|next text\nPrime of the Virgin|of the Virgin|Prime|ff. 13r–14v|next text\nTerce of the Virgin|of the Virgin|Terce|ff. 15r–v|next text\nSext of the Virgin|of the Virgin|Sext|ff. 16r–v|next text\nNone of the Virgin|of the Virgin|None|ff. 17r–v|next text\nVespers of the Virgin|of the Virgin|Vespers|ff. 18r–v|next text\nCompline of the Virgin|of the Virgin|Compline|ff. 19r–20v|end of the whole\nLitany|||ff. 21r–24v", ""},
		{"some told, on pages of their own", "1r-20v", `Full-page miniatures: fol. 6v (Lauds): the Visitation; fol. 12v (Terce): the Shepherds; fol. 14v (Sext): the Magi`,
			"Matins of the Virgin|of the Virgin|Matins|ff. 1r–6v|next text\nLauds and Prime|of the Virgin||ff. 7r–12v|next text\nTerce of the Virgin|of the Virgin|Terce|ff. 13r–14v|next text\nSext, None, Vespers and Compline|of the Virgin||ff. 15r–20v|end of the whole\nLitany|||ff. 21r–24v", "the office “Prime”: no picture tells where it begins"},
		{"too few", "1r-20v", `Miniatures: fol. 1r (Matins): the Annunciation; fol. 6v (Lauds): the Visitation`,
			"Hours of the Virgin with the Hours of the Cross worked in|of the Virgin||ff. 1r–20v\nLitany|||ff. 21r–24v", ""},
		{"beyond the end", "1r-5v", `Miniatures: fol. 1r (Matins): the Annunciation; fol. 6v (Lauds): the Visitation; fol. 12v (Prime): the Nativity; fol. 13r (Terce): the Shepherds; fol. 14r (Sext): the Magi; fol. 15r (None): the Presentation; fol. 16r (Vespers): the Flight; fol. 17r (Compline): the Coronation`,
			"Matins of the Virgin|of the Virgin|Matins|ff. 1r–6r|next text\nLauds of the Virgin|of the Virgin|Lauds|ff. 6v–12r|next text\nPrime of the Virgin|of the Virgin|Prime|f. 12v|next text\nTerce of the Virgin|of the Virgin|Terce|ff. 13r–v|next text\nSext of the Virgin|of the Virgin|Sext|ff. 14r–v|next text\nNone of the Virgin|of the Virgin|None|ff. 15r–v|next text\nVespers of the Virgin|of the Virgin|Vespers|ff. 16r–v|next text\nCompline of the Virgin|of the Virgin|Compline|ff. 17r–20v|next text\nLitany|||ff. 21r–24v", "it is taken to run on"},
	} {
		t.Run(test.name, func(t *testing.T) {
			got := read(t, record(fmt.Sprintf(hours, test.locus), `<physDesc><objectDesc><supportDesc><extent>24 leaves</extent></supportDesc></objectDesc><decoDesc><decoNote type="miniatures">`+test.note+`</decoNote></decoDesc></physDesc>`))
			if diff := cmp.Diff(test.want, cataloguetest.Cells(got.Tables.Sections, "section", "set", "office", "extent", "extent_by")); diff != "" || !strings.Contains(got.Account.String(), test.asked) {
				t.Errorf("%s\n%s", diff, got.Account)
			}
		})
	}
}

// Pictures that are told outside the notes on decoration, once, and what readers
// scribbled, which is none.
func TestPicturesElsewhere(t *testing.T) {
	got := read(t, record(`<msContents><msItem><locus>1r-5v</locus><title>Psalms</title><note>Fol. 4v is occupied by a miniature of the owner.</note></msItem></msContents>`,
		`<physDesc><objectDesc><supportDesc><extent>12 leaves</extent></supportDesc></objectDesc><decoDesc><decoNote type="miniature"><locus>4v</locus> The owner</decoNote></decoDesc>
<additions><list><item><p>There are rude drawings of birds, etc., on foll. 8 b, 9 a, and 10 a.</p></item><item><p>Crude drawings in pencil on fol. 11 b. On fol. 12 a a drawing of a palm.</p></item></list></additions></physDesc>`))
	if diff := cmp.Diff("4v|The owner\n8v|There are rude drawings of birds, etc\n9r|There are rude drawings of birds, etc\n10r|There are rude drawings of birds, etc\n12r|a drawing of a palm", cataloguetest.Cells(got.Tables.Pages, "page", "subject")); diff != "" {
		t.Errorf("%s\n%s", diff, got.Account)
	}
}

// Collations of published records that were left whole.
func TestCollationDialects(t *testing.T) {
	for _, test := range []struct {
		collation    string
		leaves, want int // leaves there are, leaves and lost ones
		quires       string
	}{
		{`1<hi rend="superscript">6</hi>(the calendar, a separate quire) 2<hi rend="superscript">8</hi>(-1, -3 [before and after fol. 7]) 3<hi rend="superscript">8</hi>4<hi rend="superscript">8</hi>(-3 to -5 [before fol. 23]) [to fol. 25, a production unit] | 5<hi rend="superscript">2</hi>[inserted later]`, 27, 32, "1 2 3 4 5"},
		{`(fols. 1–5) I (6) the first leaf of the outer bifolium is used as the upper pastedown | (fols. 6–13) II (8)`, 13, 13, "I II"},
	} {
		got := read(t, record("<msContents/>", fmt.Sprintf("<physDesc><objectDesc><supportDesc><extent>%d leaves</extent><collation>%s</collation></supportDesc></objectDesc></physDesc>", test.leaves, test.collation)))
		var quires []string
		for _, quire := range got.Books[0].Quires {
			quires = append(quires, quire.Label)
		}
		if n := len(got.Books[0].Leaves); n != test.want || strings.Join(quires, " ") != test.quires {
			t.Errorf("%d leaves in quires %v\n%s", n, quires, got.Account)
		}
	}
}

// A count of leaves that stands in the collation.
func TestCountInTheCollation(t *testing.T) {
	got := read(t, record("<msContents/>", "<physDesc><objectDesc><supportDesc><extent/><collation><label>Folios:</label> 61 foll.</collation></supportDesc></objectDesc></physDesc>"))
	if got.Err != nil || len(got.Books[0].Leaves) != 61 {
		t.Errorf("%v\n%s", got.Err, got.Account)
	}
}

// Titles of texts in the languages of catalogues, and what is made of them
// (common practice, no source).
func TestKinds(t *testing.T) {
	for title, want := range map[string]string{
		"Book of Hours, Use of Veldermond": "text", "Livre d’heures": "text", "Getijdenboek": "text", "Libro d’ore": "text", "Libro de horas": "text", "Stundenbuch": "text",
		"Office de la Vierge": "hours|of the Virgin", "Officium beate Marie virginis": "hours|of the Virgin", "Getijden van Onze Lieve Vrouw": "hours|of the Virgin", "Horas de la Virgen": "hours|of the Virgin", "Oficio de Nuestra Señora": "hours|of the Virgin", "Ufficio della Beata Vergine": "hours|of the Virgin",
		"Getijden van het Heilig Kruis": "hours|of the Cross", "Horas de la Cruz": "hours|of the Cross", "Ore della Croce": "hours|of the Cross", "Getijden van de Heilige Geest": "hours|of the Holy Spirit", "Horas del Espíritu Santo": "hours|of the Holy Spirit",
		"Office de saint Nicolas": "hours|of saint Nicolas",
		"Vigilie van de doden":    "office of the dead", "Oficio de difuntos": "office of the dead", "Ufficio dei defunti": "office of the dead", "Heures des défunts": "office of the dead", "Vespers of the Dead": "office of the dead", "Agenda mortuorum": "office of the dead",
		"Boetpsalmen": "psalms", "Salmos penitenciales": "psalms", "Psaumes de la pénitence": "psalms", "Letanías": "litany", "Litanei": "litany",
		"Passion selon saint Marc": "lessons", "Évangile du Jeudi saint": "lessons", "Gospel Pericopes": "lessons", "Vangeli": "lessons", "Prayer to St John the Evangelist": "prayer",
		"Sufragios de los santos": "suffrage", "Memorie dei santi": "suffrage", "Gebeden": "prayer", "Oraciones": "prayer", "Septem gaudia beate Marie virginis": "prayer", "The Five Joys of the Virgin": "prayer",
		"Hours of the Virgin, Matins": "hours|of the Virgin|Matins", "Heures de la Vierge. Complies": "hours|of the Virgin|Compline", "Horas de la Virgen: Maitines": "hours|of the Virgin|Matins", "Getijden van Maria, Metten": "hours|of the Virgin|Matins", "Completen van het Kruis": "hours|of the Cross|Compline",
		"Hours of the Virgin, with three lessons at Matins": "hours|of the Virgin",
	} {
		got := read(t, record("<msContents><msItem><locus>1r-2v</locus><title>"+title+"</title></msItem></msContents>", leaves(2)))
		if kinds := cataloguetest.Cells(got.Tables.Sections, "kind", "set", "office"); kinds != want {
			t.Errorf("%s is %q and not %q", title, kinds, want)
		}
	}
}

// Entities that a file declares as plain text, as records made before P5 have
// them for characters and names; and none that would make it grow.
func TestDeclaredEntities(t *testing.T) {
	declared := func(doctype, title string) []byte {
		return append([]byte(`<?xml version="1.0"?><!DOCTYPE TEI SYSTEM "http://example.org/none.dtd" [`+doctype+`]>`),
			record("<msContents><msItem><locus>1r</locus><title>"+title+"</title></msItem></msContents>", leaves(2))...)
	}
	got := read(t, declared(`<!ENTITY thorn1 "&#xFE;"><!ENTITY lib 'Veldermond, Guildhall'>`, "Litany of &thorn1;e town &lib;"))
	if title := cataloguetest.Cells(got.Tables.Sections, "section"); title != "Litany of þe town Veldermond, Guildhall" {
		t.Errorf("%q %v", title, got.Err)
	}
	for name, data := range map[string][]byte{
		"another entity": declared(`<!ENTITY a "b"><!ENTITY c "&a;&a;">`, "&c;"),
		"markup":         declared(`<!ENTITY a "<p>b</p>">`, "&a;"),
		"a file":         declared(`<!ENTITY a SYSTEM "file:///etc/hostname">`, "&a;"),
		"growth":         declared(`<!ENTITY a "`+strings.Repeat("long ", 1000)+`">`, strings.Repeat("&a;", 1000)),
	} {
		if got := read(t, data); got.Err == nil || !strings.Contains(got.Err.Error(), "write the characters themselves") {
			t.Errorf("%s: %v", name, got.Err)
		}
	}
	if got := read(t, []byte(`<?xml version="1.1"?><TEI/>`)); got.Err == nil || !strings.Contains(got.Err.Error(), `write version="1.0" in its first line`) {
		t.Error(got.Err)
	}
}
