package main

import (
	"fmt"
	"time"

	"github.com/spf13/cobra"

	"thumbed/models/study"
	"thumbed/models/study/corpus"
)

func init() { register(newSealCommand) }

func newSealCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "seal STUDY|CORPUS",
		Short: "Seal the questions and models before the readings are taken",
		Long: `Writes seal.json beside the study or the corpus: the day, and a SHA-256 sum of each
question and each model as they stand. Do this when the books are described and the
questions written, and before the first reading. Every later run then says which
answers were foreseen: those whose question and model are unchanged since, where no
reading was taken before. Comments and layout of the file may change, and books may
come in.

Send the sum that is printed here to somebody who will keep it, or deposit it:
it shows later that the seal itself was not made anew. A seal is never written
over.

STUDY is a study.toml, CORPUS a corpus.toml, or either the folder that holds it. The
readings that it names need not be there yet; the folders of a corpus must be.`,
		Example: `  Describe the books, write the questions, then seal, then measure:
    thumbed seal mine/study.toml`,
		Args: exactly("STUDY or CORPUS, a study.toml, a corpus.toml, or its folder"),
		RunE: func(cmd *cobra.Command, args []string) error {
			write := study.WriteSeal
			switch ofCorpus, err := corpus.Is(args[0]); {
			case err != nil:
				return err
			case ofCorpus:
				write = corpus.WriteSeal
			}
			path, sum, err := write(args[0], time.Now())
			if err != nil {
				return err
			}
			_, err = fmt.Fprintf(cmd.OutOrStdout(), "The questions and models are sealed in %s.\nIts SHA-256, to be kept elsewhere: %s\n", path, sum)
			return err
		},
	}
}
