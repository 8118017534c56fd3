package main

import (
	"context"
	"errors"
	"os"
	"os/signal"
	"path/filepath"
	"syscall"

	"github.com/spf13/cobra"

	"thumbed/models/study"
	"thumbed/models/study/corpus"
)

func init() { register(newCorpusCommand) }

func newCorpusCommand() *cobra.Command {
	var out string
	cmd := &cobra.Command{
		Use:   "corpus CORPUS [--out DIR]",
		Short: "Run a study over hundreds or thousands of books in folders",
		Long: `Runs a study over many books, each with its tables in a folder of its own. Every
folder is read, checked and measured by itself; one that fails is told of, with
all that is wrong in it, and the rest goes on. Then the models are fitted to the
pages of all books, the questions answered, and the readers compared: their
curves along the offices side by side, and whether they fall into groups by the
shape of these curves, more than by chance.

CORPUS is a corpus.toml, or the folder that holds it. It names the folders, and
holds models and questions as a study.toml does:

  title   = "Books of hours of the Sarreland"
  folders = ["books/*"]            # patterns, from this file's folder
  instruments = "instruments.csv"  # once for all; leave it out where each folder has its own

  [readers]                        # may be left out, and so may each key
  set     = "of the Virgin"        # the hours to compare: those that most books have
  offices = ["Matins", "Lauds"]    # those measured in nine of ten readers
  most    = 6                      # groups tried at most
  draws   = 100                    # to see whether groups come out again
  seed    = 1

  [[model]]
  …

In each folder the tables have the names that the demo gives them (books.csv,
leaves.csv, pages.csv, sections.csv, instruments.csv, readings*.csv), unless
[tables] gives others. The results go into the folder results beside CORPUS,
unless --out names another, and replace an earlier run's as those of run do.

Where a folder or a book failed, a model cannot be fitted or a question not
answered, the page says so, the rest is done, and the exit code is 1.`,
		Example: `  Run the corpus in this folder, and look at results/index.html:
    thumbed corpus .

  Keep the results elsewhere:
    thumbed corpus sarreland/corpus.toml --out ~/thesis/readers`,
		Args: exactly("CORPUS, a corpus.toml or its folder"),
		RunE: func(cmd *cobra.Command, args []string) error {
			if cmd.Flags().Changed("out") && out == "" {
				return usagef("--out needs the name of a folder")
			}
			return runCorpus(cmd, args[0], out)
		},
	}
	cmd.Flags().StringVar(&out, "out", "", "`DIR` for the results (default: results, beside the corpus)")
	return cmd
}

func runCorpus(cmd *cobra.Command, path, dir string) error {
	c, err := corpus.Open(path)
	if err != nil {
		return err
	}
	if dir == "" {
		dir = filepath.Join(filepath.Dir(c.Path), "results")
	}
	if err := study.CheckFolder(dir); err != nil {
		return err
	}
	stop, release := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer release()
	results, err := runUnless(stop, cmd.ErrOrStderr(), c.Run)
	var incomplete *study.Incomplete
	if err != nil && !errors.As(err, &incomplete) {
		return err
	}
	var failed error
	during(cmd.ErrOrStderr(), "writing the page", func() { failed = c.Write(results, dir) })
	if failed != nil {
		return failed
	}
	if failed := tellAnswers(cmd.OutOrStdout(), results.Sentences(), filepath.Join(dir, "index.html")); failed != nil {
		return failed
	}
	return err
}
