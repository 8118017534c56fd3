package table

import (
	"fmt"
	"unicode/utf8"
)

// Unprintable finds the first character of a text that no table, study or record
// may hold, since it shows nothing and can change how the text around it is shown:
// the control characters of ISO 6429 except tab, line feed and carriage return, the
// embeddings, overrides and isolates of the Unicode Bidirectional Algorithm (UAX 9,
// section 2: explicit formatting characters) and the noncharacters U+FFFE and
// U+FFFF, which XML 1.0 does not allow. The marks U+200E and U+200F, which Hebrew
// and Arabic text needs, are none of them. size is 0 where there is none.
func Unprintable(text []byte) (at, size int) {
	for i := 0; i < len(text); i++ {
		switch c := text[i]; {
		case c < ' ' && c != '\t' && c != '\n' && c != '\r', c == 0x7f:
			return i, 1
		case c == 0xc2 || c == 0xe2 || c == 0xef:
			if r, n := utf8.DecodeRune(text[i:]); unprintable(r) {
				return i, n
			}
		}
	}
	return 0, 0
}

// unprintable tells of characters of more than one byte.
func unprintable(r rune) bool {
	return r >= 0x80 && r <= 0x9f || r >= 0x202a && r <= 0x202e || r >= 0x2066 && r <= 0x2069 || r == 0xfffe || r == 0xffff
}

// Printable is a text without its unprintable characters, and how many it had.
func Printable(text string) (string, int) {
	rest, n := []byte(text), 0
	var kept []byte
	for {
		at, size := Unprintable(rest)
		switch {
		case size == 0 && n == 0:
			return text, 0
		case size == 0:
			return string(append(kept, rest...)), n
		}
		kept, rest, n = append(kept, rest[:at]...), rest[at+size:], n+1
	}
}

// CodePoint names a character by its number: "U+202E".
func CodePoint(character []byte) string {
	r, _ := utf8.DecodeRune(character)
	return fmt.Sprintf("U+%04X", r)
}

// What is expected of a text with an unprintable character, and the remedy.
const (
	PrintableWanted = "text without control characters and marks that turn the direction of writing"
	PrintableRemedy = "delete the character, which shows nothing itself (it often comes with text copied from a page or a PDF); type the words again if it cannot be found"
)
