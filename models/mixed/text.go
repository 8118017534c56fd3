package mixed

import (
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"thumbed/models/wording"
)

// Text writes the fit for reading: a sentence on what was fitted, a table of
// the fixed effects with their intervals, what varies between groups, and the
// notes. Numbers are rounded to what their standard errors bear.
func (f *Fit) Text(w io.Writer) error {
	var b strings.Builder
	f.writeHead(&b)
	f.writeFixed(&b)
	f.writeSpreads(&b)
	f.Inferences.Write(&b)
	_, err := io.WriteString(w, b.String())
	return err
}

func (f *Fit) writeHead(b *strings.Builder) {
	what := f.model.Outcome
	if f.model.logarithmic() {
		what = "the logarithm of " + what
	}
	rows := grouped(f.N) + " rows"
	if f.N == 1 {
		rows = "1 row"
	}
	fmt.Fprintf(b, "A model of %s in %s, by %s likelihood: log likelihood %s.\n", what, rows, f.Estimate, decimals(f.LogLik, 3))
}

// writeFixed writes the table of fixed effects.
func (f *Fit) writeFixed(b *strings.Builder) {
	b.WriteString("\nFixed effects\n")
	rows := newRows(b)
	rows.add("", "estimate", "95 % interval", "standard error", "df", "p")
	for _, c := range f.Fixed {
		places := placesFor(c.SE)
		rows.add(c.Term, decimals(c.Estimate, places), decimals(c.Low, places)+" to "+decimals(c.High, places), decimals(c.SE, places), decimals(c.DF, 1), probability(c.P))
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
			groups := grouped(r.Groups)
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
	f.writeSmooths(b)
	if len(f.Residual.Levels) == 0 {
		fmt.Fprintf(b, "\nStandard deviation of what is left in single rows: %s.\n", significant(f.Residual.SD))
	} else {
		fmt.Fprintf(b, "\nStandard deviations of what is left in single rows, by %s\n", f.model.Residual.Levels)
		rows := newRows(b)
		for _, level := range f.Residual.Levels {
			rows.add("  "+level.Level, significant(level.SD))
		}
		rows.end()
	}
	if f.model.Residual.Along != "" {
		fmt.Fprintf(b, "Two rows one step apart along %s are correlated by %s in this, rows d steps apart by its d-th power.\n", f.model.Residual.Along, decimals(f.Residual.Rho, 3))
	}
}

// writeSmooths writes how much each curve bends.
func (f *Fit) writeSmooths(b *strings.Builder) {
	for _, s := range f.Smooth {
		by := ""
		if len(s.By) > 0 {
			by = " by " + strings.Join(s.By, " and ")
		}
		fmt.Fprintf(b, "\nThe curve along %s%s bends with %s degrees of freedom beyond its straight line.\n", s.Column, by, decimals(s.Effective, 1))
	}
}

// grouped writes a whole number with its thousands set apart.
func grouped(n int) string {
	digits := strconv.Itoa(n)
	for at := len(digits) - 3; at > 0; at -= 3 {
		digits = digits[:at] + "," + digits[at:]
	}
	return digits
}

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
