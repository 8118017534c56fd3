package main

import (
	"encoding/json"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"thumbed/models/dropoff"
)

func init() { register(newChangesCommand) }

const changesLong = `Finds where a series changes: where wear falls off along the pages of a book,
say. The table has one row a page, in order. Each change is given with the
interval that holds 95 % of the probability of its place, the probability that
there is a change there at all, and its size; each level with its mean and
standard error.

What changes is the level, unless --of says otherwise:
  level              levels with abrupt steps between them
  level-and-slope    lines, each with a level and a slope of its own
  joined-lines       lines, each beginning where the last ends
  level-and-scatter  levels, each with its own scatter of rows about it
A change of another kind than level has a size of each kind that it has: the jump
and the change of slope, the change of slope alone, or the difference of means and
the ratio of scatters. Their intervals are averaged over the place of the change.

The number of changes is chosen by the modified Bayesian information criterion
(Zhang and Siegmund 2007), and none is claimed where series without change, with
noise like this one's, look as much like it in more than 4 of 100 cases (3 for
kinds with lines): that keeps false alarms to 5 in 100, since the noise is
only estimated. A change is reported as the last row of the old level, counted
from 1, and by that row's label: from the column named with --label, else from
the column page, else from the first column of labels or times in the table. A
series is of one book: choose it with --only where the table holds several.

With --json one object is printed: n, criterion, changes, levels and notes, and
beside them what else is known, the probabilities of every place and number and
the best segmentation for every number of changes with its range of penalties
among it. For kinds other than level, pieces stand in place of levels.`

const changesExample = `  Where does wear change along this book?
    thumbed changes wear.csv --column wear

  The rows carry standard errors, and pages have names and places:
    thumbed changes wear.csv --column wear --se wear_se --label page --position position

  The table of wear that a study writes holds several books:
    thumbed changes results/tables/wear.csv --column wear --se wear_se --only book=Corvaes

  A rebinding lies after f. 24v; the level may differ there anyway:
    thumbed changes wear.csv --column wear --break 24v

  The rows 20 to 30 are one text that was read as a whole, and hold no change:
    thumbed changes wear.csv --column wear --whole 20-30

  A stain explains f. 30v, which would be taken for wear:
    thumbed changes wear.csv --column wear --without 30v

  Does wear tire along the book, and where does its course bend?
    thumbed changes wear.csv --column wear --of joined-lines

  Two changes exactly, of four rows a level or more, for another program:
    thumbed changes wear.csv --column wear --number 2 --min-length 4 --json`

// changesFlags are what the command line says.
type changesFlags struct {
	columns     dropoff.Columns
	options     dropoff.Options
	of          string
	number      int
	correlation float64
	only        []string
	breaks      []string
	whole       []string
	without     []string
	asJSON      bool
}

func newChangesCommand() *cobra.Command {
	var f changesFlags
	c := &cobra.Command{
		Use:     "changes SERIES.csv --column NAME [--of KIND] [--se COLUMN] [--label COLUMN] [--only COLUMN=LABEL] [--break ROW] [--without ROW] [--json]",
		Short:   "Find where a series changes, and how sure that is",
		Long:    changesLong,
		Example: changesExample,
		Args:    exactly("SERIES.csv"),
		RunE: func(c *cobra.Command, args []string) error {
			if err := f.settle(c); err != nil {
				return err
			}
			series, err := dropoff.ReadSeries(args[0], f.columns)
			if err != nil {
				return err
			}
			if err := f.place(series); err != nil {
				return fmt.Errorf("%s: %w", args[0], err)
			}
			found, err := f.find(series)
			if err != nil {
				return fmt.Errorf("%s, column %s: %w", args[0], f.columns.Values, err)
			}
			if !f.asJSON {
				return found.Text(c.OutOrStdout())
			}
			out := json.NewEncoder(c.OutOrStdout())
			out.SetEscapeHTML(false)
			out.SetIndent("", "  ")
			return out.Encode(found)
		},
	}
	flags := c.Flags()
	flags.StringVar(&f.columns.Values, "column", "", "`NAME` of the column with the values")
	flags.StringVar(&f.of, "of", levelKind, "`KIND` of change: level, level-and-slope, joined-lines or level-and-scatter")
	flags.StringVar(&f.columns.SE, "se", "", "`COLUMN` with the rows' own standard errors")
	flags.StringVar(&f.columns.Label, "label", "", "`COLUMN` that names the rows")
	flags.StringVar(&f.columns.Position, "position", "", "`COLUMN` that places the rows along the book or in time, so that rows either side of a gap are less alike")
	flags.StringArrayVar(&f.only, "only", nil, "keep the rows whose column has this label, `COLUMN=LABEL`; may be given several times")
	flags.IntVar(&f.options.MinLength, "min-length", 0, "fewest `ROWS` of one level; 2 where not given, and 3 at least for kinds other than level")
	flags.IntVar(&f.number, "number", 0, "this `NUMBER` of changes, whatever the criterion says")
	flags.IntVar(&f.options.MostChanges, "most", 0, "weigh up to this `NUMBER` of changes; as many as may help where not given")
	flags.Float64Var(&f.options.Expected, "expected", 0, "`NUMBER` of changes expected beforehand, on which the probabilities rest; 1 where not given")
	flags.Float64Var(&f.correlation, "correlation", 0, "correlation `R` of the noise of neighbouring rows (autoregression), 0 for independent; estimated where not given")
	flags.StringSliceVar(&f.breaks, "break", nil, "last `ROW` before a known break, by name or number, at which the level may differ anyway; several parted by commas")
	flags.StringSliceVar(&f.whole, "whole", nil, "first and last row, `FROM-TO`, by name or number, of a stretch that cannot hold a change; several parted by commas")
	flags.StringSliceVar(&f.without, "without", nil, "leave this `ROW` out, by name or number, such as a stained page; several parted by commas. Numbers elsewhere count the rows that stay")
	flags.BoolVar(&f.asJSON, "json", false, "print one JSON object")
	return c
}

// levelKind is the kind of change that is looked for where none is named.
const levelKind = "level"

// settle checks what the command line says and puts it where it belongs.
func (f *changesFlags) settle(c *cobra.Command) error {
	if f.columns.Values == "" {
		return usagef("%s needs --column NAME, the column with the values", c.CommandPath())
	}
	for _, choice := range f.only {
		column, label, ok := strings.Cut(choice, "=")
		if !ok || column == "" {
			return usagef("--only %s: expected a column and a label, as in --only book=Corvaes", choice)
		}
		f.columns.Only = append(f.columns.Only, dropoff.Choice{Column: column, Label: label})
	}
	for _, name := range f.without {
		f.columns.Without = append(f.columns.Without, strings.TrimSpace(name))
	}
	for _, stretch := range f.whole {
		if _, _, ok := strings.Cut(stretch, "-"); !ok {
			return usagef("--whole %s: expected the first and the last row of a stretch, as in --whole 20-30", stretch)
		}
	}
	if f.of != levelKind {
		if _, err := dropoff.ShapeNamed(f.of); err != nil {
			return usagef("--of %s: expected level, level-and-slope, joined-lines or level-and-scatter", f.of)
		}
	}
	if c.Flags().Changed("number") {
		f.options.Number = &f.number
	}
	if c.Flags().Changed("correlation") {
		f.options.Correlation = &f.correlation
	}
	return nil
}

// place finds the rows of known breaks and of stretches that hold no change.
func (f *changesFlags) place(s dropoff.Series) error {
	for _, name := range f.breaks {
		row, err := s.Row(strings.TrimSpace(name))
		if err != nil {
			return fmt.Errorf("--break: %w", err)
		}
		f.options.Breaks = append(f.options.Breaks, row)
	}
	for _, stretch := range f.whole {
		var rows [2]int
		first, last, _ := strings.Cut(stretch, "-")
		for k, name := range []string{first, last} {
			var err error
			if rows[k], err = s.Row(strings.TrimSpace(name)); err != nil {
				return fmt.Errorf("--whole: %w", err)
			}
		}
		f.options.Quiet = append(f.options.Quiet, rows)
	}
	return nil
}

// find looks for the changes of the kind asked for.
func (f *changesFlags) find(s dropoff.Series) (interface{ Text(io.Writer) error }, error) {
	if f.of == levelKind {
		found, err := dropoff.Segment(s, f.options)
		if err != nil {
			return nil, err
		}
		return found.Full(), nil
	}
	shape, err := dropoff.ShapeNamed(f.of)
	if err != nil {
		return nil, err
	}
	found, err := dropoff.SegmentBy(shape, s, f.options)
	if err != nil {
		return nil, err
	}
	return found.Full(), nil
}
