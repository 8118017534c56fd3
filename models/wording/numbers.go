// Package wording answers: how does a number, a count, a list, a percentage or a
// feature stand in a sentence?
package wording

import (
	"math"
	"regexp"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Characters of the typographer's numbers: a Narrow no-break space parts
// thousands and stands before the per-cent sign, and the Minus is the
// mathematical one, not the hyphen (ISO 80000-1, clause 7; from memory).
const (
	Minus     = "−"      // U+2212
	Narrow    = "\u202f" // Narrow no-break space
	NoBreak   = "\u00a0"
	unknown   = "not known"
	unbounded = "no bound"
)

// Fixed writes v with the given number of decimals: a true Minus sign, no
// negative zero, thousands parted from 10 000 on. NaN is "not known" and an
// infinity "no bound", so that a table never shows a number it does not have.
func Fixed(v float64, decimals int) string {
	switch {
	case math.IsNaN(v):
		return unknown
	case math.IsInf(v, 0):
		return unbounded
	}
	digits := strconv.FormatFloat(math.Abs(v), 'f', max(decimals, 0), 64)
	whole, rest, _ := strings.Cut(digits, ".")
	if len(whole) > 4 {
		whole = parted(whole)
	}
	if rest != "" {
		whole += "." + rest
	}
	if v < 0 && strings.ContainsAny(digits, "123456789") {
		return Minus + whole
	}
	return whole
}

// parted puts a Narrow space between groups of three digits, from the right.
func parted(digits string) string {
	head := (len(digits)-1)%3 + 1
	out := digits[:head]
	for at := head; at < len(digits); at += 3 {
		out += Narrow + digits[at:at+3]
	}
	return out
}

// Whole writes a count.
func Whole(n int) string { return Fixed(float64(n), 0) }

// DensityDecimals is one digit more than a densitometer shows, since a page's
// wear is a mean of several placings.
const DensityDecimals = 3

// Density writes an optical density, with three decimals.
func Density(v float64) string { return Fixed(v, DensityDecimals) }

// Decimals is the number of decimals that shows an uncertainty with two
// significant digits, the most that is of use (JCGM 100:2008, 7.2.6), between 0
// and 6. Where the uncertainty is not known or zero it is 3.
func Decimals(uncertainty float64) int {
	u := math.Abs(uncertainty)
	if u == 0 || math.IsNaN(u) || math.IsInf(u, 0) {
		return DensityDecimals
	}
	// Two digits of 0.0996 are 0.10: round before counting.
	rounded, err := strconv.ParseFloat(strconv.FormatFloat(u, 'e', 1, 64), 64)
	if err != nil {
		return DensityDecimals
	}
	return min(max(1-int(math.Floor(math.Log10(rounded))), 0), 6)
}

// Interval writes "0.12 to 0.31", and in words where an end is open.
func Interval(low, high float64, decimals int) string {
	openLow, openHigh := math.IsInf(low, -1), math.IsInf(high, 1)
	switch {
	case math.IsNaN(low) || math.IsNaN(high) || math.IsInf(low, 1) || math.IsInf(high, -1):
		return "interval " + unknown
	case openLow && openHigh:
		return "any value"
	case openLow:
		return "at most " + Fixed(high, decimals)
	case openHigh:
		return "at least " + Fixed(low, decimals)
	}
	return Fixed(low, decimals) + " to " + Fixed(high, decimals)
}

// Estimate writes "0.21 (0.15 to 0.27)".
func Estimate(v, low, high float64, decimals int) string {
	return Fixed(v, decimals) + " (" + Interval(low, high, decimals) + ")"
}

// EstimateByWidth is Estimate with the decimals that the width of its interval asks for,
// which is about four standard errors.
func EstimateByWidth(v, low, high float64) string {
	return Estimate(v, low, high, Decimals((high-low)/4))
}

// RatioEstimate is Estimate of a ratio: its interval is the wider, the larger it is, so
// that a small one needs decimals of its own.
func RatioEstimate(v, low, high float64) string {
	return Estimate(v, low, high, Decimals(min((high-low)/4, v)))
}

// FirstEstimate is Estimate where the reader has not yet been told what the
// brackets hold: "0.21 (95 % interval 0.15 to 0.27)".
func FirstEstimate(v, low, high float64, decimals int) string {
	return Fixed(v, decimals) + " (95" + Narrow + "% interval " + Interval(low, high, decimals) + ")"
}

// P writes a p-value with its sign: "p = 0.004", "p < 0.0001".
func P(p float64) string {
	value := PValue(p)
	if value == unknown {
		return "p " + unknown
	}
	if sign, rest, ok := strings.Cut(value, NoBreak); ok {
		return "p" + NoBreak + sign + NoBreak + rest
	}
	return "p" + NoBreak + "=" + NoBreak + value
}

// PValue is the p-value alone, as a table shows it: "0.23", "0.004", "0.0007",
// "< 0.0001". Two significant digits, at most four decimals; never 0 or 1.
func PValue(p float64) string {
	switch {
	case math.IsNaN(p):
		return unknown
	case p < 0.0001:
		return "<" + NoBreak + "0.0001"
	case p < 0.001:
		return Fixed(p, 4)
	case p < 0.0995:
		return Fixed(p, 3)
	case p <= 0.995:
		return Fixed(p, 2)
	}
	return ">" + NoBreak + "0.99"
}

// Probability writes a probability with two decimals, never as 0 or 1.
func Probability(p float64) string {
	switch {
	case math.IsNaN(p):
		return unknown
	case p < 0.01:
		return "below 0.01"
	case p > 0.99:
		return "above 0.99"
	}
	return Fixed(p, 2)
}

// Percent writes a share of one as per cent, without decimals: "38 %".
func Percent(share float64) string {
	if math.IsNaN(share) || math.IsInf(share, 0) {
		return Fixed(share, 0)
	}
	return Fixed(100*share, 0) + Narrow + "%"
}

// Rate writes a rate of error that is kept, with one digit at least: "5 %", "0.2 %".
func Rate(share float64) string {
	decimals := 0
	for decimals < 4 && share > 0 && 100*share < 0.95*math.Pow(10, -float64(decimals)) {
		decimals++
	}
	return Fixed(100*share, decimals) + Narrow + "%"
}

// PercentEstimate writes a share with its interval: "38 % (31 to 46 %)".
func PercentEstimate(share, low, high float64) string {
	return Percent(share) + " (" + PercentInterval(low, high) + ")"
}

// PercentInterval writes the interval of a share: "31 to 46 %".
func PercentInterval(low, high float64) string {
	text := Interval(100*low, 100*high, 0)
	if !math.IsNaN(low) && !math.IsNaN(high) {
		text += Narrow + "%"
	}
	return text
}

// DF writes degrees of freedom: whole where they are whole or many, else with
// one decimal.
func DF(df float64) string {
	if df >= 100 || df == math.Trunc(df) {
		return Fixed(df, 0)
	}
	return Fixed(df, 1)
}

// Count writes a number of things: "1 page", "12 pages", "no pages".
func Count(n int, one, many string) string {
	switch n {
	case 0:
		return "no " + many
	case 1:
		return "1" + NoBreak + one
	}
	return Whole(n) + NoBreak + many
}

// Plain is a number of things as messages have it, its digits together and with an
// ordinary space: "1 page", "12 pages", "0 pages".
func Plain(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return strconv.Itoa(n) + " " + many
}

// List joins words as a Sentence does: "a", "a and b", "a, b and c".
func List(words []string) string {
	switch len(words) {
	case 0:
		return ""
	case 1:
		return words[0]
	}
	last := len(words) - 1
	return strings.Join(words[:last], ", ") + " and " + words[last]
}

// The places where Typeset acts.
var (
	hyphenMinus = regexp.MustCompile(`(^|[\s(])-(\d)`)
	pValue      = regexp.MustCompile(`\b([pt]) ([=<>]) `)
	apostrophe  = regexp.MustCompile(`(\pL)'(\pL|\s)`)
	unbroken    = strings.NewReplacer(" %", Narrow+"%", " f. ", " f."+NoBreak, " ff. ", " ff."+NoBreak)
)

// Typeset makes the plain characters of text from other rooms the typographer's:
// the space before a per-cent sign, that after an abbreviated folio and those of
// "p = 0.01" do not break, a hyphen before a number is a Minus, and an
// apostrophe is curved.
func Typeset(text string) string {
	text = hyphenMinus.ReplaceAllString(text, "${1}"+Minus+"${2}")
	text = apostrophe.ReplaceAllString(text, "${1}’${2}")
	text = pValue.ReplaceAllString(text, "${1}"+NoBreak+"${2}"+NoBreak)
	return unbroken.Replace(text)
}

// TypesetAll is Typeset over a list of notes.
func TypesetAll(texts []string) []string {
	out := make([]string, len(texts))
	for i, text := range texts {
		out[i] = Typeset(text)
	}
	return out
}

// Capital sets the first letter large.
func Capital(text string) string {
	first, size := utf8.DecodeRuneInString(text)
	if size == 0 {
		return ""
	}
	return string(unicode.ToUpper(first)) + text[size:]
}

// Sentence gives text a Capital at its start and a full stop at its end.
func Sentence(text string) string {
	text = strings.TrimSpace(text)
	if text == "" {
		return ""
	}
	text = Capital(text)
	if !strings.ContainsAny(text[len(text)-1:], ".?!") && !strings.HasSuffix(text, "”") {
		text += "."
	}
	return text
}

// Clipped shortens a text to at most so many characters, at a word's end where
// one is near.
func Clipped(text string, most int) string {
	runes := []rune(text)
	if len(runes) <= most {
		return text
	}
	cut := string(runes[:most-1])
	if at := strings.LastIndexByte(cut, ' '); at > most/2 {
		cut = cut[:at]
	}
	return strings.TrimRight(cut, " ,;") + "…"
}

// spelled are the numbers that a sentence writes in letters.
var spelled = []string{"no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve"}

// Spelled writes a small number in letters, a larger one in figures.
func Spelled(n int) string {
	if n >= 0 && n < len(spelled) {
		return spelled[n]
	}
	return Whole(n)
}

// lineWidth is the number of characters of a line on a terminal.
const lineWidth = 80

// Wrapped breaks a paragraph into lines as a terminal has them.
func Wrapped(text string) string {
	var b strings.Builder
	column := 0
	for _, word := range strings.Fields(text) {
		length := utf8.RuneCountInString(word)
		switch {
		case column == 0:
		case column+1+length > lineWidth:
			b.WriteByte('\n')
			column = 0
		default:
			b.WriteByte(' ')
			column++
		}
		b.WriteString(word)
		column += length
	}
	return b.String()
}
