package catalogue

import (
	"fmt"
	"regexp"
	"strings"
	"unicode"

	"golang.org/x/text/language"
	"golang.org/x/text/language/display"
	"golang.org/x/text/runes"
	"golang.org/x/text/transform"
	"golang.org/x/text/unicode/norm"

	"thumbed/models/codex"
)

// Kinds of section that the words of a description name, besides those of
// codex.SectionsSchema.
const (
	kindHours  = "hours"
	kindDead   = "office of the dead"
	kindUntold = "text" // of a text whose kind no word tells
)

// kinds are words of English, Latin, French, German and Italian catalogues for
// the texts of books of hours and prayer books, folded (common practice, no
// source). The first that fits wins.
var kinds = []named{
	{"calendar", regexp.MustCompile(`\b(calendar|kalend|calend)`)},
	{kindDead, regexp.MustCompile(`office of the dead|hours of the dead|vigils? of the dead|(offici|vigil|hor)[a-z]* (pro )?(defunct|mortu)|(office|vigiles|heures) des (morts|defunts|trepasses)|toten(offizi|vigil)|officio dei morti|ufficio dei morti`)},
	{"psalms", regexp.MustCompile(`\b(penitential psalms|psalm|psaume|salmi\b|busspsalm)|seven psalms`)},
	{"litany", regexp.MustCompile(`\b(litan)`)},
	{"lessons", regexp.MustCompile(`gospel (lesson|sequence|reading|extract|pericope)|\b(pericop|perikop)|lessons from the gospel|(sequenti|lection|initi)[a-z]* (sancti |s\. )?evangeli|passages? d.?evangile|extraits? des evangiles|evangelien(abschnitt|perikop|lesung)|passi evangelici`)},
	{"suffrage", regexp.MustCompile(`\b(suffrag|memorial|commemoratio)`)},
	{kindHours, regexp.MustCompile(`\b(hours|horae|hore|heures|horen|officium|office of|ore della|ore di|uffici[a-z]* (della|di|del))\b|stundengebet|tagzeiten|marienoffizi|kreuzoffizi`)},
	{"prayer", regexp.MustCompile(`\b(prayer|oratio|orazion|oraison|priere|gebet|preghier|obsecro te|o intemerata|stabat mater|devotion)`)},
}

// sets are words for the hours that catalogues name most (common practice, no
// source).
var sets = []named{
	{"of the Cross", regexp.MustCompile(`\b(cross|crucis|croix|croce)\b|kreuz`)},
	{"of the Holy Spirit", regexp.MustCompile(`holy (spirit|ghost)|spiritus?|saint.esprit|heilig[a-z]* geist|geist|spirito`)},
	{"of the Trinity", regexp.MustCompile(`trinit|dreifaltig`)},
	{"of the Passion", regexp.MustCompile(`\bpassion`)},
	{"of the Virgin", regexp.MustCompile(`virgin|\bbvm\b|\bmari(ae?|e|en)\b|marien|vierge|notre.dame|our lady|beat[ae] mari|jungfrau|madonna|vergine`)},
}

// materials are words for what leaves are made of, folded.
var materials = []named{
	{"parchment", regexp.MustCompile(`parch|perg|vellum|velin|membran|\bperch`)},
	{"paper", regexp.MustCompile(`paper|papier|papyr|\bcarta\b|cartace|\bchart`)},
}

// fold sets a text in small letters without accents, so that words can be
// found in it.
func fold(text string) string {
	text = strings.ToLower(text)
	plain, _, err := transform.String(transform.Chain(norm.NFD, runes.Remove(runes.In(unicode.Mn)), norm.NFC), text)
	if err != nil {
		return text
	}
	return strings.NewReplacer("ß", "ss", "æ", "ae", "œ", "oe", "’", "'").Replace(plain)
}

// A named is a name of ours and the words by which it is known.
type named struct {
	name  string
	words *regexp.Regexp
}

// first gives the first name whose words stand in a text; empty where none do.
func first(names []named, text string) string {
	text = fold(text)
	for _, n := range names {
		if n.words.MatchString(text) {
			return n.name
		}
	}
	return ""
}

// kindOf gives the kind of text that words name; empty where none does.
func kindOf(words string) string { return first(kinds, words) }

// setOf gives the set of hours that words name; empty where none does.
func setOf(words string) string { return first(sets, words) }

// officeOf reads the office at the front of a title: Matins of the Virgin; Ad
// laudes; Vesper (mit Antiphonen).
func officeOf(title string) codex.Office {
	words := strings.FieldsFunc(title, func(r rune) bool { return unicode.IsSpace(r) || strings.ContainsRune(".,:;()[]/", r) })
	if len(words) > 1 {
		if office, err := codex.ParseOffice(words[0] + " " + words[1]); err == nil {
			return office
		}
	}
	if len(words) > 0 {
		if office, err := codex.ParseOffice(words[0]); err == nil {
			return office
		}
	}
	return codex.NoOffice
}

// materialOf gives what leaves are made of; mixed where words name both.
func materialOf(words string) (material string, mixed bool) {
	words = fold(words)
	for _, m := range materials {
		if m.words.MatchString(words) {
			if material != "" {
				return "", true
			}
			material = m.name
		}
	}
	return material, strings.Contains(words, "mixed")
}

// LanguageName is the English name of a language that is given by its code
// (BCP 47, ISO 639); text that is no code stays as it is.
func LanguageName(code string) string {
	code = strings.TrimSpace(code)
	if tag, err := language.Parse(code); err == nil && len(code) <= 8 {
		if name := display.English.Languages().Name(tag); name != "" {
			return name
		}
	}
	return code
}

// Count writes a number of things: 1 leaf, 2 leaves.
func Count(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}
