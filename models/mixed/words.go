package mixed

import (
	"fmt"
	"strconv"
)

// count writes a number with the word that goes with it.
func count(n int, one, several string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, several)
}

func parseNumber(cell string) (float64, error) { return strconv.ParseFloat(cell, 64) }

// pIs writes a p inside a sentence.
func pIs(p float64) string {
	if p < 0.0001 {
		return "p below 0.0001"
	}
	return "p = " + decimals(p, 4)
}
