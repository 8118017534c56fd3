package profile

import (
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"text/tabwriter"

	"thumbed/models/codex"
)

// Text writes the profile for reading: the curve in a sentence, the areas by
// section, the pages that stand out, and the notes. b is the book that the
// profile is of. Densities are written with three decimals, one more than a
// densitometer shows.
func (p *Profile) Text(w io.Writer, b *codex.Book) error {
	var out strings.Builder
	p.writeCurve(&out, b)
	p.writeAreas(&out, b)
	p.writeStandouts(&out, b)
	for _, note := range p.Notes {
		fmt.Fprintf(&out, "\nNote. %s\n", note)
	}
	_, err := io.WriteString(w, out.String())
	return err
}

func (p *Profile) writeCurve(out *strings.Builder, b *codex.Book) {
	c := p.Curve
	fmt.Fprintf(out, "Book %s: %d of %d pages measured.\n", b.ID, p.Measured, len(c.Position))
	if len(c.Position) == 0 {
		return
	}
	highest, lowest := 0, 0
	for i, level := range c.Estimate {
		if level > c.Estimate[highest] {
			highest = i
		}
		if level < c.Estimate[lowest] {
			lowest = i
		}
	}
	at := func(i int) string {
		return fmt.Sprintf("%s density (95 %% interval %s to %s) at %s", density(c.Estimate[i]), density(c.Low[i]), density(c.High[i]), p.present(b, i))
	}
	of, straight := "", "a straight line: 2"
	if c.PictureSE > 0 {
		of, straight = " of pages without a picture", "a straight line and what a picture adds: 3"
	}
	fmt.Fprintf(out, "The level of wear%s is highest with %s and lowest with %s.\n", of, at(highest), at(lowest))
	if c.Between > 0 {
		fmt.Fprintf(out, "It is a smooth along the pages and a level of each section, which differ with a standard deviation of %s density; where sections meet it may jump.\n", density(c.Between))
	} else {
		out.WriteString("It is one smooth along the pages: the sections show no levels of their own beside it.\n")
	}
	fmt.Fprintf(out, "Single pages scatter about it with a standard deviation of %s density, error of measuring subtracted; the curve takes %s degrees of freedom (%s).\n", density(c.Scatter), strconv.FormatFloat(c.Smooth, 'f', 1, 64), straight)
	if c.PictureSE > 0 {
		fmt.Fprintf(out, "To a page with a picture that picture adds %s density (standard error %s).\n", density(c.Picture), density(c.PictureSE))
	}
}

// present names the i-th page of the curve.
func (p *Profile) present(b *codex.Book, i int) string {
	for page := range b.Pages {
		if b.Pages[page].Position == p.Curve.Position[i] {
			return nameOf(b, page)
		}
	}
	return fmt.Sprintf("position %d", p.Curve.Position[i])
}

func (p *Profile) writeAreas(out *strings.Builder, b *codex.Book) {
	if len(p.Areas) == 0 {
		return
	}
	out.WriteString("\nWear by section (density, 95 % intervals)\n")
	rows := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(rows, "section\tpages\tmeasured\tper page\t\tall pages\t")
	for _, a := range p.Areas {
		fmt.Fprintf(rows, "%s\t%d\t%d\t%s\t%s to %s\t%s\t%s to %s\n", b.Sections[a.Section].Name, a.Pages, a.Measured,
			density(a.PerPage), density(a.PerPageLow), density(a.PerPageHigh), density(a.Total), density(a.TotalLow), density(a.TotalHigh))
	}
	rows.Flush() // into memory: it cannot fail
}

func (p *Profile) writeStandouts(out *strings.Builder, b *codex.Book) {
	fmt.Fprintf(out, "\nPages above the level of their section, of %d tested, at a false-discovery rate of %s %%\n", p.Tested, strconv.FormatFloat(100*p.Rate, 'g', 3, 64))
	if len(p.Standouts) == 0 {
		out.WriteString("None.\n")
		return
	}
	rows := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(rows, "page\texcess\t95 % interval\tp\tadjusted p\t")
	for _, s := range p.Standouts {
		least := ""
		if s.AtLeast {
			least = "at least "
		}
		fmt.Fprintf(rows, "%s\t%s%s\t%s to %s\t%s\t%s\t%s\n", nameOf(b, s.Page), least, density(s.Excess), density(s.Low), density(s.High), chance(s.P), chance(s.Q), b.Pages[s.Page].Subject)
	}
	rows.Flush() // into memory: it cannot fail
}

// density writes a density with three decimals and a true minus sign.
func density(v float64) string {
	said := strconv.FormatFloat(math.Abs(v), 'f', 3, 64)
	if v < 0 && said != "0.000" {
		return "−" + said
	}
	return said
}

func chance(p float64) string {
	if p < 0.001 {
		return "< 0.001"
	}
	return strconv.FormatFloat(p, 'f', 3, 64)
}
