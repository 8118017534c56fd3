package mixed

import (
	"math"
	"strconv"
	"strings"

	"thumbed/models/wording"
)

// rows are lines of a table whose first column is flush left, all others flush
// right.
type rows struct {
	b     *strings.Builder
	cells [][]string
}

func newRows(b *strings.Builder) *rows { return &rows{b: b} }

func (r *rows) add(cells ...string) { r.cells = append(r.cells, cells) }

func (r *rows) end() { r.b.WriteString(wording.Lines(r.cells)) }

// placesFor is how many decimals leave two digits of a standard error.
func placesFor(se float64) int {
	if !(se > 0) || math.IsInf(se, 0) {
		return 3
	}
	return min(max(1-int(math.Floor(math.Log10(se))), 0), 9)
}

func decimals(v float64, places int) string {
	text := strconv.FormatFloat(v, 'f', places, 64)
	if strings.Trim(text, "-0.") == "" {
		return strings.TrimPrefix(text, "-") // zero has no sign
	}
	return strings.Replace(text, "-", "−", 1)
}

func probability(p float64) string {
	if p < 0.0001 {
		return "under 0.0001"
	}
	return decimals(p, 4)
}
