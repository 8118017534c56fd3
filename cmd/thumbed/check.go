package main

import (
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"thumbed/models/report"
	"thumbed/models/study"
	"thumbed/models/study/corpus"
	"thumbed/models/study/folder"
	"thumbed/models/wording"
)

func init() { register(newCheckCommand) }

func newCheckCommand() *cobra.Command {
	var out string
	cmd := &cobra.Command{
		Use:   "check STUDY|CORPUS [--out DIR]",
		Short: "Read a study or a corpus and all tables, and say what is wrong",
		Long: `Reads a study file and every table that it names, and says what was found. Where
something is wrong it tells all of it at once: file, line, column, what stands
there, what was expected and how to mend it. It also looks ahead to what a run
would stumble over: wear that the log cannot give, models that the measured pages
cannot carry, questions of terms that a model does not have. And it says, while
pages can still be measured again, which features of the pages go with who measured
them, when or with what, where nothing tells what these differ by. Nothing is written.

Of a corpus every folder is read and measured. What is wrong is told on a screen: of
each folder or, where many fail, one of each kind. With --out the new folder DIR
holds all of it as tables: failures.csv, a row a problem with its folder, book, file,
line, column and remedy, and books.csv, a row a book that can be used.

STUDY is a study.toml, CORPUS a corpus.toml, or either the folder that holds it.`,
		Example: `  Check the study in this folder:
    thumbed check .

  Mend one table after another until nothing is left:
    thumbed check mine/study.toml

  All that is wrong in thousands of folders, as a table:
    thumbed check sarreland --out problems`,
		Args: exactly("STUDY or CORPUS, a study.toml, a corpus.toml, or its folder"),
		RunE: func(cmd *cobra.Command, args []string) error {
			ofCorpus, err := corpus.Is(args[0])
			switch {
			case err != nil:
				return err
			case cmd.Flags().Changed("out") && (out == "" || !ofCorpus):
				return usagef("--out needs the name of a new folder, and a corpus to check")
			case ofCorpus:
				return checkCorpus(cmd, args[0], out)
			}
			return checkStudy(cmd, args[0])
		},
	}
	cmd.Flags().StringVar(&out, "out", "", "new folder `DIR` for all that is wrong in a corpus, as tables")
	return cmd
}

func checkStudy(cmd *cobra.Command, path string) error {
	var found study.Found
	var err error
	during(cmd.ErrOrStderr(), "reading the tables", func() { found, err = study.Check(path) })
	if err != nil {
		return err
	}
	_, err = fmt.Fprint(cmd.OutOrStdout(), foundWords(found))
	return err
}

// checkCorpus looks through all folders of a corpus and, where out names a folder,
// keeps what it found there.
func checkCorpus(cmd *cobra.Command, path, out string) error {
	c, err := corpus.Open(path)
	if err != nil {
		return err
	}
	if out != "" {
		if err := folder.CheckFree(out); err != nil {
			return err
		}
	}
	stop, release := stopped()
	defer release()
	var ahead error
	found, err := runUnless(stop, cmd.ErrOrStderr(), func(progress study.Progress) (*report.Corpus, error) {
		found, err := c.Check(progress)
		ahead = err // beside what was found
		return found, nil
	})
	if err != nil {
		return err
	}
	if out != "" {
		if err := folder.Create(out, found.WriteChecked); err != nil {
			return err
		}
	}
	if _, err := io.WriteString(cmd.OutOrStdout(), plainSpaces.Replace(found.CheckedWords(len(c.Models), len(c.Questions)))); err != nil {
		return err
	}
	return wrongInCorpus(found, ahead, path, out)
}

// wrongInCorpus says what is wrong, and where all of it stands; nil where nothing is.
func wrongInCorpus(found *report.Corpus, ahead error, path, out string) error {
	var lines []string
	if len(found.Failures) > 0 {
		lines = append(append(lines, found.FailureCount()), found.FailureLines()...)
		if out != "" {
			lines = append(lines, "All of it: "+filepath.Join(out, "failures.csv"))
		} else {
			lines = append(lines, "All of it as a table: thumbed check "+shellWord(path)+" --out problems")
		}
	}
	if ahead != nil {
		lines = append(lines, words(ahead))
	}
	if lines == nil {
		return nil
	}
	return errors.New(strings.Join(lines, "\n"))
}

// foundWords says what a study holds: a line for each book, one for the log and
// one for what is asked.
func foundWords(found study.Found) string {
	var b strings.Builder
	b.WriteString("The study and its tables are in order.\n")
	for _, book := range found.Books {
		leaves := wording.Count(book.Leaves+book.Lost, "leaf", "leaves")
		if book.Lost > 0 {
			leaves += fmt.Sprintf(" (%s of them lost)", wording.Whole(book.Lost))
		}
		readings := ""
		if found.Readings > 0 || found.Looks == 0 {
			readings = "; readings on " + wording.Count(book.Measured, "page", "pages")
		}
		fmt.Fprintf(&b, "  %s: %s, %s, %s%s\n", book.ID, leaves,
			wording.Count(book.Sections, "section", "sections"),
			wording.Count(book.Pictures, "picture", "pictures"), readings)
		for _, note := range book.Notes {
			fmt.Fprintf(&b, "    %s\n", note)
		}
	}
	if found.Readings > 0 || found.Looks == 0 {
		fmt.Fprintf(&b, "  %s on %s, by %s with %s; %s left out with a reason\n",
			wording.Count(found.Readings, "reading", "readings"),
			wording.Count(found.Days, "day", "days"),
			wording.Count(found.Observers, "observer", "observers"),
			wording.Count(found.Instruments, "instrument", "instruments"),
			wording.Whole(found.Excluded))
	}
	if found.Traces > 0 {
		fmt.Fprintf(&b, "  %s at %s\n", wording.Count(found.Looks, "look", "looks"), wording.Count(found.Traces, "trace", "traces"))
	}
	fmt.Fprintf(&b, "  %s, %s\n", wording.Count(found.Models, "model", "models"), wording.Count(found.Questions, "question", "questions"))
	for _, said := range found.Coded {
		fmt.Fprintf(&b, "    %s\n", said)
	}
	for _, said := range append(found.Formulas, found.Confounded...) {
		fmt.Fprintf(&b, "\n%s\n", said)
	}
	return plainSpaces.Replace(b.String())
}
