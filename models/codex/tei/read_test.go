package tei_test

import (
	"fmt"
	"os"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"thumbed/models/codex"
	"thumbed/models/codex/catalogue/cataloguetest"
	"thumbed/models/codex/tei"
)

// read imports a record, whose tables must load.
func read(t cataloguetest.T, data []byte) cataloguetest.Imported {
	t.Helper()
	return cataloguetest.Read(t, tei.Read, "record.xml", data)
}

// record is a description with the contents and the physical description
// given.
func record(contents, physical string) []byte {
	return []byte(`<TEI xmlns="http://www.tei-c.org/ns/1.0"><teiHeader><fileDesc><sourceDesc><msDesc><msIdentifier><idno>Rowan 3</idno></msIdentifier>` +
		contents + physical + `</msDesc></sourceDesc></fileDesc></teiHeader></TEI>`)
}

func leaves(n int) string {
	return fmt.Sprintf("<physDesc><objectDesc><supportDesc><extent>%d leaves</extent></supportDesc></objectDesc></physDesc>", n)
}

func TestWholeRecord(t *testing.T) {
	data, err := os.ReadFile("testdata/alder.xml")
	if err != nil {
		t.Fatal(err)
	}
	got := read(t, data)
	for _, part := range []struct{ name, got, want string }{
		{"books", cataloguetest.Cells(got.Tables.Books, "book", "title", "owner", "shelfmark", "library", "place", "date", "material", "outer"),
			"ms-alder-7|The Alderwick Hours (Alderwick, Guildhall Library, MS. Alder 7)|Joan Aldous|MS. Alder 7|Guildhall Library, Alderwick|Alderwick|third quarter of the 15th century|parchment|hair"},
		{"collation", got.Books[0].Collation(), "ii 1⁶ 2–4⁸ 5¹⁰ i"},
		{"pages", cataloguetest.Cells(got.Tables.Pages, "page", "picture", "subject", "decoration"),
			"7r|yes|Annunciation|border\n13v|yes|Visitation\n21r|yes|Nativity\n30v|||border\n31r|||border"},
		{"sections", got.Sections(), `Calendar|calendar|||ff. 1r–6v
Matins of the Virgin|hours|of the Virgin|Matins|ff. 7r–13v
Lauds of the Virgin|hours|of the Virgin|Lauds|ff. 13v–20v
Prime of the Virgin|hours|of the Virgin|Prime|ff. 21r–23r
Vespers of the Virgin|hours|of the Virgin|Vespers|ff. 23r–25v
Hours of the Virgin (the rest)|hours|of the Virgin||ff. 26r–30r
Seven Penitential Psalms|psalms|||ff. 30v–34v
A prayer|prayer|||ff. 35r–v
Litany|litany|||ff. 36r–38v
Suffrage of St Osyth; Suffrage of St Alban|suffrage|||f. 39r`},
		{"incipits", cataloguetest.Cells(got.Tables.Sections, "incipit"), "\nDomine labia mea aperies\n\n\n\n\n\n\n\n"},
	} {
		if diff := cmp.Diff(part.want, part.got); diff != "" {
			t.Errorf("%s: %s", part.name, diff)
		}
	}
	var left []string
	for _, e := range got.Account.Left {
		left = append(left, e.String())
	}
	want := []string{
		"line 43: the layout (layoutDesc): not used: “Ruled in 15 lines.”",
		"line 51: the binding (bindingDesc): not used: “Modern calf.”",
		"line 55: the provenance (provenance): not used: “Made for Joan Aldous, her name on fol. 40v.”",
		"line 30: the text “Office of the Dead”: the record does not tell where it stands; enter it in sections.csv",
		"line 49: the decoration “initial”: ff. 1r–40v are several pages; which of them bear it is not told: enter them in pages.csv",
	}
	if diff := cmp.Diff(want, left); diff != "" {
		t.Error(diff)
	}
}

// The example of msContents in the TEI P5 Guidelines (element specification of
// msContents, msdescription module): texts that share the pages on which they
// meet. “Truth”, on 8v alone, keeps it.
func TestGuidelinesContents(t *testing.T) {
	got := read(t, record(`<msContents>
<msItem n="1"><locus>fols. 5r-7v</locus><title>An ABC</title><bibl><title>IMEV</title><biblScope>239</biblScope></bibl></msItem>
<msItem n="2"><locus>fols. 7v-8v</locus><title xml:lang="frm">Lenvoy de Chaucer a Scogan</title><bibl><title>IMEV</title><biblScope>3747</biblScope></bibl></msItem>
<msItem n="3"><locus>fol. 8v</locus><title>Truth</title></msItem>
<msItem n="4"><locus>fols. 8v-10v</locus><title>Birds Praise of Love</title></msItem>
<msItem n="5"><locus>fols. 10v-11v</locus><title xml:lang="la">De amico ad amicam</title><title xml:lang="la">Responcio</title></msItem>
<msItem n="6"><locus>fols. 14r-126v</locus><title>Troilus and Criseyde</title><note>Bk. 1:71-Bk. 5:1701, with additional losses due to mutilation throughout</note></msItem>
</msContents>`, ""))
	want := `An ABC|text|||ff. 5r–7v
Lenvoy de Chaucer a Scogan|text|||ff. 7v–8v
Truth|text|||f. 8v
Birds Praise of Love|text|||ff. 8v–10v
De amico ad amicam|text|||ff. 10v–11v
Troilus and Criseyde|text|||ff. 14r–126v`
	if diff := cmp.Diff(want, got.Sections()); diff != "" {
		t.Error(diff)
	}
	b := got.Books[0]
	if n := len(b.Leaves); n != 126 {
		t.Errorf("%d leaves", n)
	}
	if note := b.SharedNote(); !strings.HasSuffix(note, "7v counts in “Lenvoy de Chaucer a Scogan” and not in “An ABC”; 8v counts in “Truth” and not in “Lenvoy de Chaucer a Scogan”, “Birds Praise of Love”; 10v counts in “De amico ad amicam” and not in “Birds Praise of Love”.") {
		t.Error(note)
	}
}

// How libraries write where a text stands, in the manner of several countries.
// All records are invented.
func TestDialects(t *testing.T) {
	for _, test := range []struct{ name, contents, physical, want string }{
		{"German", `<msContents><msItem><locus from="1r" to="12v">Bl. 1r–12v</locus><title>Kalender</title></msItem>
<msItem><locus from="13r" to="60v">Bl. 13r–60v</locus><title>Marienoffizium</title><msItem><locus>Bl. 13r–30v</locus><title>Mette</title></msItem><msItem><locus>Bl. 31r-60v</locus><title>Vesper</title></msItem></msItem>
<msItem><locus>61r bis 70v</locus><title>Bußpsalmen</title></msItem><msItem><locus>71ra–80vb</locus><title>Totenoffizium</title></msItem></msContents>`,
			`<physDesc><objectDesc><supportDesc material="perg"><extent>80 Bl.</extent></supportDesc></objectDesc></physDesc>`,
			"Kalender|calendar|||ff. 1r–12v\nMette of the Virgin|hours|of the Virgin|Matins|ff. 13r–30v\nVesper of the Virgin|hours|of the Virgin|Vespers|ff. 31r–60v\nBußpsalmen|psalms|||ff. 61r–70v\nTotenoffizium|office of the dead|||ff. 71r–80v"},
		{"French", `<msContents><msItem><locus>f. 1r à 6v</locus><title>Calendrier</title></msItem><msItem><locus>ff. 7-20</locus><title>Heures de la Croix</title></msItem><msItem><locus>f. 21</locus><title>Prière à saint Leu</title></msItem></msContents>`,
			`<physDesc><objectDesc><supportDesc><support>Parchemin</support><extent>21 feuillets</extent></supportDesc></objectDesc></physDesc>`,
			"Calendrier|calendar|||ff. 1r–6v\nHeures de la Croix|hours|of the Cross||ff. 7r–20v\nPrière à saint Leu|prayer|||ff. 21r–v"},
		{"Italian", `<msContents><msItem><locus>cc. 1r-6v</locus><title>Calendario</title></msItem><msItem><locus>cc. 7r-9v</locus><title>Litanie dei santi</title></msItem></msContents>`,
			`<physDesc><objectDesc><supportDesc><support>Membranaceo</support><extent>cc. II + 9 + I'</extent></supportDesc></objectDesc></physDesc>`,
			"Calendario|calendar|||ff. 1r–6v\nLitanie dei santi|litany|||ff. 7r–9v"},
		{"Latin", `<msContents><msItem><locus>foll. 1r–6v</locus><title>Kalendarium</title></msItem><msItem><locus>foll. 7r–8r</locus><title>Officium mortuorum</title></msItem></msContents>`, leaves(8),
			"Kalendarium|calendar|||ff. 1r–6v\nOfficium mortuorum|office of the dead|||ff. 7r–8r"},
		{"pages in words", `<msContents><msItem><locus>pp. 1–24</locus><title>Calendar</title></msItem><msItem><locus>p. 25-30</locus><title>Litany</title></msItem></msContents>`, "",
			"Calendar|calendar|||ff. [1]r–[12]v\nLitany|litany|||ff. [13]r–[15]v"},
		{"pages told by the foliation", `<msContents><msItem><locus from="3" to="5"/><title>Litanei</title></msItem></msContents>`,
			`<physDesc><objectDesc><supportDesc><extent>12 Seiten</extent><foliation>Moderne Paginierung.</foliation></supportDesc></objectDesc></physDesc>`,
			"Litanei|litany|||ff. [2]r–[3]r"},
		{"a group of loci", `<msContents><msItem><locusGrp><locus from="1r" to="2v"/><locus from="5r" to="5v"/></locusGrp><title>Prayers</title></msItem></msContents>`, leaves(6),
			"Prayers|prayer|||ff. 1r–2v, 5r–v"},
		{"two numberings", `<msContents><msItem><locus scheme="#new" from="1r" to="2v"/><locus scheme="#old" from="101r" to="102v"/><title>Litany</title></msItem><msItem><locus scheme="#new" from="3r" to="4v"/><title>Prayers</title></msItem></msContents>`, leaves(6),
			"Litany|litany|||ff. 1r–2v\nPrayers|prayer|||ff. 3r–4v"},
		{"a place in prose", `<msContents><msItem><p><locus from="1r" to="2v"/> Calendar of Alderwick, with a note on <locus>2r</locus></p></msItem></msContents>`, leaves(6),
			"Calendar of Alderwick, with a note on|calendar|||ff. 1r–2v"},
		{"a place in words", `<msContents><msItem><p>ff. 1r–2v Calendar</p></msItem><msItem>(fols. 3r-4v) Litany</msItem></msContents>`, leaves(6),
			"Calendar|calendar|||ff. 1r–2v\nLitany|litany|||ff. 3r–4v"},
		{"from incipit to explicit", `<msContents><msItem><title>Prayer</title><incipit><locus from="1r" to="1r"/>Obsecro te</incipit><explicit><locus>3v</locus>Amen</explicit></msItem></msContents>`, leaves(6),
			"Prayer|prayer|||ff. 1r–3v"},
		{"structured items", `<msContents><msItemStruct n="2" class="#litany"><locus from="24v" to="97v">24v-97v</locus><title type="uniform" xml:lang="la">Tractatus</title></msItemStruct></msContents>`, "",
			"Tractatus|litany|||ff. 24v–97v"},
		{"a number cut short", `<msContents><msItem><locus>ff. 113r–15v</locus><title>Litany</title></msItem></msContents>`, leaves(120), "Litany|litany|||ff. 113r–115v"},
		{"lines and columns", `<msContents><msItem><locus>fols. 3ra, l. 4 – 5vb</locus><title>Litany</title></msItem></msContents>`, leaves(6), "Litany|litany|||ff. 3r–5v"},
		{"a raised side", `<msContents><msItem><locus>f. 3<hi rend="sup">r</hi>–5<hi rend="sup">v</hi></locus><title>Litany</title></msItem></msContents>`, leaves(6), "Litany|litany|||ff. 3r–5v"},
		{"bis leaves", `<msContents><msItem><locus from="1r" to="3bisv"/><title>Litany</title></msItem></msContents>`, leaves(6), "Litany|litany|||ff. 1r–3bisv"},
		{"flyleaves", `<msContents><msItem><locus from="iir" to="iiv"/><title>Prayer</title></msItem><msItem><locus from="ivr" to="ivr"/><title>Prayer for Joan</title></msItem></msContents>`,
			`<physDesc><objectDesc><supportDesc><extent>ff. iii + 20 + ii</extent></supportDesc></objectDesc></physDesc>`,
			"Prayer|prayer|||ff. iir–v\nPrayer for Joan|prayer|||f. ivr"},
		{"parts of a composite book", `<msPart><msContents><msItem><locus from="1r" to="4v"/><title>Litany</title></msItem></msContents></msPart><msPart><msContents><msItem><locus from="5r" to="6v"/><title>Prayers</title></msItem></msContents></msPart>`, "",
			"Litany|litany|||ff. 1r–4v\nPrayers|prayer|||ff. 5r–6v"},
		{"a text whose parts alone have places", `<msContents><msItem><title>Hours of the Cross</title><msItem><locus from="1r" to="2v"/><title>Matins</title></msItem><msItem><locus from="3r" to="4v"/><title>Compline</title></msItem></msItem></msContents>`, "",
			"Matins of the Cross|hours|of the Cross|Matins|ff. 1r–2v\nCompline of the Cross|hours|of the Cross|Compline|ff. 3r–4v"},
	} {
		t.Run(test.name, func(t *testing.T) {
			got := read(t, record(test.contents, test.physical))
			if got.Err != nil {
				t.Fatal(got.Err)
			}
			if diff := cmp.Diff(test.want, got.Sections()); diff != "" {
				t.Errorf("%s\n%s", diff, got.Account)
			}
		})
	}
}

// The leaves that extents and collations make.
func TestLeaves(t *testing.T) {
	extent := func(words string) string {
		return "<physDesc><objectDesc><supportDesc>" + words + "</supportDesc></objectDesc></physDesc>"
	}
	for _, test := range []struct{ name, physical, want, left string }{
		{"a sum", extent("<extent>iii + 12 + ii leaves</extent>"), "i–v: 17", ""},
		{"a sum with what each is", extent("<extent>ii (paper) + 12 (parchment) + i</extent>"), "i–iii: 15", ""},
		{"a sum in figures", extent("<extent>2 + 60 + 2 ff.</extent>"), "i–iv: 64", ""},
		{"a measure", extent(`<extent><measure type="composition" unit="leaf" quantity="12">12 folios</measure><dimensions><height>200</height></dimensions></extent>`), "1–12: 12", ""},
		{"dimensions beside", extent("<extent>Bl. 12, 200 × 140 mm</extent>"), "1–12: 12", ""},
		{"raised figures", extent(`<extent>ff. 14</extent><collation><p>1<hi rend="superscript">8</hi> 2<hi rend="superscript">8-2</hi> (wants 3 and 6)</p></collation>`), "1⁸ 2⁸⁻² (wants 3 and 6)", ""},
		{"a formula with a word before", extent(`<extent>ff. 14</extent><collation>Collation: 1–2⁸⁻¹ (wants 1). Catchwords survive.</collation>`), "1⁸⁻¹ (wants 1) 2⁸⁻¹ (wants 1)", ""},
		{"a formula in prose, with strokes and folios", extent(`<extent>i + 25 + i</extent><collation>Mostly in quires of 8 leaves: I<hi rend="superscript">6</hi> (fols. 1-6) | II<hi rend="superscript">8</hi> (fols. 7-14), III<hi rend="superscript">6-1</hi> (6th leaf cut out after fol. 19) (fols. 15-19) | IV<hi rend="superscript">6</hi> (fols. 20-25); no catchwords visible.</collation>`), "i I⁶ II⁸ III⁵ IV⁶ i", ""},
		{"catchwords beside the formula", extent(`<extent>ff. 16</extent><collation>1-2:8 <catchwords>Catchwords survive on most quires</catchwords></collation>`), "1–2⁸", ""},
		{"what is wrong in a formula", extent(`<extent>ff. 15</extent><collation>Collation: 1⁸ 2⁸⁻¹ (wants 9)</collation>`), "1–15: 15",
			"the collation “Collation: 1⁸ 2⁸⁻¹ (wants 9)”: “2^8-1 (wants 9)” cannot be read there; write it such as 1–3⁸ 4⁸⁻¹ (wants 3) 5¹⁰, flyleaves as ii; the leaves are in no quire: enter the quires in leaves.csv"},
		{"an added flyleaf", extent(`<extent>ff. 15</extent><collation>1⁸ 2⁶⁺¹ (1st leaf an added flyleaf)</collation>`), "1⁸ 2⁶⁺¹ (+1 leaf before 1, f. 9)", ""},
		{"words of what is wanting", extent(`<extent>ff. 13</extent><collation>1(8-1, fourth leaf missing after fol. 3) (fols. 1-7), 2(6) (misbound) (fols. 8-13)</collation>`), "1⁸⁻¹ (wants 4) 2⁶", ""},
		{"a beginning that can be read", extent(`<extent>ff. 24</extent><collation>1-2:8, 3 of uncertain make</collation>`), "1–2⁸ [8 leaves in no known quire]",
			"the collation from “3 of uncertain make”: it cannot be read from there; the leaves after 16 are in no quire: enter their quires in leaves.csv"},
		{"a list of quires", extent(`<extent><measure unit="leaf">18</measure></extent><collation><list><item n="1"><dim unit="leaf">8</dim><locus from="1" to="8"/></item><item n="2"><locus from="9r" to="18v"/></item></list></collation>`), "1⁸ 2¹⁰", ""},
		{"leaves lost beside a collation of those there", extent(`<extent>ff. 16</extent><collation>1–2<hi rend="superscript">8</hi></collation><condition>One leaf is gone after fol. 3.</condition>`), "1⁹⁻¹ (wants 4) 2⁸", ""},
		{"a collation by folios", extent(`<extent>ff. 14</extent><collation>(fols. 1–8) I (8) | (fols. 9–14) II (8−2) missing 3 and 4 (a bifolium is lost after fol. 10)</collation>`), "I⁸ II⁸⁻² (wants 3 and 4)", ""},
		{"a collation by folios with roman numbers, and one that does not come to its leaves", extent(`<extent>ii + 22</extent><collation>(fols. ii–3) I (4−1) missing 1 | (fols. 4–11) II (8) | (fols. 12–18) III (8) | (fols. 19–22) IV (4)</collation>`), "i I⁵⁻¹ (wants 1) II⁸ [7 leaves in no known quire] IV⁴",
			"the collation “(fols. 12–18) III (8)”: it does not come to the leaves that it is said to have; enter them in leaves.csv"},
		{"a bifolium at each end", extent(`<extent>ii + 23 + ii</extent><collation>A bifolium at each end, 1<hi rend="superscript">12</hi>, 2<hi rend="superscript">12</hi>(12 canc.), catchwords</collation>`), "ii 1¹² 2¹²⁻¹ (12 cancelled) ii", ""},
		{"quires by their sheets with the leaf each ends on", extent(`<extent>20 ff.</extent><collation>Primarily quaternions. 2IV(16)1II(20). Catchwords.</collation>`), "1–2⁸ 3⁴", ""},
		{"so many of a size, and flyleaves", extent(`<extent>ii + 20 + ii</extent><collation>1 × 2 (ii), 2 × 8 (16), 1 × 4 (20), 1 × 2 (22)</collation>`), "ii 1–2⁸ 3⁴ ii", ""},
		{"quires behind the leaf each begins on", extent(`<extent>22 leaves</extent><collation>(fol. 1) i–ii 8, (fol. 17) iii 8 (1, 8 missing)</collation>`), "I–II⁸ III⁸⁻² (wants 1 and 8)", ""},
		{"the leaves of a part by their numbers", extent(`<extent>ff. 5-14</extent>`), "1–10: 10", ""},
		{"lost leaves", extent(`<extent>ff. 8</extent><condition>Two leaves are gone after fol. 3. No leaf is missing after fol. 5.</condition>`), "1–8: 10", ""},
		{"pages counted", extent(`<extent>1052 pages</extent>`), "1–526: 526", ""},
		{"a count in an attribute", extent(`<extent n="153"/>`), "1–153: 153", ""},
		{"a measure with text", extent(`<extent><measure unit="leaf">88</measure><measure unit="leaf" type="blank">2</measure></extent>`), "1–88: 88", ""},
		{"an element for the formula", extent(`<extent>ff. 16</extent><collation><p>Quires of eight. <formula>1-2:8</formula></p></collation>`), "1–2⁸", ""},
		{"flyleaves outside the formula", extent(`<extent>ii + 16 + i</extent><collation>1-2:8</collation>`), "ii 1–2⁸ i", ""},
		{"flyleaves inside the formula", extent(`<extent>ii + 16 + i</extent><collation>ii 1–2⁸ i</collation>`), "ii 1–2⁸ i", ""},
		{"flyleaves in the formula alone", extent(`<extent>ff. 16</extent><collation>ii 1–2⁸ i</collation>`), "ii 1–2⁸ i", ""},
		{"no count", extent(`<collation>1-2:8</collation>`), "1–2⁸", ""},
		{"a formula that does not add up", extent(`<extent>ff. 15</extent><collation>1-2:8</collation>`), "1–15: 15",
			"the collation “1-2:8”: it makes 16 leaves and the record counts 15; the leaves are in no quire: enter the quires in leaves.csv"},
		{"a formula by sheets", extent(`<extent>24 Bl.</extent><collation>3 IV²⁴</collation>`), "1–3⁸", ""},
		{"a formula by sheets whose folio is another", extent(`<extent>24 Bl.</extent><collation>3 IV²³</collation>`), "1–24: 24",
			"the collation “3 IV²³”: it cannot be read as a formula such as 1–3⁸ 4⁸⁻¹ (wants 3) 5¹⁰; the leaves are in no quire: enter the quires in leaves.csv"},
		{"quires of one name", extent(`<extent>ff. 16</extent><collation>1⁸ 1⁸</collation>`), "1–16: 16",
			"the collation “1⁸ 1⁸”: quire 1 stands twice in the collation; give each quire a label of its own; the leaves are in no quire"},
	} {
		t.Run(test.name, func(t *testing.T) {
			got := read(t, record("", test.physical))
			if got.Err != nil || len(got.Books) != 1 {
				t.Fatalf("%v: %d books\n%s", got.Err, len(got.Books), got.Account)
			}
			if diff := cmp.Diff(test.want, shape(got.Books[0])); diff != "" {
				t.Errorf("%s\n%s", diff, got.Account)
			}
			left := ""
			for _, e := range got.Account.Left {
				left += e.What + ": " + e.Words
			}
			if left != test.left {
				t.Errorf("left: %s", left)
			}
		})
	}
}

// shape is a book's collation, or, where no quire is known, its first and last
// labels and the number of its leaves.
func shape(b *codex.Book) string {
	if c := b.Collation(); c != "" {
		return c
	}
	return fmt.Sprintf("%s–%s: %d", b.Leaves[0].Label, b.Leaves[len(b.Leaves)-1].Label, len(b.Leaves))
}

func TestMaterialAndSides(t *testing.T) {
	for words, want := range map[string]string{
		`<supportDesc material="perg"/>`: "parchment", `<supportDesc material="chart"/>`: "paper", `<supportDesc><support>Vellum (HSOS)</support></supportDesc>`: "parchment|hair",
		`<supportDesc><support><p>Pergamena; flesh side outside</p></support></supportDesc>`: "parchment|flesh", `<supportDesc material="mixed"/>`: "", `<supportDesc><support>Papier</support></supportDesc>`: "paper",
		`<supportDesc><support><material>Parchment</material> and <material>paper</material></support></supportDesc>`: "", `<supportDesc><support>Silk</support></supportDesc>`: "",
	} {
		got := read(t, record(`<msContents><msItem><locus>1r</locus><title>Prayer</title></msItem></msContents>`, "<physDesc><objectDesc>"+words+"</objectDesc></physDesc>"))
		if cells := cataloguetest.Cells(got.Tables.Books, "material", "outer"); cells != want {
			t.Errorf("%s is %q", words, cells)
		}
		if want == "" && len(got.Account.Left) == 0 {
			t.Errorf("%s: nothing is left", words)
		}
	}
}

// Notes on decoration: what stands on which page.
func TestDecoration(t *testing.T) {
	for _, test := range []struct{ name, note, want string }{
		{"a picture", `<decoNote type="miniature"><locus from="3r" to="3r"/>David in prayer</decoNote>`, "3r|yes|David in prayer"},
		{"an initial with a scene", `<decoNote type="initial" subtype="historiated"><locus>3r</locus>: David</decoNote>`, "3r|yes|David"},
		{"several places and one subject", `<decoNote type="miniature">The arms of the owner, <locus>3r</locus>, <locus>4v</locus> and <locus>6r</locus>.</decoNote>`,
			"3r|yes|The arms of the owner\n4v|yes|The arms of the owner\n6r|yes|The arms of the owner"},
		{"a list", `<decoNote type="illustration"><list><item>Folio <locus>1r</locus>: Porticus.</item><item>Folio <locus>1v</locus>: Cross</item></list></decoNote>`, "1r|yes|Porticus\n1v|yes|Cross"},
		{"in words", `<decoNote type="miniature">fol. 3r Annunciation; fol. 4v Visitation</decoNote>`, "3r|yes|Annunciation\n4v|yes|Visitation"},
		{"in words, at the end", `<decoNote type="miniature">Full-page miniatures on fols. 3r, 4v.</decoNote>`, "3r|yes|Full-page miniatures\n4v|yes|Full-page miniatures"},
		{"in words, behind a colon", `<decoNote type="miniature">Ganzseitige Miniatur: Bl. 3r</decoNote>`, "3r|yes|Ganzseitige Miniatur"},
		{"a page that it is only like", `<decoNote type="miniature">A miniature like fol. 3r of another book</decoNote>`, ""},
		{"in the middle of a sentence", `<decoNote>Miniature of the Cross on fol. 3r with figures in ink.</decoNote>`, "3r|yes|Miniature of the Cross"},
		{"a list with subjects in brackets", `<decoNote>Full-page miniatures, fols. 3r (Nativity), 4v (Flight into Egypt), framed in gold.</decoNote>`, "3r|yes|Nativity\n4v|yes|Flight into Egypt"},
		{"pages for example", `<decoNote>Good miniatures, e.g. fols 3r, 4v and 5r.</decoNote>`, "3r|yes|Good miniatures\n4v|yes|Good miniatures\n5r|yes|Good miniatures"},
		{"a picture that is not there", `<decoNote>A miniature was cut out on fol. 3r with its border.</decoNote>`, ""},
		{"openings", `<decoNote>There are full-page miniatures on ff. 1v–2r, 4r, and a border in gold on the others.</decoNote>`, "1v|yes|There are full-page miniatures\n2r|yes|There are full-page miniatures\n4r|yes|There are full-page miniatures"},
		{"by a hand that signs", `<decoNote>B (signing ‘Osyth’, fol. 6v): miniatures on fols. 3r, 4v, unfinished.</decoNote>`, "3r|yes|miniatures\n4v|yes|miniatures"},
		{"pages in brackets, with subjects", `<decoNote type="histInit">Initials with saints at the beginning of prayers (Osyth, blessing, fol. 3r), (Alban, with a sword, fol. 4v), some rubbed.</decoNote>`, "3r|yes|Osyth, blessing|histInit\n4v|yes|Alban, with a sword|histInit"},
		{"a place behind brackets", `<decoNote type="miniature">fol. 3r Sacrifice; worn (by lips) f. 4r Christ with a book</decoNote>`, "3r|yes|Sacrifice\n4r|yes|Christ with a book"},
		{"an ornamental band beside a picture", `<decoNote>1 full-page miniature of a saint, fol. 1v; Ḥarag, fol. 2r, 4v</decoNote>`, "1v|yes|1 full-page miniature of a saint\n2r|||ḥarag\n4v|||ḥarag"},
		{"the text that it opens first, in brackets", `<decoNote type="miniature">(fol. 3r, Hours of the Virgin, Lauds) Visitation (Master of Osyth, repainted)</decoNote>`, "3r|yes|Visitation (Master of Osyth, repainted) (Hours of the Virgin, Lauds)"},
		{"what is said stands in front", `<decoNote type="miniature"><locus>3r</locus> Annunciation. <locus>4r</locus> Visitation. With animals including a frog <locus>(fol. 3r)</locus>, a squirrel <locus>(fol. 4r)</locus>, a snail <locus>(fol. 5r)</locus>, and birds.</decoNote>`, "3r|yes|Annunciation; a frog\n4r|yes|Visitation. With animals including a frog; a squirrel\n5r|yes|a snail"},
		{"notes of a kind", `<decoNote type="histInit">Two historiated initials: <decoNote><locus>2r</locus>: Osyth writing</decoNote><decoNote><locus>3r</locus>: Alban</decoNote></decoNote>`, "2r|yes|Osyth writing|histInit\n3r|yes|Alban|histInit"},
		{"a heading and its notes", `<decoNote type="border">Borders, <locus>1r</locus></decoNote><decoNote type="histInit">Two historiated initials: <locus>2r</locus>: Osyth</decoNote><decoNote><locus>4r</locus>: fern</decoNote><decoNote type="histInit">Historiated initials, as follows:</decoNote><decoNote><locus>3r</locus>: Alban</decoNote>`, "1r|||border\n2r|yes|Osyth|histInit\n3r|yes|Alban|histInit\n4r|||decoration"},
		{"names in references alone", `<decoNote type="miniature"><locus target="#3r"/><desc><ref type="authFile" corresp="AT1031VirginAndChild"/> and <persName ref="PRS4585George"/> with a caption</desc></decoNote>`, "3r|yes|Virgin And Child and George with a caption"},
		{"ornament called a miniature", `<decoNote type="miniature"><locus>Fol. 3r</locus>: Ornamental band in red</decoNote>`, "3r|||ornamental band"},
		{"no type", `<decoNote>Miniature of the Annunciation, <locus>3r</locus></decoNote>`, "3r|yes|Miniature of the Annunciation"},
		{"other decoration", `<decoNote>Bordure, <locus>3r</locus></decoNote>`, "3r|||bordure"},
		{"notes in a note", `<decoNote>All by one hand.<decoNote type="border"><locus>2r</locus></decoNote><decoNote type="miniature"><locus>3r</locus>Nativity</decoNote></decoNote>`, "2r|||border\n3r|yes|Nativity"},
		{"two on a page", `<decoNote type="miniature"><locus>3r</locus>Nativity</decoNote><decoNote type="miniature"><locus>3r</locus>Shepherds</decoNote>`, "3r|yes|Nativity; Shepherds"},
		{"a list of labels behind a page", `<decoNote type="miniature"><p>Fine miniatures</p><list type="gloss"><head>fol. 3r</head><label>Type</label><item>miniature</item><label>Subject</label><item>St Osyth; birds</item></list></decoNote>`, "3r|yes|miniature. St Osyth"},
		{"a paragraph outside notes", `<p>F. 1v: an illuminated heading. F. 3r: a painting of two riders, smeared out.</p>`, "1v|||illuminated heading\n3r|yes|a painting of two riders, smeared out"},
		{"the nearest noun", `<decoNote>A headpiece (f. 1v), and two paintings including a double frontispiece (ff. 2v-3r), with gold.</decoNote>`, "1v|||headpiece\n2v|yes|two paintings including a double frontispiece\n3r|yes|two paintings including a double frontispiece"},
		{"a margin in front", `<decoNote type="drawing">On the margin of fol. 4v is a drawing of a monk asleep.</decoNote>`, "4v|yes|a drawing of a monk asleep"},
		{"nothing but a drawing", `<decoNote>Not decorated, only a drawing of a face on fol. 4v</decoNote>`, "4v|yes|Not decorated, only a drawing of a face"},
		{"a picture in a note on borders", `<decoNote type="border">A small miniature of the author is in the lower border of fol. 1r.</decoNote>`, "1r|yes|A small miniature of the author"},
		{"pages one by one", `<decoNote type="illustration">Drawings on fols. 1r, 1v, 2r, 4v.</decoNote>`, "1r|yes|Drawings\n1v|yes|Drawings\n2r|yes|Drawings\n4v|yes|Drawings"},
		{"over a few pages", `<decoNote type="illustration">Drawings of flasks on fols. 1v-2v.</decoNote>`, "1v|yes|Drawings of flasks\n2r|yes|Drawings of flasks\n2v|yes|Drawings of flasks"},
		{"pages of another book", `<decoNote type="miniature">The master is named after the portrait in BnF MS. fr. 166, fol. 3r, of another town.</decoNote>`, ""},
		{"a full page of ornament", `<decoNote><locus>3r</locus>: full-page illumination with the first words</decoNote>`, "3r|||decoration"},
		{"words that lead to a locus", `<decoNote>Illumination (an illuminated heading on folio <locus>1v</locus>, with two miniatures on folios <locus>3r</locus> (a camp) and <locus>4v</locus> (Osyth visited).</decoNote>`, "1v|||illuminated heading\n3r|yes|a camp\n4v|yes|Osyth visited"},
		{"over several pages", `<decoNote type="miniature"><locus from="1r" to="6v"/>Labours</decoNote>`, ""},
		{"no place", `<decoNote type="miniature">One full-page miniature</decoNote>`, ""},
	} {
		t.Run(test.name, func(t *testing.T) {
			got := read(t, record(`<msContents/>`, "<physDesc><objectDesc><supportDesc><extent>6 leaves</extent></supportDesc></objectDesc><decoDesc>"+test.note+"</decoDesc></physDesc>"))
			if diff := cmp.Diff(test.want, cataloguetest.Cells(got.Tables.Pages, "page", "picture", "subject", "decoration")); diff != "" {
				t.Error(diff)
			}
			if test.want == "" && len(got.Account.Left) != 1 {
				t.Errorf("left: %v", got.Account.Left)
			}
		})
	}
}
