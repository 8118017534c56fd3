package codex

import (
	"fmt"
	"strconv"
	"strings"
)

// A Folio is the label of a leaf as catalogues write it: 12, [13] supplied,
// 13bis, 200a, i to iv for flyleaves. The zero Folio is no label.
type Folio struct {
	Number   int
	Roman    bool   // counted in small roman numerals, as flyleaves are
	Suffix   string // "bis", "ter", "quater", "*" or one small letter other than r and v; empty for most
	Supplied bool   // written in square brackets: the number is not on the leaf
}

// Bounds of a folio's number. No book has more leaves than the first; the
// second is the last number that roman numerals write without a bar.
const (
	lastArabic = 99999
	lastRoman  = 3999
)

// IsZero tells whether the folio is no label at all, as of an unnumbered leaf.
func (f Folio) IsZero() bool { return f == Folio{} }

// String is the label as catalogues print it: 12, [13], 13bis, 200a, iv; a
// suffix stands inside the brackets. It is empty for the zero Folio.
func (f Folio) String() string {
	if f.IsZero() {
		return ""
	}
	number := strconv.Itoa(f.Number)
	if f.Roman {
		number = roman(f.Number)
	}
	if f.Supplied {
		return "[" + number + f.Suffix + "]"
	}
	return number + f.Suffix
}

// bare is the folio without its brackets. Brackets say who wrote the number,
// not which leaf is meant, so labels are compared without them.
func (f Folio) bare() Folio {
	f.Supplied = false
	return f
}

// A LabelError says why a text is not the label that was asked for.
type LabelError struct {
	Value    string // the text seen
	Expected string // a phrase, as in table.Problem
	Remedy   string // a phrase, as in table.Problem
}

// Error tells it in one sentence.
func (e *LabelError) Error() string {
	return fmt.Sprintf("found %q; expected %s; %s", e.Value, e.Expected, e.Remedy)
}

const (
	folioExpected = "a folio label"
	folioRemedy   = "write it such as 12, [13], 13bis, 200a or ii"
)

// ParseFolio reads the label of a leaf. Beside the forms that [Folio.String]
// prints it takes what is commonly written: a leading f., fol. or the like,
// capitals, spaces, zeros in front, [13]bis for [13bis], iiij for iv. The
// error is a [*LabelError].
func ParseFolio(text string) (Folio, error) {
	s := scanner{rest: normal(text)}
	s.prefix()
	folio, side, ok := s.label(false)
	if !ok || side != noSide || s.rest != "" {
		return Folio{}, &LabelError{Value: text, Expected: folioExpected, Remedy: folioRemedy}
	}
	return folio, nil
}

var romanDigits = []struct {
	value  int
	letter string
}{
	{1000, "m"}, {900, "cm"}, {500, "d"}, {400, "cd"}, {100, "c"}, {90, "xc"},
	{50, "l"}, {40, "xl"}, {10, "x"}, {9, "ix"}, {5, "v"}, {4, "iv"}, {1, "i"},
}

// roman writes n, from 1 to 3999, in small roman numerals.
func roman(n int) string {
	var b strings.Builder
	for _, d := range romanDigits {
		for ; n >= d.value; n -= d.value {
			b.WriteString(d.letter)
		}
	}
	return b.String()
}

// fromRoman reads small roman numerals, also the additive forms that scribes
// use (iiii, viiii) and a final j for i. It gives 0 where the letters are no
// numeral.
func fromRoman(letters string) int {
	letters = strings.ReplaceAll(letters, "j", "i")
	n, rest := 0, letters
	for _, d := range romanDigits {
		for strings.HasPrefix(rest, d.letter) {
			rest = rest[len(d.letter):]
			n += d.value
		}
	}
	if rest != "" || n == 0 || n > lastRoman {
		return 0
	}
	canonical := roman(n)
	if letters == canonical || letters == scribal.Replace(canonical) {
		return n
	}
	return 0
}

// scribal turns the subtractive numerals into the additive ones.
var scribal = strings.NewReplacer("cm", "dcccc", "cd", "cccc", "xc", "lxxxx", "xl", "xxxx", "ix", "viiii", "iv", "iiii")
