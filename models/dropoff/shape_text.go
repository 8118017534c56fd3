package dropoff

import (
	"fmt"
	"io"
	"strings"
	"text/tabwriter"

	"thumbed/models/wording"
)

// Text writes the result for a terminal or a screen reader: one sentence a
// change, then the pieces, then the notes.
func (out *Shaped) Text(w io.Writer) error {
	var b strings.Builder
	fmt.Fprintf(&b, "%s.\n", wording.Capital(out.headline()))
	names := Series{Labels: out.labels}
	for _, bend := range out.Bends {
		fmt.Fprintf(&b, "\n%s %s.\n", out.placed(), names.named(bend.After))
		fmt.Fprintf(&b, "  The place is %s (95 %% interval).\n", names.between(bend.Low, bend.High))
		fmt.Fprintf(&b, "  Probability of a change there: %s.\n", percent(bend.Probability))
		for _, size := range bend.Sizes {
			fmt.Fprintf(&b, "  %s.\n", out.words(bend, size))
		}
	}
	b.WriteString("\n")
	table := tabwriter.NewWriter(&b, 0, 0, 2, ' ', 0)
	fmt.Fprint(table, "from\tto\trows\tat its start\tat its end\tscatter")
	if out.Shape != LevelAndScatter {
		fmt.Fprintf(table, "\tslope %s\t95 %% interval", out.per)
	}
	fmt.Fprintln(table)
	for _, p := range out.Pieces {
		fmt.Fprintf(table, "%s\t%s\t%d\t%.4g\t%.4g\t%.2g", names.Label(p.From), names.Label(p.To), p.To-p.From+1, p.Start, p.End, p.Scatter)
		if out.Shape != LevelAndScatter {
			fmt.Fprintf(table, "\t%+.3g\t%+.3g to %+.3g", p.Slope, p.SlopeLow, p.SlopeHigh)
		}
		fmt.Fprintln(table)
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

// told is a size of a change as a sentence has it.
func (out *Shaped) words(bend Bend, size Size) string {
	interval := fmt.Sprintf("(95 %% interval %+.3g to %+.3g)", size.Low, size.High)
	old, now := out.beside(bend)
	switch size.Of {
	case jump:
		return fmt.Sprintf("The level jumps by %+.3g %s: where the new line begins, against the old one carried on to that row", size.Value, interval)
	case slopeChange:
		return fmt.Sprintf("The slope changes by %+.3g %s %s: from %+.3g to %+.3g", size.Value, out.per, interval, old.Slope, now.Slope)
	case meanDifference:
		return fmt.Sprintf("The mean changes by %+.3g %s: from %.4g to %.4g", size.Value, interval, old.Start, now.Start)
	}
	return fmt.Sprintf("Rows scatter about their level %.3g times as much as before (95 %% interval %.3g to %.3g)", size.Value, size.Low, size.High)
}

// beside are the pieces before and after a change.
func (out *Shaped) beside(bend Bend) (old, now Piece) {
	for k := range len(out.Pieces) - 1 {
		if out.Pieces[k].To == bend.After {
			return out.Pieces[k], out.Pieces[k+1]
		}
	}
	return old, now
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
