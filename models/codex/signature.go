package codex

import (
	"regexp"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"
)

// An alphabet is the letters by which quires are signed, in their order.
type alphabet string

// quireAlphabet has the 23 letters of Latin: i and j, u and v are one, and
// there is no w (F. Bowers, Principles of Bibliographical Description, 1949, and
// P. Gaskell, A New Introduction to Bibliography, 1972, on signatures; from
// memory).
const quireAlphabet alphabet = "abcdefghiklmnopqrstvxyz"

// alphabetOf is the alphabet of a book in which quires are signed with the
// letters named: the 23, and j, u or w where one of them is a signature itself; u
// without v stands for v.
func alphabetOf(named string) alphabet {
	a := string(quireAlphabet)
	if strings.Contains(named, "j") {
		a = strings.Replace(a, "i", "ij", 1)
	}
	switch hasU, hasV := strings.Contains(named, "u"), strings.Contains(named, "v"); {
	case hasU && hasV:
		a = strings.Replace(a, "v", "uv", 1)
	case hasU:
		a = strings.Replace(a, "v", "u", 1)
	}
	if strings.Contains(named, "w") {
		a = strings.Replace(a, "x", "wx", 1)
	}
	return alphabet(a)
}

// A signature is a quire label of letters: A, aa, Bb or 2B, with a mark before
// it perhaps, as in ²A of a second alphabet.
type signature struct {
	mark  string // raised figures before it
	place int    // along the alphabet run through again and again: aa follows z
	upper bool
	style string // how a letter that stands twice or more is written; empty for one that stands once
}

var reSignature = regexp.MustCompile(`^([⁰¹²³⁴⁵⁶⁷⁸⁹]*)(\d*)([A-Za-z]+)$`)

// signature reads a label; false where it is no letter of the alphabet, once or
// more.
func (a alphabet) signature(label string) (signature, bool) {
	match := reSignature.FindStringSubmatch(label)
	if match == nil {
		return signature{}, false
	}
	letters := strings.ToLower(match[3])
	at := strings.Index(string(a), letters[:1])
	if at < 0 || strings.Trim(letters, letters[:1]) != "" {
		return signature{}, false
	}
	s := signature{mark: match[1], upper: match[3][0] < 'a'}
	times := len(letters)
	switch {
	case match[2] != "" && (times > 1 || atoi(match[2]) < 2 || atoi(match[2]) > mostQuires || match[2][0] == '0'):
		return signature{}, false
	case match[2] != "":
		times, s.style = atoi(match[2]), "2A"
	case times > 1 && match[3] == strings.ToUpper(match[3]), times > 1 && match[3] == letters:
		s.style = "AA"
	case times > 1:
		s.style = "Aa"
		if match[3][1:] != letters[1:] {
			return signature{}, false
		}
	}
	s.place = (times-1)*len(a) + at
	return s, true
}

// write is the label of a signature.
func (a alphabet) write(s signature) string {
	letter, times := string(a[s.place%len(a)]), s.place/len(a)+1
	if s.upper {
		letter = strings.ToUpper(letter)
	}
	switch {
	case times == 1:
		return s.mark + letter
	case s.style == "2A":
		return s.mark + strconv.Itoa(times) + letter
	case s.style == "Aa":
		return s.mark + letter + strings.Repeat(strings.ToLower(letter), times-1)
	}
	return s.mark + strings.Repeat(letter, times)
}

// between gives the labels from one to another, both of them with it: numbers,
// roman numerals, or signatures; nil where the second does not come after the
// first, or is more than the most quires away. Letters that may be either are
// taken as roman numerals where these are fewer than ten apart.
func (a alphabet) between(first, last string) []string {
	from, to := atoiOnly(first), atoiOnly(last)
	write := strconv.Itoa
	if from < 0 || to < 0 {
		from, to, write = a.romansOrLetters(first, last)
	}
	if to <= from || to-from >= mostQuires {
		return nil
	}
	labels := make([]string, 0, to-from+1)
	for n := from; n <= to; n++ {
		labels = append(labels, write(n))
	}
	return labels
}

func (a alphabet) romansOrLetters(first, last string) (from, to int, write func(int) string) {
	one, isOne := a.signature(first)
	two, isTwo := a.signature(last)
	letters := isOne && isTwo && one.mark == two.mark && one.upper == two.upper && (one.style == "" || one.style == two.style) && two.place > one.place
	lower, upper := strings.ToLower(first) == first && strings.ToLower(last) == last, strings.ToUpper(first) == first && strings.ToUpper(last) == last
	n, m := fromRoman(strings.ToLower(first)), fromRoman(strings.ToLower(last))
	switch {
	case (lower || upper) && n > 0 && m > n && (!letters || m-n < 10):
		return n, m, func(k int) string {
			if upper {
				return strings.ToUpper(roman(k))
			}
			return roman(k)
		}
	case letters:
		return one.place, two.place, func(k int) string {
			s := two
			s.place = k
			return a.write(s)
		}
	}
	return 0, 0, nil
}

// atoiOnly reads a label that is a number; −1 for others.
func atoiOnly(label string) int {
	if label == "" || span(label, "0123456789") != len(label) {
		return -1
	}
	return atoi(label)
}

// reached is how many of the labels, from the first of them, are written as one
// run, 1–3 or A–C. No run ends on or passes j, u or w, since a run names only its
// ends and the alphabet is told by the letters named.
func (a alphabet) reached(labels []string) int {
	n := 1
	for n < len(labels) && !aside(labels[n-1]) && !aside(labels[n]) && a.follows(labels[n-1], labels[n]) {
		n++
	}
	for n > 1 && !slices.Equal(a.between(labels[0], labels[n-1]), labels[:n]) {
		n--
	}
	return n
}

// follows tells whether a label comes next after another, as a number, a roman
// numeral or a signature.
func (a alphabet) follows(label, next string) bool {
	if n := atoiOnly(label); n >= 0 {
		return atoiOnly(next) == n+1
	}
	n, m := fromRoman(strings.ToLower(label)), fromRoman(strings.ToLower(next))
	one, isOne := a.signature(label)
	two, isTwo := a.signature(next)
	return n > 0 && m == n+1 || isOne && isTwo && two.place == one.place+1
}

// aside tells whether a label is a letter that is not among the 23.
func aside(label string) bool {
	return utf8.RuneCountInString(label) == 1 && strings.ContainsAny(label, "juwJUW")
}
