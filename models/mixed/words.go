package mixed

import (
	"strconv"
)

func parseNumber(cell string) (float64, error) { return strconv.ParseFloat(cell, 64) }

// pIs writes a p inside a sentence.
func pIs(p float64) string {
	if p < 0.0001 {
		return "p below 0.0001"
	}
	return "p = " + decimals(p, 4)
}
