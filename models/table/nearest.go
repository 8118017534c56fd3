package table

import "strings"

// Nearest is the word among those given that is most like word, to be offered
// in a message; empty where none is alike: at most a third of the letters,
// and at least one, may differ. Likeness is the number of slips of the pen
// (Damerau 1964): a letter too many, a letter left out, one for another, two
// that changed places; capitals count as small letters. Of equals the first
// given wins.
func Nearest(word string, among []string) string {
	target := []rune(strings.ToLower(word))
	best, fewest := "", max(1, len(target)/3)+1
	for _, candidate := range among {
		letters := []rune(strings.ToLower(candidate))
		if apart := len(letters) - len(target); apart >= fewest || -apart >= fewest {
			continue
		}
		if n := slips(target, letters); n < fewest {
			best, fewest = candidate, n
		}
	}
	return best
}

// Suggestion names the nearest word that would have been right, or else says what to
// do, as the remedy of a problem.
func Suggestion(word string, among []string, otherwise string) string {
	if near := Nearest(word, among); near != "" {
		return "perhaps " + near + " is meant; otherwise " + otherwise
	}
	return otherwise
}

// slips is the least number of slips that make b of a, no letter touched
// twice.
func slips(a, b []rune) int {
	// above2, above and row are the numbers for the first i−2, i−1 and i
	// letters of a, against every front part of b.
	above2, above, row := make([]int, len(b)+1), make([]int, len(b)+1), make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := 1; i <= len(a); i++ {
		above2, above, row = above, row, above2
		row[0] = i
		for j := 1; j <= len(b); j++ {
			exchange := above[j-1]
			if a[i-1] != b[j-1] {
				exchange++
			}
			row[j] = min(exchange, above[j]+1, row[j-1]+1)
			if i > 1 && j > 1 && a[i-1] == b[j-2] && a[i-2] == b[j-1] {
				row[j] = min(row[j], above2[j-2]+1)
			}
		}
	}
	return row[len(b)]
}
