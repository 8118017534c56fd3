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
	"thumbed/models/study/corpus"
	"thumbed/models/study/portion"
	"thumbed/models/wording"
)

func init() {
	register(newRunCommand)
	registerDivider(study.RunVerb, divideStudy)
	registerGatherer(study.RunVerb, gatherStudy)
}

func newRunCommand() *cobra.Command {
	cmd := withParts(&cobra.Command{
		Use:   "run STUDY [--out DIR] [--part K/N] [--full]",
		Short: "Run a study: from readings to the answers, on a page with charts",
		Long: `Runs a whole study: wear with its uncertainty from the readings, the profile of
each book, how far readings were carried through the day, the models, and the
answers to the questions. What was found is said here in a few lines, with --full
in every sentence; the folder of results holds the page that shows them (index.html), figures, tables, a chapter
in LaTeX, all numbers (results.json), and a record of what the results were made
from.

STUDY is a study.toml, or the folder that holds it. The results go into the
folder results beside it, unless --out names another. They appear whole or not
at all. Results of an earlier run are replaced, unless somebody has changed or
added a file there; no other folder is ever written over.

Where a model cannot be fitted or a question not answered, the page says why in
its place, the rest is done, and the exit code is 1.

What the questions have drawn by chance (bootstrap, shift) may take long. With
--part K/N only the K-th of N shares of it is drawn, and kept as a file in the
folder parts beside the study, or the one that --out names: on another machine, or
to go on later, since a share that is there is not drawn again. thumbed gather
makes of all shares the results that the run at once would have, to the last digit;
thumbed divide writes scripts for that.`,
		Example: `  Run the study in this folder, and look at results/index.html:
    thumbed run .

  Keep the results elsewhere:
    thumbed run mine/study.toml --out ~/thesis/chapter3/wear

  Two machines share what is drawn by chance:
    thumbed run mine --part 1/2
    thumbed run mine --part 2/2
    thumbed gather mine/parts`,
		Args: exactly("STUDY, a study.toml or its folder"),
	}, "`DIR` for the results (default: results, beside the study)", runStudy, partOfStudy)
	return withFull(cmd)
}

// withFull gives a verb the option to say every sentence.
func withFull(cmd *cobra.Command) *cobra.Command {
	cmd.Flags().Bool(fullFlag, false, "say every sentence of the results, not only what was found")
	return cmd
}

const fullFlag = "full"

// fullOf tells whether every sentence is asked for.
func fullOf(cmd *cobra.Command) bool {
	full, err := cmd.Flags().GetBool(fullFlag)
	return err == nil && full
}

func openStudy(cmd *cobra.Command, path string) (s *study.Study, err error) {
	if ofCorpus, err := corpus.Is(path); err == nil && ofCorpus {
		return nil, fmt.Errorf("%s is a corpus and no study: give it to thumbed corpus", path)
	}
	if err := enoughMemory(needOf(path), availableMemory()); err != nil {
		return nil, err
	}
	during(cmd.ErrOrStderr(), "reading the tables", func() { s, err = study.Open(path) })
	return s, err
}

func runStudy(cmd *cobra.Command, path, dir string) error {
	s, err := openStudy(cmd, path)
	if err != nil {
		return err
	}
	return writeStudy(cmd, s, dir, s.Run)
}

// partOfStudy draws one share of what the study draws by chance.
func partOfStudy(cmd *cobra.Command, path string, share portion.Portion, out string) error {
	s, err := openStudy(cmd, path)
	if err != nil {
		return err
	}
	d, err := s.Divide()
	if err != nil {
		return err
	}
	if out == "" {
		out = filepath.Join(filepath.Dir(s.Path), "parts")
	}
	return computePart(cmd, d.Work, share, out, func(progress study.Progress) (*portion.File, error) { return d.Compute(share, progress) })
}

// divideStudy lays out what a study draws by chance; see [divider].
func divideStudy(cmd *cobra.Command, path string) (work portion.Work, results string, err error) {
	s, err := openStudy(cmd, path)
	if err != nil {
		return work, "", err
	}
	d, err := s.Divide()
	if err != nil {
		return work, "", err
	}
	return d.Work, resultsOf(s), nil
}

// resultsOf is where a study's results go unless another place is named.
func resultsOf(s *study.Study) string { return filepath.Join(filepath.Dir(s.Path), "results") }

// gatherStudy makes the results of a study of which all shares are drawn; see
// [gatherer].
func gatherStudy(cmd *cobra.Command, whole *portion.Whole, dir string) error {
	s, err := openStudy(cmd, whole.Work.Source)
	if err != nil {
		return err
	}
	return writeStudy(cmd, s, dir, func(progress study.Progress) (*report.Results, error) { return s.RunGathered(whole, progress) })
}

// writeStudy runs a study, writes its results and says the answers.
func writeStudy(cmd *cobra.Command, s *study.Study, dir string, run func(study.Progress) (*report.Results, error)) error {
	if dir == "" {
		dir = resultsOf(s)
	}
	return finishRun(cmd, dir, run, s.Write, chapterAt(dir))
}

// chapterAt says where the chapter stands among the results in dir.
func chapterAt(dir string) string {
	return fmt.Sprintf("The chapter, in LaTeX: %s\n", filepath.Join(dir, study.ChapterName, "chapter.tex"))
}

// answered are results that tell their answers in sentences.
type answered interface{ Sentences() []report.Sentence }

// finishRun computes results, writes them as the folder dir, and says the answers,
// where the page is, and what else closing tells. Where not everything could be
// answered it does so too, and returns that error at the end.
func finishRun[T answered](cmd *cobra.Command, dir string, compute func(study.Progress) (T, error), write func(T, string) error, closing string) error {
	if err := study.CheckFolder(dir); err != nil {
		return err
	}
	stop, release := stopped()
	defer release()
	results, err := runUnless(stop, cmd.ErrOrStderr(), compute)
	var incomplete *study.Incomplete
	if err != nil && !errors.As(err, &incomplete) {
		return err
	}
	var failed error
	during(cmd.ErrOrStderr(), "writing the page", func() { failed = write(results, dir) })
	if failed != nil {
		return failed
	}
	page := filepath.Join(dir, "index.html")
	if brief, ok := any(results).(overviewed); ok && !fullOf(cmd) {
		failed = tellOverview(cmd.OutOrStdout(), brief.Overview(), page)
	} else {
		failed = tellAnswers(cmd.OutOrStdout(), results.Sentences(), page)
	}
	if failed != nil {
		return failed
	}
	if _, failed := fmt.Fprint(cmd.OutOrStdout(), closing); failed != nil {
		return failed
	}
	return err
}

// stopped is done when the command is stopped from the keyboard or by the system.
// A run then ends at once while it computes; the writing, which is short, comes to
// its end.
func stopped() (stop context.Context, release func()) {
	return signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
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

// overviewed are results that can be said in one look.
type overviewed interface{ Overview() report.Overview }

// mostTold is how many books, and how many questions, the end of a run names.
const mostTold = 8

// tellOverview says what was found in one look, and where the page is.
func tellOverview(out io.Writer, o report.Overview, page string) error {
	style, width := styleOf(out), widthOf(out)
	var b strings.Builder
	b.WriteString(style.strong(wrap(o.Headline, "", width)) + "\n")
	for _, row := range o.Rows[:min(mostTold, len(o.Rows))] {
		line := row.Name + ". Read most: " + found(row.Read) + ". " + row.Pictures.Words + ". Along the hours: " + found(row.Fell) + "."
		if seen, alone := row.Seen(); alone {
			line = row.Name + ". " + found(seen) + "."
		}
		b.WriteString(wording.Clipped(line, max(width, 160)) + "\n")
	}
	if left := len(o.Rows) - mostTold; left > 0 {
		fmt.Fprintf(&b, "%s more on the page.\n", wording.Count(left, "book", "books"))
	}
	for _, q := range o.Questions[:min(mostTold, len(o.Questions))] {
		b.WriteString(wording.Clipped(wording.Capital(q.Verdict)+": "+q.Words+" "+q.Answer, max(width, 160)) + "\n")
	}
	if left := len(o.Questions) - mostTold; left > 0 {
		fmt.Fprintf(&b, "%s more on the page.\n", wording.Count(left, "question", "questions"))
	}
	if len(o.Rows) == 0 {
		b.WriteString(wrap(o.Sure, "", width) + "\n")
	}
	fmt.Fprintf(&b, "Every sentence: run with --full.\nThe page: %s\n", page)
	_, err := io.WriteString(out, b.String())
	return err
}

// found is a finding in short.
func found(f report.Finding) string {
	said := f.Words
	if number, _, _ := strings.Cut(f.Detail, ";"); number != "" {
		said += ", " + number
	}
	return said
}
