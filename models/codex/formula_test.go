package codex_test

import (
	"errors"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"thumbed/models/codex"
)

// Written formulas and how they print here.
func TestParseFormula(t *testing.T) {
	for text, want := range map[string]string{
		"1⁸ 2⁸⁻¹ 3¹⁰⁺² iv":                        "1⁸ 2⁸⁻¹ 3¹⁰⁺² iv",
		"ii 1–3⁸ 4⁸⁻¹ (wants 3) 5¹⁰":              "ii 1–3⁸ 4⁸⁻¹ (wants 3) 5¹⁰",
		"1^8 2^8-1, 3^10+2":                       "1⁸ 2⁸⁻¹ 3¹⁰⁺²",
		"1-9 (8), 10 (6), 11-20 (8), 21 (7)":      "1–9⁸ 10⁶ 11–20⁸ 21⁷",
		"I-III8, IV10, V-IX8":                     "I–III⁸ IV¹⁰ V–IX⁸",
		"A–C⁸ D⁶":                                 "A–C⁸ D⁶",
		"i–l⁸":                                    "i–l⁸",
		"i–iii⁸":                                  "i–iii⁸",
		"1⁸⁻¹⁺¹ (wants 1; +1 leaf after 2, f. 3)": "1⁸⁻¹⁺¹ (wants 1; +1 leaf after 2, f. 3)",
		"1⁸⁻³ (wants 2)":                          "1⁸⁻³ (wants 2)",
		"[2 leaves in no known quire] 1⁸":         "[2 leaves in no known quire] 1⁸",
		// N. R. Ker, Catalogue of Manuscripts Containing Anglo-Saxon (1957),
		// p. xxii, as A. Winroth quotes him (Clavis canonum, “Quire
		// formulas”): cases (b) to (e).
		"1⁸ 3 and 6 are singletons":       "1⁸ (3 and 6 are singletons)",
		"1⁶ (+1 leaf after 5)":            "1⁶⁺¹ (+1 leaf after 5)",
		"1⁶ (+1 leaf inserted after 5)":   "1⁶⁺¹ (+1 leaf after 5)",
		"1⁸ wants 2":                      "1⁸⁻¹ (wants 2)",
		"1⁸ wants 2, 2⁸ wants 3, 4, 3–4⁶": "1⁸⁻¹ (wants 2) 2⁸⁻² (wants 3 and 4) 3–4⁶",
		// Examples of formula and collation in the TEI P5 Guidelines.
		"1-3:8, 4:6, 5-13:8": "1–3⁸ 4⁶ 5–13⁸",
		// The second with the quire 10 that its own folio asks for; see
		// TestFormulaDisagrees.
		"1-5.8 6.6 (catchword, f. 46, does not match following text) 7-8.8 9.10, 10.8 11.2 (through f. 82) 12-14.8 15.8(-7)": "1–5⁸ 6⁶ (catchword, f. 46, does not match following text) 7–8⁸ 9¹⁰ 10⁸ 11² 12–14⁸ 15⁸⁻¹ (wants 7)",
	} {
		got, err := codex.ParseFormula(text)
		if err != nil || got.String() != want {
			t.Errorf("%q is %q (%v), not %q", text, got, err, want)
		}
	}
}

func TestParseFormulaParts(t *testing.T) {
	got, err := codex.ParseFormula("ii 1–2⁸ 3⁸⁻²⁺³ (wants 1; +2 leaves after 4, ff. 21, 22, 1 now lost; stained) B⁴ (1–4 are singletons)")
	if err != nil {
		t.Fatal(err)
	}
	want := codex.Formula{
		{Leaves: 2, Flyleaves: true}, {Label: "1", Leaves: 8}, {Label: "2", Leaves: 8},
		{Label: "3", Leaves: 8, Wants: []int{1}, Lacking: 1, Extra: 1, Remarks: []string{"stained"},
			Added: []codex.Addition{{After: 4, Leaves: 2, Lost: 1, Labels: []codex.Folio{arabic(21), arabic(22)}}}},
		{Label: "B", Leaves: 4, Singletons: []int{1, 2, 3, 4}},
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

func TestParseFormulaBroken(t *testing.T) {
	for text, part := range map[string]string{
		"":                     "",
		"  ,":                  "",
		"1–4⁸ ?":               "?",
		"eight leaves":         "eight leaves",
		"1":                    "1",
		"1-48":                 "1-48",
		"3–1⁸":                 "3-1^8",
		"A–3⁸":                 "A-3^8",
		"1⁰":                   "1^0",
		"1⁸ (wants 9)":         "1^8 (wants 9)",
		"1⁸ (wants 2, 2)":      "1^8 (wants 2, 2)",
		"1⁸⁻¹ (wants 1 and 2)": "1^8-1 (wants 1 and 2)",
		"1⁸⁻⁹":                 "1^8-9",
		"1⁸ (+1 leaf after 9)": "1^8 (+1 leaf after 9)",
		"1⁹⁹⁹⁹⁹⁹⁹⁹⁹⁹⁹⁹⁹⁹⁹⁹⁹⁹⁹⁹⁹": "1^999999999999999999999",
		"1-999999⁸": "1-999999^8",
	} {
		_, err := codex.ParseFormula(text)
		var label *codex.LabelError
		if !errors.As(err, &label) {
			t.Errorf("%q: %v", text, err)
			continue
		}
		if label.Value != text || !strings.Contains(label.Remedy, part) || part != "" && !strings.HasPrefix(label.Remedy, "“"+part[:min(len(part), 20)]) {
			t.Errorf("%q: %v", text, err)
		}
	}
}

// The formula of any book prints and reads back as the same formula.
func TestFormulaRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		want := drawBook(t).Formula()
		got, err := codex.ParseFormula(want.String())
		if err != nil {
			t.Fatalf("%s: %v", want, err)
		}
		if diff := cmp.Diff(want, got); diff != "" {
			t.Fatalf("%s: %s", want, diff)
		}
	})
}

// Formulas as catalogues print them, with the leaves that their own foliation
// counts.
func TestPublishedFormulas(t *testing.T) {
	for _, c := range []struct {
		source, text, want string
		leaves             int
	}{
		{"IRHT, La lettre volée, “Composition des cahiers”, without the words on each quire",
			"1² (f. 1-2), 2⁴ (f. 3-6), 3⁸-9⁸ (f. 7-62), 10⁶ (f. 63-68), 11⁴ (6 - 2) (f. 69-72), 12⁸ (6 + 2) (f. 73-80), 13⁶ (8 - 2) (f. 81-86), 14⁶ (f. 87-92), 15⁵ (8 - 3) (f. 93-97)",
			"1² 2⁴ 3–9⁸ 10⁶ 11⁶⁻² 12⁶⁺² 13⁸⁻² 14⁶ 15⁸⁻³", 97},
		{"IRHT, the library of Saint-Bertin, Saint-Omer 502", "5VI⁶⁰ + V⁷⁰ + 20VI³¹⁰ + IV³¹⁸", "1–5¹² 6¹⁰ 7–26¹² 27⁸", 318},
		{"the same, its figures brought down", "5VI60 + V70 + 20VI310 + IV318", "1–5¹² 6¹⁰ 7–26¹² 27⁸", 318},
		{"manuscripta.at, description 57, a prayer book of Klosterneuburg", "2² + (VI+1)¹⁵ + 16.VI²⁰⁷ + 2.V²²⁷ + 4.VI²⁷⁵ + V²⁸⁵ + 3²⁸⁸",
			"1² (1 and 2 are singletons) 2¹²⁺¹ 3–18¹² 19–20¹⁰ 21–24¹² 25¹⁰ 26³ (1–3 are singletons)", 288},
		{"manuscripta.at, description 28501", "(I+1)^III + 23.VI²⁷⁶ + V²⁸⁶", "iii 2–24¹² 25¹⁰", 286},
		{"B. Lesser, Die mittelalterlichen Helmstedter Handschriften 2 (2022), Cod. Guelf. 360 Helmst.", "IX (18). 6 VI (90). VIII (106).", "1¹⁸ 2–7¹² 8¹⁶", 106},
		{"IRHT, Jonas, manuscript 30488, the quires without a doubt on them", "3 quaternions (ff. 1-24), 2 quinions (ff. 25-44), 3 quaternions (45-68), 1 quinion (69-78)", "1–3⁸ 4–5¹⁰ 6–8⁸ 9¹⁰", 78},
		{"K. V. Sinclair, Descriptive Catalogue of Medieval and Renaissance Western Manuscripts in Australia (1969), p. 9, as M. Tillotson quotes it", "(6)1 (8)2-4 (2)5 (7)6 (8)7-15", "1⁶ 2–4⁸ 5² 6⁷ 7–15⁸", 111},
		{"University of Pennsylvania, LJS 24, its proposed formula", "1 (12), 2 (2+1), 3 (10), 4 (12), 5 (12), 6 (12), 7 (12), 8 (12, -12), 9 (12, -7, -8), 10 (12), 11 (12), 12 (12), 13 (12), 14 (10, -8, -9, -10)",
			"1¹² 2²⁺¹ 3¹⁰ 4–7¹² 8¹²⁻¹ (wants 12) 9¹²⁻² (wants 7 and 8) 10–13¹² 14¹⁰⁻³ (wants 8–10)", 149},
		{"L. Hanna, Studies in Bibliography 37 (1984), p. 122, a quire of Add. 31042, its folios counted from 1", "3²² (—22; ff. 1-21)", "3²²⁻¹ (wants 22)", 21},
		{"F. Bowers, Principles (1949), chapter 5, the forms from memory", "4°: π⁴ A–Z⁸ χ1 Aa–Cc⁸ Dd⁴(−Dd4) 2χ²", "π⁴ A–Z⁸ χ¹ Aa–Cc⁸ Dd⁴⁻¹ (wants 4) 2χ²", 4 + 184 + 1 + 24 + 3 + 2},
		{"the same", "A⁴(±A3) B⁸(B4+χ1) C–D⁸(−C2,7)", "A⁴⁻¹⁺¹ (3 cancelled; +1 leaf after 3) B⁸⁺¹ (+1 leaf after 4) C⁸⁻² (wants 2 and 7) D⁸", 4 + 9 + 6 + 8},
	} {
		formula, err := codex.ParseFormula(c.text)
		if err != nil {
			t.Errorf("%s: %v", c.source, err)
			continue
		}
		if _, leaves := formula.Counted(); formula.String() != c.want || leaves != c.leaves {
			t.Errorf("%s: %s is read as %s of %d leaves; want %s of %d", c.source, c.text, formula, leaves, c.want, c.leaves)
		}
	}
}

// Variants whose reading is common practice, no source beside those of
// [codex.ParseFormula].
func TestFormulaVariants(t *testing.T) {
	for text, want := range map[string]string{
		"1⁸⁽⁺¹⁾ 2⁸⁽⁻¹⁾":                          "1⁸⁺¹ 2⁸⁻¹",
		"1(8, wants 3) 2(10)":                    "1⁸⁻¹ (wants 3) 2¹⁰",
		"i-iv8 v6":                               "i–iv⁸ v⁶",
		"1–14⁸, 15⁸ (wants 8)":                   "1–14⁸ 15⁸⁻¹ (wants 8)",
		"a8 b8 (-b3)":                            "a⁸ b⁸⁻¹ (wants 3)",
		"A–C⁸ D⁶(D3 cancelled)":                  "A–C⁸ D⁶⁻¹ (3 cancelled)",
		"A–F⁸ (−B3) G⁴ (G2+1)":                   "A⁸ B⁸⁻¹ (wants 3) C–F⁸ G⁴⁺¹ (+1 leaf after 2)",
		"1–3⁸ 4⁸ lacks 4, after f. 27, 5⁸":       "1–3⁸ 4⁸⁻¹ (wants 4) 5⁸",
		"1–3⁸ 4⁸ (wants one leaf after f. 27)":   "1–3⁸ 4⁸⁻¹ (wants 4)",
		"1–3⁸ 4⁸ wants two leaves after 3":       "1–3⁸ 4⁸⁻² (wants 4 and 5)",
		"1⁸ (missing iii and vi)":                "1⁸⁻² (wants 3 and 6)",
		"1⁸ (of 8, lacking i)":                   "1⁸⁻¹ (wants 1)",
		"1⁸ wants 8, probably blank":             "1⁸⁻¹ (wants 8; probably blank)",
		"1⁸ +1 leaf after 3, 2⁸":                 "1⁸⁺¹ (+1 leaf after 3) 2⁸",
		"1⁸ (one leaf added after 3)":            "1⁸⁺¹ (+1 leaf after 3)",
		"1⁸ (8 canc.) 2⁶ (6 a stub)":             "1⁸⁻¹ (8 cancelled) 2⁶⁻¹ (wants 6)",
		"ii + 120 + i":                           "ii [120 leaves in no known quire] i",
		"ii + 1–15⁸ + i":                         "ii 1–15⁸ i",
		"1–10⁸ (fols. 1–80) = 80 leaves":         "1–10⁸",
		"1¹⁰ (—2; ff. 1-8)":                      "1¹⁰⁻²",
		"1¹⁰ (—2; ff. 1-9)":                      "1¹⁰⁻¹ (wants 2)",
		"A–F⁸/⁴ G²":                              "A⁸ B⁴ C⁸ D⁴ E⁸ F⁴ G²",
		"¶⁸ 2¶⁸ *⁴ ²A–²C⁸":                       "¶⁸ 2¶⁸ *⁴ ²A–²C⁸",
		"1⁸ (torn) 2⁸ (clasp lost)":              "1⁸ (torn) 2⁸ (clasp lost)",
		"(V-1⁸)⁹ + V¹⁹":                          "1¹⁰⁻¹ (wants 8) 2¹⁰",
		"3 IV(24) + (IV-1)31":                    "1–3⁸ 4⁸⁻¹",
		"4 quaternions, 1 ternion et 2 quinions": "1–4⁸ 5⁶ 6–7¹⁰",
	} {
		formula, err := codex.ParseFormula(text)
		if err != nil || formula.String() != want {
			t.Errorf("%s is read as %s (%v); want %s", text, formula, err, want)
		}
	}
}

// Alphabets: 23 letters, and j, u and w where the formula names them; doubled
// letters go on where z ends.
func TestSignatures(t *testing.T) {
	for text, leaves := range map[string]int{
		"A–Z²": 46, "A–I² K–Z²": 46, "H–I² J² K–L²": 10, "T² U² X²": 6, "T–V² W² X²": 8, "S–X² W⁴": 14,
		"A–Aa²": 48, "a–bb²": 50, "A–2C²": 52, "Y–CC²": 10, "2A–2C²": 6, "²A–²C²": 6, "i–l²": 6, "aa–ff²": 12,
	} {
		formula, err := codex.ParseFormula(text)
		if err != nil {
			t.Errorf("%s: %v", text, err)
			continue
		}
		if _, n := formula.Counted(); n != leaves {
			t.Errorf("%s has %d leaves, not %d", text, n, leaves)
		}
	}
}

// What a formula states of folios and leaves in all must be what its quires come
// to; the place is told where it is not. So is what may be read in two ways.
func TestFormulaDisagrees(t *testing.T) {
	for text, words := range map[string]string{
		// The TEI P5 Guidelines' example, from which a quire 10 of 8 is missing.
		"1-5.8 6.6 (catchword, f. 46, does not match following text) 7-8.8 9.10, 11.2 (through f. 82) 12-14.8 15.8(-7)": "quire 11 ends on f. 74 by the number of leaves, and f. 82 is stated",
		// IRHT, Jonas, manuscript 77355: “must be checked at the original”.
		"2*(IV)16 + 2*(V)36 + (IV)44 + (VII)69 + (VIII)85 + 3*(V)115 + (IV)124": "“(VII)69” ends on f. 58 by its sheets and those before it, each of two leaves, and f. 69 is stated",
		// manuscripta.at, description 27771, the end completed: it counts 221/1 and 253/1.
		"1^I + 4.VI⁴⁸ + V⁵⁸ + 4.VI¹⁰⁶ + 3.VI¹⁴² + (VI+1)¹⁵⁵ + 10.VI²⁷³": "ends on f. 275",
		"II² + 3 V³²":                   "“II^2” ends on f. 4",
		"4 IV³² + (IV−1)⁴⁰":             "“(IV-1)^40” ends on f. 39",
		"4 IV³³":                        "“4 IV^33” ends on f. 32",
		"IV³³, V⁴³":                     "“IV^33” ends on f. 8",
		"(V-1⁴⁰)⁹":                      "begins on f. 1",
		"1–10⁸ (ff. 1–81)":              "quires 1–10 end on f. 80 by the number of leaves, and f. 81 is stated; correct one of the two. Where a number was skipped or stands twice leave the folios out, and name the leaves in leaves.csv",
		"1–2⁸ 3⁸ (ff. 18–25)":           "quire 3 begins on f. 17",
		"1–3⁸ 4⁸ lacks 4, after f. 31":  "leaf 4 of quire 4 comes after f. 27 by the leaves before it, and f. 31 is stated",
		"1⁸ wants one leaf after f. 12": "quire 1 has no leaf 12 after which leaves are gone: it begins on leaf 1",
		"1–10⁸ = 81":                    "its quires come to 80 leaves, and 81 are stated",
		// The Benedictine library of Mount Angel, MS0028.
		"A6, B-D12, E6, F-H12, I-K8, L8(-1)": "may say that leaf 1 is wanting or that one leaf is; write L⁸ (wants 1), or L⁸⁻¹ where it is not known which",
		// OPenn on LJS 24, where (−2) is two leaves.
		"8¹²(-11) 9¹²(-2)":            "write 9¹² (wants 2), or 9¹²⁻² where it is not known which",
		"1⁸(+3)":                      "may say that leaf 3 was added or that 3 leaves were",
		"1–3⁸ (wants 3)":              "does not tell of which quire: “wants 3”; write that quire by itself, such as 3⁸ (wants 3)",
		"A⁴ (A2+χ²)":                  "puts more than a single leaf into quire A",
		"A⁸ B3":                       "names a leaf, or a quire of 3 leaves; write the number of leaves after a caret: B^3",
		"1⁸ (lacks a leaf somewhere)": "cannot be read: “lacks a leaf somewhere”",
		"1-48, 52, 64-1":              "“1-48, 52, 64-1” cannot be read there",
	} {
		_, err := codex.ParseFormula(text)
		var label *codex.LabelError
		if !errors.As(err, &label) || !strings.Contains(label.Remedy, words) {
			t.Errorf("%s: %v; want %s", text, err, words)
		}
	}
}

// Formulas that count sheets, and the same in leaves; the first three folios are
// those of 4 quaternions, one of which a leaf is gone, and a ternion.
func TestFormulasBySheets(t *testing.T) {
	for text, want := range map[string]string{
		"4 IV³² + (IV−1)³⁹ + III⁴⁵":       "1–4⁸ 5⁸⁻¹ 6⁶",
		"4 IV(32) + (IV-1)(39) + III(45)": "1–4⁸ 5⁸⁻¹ 6⁶",
		"4 IV + III + (IV-1)":             "1–4⁸ 5⁶ 6⁸⁻¹",
		"(III-1)⁵":                        "1⁶⁻¹",
		"V¹⁰, 2 VI³⁴, (V+1)⁴⁵":            "1¹⁰ 2–3¹² 4¹⁰⁺¹",
		"I⁸ II–IV⁸ V⁶":                    "I–IV⁸ V⁶", // labels, and leaves
		"IV⁸":                             "IV⁸",
		"I⁸, II⁸":                         "I–II⁸",
		"iii + 1⁸ 2⁸ + ii":                "iii 1–2⁸ ii",
		"1^{8} 2^{8-1}":                   "1⁸ 2⁸⁻¹",
		"[1]⁸ 2¹⁰⁽⁻¹⁾":                    "1⁸ 2¹⁰⁻¹",
	} {
		formula, err := codex.ParseFormula(text)
		if err != nil {
			t.Errorf("%s: %v", text, err)
		} else if got := formula.String(); got != want {
			t.Errorf("%s is read as %s; want %s", text, got, want)
		}
	}
	for _, text := range []string{"4 IV³³", "IV, V", "4 IV³² + (IV−1)⁴⁰", "0 IV", "9999 IV", "(IV-9)"} {
		if formula, err := codex.ParseFormula(text); err == nil {
			t.Errorf("%s is read as %s", text, formula)
		}
	}
}

// A formula that is read prints in a form that reads as itself.
func FuzzFormula(f *testing.F) {
	for _, seed := range []string{"1⁸ 2⁸⁻¹ 3¹⁰⁺² iv", "1-5.8 6.6 (x) 15.8(-7)", "I-III8, IV10", "A–C⁸", "1⁸ wants 2, 2⁸", "1⁸ 3 and 6 are singletons", "ii (wants 2)", "1⁶ (+2 leaves after 5, ff. 3, 4, 1 now lost)", "[2 leaves in no known quire]", "1⁶ (stub -----)", "i ( 2)", "V9Vi9", "",
		"4 IV³² + (IV−1)³⁹", "2² + (VI+1)¹⁵ + 16.VI²⁰⁷", "(I+1)^III + 23.VI^276", "IX (18). 6 VI (90).", "3 quaternions (ff. 1-24)", "(6)1 (8)2-4", "3⁸-9⁸ (f. 1-56)", "11⁴ (6 - 2)",
		"π⁴ A–2B⁸(−B3,4; ±C1) χ1", "A–F⁸/⁴", "1⁸ wants one leaf after f. 3", "1⁸ lacks 4, after f. 3, 2⁸ = 15", "ii + 120 + i", "H–I² J² K–L²", "²A–²C⁸", "1⁸ (3 cancelled; 5 a stub)", "1(8, -7, -8)", "10X²+", "01X²+"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		formula, err := codex.ParseFormula(text)
		if err != nil {
			return
		}
		printed := formula.String()
		again, err := codex.ParseFormula(printed)
		if err != nil {
			t.Fatalf("%q prints %q: %v", text, printed, err)
		}
		if got := again.String(); got != printed {
			t.Errorf("%q prints %q, then %q", text, printed, got)
		}
	})
}
