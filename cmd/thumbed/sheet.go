package main

import (
	"fmt"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"thumbed/models/study/folder"
	"thumbed/models/study/plan"
)

func init() { register(newSheetCommand) }

func newSheetCommand() *cobra.Command {
	var out string
	cmd := &cobra.Command{
		Use:   "sheet PLAN.toml [--out DIR]",
		Short: "Make a measuring sheet: the order of placings, to print and to fill in",
		Long: `Makes the order in which the pages of a campaign are measured. Each day a book is
gone through there, back, back and there, which openings on which way and day is drawn
by chance among neighbours, and of many draws the one is taken in which the place in
the book, quires, texts, offices and pictures go least with the course of the day
(straight, or out and back), the day and the observer. Each of these correlations is
told, with the turns that the order asks of every book. A tenth of the openings, drawn
by chance, is measured again on another day, which tells what days and observers differ
by. The tile is read at the start, in the middle and at the end of each session.

The sheet is a section of the plan file:

  [sheet]
  study      = "../mine"           # whose books are measured; its readings need not be there
  books      = ["Ardel", "Brin"]   # of it; left out: all
  pages      = 60                  # of each book
  placings   = 3                   # on each page
  zeros      = 2                   # on the zero of each page
  visits     = 1                   # 3: the placings of a page stand apart in time
  again      = 0.1                 # share of the openings measured on another day too
  sweeps     = 4                   # through a book on a day: there, back, back, there
  days_a_book = 2                  # over which each book is spread
  most_turns = 120                 # to an opening, that a book may be asked for
  instrument = "bench"             # as instruments.csv has it
  observers  = ["HB"]              # several take the days in turn
  dates      = ["2026-06-01", "2026-06-02"]
  start      = "09:30"
  tiles      = 3                   # placings each time that the tile is read

The folder sheet beside the file, or the one that --out names, then holds
readings-to-fill.csv, a table of readings with its densities empty, and sheet.html
to print on A4. The folder must not be there yet.`,
		Example: `  Plan, then make the sheet of the design chosen, and print sheet/sheet.html:
    thumbed plan second.toml
    thumbed sheet second.toml`,
		Args: exactly("PLAN.toml, a plan file with a section [sheet]"),
		RunE: func(cmd *cobra.Command, args []string) error {
			if cmd.Flags().Changed("out") && out == "" {
				return usagef("--out needs the name of a folder")
			}
			return writeSheet(cmd, args[0], out)
		},
	}
	cmd.Flags().StringVar(&out, "out", "", "`DIR` for the sheet (default: sheet, beside the plan file)")
	return cmd
}

func writeSheet(cmd *cobra.Command, path, dir string) error {
	if dir == "" {
		dir = filepath.Join(filepath.Dir(path), "sheet")
	}
	if err := folder.CheckFree(dir); err != nil {
		return err
	}
	p, err := openPlan(cmd.ErrOrStderr(), path)
	if err != nil {
		return err
	}
	var order *plan.Order
	during(cmd.ErrOrStderr(), "drawing orders", func() { order, err = p.Order() })
	if err != nil {
		return err
	}
	if err := order.Write(dir); err != nil {
		return err
	}
	_, err = fmt.Fprintf(cmd.OutOrStdout(), "%s\nTo print: %s\n", wrapLines(order.Text(), widthOf(cmd.OutOrStdout())), filepath.Join(dir, "sheet.html"))
	return err
}

// wrapLines wraps each line of a text by itself.
func wrapLines(text string, width int) string {
	lines := strings.Split(strings.TrimRight(text, "\n"), "\n")
	for i, line := range lines {
		lines[i] = wrap(line, "", width)
	}
	return strings.Join(lines, "\n")
}
