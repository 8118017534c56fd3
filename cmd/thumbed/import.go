package main

import (
	"bufio"
	"fmt"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"thumbed/models/study/draft"
	"thumbed/models/study/intake"
	"thumbed/models/wording"
)

func init() { register(newImportCommand) }

func newImportCommand() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "import tei|iiif|sheet FILE --out DIR",
		Short: "Make tables of a catalogue record, a manifest of images or a spreadsheet",
		Long: `Reads what others wrote of a book and makes the tables of a study of it, in a
new folder: books.csv, leaves.csv, pages.csv and sections.csv, each with its
schema beside it. What was used and what was left, and why, is listed in
` + intake.AccountFile + ` in the folder. Of a record or a manifest the folder is a study to begin
from: with a study file, and instruments.csv and readings.csv to fill in.

What the file does not state is inferred only where that is the plain reading, such
as that a text runs until the next one begins; it is marked and listed as inferred.
Nothing is fetched: only the file that you name is read.
The folder appears whole or not at all, and must not be there yet.`,
		Example: `  Make tables of a catalogue record, of a manifest, of a workbook:
    thumbed import tei record.xml --out tables
    thumbed import iiif manifest.json --out tables
    thumbed import sheet log.xlsx --out log`,
	}
	cmd.AddCommand(newImportTEI(), newImportIIIF(), newImportSheet())
	return cmd
}

// newImport makes the verb of one kind of file.
func newImport(cmd *cobra.Command, what string, read func(file string) (*intake.Import, error)) *cobra.Command {
	var out string
	cmd.Flags().StringVar(&out, "out", "", "`DIR`, the new folder for the tables")
	cmd.Args = exactly("FILE, " + what)
	cmd.RunE = func(cmd *cobra.Command, args []string) error {
		if out == "" {
			return usagef("%s needs --out DIR, the name of a new folder for the tables", cmd.CommandPath())
		}
		made, err := read(args[0])
		if err != nil {
			return err
		}
		return writeImport(cmd, made, out)
	}
	return cmd
}

// newImportRecords makes the verb of catalogue records of one kind, one or several
// or a folder of them, into a new study or again into one that they began.
func newImportRecords(cmd *cobra.Command, what string, read func(files ...string) (*intake.Import, error)) *cobra.Command {
	var out, again string
	var yes bool
	cmd.Flags().StringVar(&out, "out", "", "`DIR`, the new folder for the study")
	cmd.Flags().StringVar(&again, "again", "", "`STUDY` that an earlier import began: take what the library has changed since")
	cmd.Flags().BoolVar(&yes, "yes", false, "with --again, write the changes without asking")
	cmd.Args = func(c *cobra.Command, args []string) error {
		if len(args) == 0 {
			return fmt.Errorf("%s needs FILE, %s: %s", c.CommandPath(), what, c.UseLine())
		}
		return nil
	}
	cmd.RunE = func(cmd *cobra.Command, args []string) error {
		if (out == "") == (again == "") {
			return usagef("%s needs --out DIR, the name of a new folder for the tables, or --again STUDY", cmd.CommandPath())
		}
		made, err := read(args...)
		if err != nil {
			return err
		}
		if out != "" {
			return writeImport(cmd, made, out)
		}
		return importAgain(cmd, made, again, yes)
	}
	return cmd
}

func writeImport(cmd *cobra.Command, made *intake.Import, out string) error {
	if err := made.Write(out); err != nil {
		return err
	}
	fmt.Fprint(cmd.ErrOrStderr(), made.Account.Summary(mostLeft))
	_, err := fmt.Fprint(cmd.OutOrStdout(), importWords(made, out))
	return err
}

// importAgain merges a new import with a study, showing what changes before it writes.
func importAgain(cmd *cobra.Command, made *intake.Import, study string, yes bool) error {
	update, err := intake.Again(study, made)
	if err != nil {
		return err
	}
	out := cmd.OutOrStdout()
	taken := 0
	for _, change := range update.Changes {
		fmt.Fprintln(out, change)
		if !change.Kept {
			taken++
		}
	}
	if taken == 0 {
		_, err := fmt.Fprintln(out, "Nothing is to be taken from the record; nothing is written.")
		return err
	}
	if !yes {
		fmt.Fprintf(cmd.ErrOrStderr(), "Write %s? yes or no > ", plainSpaces.Replace(wording.Count(taken, "change", "changes")))
		line, _ := bufio.NewReader(cmd.InOrStdin()).ReadString('\n')
		if strings.TrimSpace(line) != "yes" {
			return fmt.Errorf("nothing was written; --yes writes without asking")
		}
	}
	former, err := update.Save(time.Now())
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(out, "Written. The tables as they were are kept in %s.\n", former)
	return err
}

// mostLeft is how many things that were left are told on standard error; the
// account has them all.
const mostLeft = 20

// importWords says what stands in the new folder.
func importWords(made *intake.Import, dir string) string {
	words := ""
	for _, t := range made.Tables {
		words += fmt.Sprintf("%s: %s\n", filepath.Join(dir, t.Name), wording.Count(t.Table.Rows(), "row", "rows"))
	}
	words += fmt.Sprintf("%s: what was used and what was left\n", filepath.Join(dir, intake.AccountFile))
	if made.Study != nil {
		words += fmt.Sprintf("%s: a study to begin from; thumbed check %s says what is still missing\n", filepath.Join(dir, draft.FileName), dir)
	} else {
		words += "To use tables, move them with their schemas into the folder of a study, and name them in its study.toml under [tables].\n"
	}
	return words
}

func newImportTEI() *cobra.Command {
	return newImportRecords(&cobra.Command{
		Use:   "tei FILE… --out DIR",
		Short: "Make tables of a library's catalogue records in TEI",
		Long: `Reads the manuscript descriptions (msDesc) in a TEI file: texts and where they
stand, leaves and collation, pictures, material, origin and owner. Places are
read from loci, in attributes or in words, of English, Latin, French, German,
Italian, Spanish and Dutch catalogues. Several files, or a folder of them, make one
study of all their books.

A text of which only the beginning is told runs until the next one begins; such ends
are marked in the column extent_by and listed.

Where the library has changed its record since, --again merges the new one with the
study: what you edited stays, what the library changed is taken, and each change is
shown before anything is written. The tables as they were are kept.`,
		Example: `  Make tables of a record, then look at what was left:
    thumbed import tei record.xml --out tables
    less tables/` + intake.AccountFile + `
  One study of all records in a folder, and later what the library has changed:
    thumbed import tei records --out mine
    thumbed import tei records --again mine`,
	}, "a catalogue record in TEI, or a folder of them", intake.TEI)
}

func newImportIIIF() *cobra.Command {
	return newImportRecords(&cobra.Command{
		Use:   "iiif FILE… --out DIR",
		Short: "Make tables of a manifest of page images (IIIF)",
		Long: `Reads a manifest of the IIIF Presentation API, version 2 or 3, from a file: leaves
from the labels of its canvases (f. 12r, fol. 012 recto, 12v–13r, p. 23) in the
order of the images, texts from its ranges, and what its metadata tell of origin
and owner. Canvases whose label names no page are listed.`,
		Example: `  Fetch a manifest yourself, then make tables of it:
    curl -o manifest.json https://library.example/manifest
    thumbed import iiif manifest.json --out tables`,
	}, "a IIIF manifest in a file, or a folder of them", intake.IIIF)
}

func newImportSheet() *cobra.Command {
	var mapping string
	var propose bool
	var into intake.Into
	var grades []string
	cmd := newImport(&cobra.Command{
		Use:   "sheet FILE --into STUDY | --out DIR [--words MAPPING] [--set NAME=VALUE] | --propose",
		Short: "Make tables of a spreadsheet (.xlsx, .ods, .csv)",
		Long: `Reads every sheet of a workbook (.xlsx, .ods), or text whose columns are parted by
commas, semicolons, tabs or strokes, with decimal points or commas, and takes
those that are tables of a study: books, leaves, pages, sections, instruments,
readings, traces. Of several rows of names that is taken which the mapping names. Days and
times of day are kept as such. Cells merged downwards hold in each of their rows;
coloured cells, comments and formulas are listed, and nothing is made of them.

With --into readings or looks are added to a study whose books are described. No mapping is
needed where the names and words of the sheet are known, in English, German, French,
Dutch or Italian, in rows of one reading each or of a page with all its readings. What
they do not tell is asked for all at once, and said by --set: book, date, time, target,
spot, observer, alike in all rows; dates, times, decimal, encoding as below; drift=none,
where the tile was not read on every day. The
densitometer is described by --instrument, where the study knows none. What was used and
left is listed in the study's folder imported, and the tables as they were are kept.

Of looks at traces --out makes a study, with the coding book from the sheet's own words,
for you to complete: grades in the order of a further sheet that lists them, with what
must be seen for each in the next column; or of numbers, or of words such as none,
slight, heavy; else --grades says it. Where no sheet describes the books, their leaves
are taken to run to the last folio that was looked at. With --into they are added to a
study that has a coding book. A sheet may have a row a look, or a row a page with a column
for each part, trace or observer; a cell that begins with ? cannot be told, for the reason
behind it, and an empty one means that nobody looked, where the mapping does not say
otherwise.

Words of your own are mapped once, in a small file in TOML. With --propose it is
written for you, from the names and words of the sheet itself, in English, German,
French, Dutch or Italian: correct it, and use it.

  dates = "day-month-year"      # how days are written as text, if not 2026-03-09
  times = "hour.minute"         # if times of day are written 14.05
  [sheets]
  "Messungen" = "readings"
  [columns]
  "Seite" = "page"
  "Schwärzung" = "density"
  "Zeitpunkt" = ["date", "time"]  # a day and a time of day in one cell
  [readings]                    # in a sheet with a row a page: what each column was taken on
  "Rand" = "zero"
  "Ecke 1" = "page"
  [looks]                       # likewise of looks: what each column is of
  "Gesicht" = { part = "face" }
  "Wachs" = { trace = "wax", kind = "counts", empty = "0" }
  "Gesicht: HB" = { part = "face", observer = "HB" }
  [units]
  density = "D"                 # a mark behind numbers, taken off: 0,12 D
  [words]                       # in any column
  "ja" = "yes"
  [words.target]                # in one column
  "Ecke" = "page"
  [constant]
  book = "alder"                # a column with one value in all rows that can have it`,
		Example: `  Add the readings of a workbook to a study:
    thumbed import sheet log.xlsx --into mine --set spot=fixed --instrument bench,0,2.5,0.01,0.16
  Make tables of a log that was kept in a workbook:
    thumbed import sheet log.xlsx --propose > words.toml
    thumbed import sheet log.xlsx --words words.toml --out tables
  From a table of looks to the page:
    thumbed import sheet looks.xlsx --out mine --grades rubbing=intact,dulled,bare
    thumbed check mine
    thumbed run mine`,
	}, "a spreadsheet: .xlsx, .ods or .csv", func(file string) (*intake.Import, error) {
		told := intake.Told{Set: into.Set, Grades: map[string][]string{}}
		for _, text := range grades {
			trace, list, named := strings.Cut(text, "=")
			if !named {
				trace, list = "", text
			}
			told.Grades[trace] = strings.Split(list, ",")
		}
		return told.Sheet(file, mapping)
	})
	cmd.Flags().StringVar(&mapping, "words", "", "`MAPPING`, a file in TOML that maps your words to those of thumbed")
	cmd.Flags().BoolVar(&propose, "propose", false, "write a mapping for the sheet, to correct and use")
	cmd.Flags().StringVar(&into.Study, "into", "", "`STUDY` that the readings or looks are added to")
	cmd.Flags().StringToStringVar(&into.Set, "set", nil, "`NAME=VALUE` that the sheet does not tell, such as spot=fixed")
	cmd.Flags().StringArrayVar(&grades, "grades", nil, "`TRACE=LIST` of the grades in rising order, such as rubbing=intact,dulled,bare")
	cmd.Flags().StringVar(&into.Instrument, "instrument", "", "`WORDS`, the densitometer: name, floor, ceiling, step and the tile's density, such as bench,0,2.5,0.01,0.16")
	take := cmd.RunE
	cmd.RunE = func(cmd *cobra.Command, args []string) error {
		if into.Study != "" {
			if propose || cmd.Flags().Changed("out") {
				return usagef("--into adds to a study: leave --out and --propose out")
			}
			into.File, into.Words = args[0], mapping
			return importInto(cmd, into)
		}
		if into.Instrument != "" || propose && len(into.Set) > 0 {
			return usagef("--instrument goes with --into STUDY, and --set not with --propose")
		}
		if !propose {
			return take(cmd, args)
		}
		text, err := intake.Propose(args[0])
		if err != nil {
			return err
		}
		_, err = fmt.Fprint(cmd.OutOrStdout(), text)
		return err
	}
	return cmd
}

// importInto adds the readings or looks of a spreadsheet to a study.
func importInto(cmd *cobra.Command, into intake.Into) error {
	added, err := into.Prepare()
	if err != nil {
		return err
	}
	former, err := added.Save(time.Now())
	if err != nil {
		return err
	}
	fmt.Fprint(cmd.ErrOrStderr(), added.Account.Summary(mostLeft))
	_, err = fmt.Fprintf(cmd.OutOrStdout(), "%s added to %s. The tables as they were are kept in %s.\n", added.Words(), into.Study, former)
	return err
}
