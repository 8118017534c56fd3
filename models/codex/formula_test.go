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
		"1-5.8 6.6 (catchword, f. 46, does not match following text) 7-8.8 9.10, 11.2 (through f. 82) 12-14.8 15.8(-7)": "1–5⁸ 6⁶ (catchword, f. 46, does not match following text) 7–8⁸ 9¹⁰ 11² (through f. 82) 12–14⁸ 15⁸⁻¹ (wants 7)",
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
	for _, seed := range []string{"1⁸ 2⁸⁻¹ 3¹⁰⁺² iv", "1-5.8 6.6 (x) 15.8(-7)", "I-III8, IV10", "A–C⁸", "1⁸ wants 2, 2⁸", "1⁸ 3 and 6 are singletons", "ii (wants 2)", "1⁶ (+2 leaves after 5, ff. 3, 4, 1 now lost)", "[2 leaves in no known quire]", "1⁶ (stub -----)", "i ( 2)", "V9Vi9", ""} {
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
