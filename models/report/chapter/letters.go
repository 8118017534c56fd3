package chapter

import (
	"fmt"
	"regexp"
	"slices"
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"

	"thumbed/models/report"
)

// A setter makes text safe for LaTeX and remembers the characters that
// pdfLaTeX's fonts lack and the works that were cited.
type setter struct {
	beyond map[rune]bool
	works  []report.Reference // that text may name
	cited  map[string]bool    // by the names that the text calls them
	ascii  bool               // letters with accents as commands too, for BibTeX, which knows single bytes only
}

func newSetter() *setter {
	return &setter{beyond: map[rune]bool{}, works: report.Works(), cited: map[string]bool{}}
}

// commands are what stands for characters that LaTeX reads as something else, that
// it drops, or that only its fonts of formulas hold.
var commands = map[rune]string{
	'\\': `\textbackslash{}`, '{': `\{`, '}': `\}`, '$': `\$`, '&': `\&`, '#': `\#`, '%': `\%`, '_': `\_`,
	'~': `\textasciitilde{}`, '^': `\textasciicircum{}`, '<': `\textless{}`, '>': `\textgreater{}`, '|': `\textbar{}`,
	'`': `\textasciigrave{}`, '"': `\textquotedbl{}`, '\'': `’`,
	'[': `{[}`, ']': `{]}`, '*': `{*}`, // each would be read as an option behind a row's end
	'\u00a0': `~`, '\u202f': `\,`, '\u2009': `\,`, '\u00ad': `\-`, '\u200b': `\hspace{0pt}`, '\ufeff': ``, '\u2060': ``, '…': `\ldots{}`,
	'−': `\ensuremath{-}`, '≤': `\ensuremath{\leq}`, '≥': `\ensuremath{\geq}`, '≠': `\ensuremath{\neq}`, '≈': `\ensuremath{\approx}`, '∞': `\ensuremath{\infty}`, '√': `\ensuremath{\surd}`,
}

// known are characters of LaTeX's encodings T1 and TS1 that need no command, beside
// the letters with accents.
const known = "ÆæÐðØøÞþßŁłŒœĐđŊŋıȷ" + "‐‑–—‘’“”‚„‹›«»¡¿" + "§¶†‡•·ªº°¹²³¼½¾‰£€¢¥©®™×÷±¬µ→←"

// accents are the marks above and below letters that T1 can set, with their
// commands.
var accents = map[rune]string{
	'\u0300': "`", '\u0301': `'`, '\u0302': `^`, '\u0303': `~`, '\u0304': `=`, '\u0306': `u`, '\u0307': `.`, '\u0308': `"`,
	'\u030a': `r`, '\u030b': `H`, '\u030c': `v`, '\u0323': `d`, '\u0327': `c`, '\u0328': `k`, '\u0331': `b`,
}

// raised are small letters, digits and signs above the line, as folios and
// collation formulas bear them.
var raised = map[rune]string{
	'ʳ': "r", 'ᵛ': "v", 'ᵃ': "a", 'ᵇ': "b", 'ᵉ': "e", 'ᵒ': "o", 'ⁿ': "n", 'ˢ': "s", 'ᵗ': "t", 'ʰ': "h", 'ᵐ': "m",
	'⁰': "0", '⁴': "4", '⁵': "5", '⁶': "6", '⁷': "7", '⁸': "8", '⁹': "9",
	'⁺': "+", '⁻': `\ensuremath{-}`,
}

// A sum (SHA-256) is longer than a line may be, and may break after each eight.
var (
	reSum   = regexp.MustCompile(`\b[0-9a-f]{64}\b`)
	reEight = regexp.MustCompile(`[0-9a-f]{8}`)
)

// text makes the scholar's words safe: printed, they say what they said. Runs of
// blanks and line ends are one blank.
func (s *setter) text(words string) string {
	words = norm.NFC.String(strings.ToValidUTF8(words, "\ufffd"))
	words = reSum.ReplaceAllStringFunc(words, func(sum string) string {
		return reEight.ReplaceAllString(sum, "$0\u200b")
	})
	var b strings.Builder
	runes := []rune(words)
	for i := 0; i < len(runes); i++ {
		c := runes[i]
		var marks []rune
		for i+1 < len(runes) && unicode.Is(unicode.Mn, runes[i+1]) {
			i++
			marks = append(marks, runes[i])
		}
		if len(marks) > 0 {
			b.WriteString(s.marked(c, marks))
			continue
		}
		b.WriteString(s.one(c, i > 0 && ligates(runes[i-1], c)))
	}
	return b.String()
}

// ligates tells pairs of which TeX's fonts would make another sign.
func ligates(before, c rune) bool {
	const hyphens = "-‐–"
	return before == c && strings.ContainsRune(",‘’'", c) || strings.ContainsRune(hyphens, before) && strings.ContainsRune(hyphens, c)
}

// one sets one character; apart parts it from the one before.
func (s *setter) one(c rune, apart bool) string {
	gap := ""
	if apart {
		gap = "{}"
	}
	if command, ok := commands[c]; ok {
		return gap + command
	}
	if up, ok := raised[c]; ok {
		return `\textsuperscript{` + up + `}`
	}
	switch {
	case c == ' ' || c == '\t' || c == '\n' || c == '\r':
		return " "
	case c < 0x7f && c > ' ':
		return gap + string(c)
	case strings.ContainsRune(known, c):
		return gap + string(c)
	}
	if parts := []rune(norm.NFD.String(string(c))); len(parts) > 1 {
		if !s.ascii && c <= 'ž' { // of Latin-1 and Latin Extended-A, as LaTeX reads them itself
			return string(c)
		}
		return s.marked(parts[0], parts[1:])
	}
	return s.lacking(c)
}

// marked sets a letter with its accents, the first next to the letter.
func (s *setter) marked(base rune, marks []rune) string {
	whole := norm.NFC.String(string(base) + string(marks))
	out := ""
	switch {
	case base == 'i' && above(marks[0]):
		out = `\i`
	case base == 'j' && above(marks[0]):
		out = `\j`
	case base > ' ' && base < 0x7f && unicode.IsLetter(base) || unicode.IsLetter(base) && strings.ContainsRune(known, base):
		out = string(base)
	}
	for _, mark := range marks {
		command, ok := accents[mark]
		if !ok || out == "" {
			return s.lacking([]rune(whole)...)
		}
		out = `\` + command + `{` + out + `}`
	}
	if s.ascii {
		return `{` + out + `}`
	}
	return out
}

// above tells marks that take the place of an i's dot.
func above(mark rune) bool { return !strings.ContainsRune("\u0323\u0327\u0328\u0331", mark) }

// lacking keeps characters as they are, for engines that have them, and
// remembers them for pdfLaTeX.
func (s *setter) lacking(characters ...rune) string {
	for _, c := range characters {
		if c < ' ' || c == 0x7f {
			return fmt.Sprintf("{[}U+%04X{]}", c) // a control character is no letter of any font
		}
		if c >= 0x80 {
			s.beyond[c] = true
		}
	}
	var b strings.Builder
	for _, c := range characters {
		if c >= 0x80 {
			b.WriteRune(c)
			continue
		}
		b.WriteString(s.one(c, false))
	}
	return b.String()
}

// lacked lists the characters that pdfLaTeX's fonts lack, in order.
func (s *setter) lacked() []rune {
	var out []rune
	for c := range s.beyond {
		out = append(out, c)
	}
	slices.Sort(out)
	return out
}

// greek are the small letters and those large ones that have a shape of their
// own, as formulas name them.
var greek = map[rune]string{
	'α': "alpha", 'β': "beta", 'γ': "gamma", 'δ': "delta", 'ε': "varepsilon", 'ζ': "zeta", 'η': "eta", 'θ': "theta", 'ι': "iota", 'κ': "kappa",
	'λ': "lambda", 'μ': "mu", 'ν': "nu", 'ξ': "xi", 'π': "pi", 'ρ': "rho", 'σ': "sigma", 'ς': "varsigma", 'τ': "tau", 'υ': "upsilon", 'φ': "varphi", 'χ': "chi", 'ψ': "psi", 'ω': "omega",
	'Γ': "Gamma", 'Δ': "Delta", 'Θ': "Theta", 'Λ': "Lambda", 'Ξ': "Xi", 'Π': "Pi", 'Σ': "Sigma", 'Υ': "Upsilon", 'Φ': "Phi", 'Ψ': "Psi", 'Ω': "Omega",
}

// substitute is what pdfLaTeX sets for a character that its fonts lack: a sign
// of formulas, or the character's number in Unicode.
func substitute(c rune) string {
	if name, ok := greek[c]; ok {
		return `\ensuremath{\` + name + `}`
	}
	return fmt.Sprintf("[U+%04X]", c)
}
