package table

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"
)

// A Share is a label with its weight, where a cell names several: a page that was
// measured on two days.
type Share struct {
	Label  string
	Weight float64
}

// shareEnd is the weight that ends a share in a cell.
var shareEnd = regexp.MustCompile(` × (-?[0-9.]+(?:e[-+]?[0-9]+)?)(?: \+ |$)`)

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
		if label, alone := strings.CutSuffix(parts[0], " × 1"); alone && !shareEnd.MatchString(label) {
			return label
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
		at := shareEnd.FindStringSubmatchIndex(rest)
		if at == nil {
			if shares == nil {
				return []Share{{cell, 1}}, nil
			}
			return nil, fmt.Errorf("%q is no list of labels with weights; write such as 2026-03-09 × 0.62 + 2026-03-10 × 0.38", cell)
		}
		weight, err := strconv.ParseFloat(rest[at[2]:at[3]], 64)
		if err != nil || at[0] == 0 {
			return nil, fmt.Errorf("%q has a label without a name or a weight that is no number; write such as 2026-03-09 × 0.62 + 2026-03-10 × 0.38", cell)
		}
		shares = append(shares, Share{rest[:at[0]], weight})
		rest = rest[at[1]:]
	}
	return shares, nil
}
