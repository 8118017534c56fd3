package catalogue

import (
	"fmt"
	"regexp"
	"strings"
	"unicode"
	"unicode/utf8"

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

// kinds are words of English, Latin, French, German, Italian, Spanish and Dutch
// catalogues for the texts of books of hours and prayer books, folded (common
// practice, no source). The first that fits wins.
var kinds = []named{
	{"calendar", regexp.MustCompile(`\b(calendar|kalend|calend)`)},
	{"antiphon", regexp.MustCompile(`^(an )?(antiphon|antifon|antienne)[a-z]*\b(?:[^a-z]|$)`)},
	{kindDead, regexp.MustCompile(`(office|hours|vigils?|vespers|matins) (of|for) the dead|(offici|vigil|hor)[a-z]* (pro )?(defunct|mortu)|agenda mortuorum|(offices?|vigiles?|heures) (des|pour les) (morts|defunts|trepasses)|toten(offizi|vigil)|(officio|ufficio) (dei|per i) (morti|defunti)|oficio de (los )?difuntos|doden(officie|vigilie)|vigilien? (van|voor) de doden`)},
	{"psalms", regexp.MustCompile(`\b(psalm|psalter|psaume|psautier|salteri|salmi\b|salmos?\b|busspsalm|boetpsalm|mazmur|mazamur|tehillim|zabur)|^dawit`)},
	{"litany", regexp.MustCompile(`\b(litan|letani)`)},
	{"lessons", regexp.MustCompile(`\b(pericop|perikop)|(sequenti|lection|initi)[a-z]* (sancti |s\. )?evangeli|evangelien(abschnitt|perikop|lesung)|evangelielezing|\b(gospels?|evangeli(um|a|o|os|en)|evangiles?|vangel[oi])\b|\bpassio[a-z]* (domini|secundum|according to|selon|nach|secondo|segun|volgens)\b`)},
	{"suffrage", regexp.MustCompile(`\b(suffrag|sufragi|memorial|memorie\b|commemora|conmemora)`)},
	{kindHours, regexp.MustCompile(`\b(hours|horae|hore|horas|heures|horen|getijden|offi[ct]ium|oficio|office of|offices? (de|du|des)|ore (della|di|del|dello)|u?f?fici[a-z]* (della|di|del|dello)|officio)\b|stundengebet|tagzeiten|offizi`)},
	{"prayer", regexp.MustCompile(`\b(prayer|oratio|oracion|orazion|oraison|priere|gebet|gebed|preghier|obsecro te|o intemerata|stabat mater|devotion|joys|gaudia|joies|gioie|gozos|vreugden|boner\b|bonner\b|nattvardsbon|tideboner)`)},
}

// reWholeBook finds what catalogues call a book of hours as a whole, which says
// nothing of the texts in it.
var reWholeBook = regexp.MustCompile(`\b(books? of hours|livres? d.heures|libr[oi] d.ore|uffiziolo|libros? de horas|liber horarum|getijdenboek(en)?|stundenbuch|horenbuch)\b`)

// sets are words for the hours that catalogues name most (common practice, no
// source).
var sets = []named{
	{"of the Cross", regexp.MustCompile(`\b(cross|crucis|croix|croce|cruz|kruis)\b|kreuz`)},
	{"of the Holy Spirit", regexp.MustCompile(`holy (spirit|ghost)|spiritus?|saint.esprit|heilig[a-z]* geist|geist|spirito|espiritu|heilige geest`)},
	{"of the Trinity", regexp.MustCompile(`trinit|trinidad|dreifaltig|drievuldig|drie-?eenheid`)},
	{"of the Passion", regexp.MustCompile(`\b(passion|pasion|passie)`)},
	{"of the Virgin", regexp.MustCompile(`virgin|\bbvm\b|\bmari(ae?|e|en)\b|marien|vierge|virgen|notre.dame|our lady|beat[ae] mari|jungfrau|madonna|vergine|nuestra senora|onze.lieve.vrouw`)},
}

// materials are words for what leaves are made of, folded.
var materials = []named{
	{"parchment", regexp.MustCompile(`parch|perg|perkament|vellum|velin|vitela|membran|\bperch`)},
	{"paper", regexp.MustCompile(`paper|papier|papyr|\bcarta\b|cartace|\bchart|\bpapel\b`)},
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
func kindOf(words string) string {
	return first(kinds, reWholeBook.ReplaceAllString(fold(words), " "))
}

// officeOf reads the office at the front of a title, or its last part: Matins of
// the Virgin; Ad laudes; Vesper (mit Antiphonen); Heures de la Vierge, Matines. A title
// of several, Prime and Terce, names none.
func officeOf(title string) codex.Office {
	if reSeveral.MatchString(title) {
		return codex.NoOffice
	}
	if at := strings.LastIndexAny(title, ",.:;–—"); at >= 0 {
		_, wide := utf8.DecodeRuneInString(title[at:])
		if office, err := codex.ParseOffice(strings.Trim(title[at+wide:], " ()[]")); err == nil {
			return office
		}
	}
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

// reSeveral finds several offices at the front of a title.
var reSeveral = regexp.MustCompile(`^(?i:(?:matins|lauds|prime|terce|sext|nones?|vespers)(?:, (?:and )?| and | to )(?:lauds|prime|terce|sext|nones?|vespers|compline)\b)`)

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
