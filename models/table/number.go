package table

import (
	"math"
	"slices"
	"strconv"
	"strings"
)

// parseNumber reads a plain decimal number, with an exponent perhaps: 0.31,
// -2, .5, 1e-7. Words (NaN, Inf), hexadecimal, digits parted by underscores
// and numbers too large for a double are none.
func parseNumber(cell string) (float64, bool) {
	if !plainNumber(cell) {
		return 0, false
	}
	v, err := strconv.ParseFloat(cell, 64)
	return v, err == nil
}

// plainNumber tells whether a cell is written as a decimal number.
func plainNumber(cell string) bool {
	rest := afterSign(cell)
	whole := digits(rest)
	rest = rest[whole:]
	if strings.HasPrefix(rest, ".") {
		fraction := digits(rest[1:])
		whole += fraction
		rest = rest[1+fraction:]
	}
	if whole == 0 {
		return false
	}
	if rest != "" && (rest[0] == 'e' || rest[0] == 'E') {
		rest = afterSign(rest[1:])
		exponent := digits(rest)
		return exponent > 0 && exponent == len(rest)
	}
	return rest == ""
}

func afterSign(text string) string {
	if text != "" && (text[0] == '-' || text[0] == '+') {
		return text[1:]
	}
	return text
}

// digits counts the digits at the front of text.
func digits(text string) int {
	n := 0
	for n < len(text) && text[n] >= '0' && text[n] <= '9' {
		n++
	}
	return n
}

// formatNumber writes v in the shortest form that reads back as the same
// number, without an exponent unless it is very large or very small.
func formatNumber(v float64) string {
	if size := math.Abs(v); size != 0 && (size < 1e-6 || size >= 1e21) {
		return strconv.FormatFloat(v, 'e', -1, 64)
	}
	return strconv.FormatFloat(v, 'f', -1, 64)
}

// numbers gives the cells as numbers, NaN where missing, or nil where one is
// not a number or none is present.
func numbers(c cells) []float64 {
	if c, ok := c.(*coded); ok {
		return c.numbers()
	}
	var out []float64
	for i := range c.len() {
		cell := c.at(i)
		if cell == "" {
			if out != nil {
				out[i] = math.NaN()
			}
			continue
		}
		v, ok := parseNumber(cell)
		if !ok {
			return nil
		}
		if out == nil {
			out = make([]float64, c.len())
			for k := range i {
				out[k] = math.NaN()
			}
		}
		out[i] = v
	}
	return out
}

// numbers reads each level once.
func (c *coded) numbers() []float64 {
	some, values := false, make([]float64, len(c.levels))
	for k, level := range c.levels {
		if level == "" {
			values[k] = math.NaN()
			continue
		}
		v, ok := parseNumber(level)
		if !ok {
			return nil
		}
		some, values[k] = true, v
	}
	if !some {
		return nil
	}
	out := make([]float64, c.len())
	for i := range out {
		out[i] = values[c.codes.at(i)]
	}
	return out
}

// noValue are the ways in which a missing value is written where the cell
// should be empty.
var noValue = []string{"na", "n/a", "nan", "null", "none", "-", "–", "?", "."}

// NumberProblem says what is wrong with a cell that should be a number, with
// the mended number where a decimal comma or the like is the cause.
func NumberProblem(file string, line int, column, cell string) Problem {
	p := Problem{File: file, Line: line, Column: column, Value: cell, Expected: "a number with a decimal point",
		Remedy: "write the number alone, or leave the cell empty where there is none"}
	if slices.Contains(noValue, strings.ToLower(cell)) {
		p.Remedy = "leave the cell empty where there is no value"
	} else if mended := mendNumber(cell); mended != "" {
		p.Remedy = "write " + mended
	}
	return p
}

// mendNumber guesses the plain form of a number written with a decimal comma,
// with digits in groups, or with a typographic minus; empty where it cannot.
func mendNumber(cell string) string {
	mended := strings.NewReplacer("−", "-", "–", "-", " ", "", "\u00a0", "", "\u202f", "", "'", "", "’", "").Replace(cell)
	comma, point := strings.LastIndexByte(mended, ','), strings.LastIndexByte(mended, '.')
	switch {
	case comma > point:
		mended = strings.ReplaceAll(mended[:comma], ".", "") + "." + mended[comma+1:]
	case comma >= 0:
		mended = strings.ReplaceAll(mended, ",", "")
	}
	if _, ok := parseNumber(mended); !ok || mended == cell {
		return ""
	}
	return mended
}
