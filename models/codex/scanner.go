package codex

import (
	"strconv"
	"strings"
)

// A written side is what follows a folio in a label.
type writtenSide uint8

const (
	noSide writtenSide = iota
	rectoSide
	versoSide
	bothSides // 12rv: the whole leaf
)

func (w writtenSide) page() Side {
	if w == versoSide {
		return Verso
	}
	return Recto
}

// variants are written forms that stand for plain letters. They hold small
// letters only, since a text is set in small letters first.
var variants = strings.NewReplacer("ʳ", "r", "ᵛ", "v", "\u00a0", " ", "\u2009", " ", "\u202f", " ", "\t", " ")

// normal is text in small letters, without the variants and without spaces at
// its ends.
func normal(text string) string {
	if isPlain(text) {
		return text
	}
	return strings.TrimSpace(variants.Replace(strings.ToLower(text)))
}

// isPlain tells whether a text is normal as it stands, as nearly all labels are.
func isPlain(text string) bool {
	for i := range len(text) {
		if c := text[i]; c <= ' ' || c > '~' || c >= 'A' && c <= 'Z' {
			return false
		}
	}
	return true
}

// A scanner reads labels from the front of a normal text.
type scanner struct{ rest string }

func (s *scanner) spaces() { s.rest = strings.TrimLeft(s.rest, " ") }

func (s *scanner) take(word string) bool {
	if !strings.HasPrefix(s.rest, word) {
		return false
	}
	s.rest = s.rest[len(word):]
	return true
}

// prefixes are the words for leaf or leaves that catalogues in English, Latin,
// French, German, Italian, Spanish, Portuguese and Dutch put before a label,
// longest first.
var prefixes = []string{
	"feuillets", "feuillet", "folios", "folium", "foliis", "folhas", "folha", "folia", "folio", "foglio", "fogli", "leaves", "leaf", "blätter", "blatt", "bladen", "blad", "carte", "carta", "hojas", "hoja",
	"fols", "foll", "fol", "fos", "fls", "fo", "fl", "ff", "f", "bll", "bl", "cc", "c", "hh", "h",
}

// prefix passes over a word for leaf, with its full stop and space. A word
// counts only where a full stop, a space, a digit or a bracket follows, so
// that the roman label c is not one.
func (s *scanner) prefix() {
	if s.rest == "" || strings.IndexByte("flbch", s.rest[0]) < 0 {
		return
	}
	for _, word := range prefixes {
		after, found := strings.CutPrefix(s.rest, word)
		if !found || after == "" {
			continue
		}
		if first := after[0]; first != '.' && first != ' ' && first != '[' && (first < '0' || first > '9') {
			continue
		}
		s.rest = strings.TrimLeft(strings.TrimPrefix(after, "."), " ")
		return
	}
}

// label reads a folio and the side written after it. With sided, roman
// letters that end in v give that v up as the side where no other side
// follows.
func (s *scanner) label(sided bool) (folio Folio, side writtenSide, ok bool) {
	s.spaces()
	folio.Supplied = s.take("[")
	s.spaces()
	if !s.number(&folio, &side, sided) {
		return Folio{}, noSide, false
	}
	s.suffix(&folio, side)
	if folio.Supplied {
		if side == noSide && sided {
			side = s.side()
		}
		s.spaces()
		if !s.take("]") {
			return Folio{}, noSide, false
		}
		s.suffix(&folio, side)
	}
	if side == noSide {
		side = s.side()
	}
	s.spaces()
	return folio, side, true
}

// number reads the digits or roman letters of a folio.
func (s *scanner) number(folio *Folio, side *writtenSide, sided bool) bool {
	end := span(s.rest, "0123456789")
	if end > 0 {
		n, err := strconv.Atoi(s.rest[:end])
		if err != nil || n < 1 || n > lastArabic {
			return false
		}
		folio.Number = n
		s.rest = s.rest[end:]
		return true
	}
	folio.Roman = true
	end = span(s.rest, "ivxlcdmj")
	letters, after := s.rest[:end], s.rest[end:]
	if sided && strings.HasSuffix(letters, "v") && !sideFollows(after) {
		if n := fromRoman(letters[:end-1]); n > 0 {
			folio.Number, *side, s.rest = n, versoSide, after
			s.column()
			return true
		}
	}
	folio.Number = fromRoman(letters)
	s.rest = after
	return folio.Number > 0
}

// sideFollows tells whether a side stands at the front of text, after a
// suffix or a closing bracket perhaps.
func sideFollows(text string) bool {
	s := scanner{rest: text}
	var folio Folio
	s.suffix(&folio, noSide)
	s.spaces()
	s.take("]")
	s.suffix(&folio, noSide)
	return s.side() != noSide
}

func span(text, letters string) int {
	end := 0
	for end < len(text) && strings.IndexByte(letters, text[end]) >= 0 {
		end++
	}
	return end
}

// suffix reads what tells apart leaves of one number. Letters of a side or a
// roman numeral are no suffix where they could be either.
func (s *scanner) suffix(folio *Folio, side writtenSide) {
	if folio.Suffix != "" || side != noSide {
		return
	}
	before := s.rest
	s.spaces()
	for _, word := range []string{"bis", "ter", "quater", "*"} {
		if s.take(word) {
			folio.Suffix = word
			return
		}
	}
	s.rest = before
	if s.rest == "" || !suffixLetter(s.rest[0], folio.Roman) {
		return
	}
	if next := s.rest[1:]; next != "" && next[0] >= 'a' && next[0] <= 'z' && next[0] != 'r' && next[0] != 'v' {
		return
	}
	folio.Suffix, s.rest = s.rest[:1], s.rest[1:]
}

func suffixLetter(letter byte, isRoman bool) bool {
	if letter < 'a' || letter > 'z' || letter == 'r' || letter == 'v' {
		return false
	}
	return !isRoman || strings.IndexByte("ixlcdmj", letter) < 0
}

// side reads r, v, recto, verso or rv, and passes over a column.
func (s *scanner) side() writtenSide {
	before := s.rest
	s.spaces()
	switch {
	case s.take("recto"):
		return rectoSide
	case s.take("verso"):
		return versoSide
	case s.take("rv"), s.take("r/v"), s.take("r°v°"):
		return bothSides
	case s.take("r°"), s.take("ro"):
		return rectoSide
	case s.take("v°"), s.take("vo"):
		return versoSide
	case s.take("r"):
		s.column()
		return rectoSide
	case s.take("v"):
		s.column()
		return versoSide
	}
	s.rest = before
	return noSide
}

// column passes over the letter of a column, a to d, at the end of a label.
func (s *scanner) column() {
	if s.rest == "" || s.rest[0] < 'a' || s.rest[0] > 'd' {
		return
	}
	if next := s.rest[1:]; next == "" || next[0] < 'a' || next[0] > 'z' {
		s.rest = next
	}
}
