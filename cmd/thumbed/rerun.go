package main

import (
	"bufio"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"thumbed/models/study"
	"thumbed/models/study/corpus"
	"thumbed/models/study/digits"
	"thumbed/models/study/plan"
	"thumbed/models/wording"
)

func init() { register(newRerunCommand) }

type rerunOptions struct {
	study     string
	all, json bool
}

func newRerunCommand() *cobra.Command {
	var o rerunOptions
	cmd := &cobra.Command{
		Use:   "rerun RECORD [--study STUDY] [--all] [--json]",
		Short: "Make a recorded run again, and say what differs",
		Long: `Every run leaves a record of what it was made from and of every number that came
out. This makes the run again from the same files and compares: all digits of
all numbers, and each answer. Nothing is written.

It says first which of the files that went in are no longer what they were, then
which numbers moved, from what to what and by how much, and whether any answer
changes. Between families of processors the last bits of a number may differ,
since some add a product to a sum without rounding in between; there, numbers
agree where they differ by less than one part in ten million of the larger of
their size and their standard error, which no page prints.

RECORD is a record.json, or the folder of results that holds it. The study is
looked for where it stood, seen from there; --study gives it where it has moved. One
that is not beside the record is asked about. Where every number came again but an
input is not what it was, the exit code is 1: it is not the recorded run that was made.`,
		Example: `  Does the same come out again?
    thumbed rerun mine/results

  After a reading was corrected: every number that it moved
    thumbed rerun mine/results --all`,
		Args: exactly("RECORD, a record.json or its folder"),
		RunE: func(cmd *cobra.Command, args []string) error { return rerun(cmd, args[0], o) },
	}
	cmd.Flags().StringVar(&o.study, "study", "", "the study, where it does not stand where it did")
	cmd.Flags().BoolVar(&o.all, "all", false, "list every number that moved")
	cmd.Flags().BoolVar(&o.json, "json", false, "print the comparison as one JSON object")
	return cmd
}

func rerun(cmd *cobra.Command, path string, o rerunOptions) error {
	record, err := study.ReadRecord(path)
	if err != nil {
		return err
	}
	if o.study == "" {
		if err := askOutside(cmd, record.Outside(path)); err != nil {
			return err
		}
	}
	bar := newProgress(cmd.ErrOrStderr())
	r, err := repeat(record.Kind, path, o.study, bar.tell)
	bar.end()
	if r == nil {
		return err
	}
	if failed := tellRerun(cmd, r, o); failed != nil {
		return failed
	}
	if err != nil {
		return fmt.Errorf("the run cannot be made again. %w", err)
	}
	if !r.Agrees() {
		return errors.New(disagreement(r))
	}
	if n := len(r.Inputs); n > 0 {
		return fmt.Errorf("every number is as recorded, but %s not what it was: this is no repetition of the recorded run", wording.Count(n, "input is", "inputs are"))
	}
	return nil
}

// askOutside asks whether a record that names a study outside, and not beside it, means
// the one that was found; where nobody can be asked it tells, and goes on.
func askOutside(cmd *cobra.Command, outside string) error {
	if outside == "" {
		return nil
	}
	fmt.Fprintf(cmd.ErrOrStderr(), "The record names a study that is not beside it: %s.\n", outside)
	if !isTerminal(cmd.InOrStdin()) || !isTerminal(cmd.ErrOrStderr()) {
		return nil
	}
	fmt.Fprint(cmd.ErrOrStderr(), "Is that the one to run? y or n: ")
	answer, _ := bufio.NewReader(cmd.InOrStdin()).ReadString('\n') // no answer is no
	if !strings.HasPrefix(strings.ToLower(strings.TrimSpace(answer)), "y") {
		return errors.New("not run; say with --study which study is meant")
	}
	return nil
}

// repeat makes a recorded run of a study, of a corpus or of a plan again.
func repeat(kind, path, from string, progress study.Progress) (*study.Rerun, error) {
	switch kind {
	case study.OfCorpus:
		return corpus.Repeat(path, from, progress)
	case study.OfPlan:
		return plan.Repeat(context.Background(), path, from, progress)
	}
	return study.Repeat(path, from, progress)
}

func tellRerun(cmd *cobra.Command, r *study.Rerun, o rerunOptions) error {
	out := cmd.OutOrStdout()
	if o.json {
		encoder := json.NewEncoder(out)
		encoder.SetIndent("", " ")
		return encoder.Encode(r)
	}
	var b strings.Builder
	fmt.Fprintf(&b, "The record of %s, made by %s.\n", r.Study, r.Record.Program)
	tellInputs(&b, r)
	tellMade(&b, r)
	if c := r.Comparison; c != nil {
		tellNumbers(&b, r, o.all)
		tellReleases(&b, r)
		tellVerdicts(&b, c)
	}
	_, err := fmt.Fprint(out, plainSpaces.Replace(b.String()))
	return err
}

// tellInputs says which files are not what they were.
func tellInputs(b *strings.Builder, r *study.Rerun) {
	if len(r.Inputs) == 0 {
		fmt.Fprintf(b, "\nInputs: all %s unchanged.\n", wording.Whole(len(r.Record.Inputs)))
		return
	}
	b.WriteString("\nInputs that are not what they were:\n")
	for _, i := range r.Inputs {
		fmt.Fprintf(b, "  %s: %s\n", i.Path, i.How)
	}
}

// tellMade says by what else than the record the run was made now.
func tellMade(b *strings.Builder, r *study.Rerun) {
	if len(r.Made) == 0 {
		return
	}
	b.WriteString("\nMade otherwise:\n")
	for _, m := range r.Made {
		now := m.Now
		if now == "" {
			now = "not used"
		}
		fmt.Fprintf(b, "  %s: then %s, now %s\n", m.What, m.Then, now)
	}
}

// few is how many moved numbers are listed unless all are asked for.
const few = 20

func tellNumbers(b *strings.Builder, r *study.Rerun, all bool) {
	c := r.Comparison
	to := "the last digit"
	if r.Loosely {
		to = "one part in ten million of their size or standard error, since it is not certain that the processors are of one family"
	}
	if len(c.Moved)+len(c.Gone) == 0 {
		fmt.Fprintf(b, "\nNumbers: all %s agree to %s.\n", wording.Whole(c.Compared), to)
	} else {
		fmt.Fprintf(b, "\nNumbers: of %s compared to %s, %s moved; %s gone.\n", wording.Whole(c.Compared), to, wording.Whole(len(c.Moved)), wording.Whole(len(c.Gone)))
	}
	if c.LastBits > 0 {
		fmt.Fprintf(b, "  %s by less than that.\n", wording.Count(c.LastBits, "number differs", "numbers differ"))
	}
	if len(c.New) > 0 {
		fmt.Fprintf(b, "  %s that the record does not have.\n", wording.Count(len(c.New), "number stands now", "numbers stand now"))
	}
	listMoved(b, c, all)
}

// tellReleases says what later releases changed, where numbers moved and the record is
// of an earlier one.
func tellReleases(b *strings.Builder, r *study.Rerun) {
	releases := study.ReleasesSince(r.Record.Program)
	if len(releases) == 0 || len(r.Comparison.Moved)+len(r.Comparison.Gone) == 0 {
		return
	}
	b.WriteString("\nWhat releases since then moved:\n")
	for _, release := range releases {
		for _, change := range release.Changes {
			b.WriteString(wrap(release.Version+": "+change, "  ", usualWidth-2) + "\n")
		}
	}
}

// listMoved lists the numbers that moved: those of the answers first, as they
// come first in a result's places.
func listMoved(b *strings.Builder, c *digits.Comparison, all bool) {
	for i, m := range c.Moved {
		if i == few && !all {
			fmt.Fprintf(b, "  … and %s more; --all lists them.\n", wording.Whole(len(c.Moved)-few))
			break
		}
		by := ""
		if m.By != nil {
			by = ", by " + strconv.FormatFloat(*m.By, 'g', 3, 64)
		}
		fmt.Fprintf(b, "  %s: from %s to %s%s\n", m.Place, m.From, m.To, by)
	}
	for i, place := range c.Gone {
		if i == few && !all {
			fmt.Fprintf(b, "  … and %s more gone; --all lists them.\n", wording.Whole(len(c.Gone)-few))
			break
		}
		fmt.Fprintf(b, "  %s: gone\n", place)
	}
}

func tellVerdicts(b *strings.Builder, c *digits.Comparison) {
	if len(c.Verdicts) == 0 {
		b.WriteString("\nAnswers: none changes.\n")
		return
	}
	b.WriteString("\nAnswers that change:\n")
	for _, v := range c.Verdicts {
		fmt.Fprintf(b, "  %s: from %s to %s\n", v.Place, v.From, v.To)
	}
}

// disagreement says in one sentence what differs.
func disagreement(r *study.Rerun) string {
	c := r.Comparison
	said := fmt.Sprintf("the run does not agree with its record: %s moved or are gone, and %s",
		wording.Count(len(c.Moved)+len(c.Gone), "number", "numbers"), wording.Count(len(c.Verdicts), "answer changes", "answers change"))
	if n := len(r.Inputs); n > 0 {
		said += fmt.Sprintf("; %s not what it was", wording.Count(n, "input is", "inputs are"))
	} else {
		said += "; the inputs are unchanged"
	}
	return plainSpaces.Replace(said)
}
