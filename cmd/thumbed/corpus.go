package main

import (
	"path/filepath"

	"github.com/spf13/cobra"

	"thumbed/models/report"
	"thumbed/models/study"
	"thumbed/models/study/corpus"
	"thumbed/models/study/portion"
)

func init() {
	register(newCorpusCommand)
	registerDivider(corpus.Verb, divideCorpus)
	registerGatherer(corpus.Verb, gatherCorpus)
}

func newCorpusCommand() *cobra.Command {
	return withFull(withParts(&cobra.Command{
		Use:   "corpus CORPUS [--out DIR] [--part K/N]",
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
[tables] gives others. The pages of all books with the columns that the models need
stand in tables/pages.csv, so that the models can be fitted elsewhere. The results go into the folder results beside CORPUS,
unless --out names another, and replace an earlier run's as those of run do.

With --part K/N only the K-th of N shares of the folders is read and measured, and
kept as a file in the folder parts beside CORPUS, or the one that --out names: on
another machine, or at another time. thumbed gather does the rest, to the same
digits as one run.

Where a folder or a book failed, a model cannot be fitted or a question not
answered, the page says so, the rest is done, and the exit code is 1.`,
		Example: `  Run the corpus in this folder, and look at results/index.html:
    thumbed corpus .

  Keep the results elsewhere:
    thumbed corpus sarreland/corpus.toml --out ~/thesis/readers

  In two shares, which may run on two machines:
    thumbed corpus sarreland --part 1/2
    thumbed corpus sarreland --part 2/2
    thumbed gather sarreland/parts`,
		Args: exactly("CORPUS, a corpus.toml or its folder"),
	}, "`DIR` for the results (default: results, beside the corpus)", runCorpus, partOfCorpus))
}

func runCorpus(cmd *cobra.Command, path, dir string) error {
	c, err := corpus.Open(path)
	if err != nil {
		return err
	}
	return finishCorpus(cmd, c, dir, c.Run)
}

// finishCorpus computes results, writes them and tells the answers.
func finishCorpus(cmd *cobra.Command, c *corpus.Corpus, dir string, compute func(study.Progress) (*report.Corpus, error)) error {
	if dir == "" {
		dir = besideCorpus(c, "results")
	}
	return finishRun(cmd, dir, compute, c.Write, chapterAt(dir))
}

// partOfCorpus reads and measures one share of the folders.
func partOfCorpus(cmd *cobra.Command, path string, share portion.Portion, out string) error {
	c, err := corpus.Open(path)
	if err != nil {
		return err
	}
	work, err := c.Work()
	if err != nil {
		return err
	}
	if out == "" {
		out = besideCorpus(c, "parts")
	}
	return computePart(cmd, work, share, out, func(progress study.Progress) (*portion.File, error) { return c.Part(share, progress) })
}

// besideCorpus is where a folder of this name stands unless another is named.
func besideCorpus(c *corpus.Corpus, name string) string {
	return filepath.Join(filepath.Dir(c.Path), name)
}

// divideCorpus lays out the pass over the folders; see [divider].
func divideCorpus(_ *cobra.Command, path string) (work portion.Work, results string, err error) {
	c, err := corpus.Open(path)
	if err != nil {
		return work, "", err
	}
	work, err = c.Work()
	return work, besideCorpus(c, "results"), err
}

// gatherCorpus finishes a corpus from the shares of its folders.
func gatherCorpus(cmd *cobra.Command, whole *portion.Whole, out string) error {
	c, err := corpus.Open(whole.Work.Source)
	if err != nil {
		return err
	}
	return finishCorpus(cmd, c, out, func(progress study.Progress) (*report.Corpus, error) { return c.Gather(whole, progress) })
}
