package chapter

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"
	"pgregory.net/rapid"

	"thumbed/models/report/chapter/chaptertest"
)

func TestWordsAreMadeSafe(t *testing.T) {
	for _, c := range []struct{ words, want string }{
		{"Quill & Łasica, 5 % of #3", `Quill \& Łasica, 5 \% of \#3`},
		{"office_order × {a} ~ ^ \\ $", `office\_order × \{a\} \textasciitilde{} \textasciicircum{} \textbackslash{} \$`},
		{"4⁸⁺¹ 5⁸⁻¹", `4\textsuperscript{8}\textsuperscript{+}¹ 5\textsuperscript{8}\textsuperscript{\ensuremath{-}}¹`},
		{"ff. 13r–25v, [14]r, 12ᵛ", `ff. 13r–25v, {[}14{]}r, 12\textsuperscript{v}`},
		{"−0.031 ≤ x < 0.2", `\ensuremath{-}0.031 \ensuremath{\leq} x \textless{} 0.2`},
		{"a--b, ,, ''", `a-{}-b, ,{}, ’{}’`},
		{"two\nlines\tand tab", "two lines and tab"},
		{"10\u202f000\u00a0pages", `10\,000~pages`},
		{"cafe\u0301", "café"}, // a letter and its accent apart
		{"ẽ, ỹ, i\u0308, ṭ", `\~{e}, \~{y}, ï, \d{t}`},
		{"bell \a", "bell {[}U+0007{]}"},
		{"(" + strings.Repeat("e3b0c442", 8) + ")", "(" + strings.Repeat(`e3b0c442\hspace{0pt}`, 8) + ")"}, // a sum breaks over lines
		{"\xff", "\ufffd"},
		{"", ""},
	} {
		if got := newSetter().text(c.words); got != c.want {
			t.Errorf("%q is set as %q; want %q", c.words, got, c.want)
		}
	}
}

// TestWhatFontsLackIsRemembered: letters beyond T1 stay, and the preamble declares
// each once.
func TestWhatFontsLackIsRemembered(t *testing.T) {
	s := newSetter()
	if got := s.text("σ, Псалтирь and ſ"); got != "σ, Псалтирь and ſ" {
		t.Errorf("letters of other scripts are set as %q", got)
	}
	s.text("σ again, and Łódź")
	preamble := string(s.preambleFile())
	if n := strings.Count(preamble, "DeclareUnicodeCharacter{"); n != len("σ")/2+len([]rune("Псалтирь"))+1 {
		t.Errorf("%d characters are declared:\n%s", n, preamble)
	}
	for _, want := range []string{`{\DeclareUnicodeCharacter{03C3}{\ensuremath{\sigma}}}{}`, `{\DeclareUnicodeCharacter{041F}{[U+041F]}}{}`} {
		if !strings.Contains(preamble, want) {
			t.Errorf("the preamble lacks %q", want)
		}
	}
	if strings.Contains(string(newSetter().preambleFile()), "DeclareUnicodeCharacter") {
		t.Error("a study without such letters has them declared")
	}
}

// puzzled are letters that pdfLaTeX puts together of two signs, or prints by one
// that two letters share (Đ and Ð): they look right, but a copy from the page is not
// the letter.
const puzzled = "ĐđĢģĩīĭĮįĵĶķĻļŅņŖŗŲų"

// claimed are the characters that pdfLaTeX prints as they are: what is copied from
// the page is what the scholar wrote. A straight apostrophe becomes a curved one.
func claimed() []rune {
	var out []rune
	for c := rune('!'); c <= 'ž'; c++ {
		s := newSetter()
		if c != '\'' && !strings.ContainsRune(puzzled, c) && (unicode.IsPrint(c) && c < 0x7f || unicode.IsLetter(c)) && s.text(string(c)) != "" && len(s.lacked()) == 0 {
			out = append(out, c)
		}
	}
	return append(out, []rune("–—‘’“”„‹›«»¡¿§¶†‡•°±×÷¬−≤≥≈∞½¼¾€£©→←")...)
}

// page sets a body under the preamble of what it lacks, and reads the page.
func page(t *testing.T, s *setter, before, body string) string {
	t.Helper()
	chaptertest.Need(t)
	dir := t.TempDir()
	for name, text := range map[string]string{
		"preamble.tex": string(s.preambleFile()),
		"letters.tex":  "\\documentclass[a4paper]{article}\n\\usepackage[margin=10mm]{geometry}\n" + before + "\\input{preamble}\n\\begin{document}\n" + body + "\n\\end{document}\n",
	} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	chaptertest.LaTeX(t, dir, "letters")
	return squeezed(chaptertest.Text(t, dir, "letters"))
}

// TestClaimedCharactersComeBack sets every character claimed, and random words of
// them, and reads the page.
func TestClaimedCharactersComeBack(t *testing.T) {
	s := newSetter()
	var want []string
	letters := claimed()
	if len(letters) < 230 {
		t.Fatalf("only %d characters are claimed", len(letters))
	}
	for from := 0; from < len(letters); from += 8 { // with blanks, since accents of neighbours may touch
		var parts []string
		for _, c := range letters[from:min(from+8, len(letters))] {
			parts = append(parts, string(c)+"n")
		}
		want = append(want, strings.Join(parts, " "))
	}
	for seed := range 40 {
		want = append(want, rapid.StringOfN(rapid.SampledFrom(append(letters, ' ')), 1, 30, -1).Example(seed))
	}
	var body strings.Builder
	for _, line := range want {
		body.WriteString(`\noindent\mbox{A` + s.text(line) + "Z}\n\n")
	}
	got := page(t, s, "", body.String())
	for _, line := range want {
		if !strings.Contains(got, "A"+squeezed(line)+"Z") {
			t.Errorf("%q does not come back from the page", line)
		}
	}
}

// TestWhatFontsLackIsSet: Greek letters become those of formulas, others their
// number, unless a package loaded before has them.
func TestWhatFontsLackIsSet(t *testing.T) {
	s := newSetter()
	body := s.text("AσβΩZ, AПсZ, A𝔄Z, Aẽ12ᵛZ")
	got := page(t, s, "\\DeclareUnicodeCharacter{0441}{(from a package)}\n", body)
	for _, want := range []string{"AσβΩZ", "A[U+041F](fromapackage)Z", "A[U+1D504]Z", "12vZ"} {
		if !strings.Contains(got, want) {
			t.Errorf("%q is not on the page: %s", want, got)
		}
	}
}

// squeezed is text without blanks, which a page does not keep to the letter.
func squeezed(text string) string {
	return strings.ReplaceAll(norm.NFC.String(chaptertest.Plain(text)), " ", "")
}

// FuzzText: whatever a study holds, what is set has its braces in pairs and no
// character that would end the text or begin a comment.
func FuzzText(f *testing.F) {
	for _, seed := range []string{"", "{", "\\end{document}", "100 % & more", "a\u0301\u0323", "\u0301", "[", "\\\\*", "ff. [13]r", "\xc3", "𝔄", "e\u0363", "\r\n\n"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, words string) {
		for _, ascii := range []bool{false, true} {
			s := newSetter()
			s.ascii = ascii
			set := s.text(words)
			if !utf8.ValidString(set) {
				t.Fatalf("%q is set as %q, which is no UTF-8", words, set)
			}
			if at := unsafe(set); at >= 0 {
				t.Fatalf("%q is set as %q, unsafe at %q", words, set, set[at:])
			}
		}
	})
}

// unsafe finds where LaTeX would read text otherwise than as text: −1 where
// nowhere. Commands are a stroke with letters or with one sign.
func unsafe(set string) int {
	depth := 0
	for i := 0; i < len(set); i++ {
		switch c := set[i]; {
		case c == '\\':
			i++
			if i == len(set) || set[i] == '\\' {
				return i - 1
			}
		case c == '{':
			depth++
		case c == '}':
			depth--
			if depth < 0 {
				return i
			}
		case strings.IndexByte("%&#$_^\n\r\t", c) >= 0 || c < ' ' || c == 0x7f:
			return i
		case (c == '[' || c == '*') && (i == 0 || set[i-1] != '{'):
			return i
		}
	}
	if depth != 0 {
		return len(set)
	}
	return -1
}
