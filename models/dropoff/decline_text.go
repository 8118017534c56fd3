package dropoff

import (
	"fmt"
	"io"
	"strings"
	"text/tabwriter"
)

// Text writes the result for a terminal or a screen reader: the offices with
// their shares, where wear falls below half of the first office's, the changes along the pages.
func (c *Decline) Text(w io.Writer) error {
	var b strings.Builder
	fmt.Fprintf(&b, "Wear of the offices of the hours %s against the first.\n\n", c.Set)
	if len(c.Offices) > 0 {
		if err := c.officeTable(&b); err != nil {
			return err
		}
	}
	if c.Refused != "" {
		fmt.Fprintf(&b, "\nNo share is given. %s\n", c.Refused)
	}
	if said := c.HandlingSentence(); said != "" {
		fmt.Fprintf(&b, "\n%s\n", said)
	}
	if c.Curve != nil {
		fmt.Fprintf(&b, "\n%s\n", c.Curve.Sentence())
	}
	if len(c.Adjusted) > 0 {
		fmt.Fprintf(&b, "Removed first: %s.\n", list(c.Adjusted, "and"))
	}
	for _, note := range c.Notes {
		fmt.Fprintf(&b, "- %s\n", note)
	}
	if c.Changes != nil {
		b.WriteString("\nAlong the pages in the order of the offices:\n")
		if err := c.Changes.Text(&b); err != nil {
			return err
		}
	}
	_, err := io.WriteString(w, b.String())
	return err
}

func (c *Decline) officeTable(b *strings.Builder) error {
	table := tabwriter.NewWriter(b, 0, 0, 2, ' ', 0)
	fmt.Fprintln(table, "office\tpages\twear\tstandard error\tshare\t95 % interval\tcurve\tband")
	for i, o := range c.Offices {
		share, interval, curve, band := "", "", "", ""
		if c.Refused == "" {
			share, interval = fmt.Sprintf("%.0f %%", 100*o.Share), fmt.Sprintf("%.0f–%.0f %%", 100*o.Low, 100*o.High)
		}
		if c.Curve != nil {
			p := c.Curve.Points[i]
			curve, band = fmt.Sprintf("%.0f %%", 100*p.Share), fmt.Sprintf("%.0f–%.0f %%", 100*p.Low, 100*p.High)
		}
		fmt.Fprintf(table, "%s\t%d\t%.3f\t%.3f\t%s\t%s\t%s\t%s\n", o.Office, o.Pages, o.Wear, o.SE, share, interval, curve, band)
	}
	return table.Flush()
}
