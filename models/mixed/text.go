package mixed

import (
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"text/tabwriter"
)

// Text writes the fit for reading: a sentence on what was fitted, a table of
// the fixed effects with their intervals, what varies between groups, and the
// notes. Numbers are rounded to what their standard errors bear.
func (f *Fit) Text(w io.Writer) error {
	var b strings.Builder
	f.writeHead(&b)
	f.writeFixed(&b)
	f.writeSpreads(&b)
	for _, note := range f.Notes {
		fmt.Fprintf(&b, "\nNote. %s\n", note)
	}
	_, err := io.WriteString(w, b.String())
	return err
}

func (f *Fit) writeHead(b *strings.Builder) {
	what := f.model.Outcome
	if f.model.logarithmic() {
		what = "the logarithm of " + what
	}
	fmt.Fprintf(b, "A model of %s in %s, by %s likelihood: log likelihood %s.\n", what, count(f.N, "row", "rows"), f.Estimate, decimals(f.LogLik, 3))
}

// writeFixed writes the table of fixed effects.
func (f *Fit) writeFixed(b *strings.Builder) {
	b.WriteString("\nFixed effects\n")
	rows := newRows(b)
	rows.add("", "estimate", "95 % interval", "", "standard error", "df", "p")
	for _, c := range f.Fixed {
		places := placesFor(c.SE)
		rows.add(c.Term, decimals(c.Estimate, places), decimals(c.Low, places), "to "+decimals(c.High, places), decimals(c.SE, places), decimals(c.DF, 1), probability(c.P))
	}
	rows.end()
}

// writeSpreads writes what varies between groups and between rows.
func (f *Fit) writeSpreads(b *strings.Builder) {
	if len(f.Random) > 0 {
		b.WriteString("\nStandard deviations between groups\n")
		rows := newRows(b)
		rows.add("", "", "groups", "deviation", "correlations with the terms above")
		for _, r := range f.Random {
			by := strings.Join(r.By, " and ")
			groups := strconv.Itoa(r.Groups)
			for k, term := range r.Terms {
				var correlations []string
				for _, v := range r.Correlation[k][:k] {
					correlations = append(correlations, decimals(v, 2))
				}
				rows.add(by, term, groups, significant(r.SD[k]), strings.Join(correlations, ", "))
				by, groups = "", ""
			}
		}
		rows.end()
	}
	fmt.Fprintf(b, "\nStandard deviation of what is left in single rows: %s.\n", significant(f.Residual.SD))
	if f.model.Residual.Along != "" {
		fmt.Fprintf(b, "Two rows one step apart along %s are correlated by %s in this, rows d steps apart by its d-th power.\n", f.model.Residual.Along, decimals(f.Residual.Rho, 3))
	}
}

// rows are lines of a table whose first column is flush left, all others flush
// right.
type rows struct {
	b     *strings.Builder
	cells [][]string
}

func newRows(b *strings.Builder) *rows { return &rows{b: b} }

func (r *rows) add(cells ...string) { r.cells = append(r.cells, cells) }

func (r *rows) end() {
	widest := 0
	for _, cells := range r.cells {
		widest = max(widest, len([]rune(cells[0])))
	}
	w := tabwriter.NewWriter(r.b, 0, 0, 2, ' ', tabwriter.AlignRight)
	for _, cells := range r.cells {
		first := cells[0] + strings.Repeat(" ", widest-len([]rune(cells[0])))
		fmt.Fprintf(w, "%s\t%s\t\n", first, strings.Join(cells[1:], "\t"))
	}
	w.Flush() // into a strings.Builder, which cannot fail
}

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

func significant(v float64) string {
	if v == 0 {
		return "0"
	}
	return decimals(v, min(max(2-int(math.Floor(math.Log10(math.Abs(v)))), 0), 9))
}

func probability(p float64) string {
	if p < 0.0001 {
		return "under 0.0001"
	}
	return decimals(p, 4)
}
