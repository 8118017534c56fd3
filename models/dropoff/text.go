package dropoff

import (
	"fmt"
	"io"
	"strconv"
	"strings"
	"text/tabwriter"

	"thumbed/models/wording"
)

// Text writes the result for a terminal or a screen reader: one sentence a
// change, then the levels, then the notes.
func (c *Changes) Text(w io.Writer) error {
	var b strings.Builder
	fmt.Fprintf(&b, "%s.\n", wording.Capital(c.headline()))
	for _, change := range c.Changes {
		fmt.Fprintf(&b, "\nAfter %s: from %s.\n", c.names().named(change.After), c.step(change))
		fmt.Fprintf(&b, "  The last row of the old level is %s (95 %% interval).\n", c.names().between(change.Low, change.High))
		fmt.Fprintf(&b, "  Probability of a change there: %s.\n", percent(change.Probability))
	}
	for _, change := range c.Doubtful {
		fmt.Fprintf(&b, "\nNot claimed, after %s: from %s; %s.\n", c.names().named(change.After), c.step(change), change.Doubt)
	}
	for _, k := range c.Known {
		fmt.Fprintf(&b, "\nKnown break %s, after %s: a step of %+.4g (95 %% interval %+.4g to %+.4g), not a change found.\n", k.Name(), c.names().named(k.After), k.Size, k.SizeLow, k.SizeHigh)
	}
	for _, w := range c.Unbroken {
		fmt.Fprintf(&b, "\nNo change was placed from %s to %s%s.\n", c.names().named(w.From), c.names().named(w.To), w.because())
	}
	b.WriteString("\n")
	if err := c.levelTable(&b); err != nil {
		return err
	}
	fmt.Fprintf(&b, "\nNumber of changes by: %s.\n", c.Criterion)
	for _, note := range c.Notes {
		fmt.Fprintf(&b, "- %s\n", note)
	}
	_, err := io.WriteString(w, b.String())
	return err
}

func (c *Changes) headline() string {
	switch {
	case len(c.Changes)+len(c.Doubtful) == 0 && c.Compared.gradual():
		return fmt.Sprintf("no abrupt change of level in %d rows%s, but a gradual one", c.N, c.beside())
	case len(c.Changes) == 0 && len(c.Doubtful) > 0:
		return fmt.Sprintf("%s of level in %d rows%s, not settled", count(len(c.Doubtful), "possible change"), c.N, c.beside())
	case len(c.Changes) == 0:
		return fmt.Sprintf("no change of level in %d rows%s", c.N, c.beside())
	}
	return fmt.Sprintf("%s of level in %d rows%s", count(len(c.Changes), "change"), c.N, c.beside())
}

func (c *Changes) step(change Change) string {
	old, new, _ := c.Around(change.After)
	return fmt.Sprintf("%.4g to %.4g, a step of %+.4g (95 %% interval %+.4g to %+.4g)", old.Mean, new.Mean, change.Size, change.SizeLow, change.SizeHigh)
}

// names are the names of the rows.
func (c *Changes) names() Series { return Series{Labels: c.Labels} }

// named gives row i its number, and its label where it has one.
func (s Series) named(i int) string {
	if s.Labels == nil || s.Labels[i-1] == strconv.Itoa(i) {
		return fmt.Sprintf("row %d", i)
	}
	return fmt.Sprintf("%s (row %d)", s.Labels[i-1], i)
}

func (s Series) between(low, high int) string {
	if low == high {
		return s.named(low)
	}
	return "between " + s.named(low) + " and " + s.named(high)
}

func (c *Changes) levelTable(b *strings.Builder) error {
	table := tabwriter.NewWriter(b, 0, 0, 2, ' ', 0)
	fmt.Fprintln(table, "from\tto\trows\tmean\tstandard error")
	for _, level := range c.Levels {
		fmt.Fprintf(table, "%s\t%s\t%d\t%.4g\t%.2g\n", c.names().Label(level.From), c.names().Label(level.To), level.To-level.From+1, level.Mean, level.SE)
	}
	return table.Flush()
}

// percent writes a probability so that it is never rounded to certainty.
func percent(p float64) string {
	switch {
	case p > 0.999:
		return "over 99.9 %"
	case p < 0.001:
		return "under 0.1 %"
	}
	return fmt.Sprintf("%.1f %%", 100*p)
}
