package main

import (
	"bufio"
	"cmp"
	"fmt"
	"io"
	"os"
	"time"

	"github.com/spf13/cobra"

	"thumbed/models/readings"
	"thumbed/models/study"
	"thumbed/models/study/desk"
	"thumbed/models/table"
	"thumbed/models/wording"
)

func init() { register(newLogCommand) }

// logOptions are the options of the verb log.
type logOptions struct {
	traces                                  bool
	sheet, to, observer, instrument, device string
	zeros, placings                         int
}

func newLogCommand() *cobra.Command {
	var o logOptions
	cmd := &cobra.Command{
		Use:   "log STUDY [--sheet FILE] [--to TABLE.csv] [--observer NAME] [--instrument NAME] [--from DEVICE] [--traces]",
		Short: "Take readings, or looks at traces, one by one in the reading room",
		Long: `Asks for each placing of the instrument in turn, and writes every reading to the
study's table of readings before it asks for the next: stopped at any moment,
nothing is lost, and the next start goes on where it was. It says which page is
next and how long is left, and at once where a zero or the tile has moved, where
placings on a page lie further apart than repeatability allows, and which pages
were passed over. At the end it sums up the day and draws pages to measure again.

With --sheet it follows a sheet made by thumbed sheet (readings-to-fill.csv): the
placings planned for today, or else for the first day. Without one you name each
page, and it asks for its zeros and placings.

Nothing is replaced. A reading that is taken back stays in the table with that
reason; further placings are marked as extra, and all are used. Do not repeat a
placing until two numbers agree.

Numbers come from the keyboard, from an instrument that types like one, or with
--from line by line from its serial port. Set the port up first, such as with stty.

` + desk.Help + `

With --traces it asks for looks instead: of each page, all that the coding book of the
study looks for, part by part, or with --sheet what a sheet of thumbed sheet --traces
plans for the observer (traces-to-fill.csv). Every look is in the study's table of
looks before the next is asked for. What others saw, or you on another day, is not
shown. At the end it draws pages to look at again.

` + desk.CodingHelp,
		Example: `  Follow a sheet; take readings from an instrument on a serial port:
    thumbed log mine --sheet sheet/readings-to-fill.csv --observer HB
    stty -F /dev/ttyUSB0 9600 raw; thumbed log mine --from /dev/ttyUSB0
  Look at traces, page by page:
    thumbed log mine --traces --observer HB`,
		Args: exactly("STUDY, a study file or its folder"),
		RunE: func(cmd *cobra.Command, args []string) error {
			if o.traces {
				return takeLooks(cmd, args[0], o)
			}
			return takeReadings(cmd, args[0], o)
		},
	}
	f := cmd.Flags()
	f.StringVar(&o.sheet, "sheet", "", "`FILE`, the table of placings to make")
	f.StringVar(&o.to, "to", "", "`TABLE.csv` that readings go to (default: the last that the study names)")
	f.StringVar(&o.observer, "observer", "", "`NAME` of who places the instrument (default: as the sheet has it)")
	f.StringVar(&o.instrument, "instrument", "", "`NAME` of the instrument (default: as the sheet has it, or the study's only one)")
	f.StringVar(&o.device, "from", "", "`DEVICE` that sends readings, a line each")
	f.IntVar(&o.zeros, "zeros", 2, "`COUNT` of placings on the zero of a page that you name")
	f.BoolVar(&o.traces, "traces", false, "take looks at traces")
	f.IntVar(&o.placings, "placings", 3, "`COUNT` of placings on its thumbed corner")
	return cmd
}

func takeReadings(cmd *cobra.Command, path string, o logOptions) error {
	if o.zeros < 1 || o.placings < 1 {
		return usagef("--zeros and --placings must be 1 or more: each page needs a zero and a placing")
	}
	s, instruments, err := study.OpenBooks(path)
	if err != nil {
		return err
	}
	begun := desk.Options{Books: s.Books, Observer: o.observer, Zeros: o.zeros, Placings: o.placings, Now: time.Now}
	if o.sheet != "" {
		if begun.Sheet, err = desk.ReadSheet(o.sheet, time.Now().Format(time.DateOnly), s.Books); err != nil {
			return err
		}
		begun.Observer = cmp.Or(o.observer, begun.Sheet.Observer)
		o.instrument = cmp.Or(o.instrument, begun.Sheet.Instrument)
	}
	if begun.Instrument, err = instrumentOf(instruments, o.instrument); err != nil {
		return err
	}
	if begun.Table, err = tableOf(s, o.to, "readings", "readings", s.Tables.Readings); err != nil {
		return err
	}
	session, err := desk.Begin(begun)
	if err != nil {
		return err
	}
	lines := make(chan string)
	go readLines(cmd.InOrStdin(), lines, o.device == "")
	if o.device != "" {
		device, err := os.Open(o.device)
		if err != nil {
			return fmt.Errorf("nothing can be read from the instrument: %w; check that it is plugged in and its port is yours to read", err)
		}
		defer device.Close() // only read from
		go readLines(device, lines, false)
	}
	return session.Run(lines, cmd.OutOrStdout())
}

// takeLooks asks for looks at traces.
func takeLooks(cmd *cobra.Command, path string, o logOptions) error {
	if o.instrument != "" || o.device != "" || cmd.Flags().Changed("zeros") || cmd.Flags().Changed("placings") {
		return usagef("--instrument, --from, --zeros and --placings are for readings, not with --traces")
	}
	s, err := study.OpenUnread(path)
	if err != nil {
		return err
	}
	if len(s.File.Traces) == 0 {
		return fmt.Errorf("%s has no coding book: describe each trace in a [[trace]], with its grades or what counts as one", s.Path)
	}
	begun := desk.CodingOptions{Books: s.Books, Coding: s.File.Traces, Observer: o.observer, Now: time.Now}
	if o.sheet != "" {
		if begun.Sheet, err = desk.ReadCodingSheet(o.sheet, time.Now().Format(time.DateOnly), o.observer, s.Books, s.File.Traces); err != nil {
			return err
		}
		begun.Observer = begun.Sheet.Observer
	}
	if begun.Table, err = tableOf(s, o.to, "looks", "traces", s.Tables.Traces); err != nil {
		return err
	}
	session, err := desk.BeginCoding(begun)
	if err != nil {
		return err
	}
	lines := make(chan string)
	go readLines(cmd.InOrStdin(), lines, true)
	return session.Run(lines, cmd.OutOrStdout())
}

// readLines hands on the lines of in, and closes the channel at its end where in
// is the only one that it comes from.
func readLines(in io.Reader, lines chan<- string, only bool) {
	scanner := bufio.NewScanner(in)
	for scanner.Scan() {
		lines <- scanner.Text()
	}
	if only {
		close(lines)
	}
}

// instrumentOf finds the instrument that is named; the study's only one where none
// is.
func instrumentOf(instruments []readings.Instrument, name string) (readings.Instrument, error) {
	var names []string
	for _, in := range instruments {
		if in.ID == name || name == "" && len(instruments) == 1 {
			return in, nil
		}
		names = append(names, in.ID)
	}
	if name == "" {
		return readings.Instrument{}, usagef("the study has several instruments: name yours, such as --instrument %s", shellWord(names[0]))
	}
	remedy := ""
	if near := table.Nearest(name, names); near != "" {
		remedy = fmt.Sprintf("; did you mean %s?", near)
	}
	return readings.Instrument{}, fmt.Errorf("instruments.csv has no instrument %q: it has %s%s", name, wording.List(names), remedy)
}

// tableOf is the table that readings or looks go to: the last that the study names below
// a key.
func tableOf(s *study.Study, to, what, key string, named []string) (string, error) {
	if to != "" {
		return to, nil
	}
	if len(named) > 0 {
		return s.Near(named[len(named)-1]), nil
	}
	return "", fmt.Errorf("%s names no table of %s: write %s = [\"%s.csv\"] below [tables], or give one by --to", s.Path, what, key, key)
}
