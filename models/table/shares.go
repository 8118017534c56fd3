package table

import (
	"fmt"
	"strconv"
	"strings"
)

// A Share is a label with its weight, where a cell names several: a page that was
// measured on two days.
type Share struct {
	Label  string
	Weight float64
}

const (
	timesSign = " × "
	plusSign  = " + "
)

// shareEnd finds the weight that ends the first share of a cell: the label ends at
// label, the weight, and the next share begins at next; false where there is none.
func shareEnd(cell string) (label int, weight string, next int, ok bool) {
	for from := 0; ; {
		at := strings.Index(cell[from:], timesSign)
		if at < 0 {
			return 0, "", 0, false
		}
		label = from + at
		from = label + len(timesSign)
		weight, _, more := strings.Cut(cell[from:], plusSign)
		if !isWeight(weight) {
			continue
		}
		if next = len(cell); more {
			next = from + len(weight) + len(plusSign)
		}
		return label, weight, next, true
	}
}

// isWeight tells whether text is written as a weight is.
func isWeight(text string) bool {
	digits, exponent, scaled := strings.Cut(strings.TrimPrefix(text, "-"), "e")
	made := func(of, from string) bool { return of != "" && strings.Trim(of, from) == "" }
	return made(digits, "0123456789.") && (!scaled || made(strings.TrimPrefix(strings.TrimPrefix(exponent, "-"), "+"), "0123456789"))
}

// WriteShares writes shares as one cell: a label with the weight 1 alone as it is,
// others as "2026-03-09 × 0.62 + 2026-03-10 × 0.38", weights to nine digits. Shares
// with a weight of 0 are left out.
func WriteShares(shares []Share) string {
	var parts []string
	for _, s := range shares {
		if weight := strconv.FormatFloat(s.Weight, 'g', 9, 64); weight != "0" && weight != "-0" {
			parts = append(parts, s.Label+" × "+weight)
		}
	}
	if len(parts) == 1 {
		if label, alone := strings.CutSuffix(parts[0], " × 1"); alone {
			if _, _, _, mistaken := shareEnd(label); !mistaken {
				return label
			}
		}
	}
	return strings.Join(parts, " + ")
}

// ParseShares reads a cell that [WriteShares] wrote; a label alone has the weight
// 1, an empty cell holds none.
func ParseShares(cell string) ([]Share, error) {
	if cell == "" {
		return nil, nil
	}
	var shares []Share
	for rest := cell; rest != ""; {
		label, written, next, ok := shareEnd(rest)
		if !ok {
			if shares == nil {
				return []Share{{cell, 1}}, nil
			}
			return nil, fmt.Errorf("%q is no list of labels with weights; write such as 2026-03-09 × 0.62 + 2026-03-10 × 0.38", cell)
		}
		weight, err := strconv.ParseFloat(written, 64)
		if err != nil || label == 0 {
			return nil, fmt.Errorf("%q has a label without a name or a weight that is no number; write such as 2026-03-09 × 0.62 + 2026-03-10 × 0.38", cell)
		}
		shares = append(shares, Share{rest[:label], weight})
		rest = rest[next:]
	}
	return shares, nil
}
