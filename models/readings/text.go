package readings

import (
	"fmt"
	"math"
	"path/filepath"
	"strings"
	"text/tabwriter"
	"unicode/utf8"

	"gonum.org/v1/gonum/stat/distuv"

	"thumbed/models/wording"
)

// textWidth is the width, in characters, to which the report's sentences are
// broken.
const textWidth = 78

// Text is the report on the measuring in plain text: what was read, how well
// it repeats, what the instruments did along each day, what was left out and
// what was assumed. Densities are in the units of the log.
func (r *Result) Text() string {
	var b strings.Builder
	r.writeCounts(&b)
	r.writePrecision(&b)
	r.writeDrift(&b)
	r.writeExcluded(&b)
	heading(&b, "What was assumed or corrected")
	for _, note := range r.Notes {
		writeSentence(&b, "– ", note)
	}
	return b.String()
}

func heading(b *strings.Builder, words string) {
	if b.Len() > 0 {
		b.WriteByte('\n')
	}
	fmt.Fprintf(b, "%s\n%s\n", words, strings.Repeat("-", utf8.RuneCountInString(words)))
}

// writeSentence breaks a sentence over lines; those after the first stand in
// as deep as mark is long.
func writeSentence(b *strings.Builder, mark, sentence string) {
	indent := strings.Repeat(" ", utf8.RuneCountInString(mark))
	b.WriteString(mark)
	at := len(indent)
	for i, word := range strings.Fields(sentence) {
		length := utf8.RuneCountInString(word)
		switch {
		case i > 0 && at+1+length > textWidth:
			b.WriteString("\n" + indent)
			at = len(indent)
		case i > 0:
			b.WriteByte(' ')
			at++
		}
		b.WriteString(word)
		at += length
	}
	b.WriteByte('\n')
}

// columnsOn gives a writer that sets tabbed cells in columns.
func columnsOn(b *strings.Builder) *tabwriter.Writer {
	return tabwriter.NewWriter(b, 0, 0, 3, ' ', 0)
}

func (r *Result) writeCounts(b *strings.Builder) {
	c := r.Counted
	heading(b, "The log")
	writeSentence(b, "", fmt.Sprintf("%s in %s: %d kept on the pages, %d on their zeros and %d on the tile; %d left out. %d stand at the floor and %d at the ceiling of the scale. %s measured, %s given wear.",
		wording.Plain(c.Readings, "reading", "readings"), wording.Plain(c.Days, "day", "days"), c.Page, c.Zero, c.Tile, c.Excluded, c.AtFloor, c.AtCeiling,
		wording.Plain(c.Pages, "page was", "pages were"), wording.Plain(len(r.Wear), "page is", "pages are")))
}

// A measure is a line of the table of precision.
type measure struct {
	name   string
	sd, df float64
}

func (r *Result) writePrecision(b *strings.Builder) {
	p := r.Precision
	heading(b, "How well readings agree (standard deviations of density)")
	w := columnsOn(b)
	fmt.Fprintln(w, "\tdensity\t95 % interval\tdegrees of freedom")
	for _, m := range []measure{
		{"repeatability", p.Repeatability, p.DF},
		{"  on the pages", p.OnPage, p.OnPageDF},
		{"  on the zeros", p.OnZero, p.OnZeroDF},
		{"between observers and instruments", p.Between, math.NaN()},
		{"reproducibility", p.Reproducibility, math.NaN()},
		{"between days of one observer", p.BetweenDays, math.NaN()},
		{"placing anew at another sitting", p.Placing, p.PlacingDF},
		{"between spots of a page", p.SpotSpread, p.SpotSpreadDF},
		{"tile about its drift line", p.TileSD, p.TileDF},
	} {
		if !math.IsNaN(m.sd) {
			fmt.Fprintf(w, "%s\t%.4f\t%s\t%s\n", m.name, m.sd, spreadText(m), freedomText(m.df))
		}
	}
	for _, source := range r.Shared {
		if source.Known {
			fmt.Fprintf(w, "offsets of %ss\t%.4f\tat most %.4f\t%s\n", source.By, source.SD, source.Upper(), freedomText(source.SpreadDF))
		}
	}
	w.Flush()
	if len(p.Groups) > 0 {
		writeSentence(b, "", "Measured by "+wording.List(p.Groups)+".")
	}
}

// spreadText is the 95 % interval of a standard deviation, by χ²; empty where
// its degrees of freedom are not known.
func spreadText(m measure) string {
	if math.IsNaN(m.df) || math.IsInf(m.df, 1) || m.df <= 0 {
		return ""
	}
	chi := distuv.ChiSquared{K: m.df}
	return fmt.Sprintf("%.4f to %.4f", m.sd*math.Sqrt(m.df/chi.Quantile(0.975)), m.sd*math.Sqrt(m.df/chi.Quantile(0.025)))
}

func freedomText(df float64) string {
	switch {
	case math.IsNaN(df):
		return ""
	case math.IsInf(df, 1):
		return "given by the study"
	}
	return fmt.Sprintf("%.0f", df)
}

func (r *Result) writeDrift(b *strings.Builder) {
	heading(b, "The tile along each day (departure from its certified density)")
	if len(r.Drift) == 0 {
		writeSentence(b, "", "No tile was read, so drift cannot be seen.")
		return
	}
	w := columnsOn(b)
	fmt.Fprintln(w, "day\tinstrument\treadings\tfirst\tlast\tan hour, ± standard error\tcorrection")
	for _, d := range r.Drift {
		fmt.Fprintf(w, "%s\t%s\t%d\t%s at %s\t%s at %s\t%s\t%s\n", d.Day, d.Instrument, d.Readings,
			signed(d.Start, 3), clock(d.From), signed(d.End, 3), clock(d.To), slopeText(d), d.Correction)
	}
	w.Flush()
}

func slopeText(d DayDrift) string {
	if math.IsNaN(d.Slope) {
		return "not seen"
	}
	return fmt.Sprintf("%s ± %.4f, %s", signed(d.Slope, 4), d.SlopeSE, chance(d.P))
}

// shown is a density as the instrument showed it; empty where it showed none.
func shown(density float64) string {
	if math.IsNaN(density) {
		return ""
	}
	return fmt.Sprintf("%g", density)
}

func (r *Result) writeExcluded(b *strings.Builder) {
	if len(r.Excluded) == 0 {
		return
	}
	heading(b, "Readings left out by the scholar")
	w := columnsOn(b)
	fmt.Fprintln(w, "file\tline\tbook\tpage\ttarget\tdensity\treason")
	for _, e := range r.Excluded {
		fmt.Fprintf(w, "%s\t%d\t%s\t%s\t%s\t%s\t%s\n", filepath.Base(e.File), e.Line, e.Book, e.Page, e.Target, shown(e.Density), e.Reason)
	}
	w.Flush()
}
