package table

import "strings"

// Nearest is the word among those given that is most like word, to be offered
// in a message; empty where none is alike: at most a third of the letters,
// and at least one, may differ. Likeness is the number of letters to insert,
// delete or exchange (Levenshtein 1966), capitals counted as small letters; of
// equals the first given wins.
func Nearest(word string, among []string) string {
	target := []rune(strings.ToLower(word))
	best, fewest := "", max(1, len(target)/3)+1
	for _, candidate := range among {
		if d := editDistance(target, []rune(strings.ToLower(candidate)), fewest); d < fewest {
			best, fewest = candidate, d
		}
	}
	return best
}

// editDistance is the number of single-letter edits from a to b; enough is
// returned as soon as the number cannot be smaller.
func editDistance(a, b []rune, enough int) int {
	if len(a)-len(b) >= enough || len(b)-len(a) >= enough {
		return enough
	}
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i, ra := range a {
		diagonal := row[0]
		row[0] = i + 1
		for j, rb := range b {
			exchange := diagonal
			if ra != rb {
				exchange++
			}
			diagonal = row[j+1]
			row[j+1] = min(exchange, row[j]+1, row[j+1]+1)
		}
	}
	return row[len(b)]
}
