package main

import (
	"fmt"
	"time"

	"github.com/spf13/cobra"

	"thumbed/models/study"
)

func init() { register(newSealCommand) }

func newSealCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "seal STUDY",
		Short: "Seal the questions and models before the readings are taken",
		Long: `Writes seal.json beside the study: the day, and a SHA-256 sum of each question and
each model as they stand. Do this when the books are described and the questions
written, and before the first reading. Every later run then says which answers
were foreseen: those whose question and model are unchanged since, where no
reading was taken before. Comments and layout of the study file may change.

Send the sum that is printed here to somebody who will keep it, or deposit it:
it shows later that the seal itself was not made anew. A seal is never written
over.

STUDY is a study.toml, or the folder that holds it. The readings that it names
need not be there yet.`,
		Example: `  Describe the books, write the questions, then seal, then measure:
    thumbed seal mine/study.toml`,
		Args: exactly("STUDY, a study.toml or its folder"),
		RunE: func(cmd *cobra.Command, args []string) error {
			path, sum, err := study.WriteSeal(args[0], time.Now())
			if err != nil {
				return err
			}
			_, err = fmt.Fprintf(cmd.OutOrStdout(), "The questions and models are sealed in %s.\nIts SHA-256, to be kept elsewhere: %s\n", path, sum)
			return err
		},
	}
}
