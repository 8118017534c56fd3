package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"path/filepath"
	"strings"
	"syscall"

	"github.com/spf13/cobra"

	"thumbed/models/report"
	"thumbed/models/study"
)

func init() { register(newRunCommand) }

func newRunCommand() *cobra.Command {
	var out string
	cmd := &cobra.Command{
		Use:   "run STUDY [--out DIR]",
		Short: "Run a study: from readings to the answers, on a page with charts",
		Long: `Runs a whole study: wear with its uncertainty from the readings, the profile of
each book, how far readings were carried through the day, the models, and the
answers to the questions. The answers are told here in sentences; the folder of
results holds the page that shows them (index.html), figures, tables, all
numbers (results.json), and a record of what the results were made from.

STUDY is a study.toml, or the folder that holds it. The results go into the
folder results beside it, unless --out names another. They appear whole or not
at all. Results of an earlier run are replaced, unless somebody has changed or
added a file there; no other folder is ever written over.

Where a model cannot be fitted or a question not answered, the page says why in
its place, the rest is done, and the exit code is 1.`,
		Example: `  Run the study in this folder, and look at results/index.html:
    thumbed run .

  Keep the results elsewhere:
    thumbed run mine/study.toml --out ~/thesis/chapter3/wear`,
		Args: exactly("STUDY, a study.toml or its folder"),
		RunE: func(cmd *cobra.Command, args []string) error {
			if cmd.Flags().Changed("out") && out == "" {
				return usagef("--out needs the name of a folder")
			}
			return runStudy(cmd, args[0], out)
		},
	}
	cmd.Flags().StringVar(&out, "out", "", "`DIR` for the results (default: results, beside the study)")
	return cmd
}

func runStudy(cmd *cobra.Command, path, dir string) error {
	var s *study.Study
	var err error
	during(cmd.ErrOrStderr(), "reading the tables", func() { s, err = study.Open(path) })
	if err != nil {
		return err
	}
	if dir == "" {
		dir = filepath.Join(filepath.Dir(s.Path), "results")
	}
	if err := study.CheckFolder(dir); err != nil {
		return err
	}
	// Stopped from the keyboard, a run ends at once while it computes; the
	// writing, which is short, comes to its end.
	stop, release := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer release()
	results, err := runUnless(stop, cmd.ErrOrStderr(), s.Run)
	var incomplete *study.Incomplete
	if err != nil && !errors.As(err, &incomplete) {
		return err
	}
	var failed error
	during(cmd.ErrOrStderr(), "writing the page", func() { failed = s.Write(results, dir) })
	if failed != nil {
		return failed
	}
	if failed := tellAnswers(cmd.OutOrStdout(), results.Sentences(), filepath.Join(dir, "index.html")); failed != nil {
		return failed
	}
	return err
}

// runUnless runs a study with its progress on stderr, unless stop is done first.
func runUnless[T any](stop context.Context, stderr io.Writer, run func(study.Progress) (T, error)) (T, error) {
	type outcome struct {
		results T
		err     error
		fault   any // what the run panicked with
	}
	bar := newProgress(stderr)
	defer bar.end()
	done := make(chan outcome, 1)
	go func() {
		var o outcome
		defer func() {
			o.fault = recover()
			done <- o
		}()
		o.results, o.err = run(bar.tell)
	}()
	select {
	case o := <-done:
		if o.fault != nil {
			panic(o.fault)
		}
		return o.results, o.err
	case <-stop.Done():
		var none T
		return none, errors.New("stopped before the end; nothing was written")
	}
}

// tellAnswers says the answers in sentences, each kind under its heading, and
// where the page is.
func tellAnswers(out io.Writer, sentences []report.Sentence, page string) error {
	style := styleOf(out)
	var b strings.Builder
	heading := ""
	for _, s := range sentences {
		if h := s.Topic.Heading(); h != heading {
			heading = h
			fmt.Fprintf(&b, "%s\n", style.strong(heading))
		}
		b.WriteString(wrap(s.Text, "  ", widthOf(out)) + "\n")
	}
	fmt.Fprintf(&b, "\nThe page: %s\n", page)
	_, err := io.WriteString(out, b.String())
	return err
}
