package deposit

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// TestORCID knows the published examples: the fictitious Josiah Carberry's of the
// ORCID documentation (support.orcid.org, Structure of the ORCID Identifier) and
// those in the RO-Crate Metadata Specification 1.1, and that with an X of the
// documentation (0000-0002-1694-233X).
func TestORCID(t *testing.T) {
	for _, text := range []string{"0000-0002-1825-0097", "0000-0002-1694-233X", "0000-0002-8367-6908", "0000-0002-3545-944X", "0000-0001-6121-5409",
		"0000-0003-0690-4732", "https://orcid.org/0000-0003-3960-0583", "http://orcid.org/0000-0002-6953-3986"} {
		if got, err := parseORCID(text); err != nil || !strings.HasPrefix(got, "https://orcid.org/0000-") {
			t.Errorf("%s: %q, error %v", text, got, err)
		}
	}
	for _, text := range []string{"0000-0002-1825-0098", "0000-0002-1825-009X", "0000-0002-1852-0097", "0000-0002-1825-097", "0000000218250097", "000-00002-1825-0097", "X000-0002-1825-0097", ""} {
		if got, err := parseORCID(text); err == nil {
			t.Errorf("%s passes as %s", text, got)
		}
	}
}

// TestOneWrongDigitOfAnORCIDIsFound, as ISO/IEC 7064 promises of MOD 11-2.
func TestOneWrongDigitOfAnORCIDIsFound(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		right := "0000-0002-1825-0097"
		at := rapid.IntRange(0, len(right)-1).Draw(t, "at")
		digit := rapid.SampledFrom([]byte("0123456789")).Draw(t, "digit")
		wrong := right[:at] + string(digit) + right[at+1:]
		if _, err := parseORCID(wrong); (err == nil) != (wrong == right) {
			t.Errorf("%s: error %v", wrong, err)
		}
	})
}

// TestLicencesAreThoseOfTheList compares with the SPDX licence list, whose
// addresses lead to the legal text, ours to the page about it where there is one.
func TestLicencesAreThoseOfTheList(t *testing.T) {
	text, err := os.ReadFile("../../../testdata/reference/deposit/spdx.json")
	if err != nil {
		t.Fatal(err)
	}
	var published map[string]struct{ Name, URL string }
	if err := json.Unmarshal(text, &published); err != nil {
		t.Fatal(err)
	}
	same := func(address string) string { // http or https, with www or without, 1-0 or 1.0
		_, rest, _ := strings.Cut(address, "://")
		return strings.ReplaceAll(strings.TrimPrefix(strings.TrimSuffix(rest, "legalcode"), "www."), "1.0", "1-0")
	}
	for _, l := range licences {
		if p := published[l.ID]; p.Name != l.Name || same(p.URL) != same(l.Address) {
			t.Errorf("%+v; the list has %+v", l, p)
		}
	}
	for text, remedy := range map[string]string{"cc-by-4.0": "", "https://example.org/terms": "", "CC-BY-4": "CC-BY-4.0", "public": "write one of these"} {
		if _, got := parseLicence(text); !strings.Contains(got, remedy) || (got == "") != (remedy == "") {
			t.Errorf("%s: %q", text, got)
		}
	}
}

// TestAStatementTellsAllThatIsWrong with the lines.
func TestAStatementTellsAllThatIsWrong(t *testing.T) {
	at := filepath.Join(t.TempDir(), StatementName)
	text := "licence = \"CC-BY-4\"\ndate = \"30.6.2026\"\nlicense = \"x\"\nkeywords = \"wear\"\n" +
		"[[creator]]\norcid = \"0000-0002-1825-0098\"\n[[creator]]\nname = \"B\"\nemail = \"b at example\"\norcid = \"0000-0002-1825-0097\"\n[[creator]]\nname = \"C\"\norcid = \"https://orcid.org/0000-0002-1825-0097\"\n"
	if err := os.WriteFile(at, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	_, err := readStatement(at)
	if err == nil {
		t.Fatal("nothing is said")
	}
	for _, want := range []string{"line 1, column licence", "CC-BY-4.0 was meant", "line 2, column date", "line 3, column license", "line 4, column keywords",
		"line 6, column orcid", "does not fit the others", "the name of each creator", "line 9, column email", "line 13, column orcid", "each person once"} {
		if !strings.Contains(err.Error(), want) {
			t.Errorf("no word of %q in:\n%v", want, err)
		}
	}
	if s, err := readStatement(filepath.Join(t.TempDir(), StatementName)); err != nil || s.Licence != "" {
		t.Errorf("without a statement: %+v, %v", s, err)
	}
}

// FuzzStatement reads anything without crashing, and what it lets pass is usable.
func FuzzStatement(f *testing.F) {
	f.Add("licence = \"CC0-1.0\"\n[[creator]]\nname = \"A\"\n")
	f.Add("creator = 1\n[creator]\n")
	f.Fuzz(func(t *testing.T, text string) {
		at := filepath.Join(t.TempDir(), StatementName)
		if err := os.WriteFile(at, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
		s, err := readStatement(at)
		if err != nil {
			return
		}
		for _, c := range s.Creators {
			if strings.TrimSpace(c.Name) == "" {
				t.Errorf("a creator without a name passes")
			}
		}
	})
}

// TestIdentifiersAreEscaped as RO-Crate 1.1 shows (Encoding file paths).
func TestIdentifiersAreEscaped(t *testing.T) {
	for name, want := range map[string]string{
		"Results and Diagrams/almost-50%.png": "Results%20and%20Diagrams/almost-50%25.png",
		"面试.mp4":                              "面试.mp4",
		"a#b?.csv":                            "a%23b%3F.csv",
	} {
		if got := idOf(name); got != want {
			t.Errorf("%s: %s; want %s", name, got, want)
		}
	}
}
