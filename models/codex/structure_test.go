package codex_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"thumbed/models/codex"
)

// quired makes one book of leaves numbered from 1 in quires as described: each
// letter is a leaf, s a singleton, x a lost leaf, ? one whose half is not
// known, any other a leaf paired by position.
func quired(t testing.TB, outer string, quires ...string) *codex.Book {
	t.Helper()
	var leaves strings.Builder
	leaves.WriteString("book,leaf,quire,state,conjugate\n")
	n := 0
	for q, letters := range quires {
		label, described, found := strings.Cut(letters, ":")
		if !found {
			label, described = fmt.Sprint(q+1), letters
		}
		for _, letter := range described {
			n++
			state, conjugate := "", ""
			switch letter {
			case 's':
				conjugate = "singleton"
			case 'x':
				state = "lost"
			case '?':
				conjugate = "unknown"
			}
			fmt.Fprintf(&leaves, "hazel,%d,%s,%s,%s\n", n, label, state, conjugate)
		}
	}
	return tables{books: "book,outer\nhazel," + outer + "\n", leaves: leaves.String()}.load(t)[0]
}

// The formulas that N. R. Ker, Catalogue of Manuscripts Containing Anglo-Saxon
// (Oxford, 1957), p. xxii, explains, (a) to (c) and (e), as A. Winroth quotes
// them (Clavis canonum, “Quire formulas”), with the sum raised and the folio
// named as this program adds them.
func TestCollationKer(t *testing.T) {
	for _, test := range []struct{ explained, quire, want string }{
		{"(a) eight leaves, four conjugate pairs", "........", "1⁸"},
		{"(b) 3 and 6 are singletons, the others conjugate pairs", "..s..s..", "1⁸ (3 and 6 are singletons)"},
		{"(c) a seventh leaf lies between 5 and 6", ".....s.", "1⁶⁺¹ (+1 leaf after 5, f. 6)"},
		{"(e) wants 2", ".x......", "1⁸⁻¹ (wants 2)"},
	} {
		if got := quired(t, "", test.quire).Collation(); got != test.want {
			t.Errorf("%s: %s, not %s", test.explained, got, test.want)
		}
	}
}

func TestCollation(t *testing.T) {
	for _, test := range []struct {
		want   string
		quires []string
	}{
		{"1–3⁸ 4¹⁰", []string{"........", "........", "........", ".........."}},
		{"1⁸ 2⁸⁻¹ (wants 3) 3¹⁰", []string{"........", "..x.....", ".........."}},
		{"1⁸ 2⁸⁻³ (wants 1, 2 and 8) 3–4⁸", []string{"........", "xx.....x", "........", "........"}},
		{"1⁸⁻⁸ (wants 1–8) 2²", []string{"xxxxxxxx", ".."}},
		{"1⁴⁺² (+2 leaves after 3, ff. 4, 5)", []string{"...ss."}},
		{"1⁶ (3 and 4 are singletons)", []string{"..ss.."}}, // opposite each other
		{"1⁴⁺² (+1 leaf before 1, f. 1; +1 leaf after 3, f. 5)", []string{"s...s."}},
		{"1⁴⁻¹⁺¹ (wants 1; +1 leaf after 2, f. 3)", []string{"x.s.."}},
		{"1² (1 and 2 are singletons)", []string{"ss"}},
		{"1³ (1–3 are singletons)", []string{"sss"}},
		{"1¹", []string{"s"}},
		{"1⁷", []string{"......?"}},
		{"A–C⁸", []string{"A:........", "B:........", "C:........"}},
		{"i–l⁸", []string{"i:........", "k:........", "l:........"}},
		{"i–iii⁸ v⁸", []string{"i:........", "ii:........", "iii:........", "v:........"}},
		{"1⁸ 3⁸ 2⁸", []string{"1:........", "3:........", "2:........"}},
		{"z⁸ first⁸ B⁸ c⁸", []string{"z:........", "first:........", "B:........", "c:........"}},
	} {
		if got := quired(t, "", test.quires...).Collation(); got != test.want {
			t.Errorf("%v: %s, not %s", test.quires, got, test.want)
		}
	}
	if got := small.load(t)[0].Collation(); got != "ii 1⁸⁻¹ (wants 3) 2⁴⁺¹ (+1 leaf after 2, f. 9)" {
		t.Errorf("the small book: %s", got)
	}
	loose := tables{books: "book\nhazel\n", leaves: "book,leaf,quire,state,conjugate\nhazel,i,,,\nhazel,ii,,lost,\nhazel,1,1,,\nhazel,2,1,,\nhazel,3,,,\nhazel,4,,,\nhazel,5,2,,singleton\nhazel,,2,lost,singleton\nhazel,6,2,,\nhazel,7,2,,\n"}
	if got, want := loose.load(t)[0].Collation(), "ii (wants 2) 1² [2 leaves in no known quire] 2²⁺² (+2 leaves before 1, f. 5, 1 now lost)"; got != want {
		t.Errorf("%s, not %s", got, want)
	}
	none := tables{books: "book\nhazel\n", leaves: "book,leaf\nhazel,1\nhazel,2\n"}
	if got := none.load(t)[0].Collation(); got != "" {
		t.Errorf("no quire is known, but the collation is %s", got)
	}
}

// skins are the sides of a book's pages as letters: h, f, and - where not
// known, recto and verso together, leaf by leaf.
func skins(b *codex.Book) string {
	var out strings.Builder
	for page := range b.Pages {
		if page%2 == 0 && page > 0 {
			out.WriteByte(' ')
		}
		switch b.Skin(page) {
		case codex.Hair:
			out.WriteByte('h')
		case codex.Flesh:
			out.WriteByte('f')
		default:
			out.WriteByte('-')
		}
	}
	return out.String()
}

// Gregory's rule (1885; as handbooks give it, from memory): a quaternion with
// hair outside opens hair, then flesh faces flesh, hair faces hair, and it
// ends with hair.
func TestGregorysRule(t *testing.T) {
	for _, test := range []struct{ outer, quire, want string }{
		{"hair", "........", "hf fh hf fh hf fh hf fh"},
		{"flesh", "........", "fh hf fh hf fh hf fh hf"},
		{"flesh", "..........", "fh hf fh hf fh hf fh hf fh hf"}, // the quinion of Italian humanists, flesh outside
		{"hair", "..", "hf fh"},
		{"", "....", "-- -- -- --"},
		{"hair", "..x.....", "hf fh hf fh hf fh hf fh"}, // a lost leaf had its sides too
		{"hair", "..s....", "hf fh -- hf fh hf fh"},     // a leaf put in
		{"hair", "..s..s..", "hf fh -- fh hf -- hf fh"}, // half-sheets in place of the third sheet
		{"hair", ".....s.", "hf fh hf fh hf -- fh"},
		{"hair", "......?", "-- -- -- -- -- -- --"},
	} {
		if got := skins(quired(t, test.outer, test.quire)); got != test.want {
			t.Errorf("%s outside, %s: %s, not %s", test.outer, test.quire, got, test.want)
		}
	}
}

// What is seen stands: a stated side overrides the rule, its other half
// follows, and singletons have a side only so.
func TestStatedSides(t *testing.T) {
	x := tables{books: "book,material,outer\nhazel,parchment,hair\n", leaves: "book,leaf,quire,conjugate,recto\n" +
		"hazel,1,1,,\nhazel,2,1,,hair\nhazel,3,1,singleton,flesh\nhazel,4,1,,\nhazel,5,1,,\n" +
		"hazel,6,2,,\nhazel,7,2,,\nhazel,8,2,,\nhazel,9,2,,hair\n"}
	if got, want := skins(x.load(t)[0]), "hf hf fh fh fh fh fh hf hf"; got != want {
		t.Errorf("%s, not %s", got, want)
	}
}

func TestConjugates(t *testing.T) {
	x := tables{books: "book\nhazel\n", leaves: "book,leaf,quire,conjugate\n" +
		// Two sheets side by side inside a third, as stated; then by position
		// around a singleton.
		"hazel,1,1,\nhazel,2,1,3\nhazel,3,1,\nhazel,4,1,5\nhazel,5,1,4\nhazel,6,1,\n" +
		"hazel,7,2,\nhazel,8,2,\nhazel,9,2,singleton\nhazel,10,2,\nhazel,11,2,\n" +
		"hazel,12,3,unknown\nhazel,13,3,15\nhazel,14,3,\nhazel,15,3,\nhazel,16,,17\nhazel,17,,\n"}
	var got []int
	for _, leaf := range x.load(t)[0].Leaves {
		got = append(got, leaf.Conjugate+1)
	}
	if diff := cmp.Diff([]int{6, 3, 2, 5, 4, 1, 11, 10, 0, 8, 7, 0, 15, 0, 13, 17, 16}, got); diff != "" {
		t.Error(diff)
	}
}

func label(t testing.TB, text string) codex.PageLabel {
	t.Helper()
	got, err := codex.ParsePage(text)
	if err != nil {
		t.Fatal(err)
	}
	return got
}

func TestFind(t *testing.T) {
	b := small.load(t)[0]
	for text, want := range map[string]int{"ir": 0, "iv": 1, "iir": 2, "1r": 4, "3r": 10, "4bisv": 15, "[6]r": 18, "6r": 18, "11v": 29} {
		if got, ok := b.Find(label(t, text)); !ok || got != want {
			t.Errorf("%s is page %d (%v), not %d", text, got, ok, want)
		}
		if p := b.Pages[want]; p.Position != want+1 || p.Leaf != want/2 {
			t.Errorf("%s has position %d and leaf %d", text, p.Position, p.Leaf)
		}
	}
	for _, text := range []string{"12r", "iiir", "4terr"} {
		if _, ok := b.Find(label(t, text)); ok {
			t.Errorf("%s is found", text)
		}
	}
	if _, ok := b.Find(codex.PageLabel{}); ok {
		t.Error("no label finds the lost leaf without label")
	}
	for position, want := range map[int]bool{0: false, 1: true, 30: true, 31: false} {
		if page, ok := b.At(position); ok != want || ok && b.Pages[page].Position != position {
			t.Errorf("position %d: page %d, %v", position, page, ok)
		}
	}
	if s := b.Section(10); s == nil || s.Name != "Matins of the Virgin" || b.Section(0) != nil {
		t.Errorf("3r is in section %v", s)
	}
	if got := len(b.Present()); got != 28 {
		t.Errorf("%d pages are present, not 28", got)
	}
}

func TestNearestPage(t *testing.T) {
	b := small.load(t)[0]
	for text, want := range map[string]string{"12v": "11v", "4terr": "4r", "iiir": "iir", "9bisv": "9v", "6ar": "[6]r", "400r": "11r"} {
		if got, ok := b.Nearest(label(t, text)); !ok || got.String() != want {
			t.Errorf("nearest to %s is %s (%v), not %s", text, got, ok, want)
		}
	}
}

func TestOpenings(t *testing.T) {
	b := small.load(t)[0]
	for text, want := range map[string]string{"iv": "iir", "iir": "iv", "iiv": "1r", "4bisr": "4v", "[6]v": "7r",
		"ir": "", "11v": "", "2v": "", "3r": ""} { // the ends of the book; beside the lost leaf
		page, _ := b.Find(label(t, text))
		other, ok := b.Opening(page)
		got := ""
		if ok {
			got = b.Pages[other].Label.String()
		}
		if got != want {
			t.Errorf("%s faces %q, not %q", text, got, want)
		}
	}
	if _, ok := b.Opening(8); ok {
		t.Error("a lost page faces another")
	}
}

func TestGaps(t *testing.T) {
	b := quired(t, "", "xx..x...", "...x")
	want := []codex.Gap{
		{From: 1, To: 4, Leaves: 2, Labels: []codex.Folio{arabic(1), arabic(2)}},
		{From: 9, To: 10, Leaves: 1, Labels: []codex.Folio{arabic(5)}},
		{From: 23, To: 24, Leaves: 1, Labels: []codex.Folio{arabic(12)}}}
	if diff := cmp.Diff(want, b.Gaps()); diff != "" {
		t.Error(diff)
	}
	if diff := cmp.Diff([]codex.Gap{{From: 9, To: 10, Leaves: 1}}, small.load(t)[0].Gaps()); diff != "" {
		t.Error(diff)
	}
}

// The order is the book's, whatever the numbers: a misbound quire.
func TestPhysicalOrder(t *testing.T) {
	x := tables{books: "book\nhazel\n", leaves: "book,leaf,quire\nhazel,9,2\nhazel,10,2\nhazel,1,1\nhazel,2,1\n",
		sections: "book,section,kind,extent\nhazel,Psalms,psalms,\"ff. 1v–2v, 9r\"\nhazel,Calendar,calendar,ff. 10r–1r\n"}
	b := x.load(t)[0]
	var got []string
	for _, s := range b.Sections {
		text := s.Name + ":"
		for _, page := range s.Pages {
			text += " " + b.Pages[page].Label.String()
			if b.Pages[page].Incipit {
				text += "!"
			}
			text += fmt.Sprint("/", b.Pages[page].SectionPlace)
		}
		got = append(got, text)
	}
	// The psalms begin on 1v although their page 9r stands first.
	want := []string{"Psalms: 9r/4 1v!/1 2r/2 2v/3", "Calendar: 10r!/1 10v/2 1r/3"}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

// A section whose first leaf is lost has no incipit page left.
func TestLostIncipit(t *testing.T) {
	x := tables{books: "book\nhazel\n", leaves: "book,leaf,quire,state\nhazel,1,1,lost\nhazel,2,1,\n",
		sections: "book,section,kind,extent\nhazel,Psalms,psalms,ff. 1r–2v\n"}
	f := codex.Features(x.load(t))
	if diff := cmp.Diff([]string{"no", "no"}, f.Column("incipit").Text()); diff != "" {
		t.Error(diff)
	}
	if diff := cmp.Diff([]float64{3, 4}, f.Column("section_page").Numbers); diff != "" {
		t.Error(diff)
	}
}
