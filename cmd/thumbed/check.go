package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"thumbed/models/report"
	"thumbed/models/study"
)

func init() { register(newCheckCommand) }

func newCheckCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "check STUDY",
		Short: "Read a study and all its tables, and say what is wrong",
		Long: `Reads a study file and every table that it names, and says what was found. Where
something is wrong it tells all of it at once: file, line, column, what stands
there, what was expected and how to mend it. It also looks ahead to what a run
would stumble over: wear that the log cannot give, models that the measured pages
cannot carry, questions of terms that a model does not have. Nothing is written.

STUDY is a study.toml, or the folder that holds it.`,
		Example: `  Check the study in this folder:
    thumbed check .

  Mend one table after another until nothing is left:
    thumbed check mine/study.toml`,
		Args: exactly("STUDY, a study.toml or its folder"),
		RunE: func(cmd *cobra.Command, args []string) error {
			var found study.Found
			var err error
			during(cmd.ErrOrStderr(), "reading the tables", func() { found, err = study.Check(args[0]) })
			if err != nil {
				return err
			}
			_, err = fmt.Fprint(cmd.OutOrStdout(), foundWords(found))
			return err
		},
	}
}

// foundWords says what a study holds: a line for each book, one for the log and
// one for what is asked.
func foundWords(found study.Found) string {
	var b strings.Builder
	b.WriteString("The study and its tables are in order.\n")
	for _, book := range found.Books {
		leaves := report.Count(book.Leaves, "leaf", "leaves")
		if book.Lost > 0 {
			leaves += fmt.Sprintf(" (%s lost)", report.Whole(book.Lost))
		}
		fmt.Fprintf(&b, "  %s: %s, %s, %s; readings on %s\n", book.ID, leaves,
			report.Count(book.Sections, "section", "sections"),
			report.Count(book.Pictures, "picture", "pictures"),
			report.Count(book.Measured, "page", "pages"))
		if book.Shared != "" {
			fmt.Fprintf(&b, "    %s\n", book.Shared)
		}
	}
	fmt.Fprintf(&b, "  %s on %s, by %s with %s; %s left out with a reason\n",
		report.Count(found.Readings, "reading", "readings"),
		report.Count(found.Days, "day", "days"),
		report.Count(found.Observers, "observer", "observers"),
		report.Count(found.Instruments, "instrument", "instruments"),
		report.Whole(found.Excluded))
	fmt.Fprintf(&b, "  %s, %s\n", report.Count(found.Models, "model", "models"), report.Count(found.Questions, "question", "questions"))
	return plainSpaces.Replace(b.String())
}
