package main

import (
	"encoding/json"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"thumbed/models/dropoff"
)

func init() { register(newChangesCommand) }

const changesLong = `Finds where the level of a series changes: where wear falls off along the
pages of a book, say. The table has one row a page, in order. Each change is
given with the interval that holds 95 % of the probability of its place, the
probability that there is a change there at all, and its size; each level with
its mean and standard error.

The number of changes is chosen by the modified Bayesian information criterion
(Zhang and Siegmund 2007). A change is reported as the last row of the old
level, counted from 1, and by that row's label: from the column named with
--label, else from the column page, else from the first column of labels or
times in the table. A series is of one book: choose it with --only where the
table holds several.`

const changesExample = `  Where does wear change along this book?
    thumbed changes wear.csv --column wear

  The rows carry standard errors, and pages have names:
    thumbed changes wear.csv --column wear --se wear_se --label page

  The table of wear that a study writes holds several books:
    thumbed changes results/tables/wear.csv --column wear --se wear_se --only book=Corvaes

  A rebinding lies between rows 48 and 49; the level may differ there anyway:
    thumbed changes wear.csv --column wear --break 48

  For another program:
    thumbed changes wear.csv --column wear --json`

func newChangesCommand() *cobra.Command {
	var columns dropoff.Columns
	var options dropoff.Options
	var number int
	var correlation float64
	var asJSON bool
	var only []string
	c := &cobra.Command{
		Use:     "changes SERIES.csv --column NAME [--se COLUMN] [--label COLUMN] [--only COLUMN=LABEL] [--break ROW] [--json]",
		Short:   "Find where the level of a series changes, and how sure that is",
		Long:    changesLong,
		Example: changesExample,
		Args:    exactly("SERIES.csv"),
		RunE: func(c *cobra.Command, args []string) error {
			if columns.Values == "" {
				return usagef("%s needs --column NAME, the column with the values", c.CommandPath())
			}
			for _, choice := range only {
				column, label, ok := strings.Cut(choice, "=")
				if !ok || column == "" {
					return usagef("--only %s: expected a column and a label, as in --only book=Corvaes", choice)
				}
				columns.Only = append(columns.Only, dropoff.Choice{Column: column, Label: label})
			}
			series, err := dropoff.ReadSeries(args[0], columns)
			if err != nil {
				return err
			}
			if c.Flags().Changed("number") {
				options.Number = &number
			}
			if c.Flags().Changed("correlation") {
				options.Correlation = &correlation
			}
			found, err := dropoff.Segment(series, options)
			if err != nil {
				return fmt.Errorf("%s, column %s: %w", args[0], columns.Values, err)
			}
			if !asJSON {
				return found.Text(c.OutOrStdout())
			}
			out := json.NewEncoder(c.OutOrStdout())
			out.SetEscapeHTML(false)
			out.SetIndent("", "  ")
			return out.Encode(found)
		},
	}
	flags := c.Flags()
	flags.StringVar(&columns.Values, "column", "", "`NAME` of the column with the values")
	flags.StringVar(&columns.SE, "se", "", "`COLUMN` with the rows' own standard errors")
	flags.StringVar(&columns.Label, "label", "", "`COLUMN` that names the rows")
	flags.StringVar(&columns.Position, "position", "", "`COLUMN` that places the rows along the book or in time")
	flags.StringArrayVar(&only, "only", nil, "keep the rows whose column has this label, `COLUMN=LABEL`; may be given several times")
	flags.IntVar(&options.MinLength, "min-length", 0, "fewest `ROWS` of one level; 2 where not given")
	flags.IntVar(&number, "number", 0, "this `NUMBER` of changes, whatever the criterion says")
	flags.Float64Var(&correlation, "correlation", 0, "correlation `R` of the noise of neighbouring rows; estimated where not given")
	flags.IntSliceVar(&options.Breaks, "break", nil, "last `ROW` before a known break; several parted by commas")
	flags.BoolVar(&asJSON, "json", false, "print one JSON object")
	return c
}
