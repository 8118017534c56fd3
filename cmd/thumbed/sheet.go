package main

import (
	"fmt"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"thumbed/models/study"
	"thumbed/models/study/folder"
	"thumbed/models/study/plan"
	"thumbed/models/wording"
)

func init() { register(newSheetCommand) }

func newSheetCommand() *cobra.Command {
	var out string
	var given study.Sheet
	var ofTraces bool
	cmd := &cobra.Command{
		Use:   "sheet STUDY|PLAN.toml [--hours N] [--dates DAYS] [--observers NAMES] [--instrument NAME] [--traces] [--out DIR]",
		Short: "Make a measuring sheet: the order of placings, to print and to fill in",
		Long: `Makes the order in which the pages of a campaign are measured. Each day a book is
gone through there, back, back and there, which openings on which way and day is drawn
by chance among neighbours, and of many draws the one is taken in which the place in
the book, quires, texts, offices and pictures go least with the course of the day
(straight, or out and back), the day and the observer. Each of these correlations is
told, with the turns that the order asks of every book. A tenth of the openings, drawn
by chance, is measured again on another day, which tells what days and observers differ
by. The tile is read at the start, in the middle and at the end of each session.

Of a study whose books are described, no plan is needed: each page with a picture and
what it faces, the first and the last pages of all texts, then a spread over the rest
until the hours are used. Its study.toml may say more; what the command line says counts
before it:

  [sheet]
  hours      = 12                  # of measuring, over all dates
  dates      = ["2026-06-01", "2026-06-02"]
  observers  = ["HB", "KL"]        # several take the days in turn
  placings   = 3                   # on each page
  zeros      = 2                   # on the zero of each page
  again      = 0.1                 # share of the openings measured on another day too
  sweeps     = 4                   # through a book on a day: there, back, back, there
  days_a_book = 2                  # over which each book is spread
  most_turns = 120                 # to an opening, that a book may be asked for
  instrument = "bench"             # as instruments.csv has it
  start      = "09:30"
  tiles      = 3                   # placings each time that the tile is read
  [sheet.must]                     # measured in any case; kinds and texts as in sections.csv
  texts = ["Litany"]
  [sheet.may]                      # only where the spread falls on it
  kinds = ["suffrage"]
  [sheet.never]
  pages = ["Ardel: 12r–13v"]

Of a plan file it takes as many pages as the design has, with all of these keys but hours,
must, may and never, and

  study      = "../mine"           # whose books are measured; its readings need not be there
  books      = ["Ardel", "Brin"]   # of it; left out: all
  pages      = 60                  # of each book
  visits     = 1                   # 3: the placings of a page stand apart in time

The folder sheet beside the file, or the one that --out names, then holds
readings-to-fill.csv, a table of readings with its densities empty, and sheet.html
to print on A4. The folder must not be there yet.

With --traces it is a sheet to code by: each thing that the coding book of the study
looks for, pages given to the observers by chance, and a fifth of them to two. The
folder then holds traces-to-fill.csv, a table of looks with its values empty, and
traces.html to print, the coding book at its head.`,
		Example: `  Two days with a book that was described, by two observers:
    thumbed sheet mine --hours 10 --dates 2026-06-01,2026-06-02 --observers HB,KL
    thumbed log mine --sheet mine/sheet/readings-to-fill.csv
  A sheet to code traces by:
    thumbed sheet mine --traces --dates 2026-06-01,2026-06-02 --observers HB,KL
  Plan, then make the sheet of the design chosen:
    thumbed plan second.toml
    thumbed sheet second.toml`,
		Args: exactly("STUDY, a study with its books described, or PLAN.toml, a plan file with a section [sheet]"),
		RunE: func(cmd *cobra.Command, args []string) error {
			if cmd.Flags().Changed("out") && out == "" {
				return usagef("--out needs the name of a folder")
			}
			if cmd.Flags().Changed("hours") && !(given.Hours > 0) {
				return usagef("--hours needs a number of hours above 0")
			}
			if ofTraces {
				return writeCoding(cmd, args[0], out, given)
			}
			return writeSheet(cmd, args[0], out, given)
		},
	}
	f := cmd.Flags()
	f.Float64Var(&given.Hours, "hours", 0, "`N` hours of measuring, over all dates")
	f.StringSliceVar(&given.Dates, "dates", nil, "`DAYS` of measuring, such as 2026-06-01,2026-06-02")
	f.StringSliceVar(&given.Observers, "observers", nil, "`NAMES` of who takes the days in turn")
	f.StringVar(&given.Instrument, "instrument", "", "`NAME` of the instrument (default: as the study says, or its only one)")
	f.BoolVar(&ofTraces, "traces", false, "make a sheet to code traces by")
	f.StringVar(&out, "out", "", "`DIR` for the sheet (default: sheet, beside the file)")
	return cmd
}

func writeSheet(cmd *cobra.Command, path, dir string, given study.Sheet) error {
	described := plan.IsStudy(path)
	if dir == "" {
		dir = filepath.Join(folderOf(path), "sheet")
	}
	if err := folder.CheckFree(dir); err != nil {
		return err
	}
	var p *plan.Plan
	var err error
	switch {
	case described:
		p, err = plan.OfStudy(path, given)
	case given.Hours != 0 || given.Dates != nil || given.Observers != nil || given.Instrument != "":
		return usagef("--hours, --dates, --observers and --instrument are for a study; a plan file says them under [sheet]")
	default:
		p, err = openPlan(cmd.ErrOrStderr(), path)
	}
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

// codingSeed begins the lots by which pages are given to observers.
const codingSeed = 1

// writeCoding makes a sheet to code traces by.
func writeCoding(cmd *cobra.Command, path, dir string, given study.Sheet) error {
	switch {
	case !plan.IsStudy(path):
		return usagef("--traces needs a study, whose coding book says what is looked for")
	case given.Hours != 0 || given.Instrument != "":
		return usagef("--hours and --instrument are for readings, not with --traces")
	}
	if dir == "" {
		dir = filepath.Join(folderOf(path), "sheet-traces")
	}
	if err := folder.CheckFree(dir); err != nil {
		return err
	}
	sheet, err := plan.Coding(path, given.Observers, given.Dates, codingSeed)
	if err != nil {
		return err
	}
	if err := sheet.Write(dir); err != nil {
		return err
	}
	_, err = fmt.Fprintf(cmd.OutOrStdout(), "%s, %s of them at things that are coded twice.\nTo fill in: %s; then name it under [tables] as traces = [\"…\"]\nTo print: %s\n",
		wording.Capital(wording.Count(len(sheet.Rows), "look", "looks")), wording.Whole(2*sheet.Twice), filepath.Join(dir, "traces-to-fill.csv"), filepath.Join(dir, "traces.html"))
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
