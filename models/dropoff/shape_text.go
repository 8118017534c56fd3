package dropoff

import (
	"fmt"
	"io"
	"strings"
	"text/tabwriter"
)

// Text writes the result for a terminal or a screen reader: one sentence a
// change, then the pieces, then the notes.
func (out *Shaped) Text(w io.Writer) error {
	var b strings.Builder
	fmt.Fprintf(&b, "%s.\n", capital(out.headline()))
	names := Series{Labels: out.labels}
	for _, bend := range out.Bends {
		fmt.Fprintf(&b, "\n%s %s.\n", out.placed(), names.named(bend.After))
		fmt.Fprintf(&b, "  The place is %s (95 %% interval).\n", names.between(bend.Low, bend.High))
		fmt.Fprintf(&b, "  Probability of a change there: %s.\n", percent(bend.Probability))
	}
	b.WriteString("\n")
	table := tabwriter.NewWriter(&b, 0, 0, 2, ' ', 0)
	fmt.Fprintln(table, "from\tto\trows\tat its start\tat its end\tscatter")
	for _, p := range out.Pieces {
		fmt.Fprintf(table, "%s\t%s\t%d\t%.4g\t%.4g\t%.2g\n", names.Label(p.From), names.Label(p.To), p.To-p.From+1, p.Start, p.End, p.Scatter)
	}
	if err := table.Flush(); err != nil {
		return err
	}
	fmt.Fprintf(&b, "\nNumber of changes by: %s.\n", out.Criterion)
	for _, note := range out.Notes {
		fmt.Fprintf(&b, "- %s\n", note)
	}
	_, err := io.WriteString(w, b.String())
	return err
}

func (out *Shaped) headline() string {
	if out.Shape == JoinedLines {
		if len(out.Bends) == 0 {
			return fmt.Sprintf("no bend in %d rows", out.N)
		}
		return fmt.Sprintf("%s in %d rows", count(len(out.Bends), "bend"), out.N)
	}
	if len(out.Bends) == 0 {
		return fmt.Sprintf("no change of %s in %d rows", out.Shape, out.N)
	}
	return fmt.Sprintf("%s of %s in %d rows", count(len(out.Bends), "change"), out.Shape, out.N)
}

// placed says how a place is counted: joined lines meet at a row, others change
// after one.
func (out *Shaped) placed() string {
	if out.Shape == JoinedLines {
		return "The lines meet at"
	}
	return "After"
}
