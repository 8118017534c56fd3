package main

import (
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"thumbed/kernel/headless"
	"thumbed/kernel/install"
	"thumbed/models/table"
	"thumbed/models/wording"
)

func init() { register(newNotebookCommand) }

func newNotebookCommand() *cobra.Command {
	c := &cobra.Command{
		Use:   "notebook run FILE…",
		Short: "Run notebooks and compare their numbers",
		Long: `Works with notebooks where nobody watches: runs them as Jupyter would and holds
every number that they show against the one they showed before.`,
		Example: `    thumbed notebook run notebooks/*.ipynb`,
	}
	c.AddCommand(newNotebookRunCommand())
	return c
}

func newNotebookRunCommand() *cobra.Command {
	var r notebookRun
	c := &cobra.Command{
		Use:   "run FILE…",
		Short: "Run notebooks and compare every number shown",
		Long: `Runs each notebook from its first cell, in its own folder, and writes the
executed copy beside it (NAME.executed.ipynb, or into the folder of --out). A
cell that fails ends the run of that notebook, and no copy is written.

Every number that the copy shows is compared, digit for digit, with the one in
the notebook as it is kept; each that differs is told with its cell, the old and
the new, a sentence that came or went as one. Many are written into a file beside
the copy (NAME.differences.txt). Executed copies of an earlier run are passed over.
With --keep the executed copy becomes the notebook.`,
		Example: `    thumbed notebook run notebooks/*.ipynb
    thumbed notebook run --keep notebooks/01-one-book.ipynb`,
		Args: cobra.MinimumNArgs(1),
		RunE: func(cmd *cobra.Command, files []string) error {
			if r.timeout < time.Second {
				return usagef("--timeout %v is too short; give a second or more", r.timeout)
			}
			python, err := headless.Python()
			if err != nil {
				return err
			}
			r.python, r.out, r.progress = python, cmd.OutOrStdout(), cmd.ErrOrStderr()
			files, err = notebooksAmong(files, cmd.ErrOrStderr())
			if err != nil {
				return err
			}
			var unread, failed, differ int
			for _, file := range files {
				err := r.run(cmd, file)
				var cell *headless.CellError
				switch {
				case err == nil:
					continue
				case errors.Is(err, errDiffers):
					differ++
				case errors.As(err, &cell):
					failed++
				default:
					unread++
				}
				fmt.Fprintf(cmd.ErrOrStderr(), "%s: %v\n", file, err)
			}
			var said []string
			for _, kind := range []struct {
				n     int
				words string
			}{{differ, "did not agree"}, {failed, "did not run to the end"}, {unread, "could not be read, run or written"}} {
				if kind.n > 0 {
					said = append(said, fmt.Sprintf("%d of %d notebooks %s", kind.n, len(files), kind.words))
				}
			}
			if len(said) > 0 {
				return errors.New(strings.Join(said, ", ") + "; see above")
			}
			return nil
		},
	}
	c.Flags().StringVar(&r.folder, "out", "", "write the executed copies into this `folder`")
	c.Flags().BoolVar(&r.keep, "keep", false, "let the executed copy replace the notebook")
	c.Flags().DurationVar(&r.timeout, "timeout", 10*time.Minute, "what one cell may take, as 30s or 5m")
	c.Flags().StringVar(&r.kernel, "kernel", install.Name, "the `name` of the Jupyter kernel")
	return c
}

// executedSuffix ends the names of the copies that are written beside a notebook.
const executedSuffix = ".executed.ipynb"

// notebooksAmong passes over the copies that an earlier run wrote.
func notebooksAmong(files []string, tell io.Writer) ([]string, error) {
	var own []string
	for _, file := range files {
		if strings.HasSuffix(file, executedSuffix) {
			fmt.Fprintf(tell, "%s: passed over; an earlier run wrote it\n", file)
			continue
		}
		own = append(own, file)
	}
	if len(own) == 0 {
		return nil, usagef("only executed copies of notebooks were named; name the notebooks themselves")
	}
	return own, nil
}

// errDiffers is of a notebook that ran and shows other numbers.
var errDiffers = errors.New("differs")

// mostDifferences is how many are told on the screen.
const mostDifferences = 20

// tellDifferences tells the first differences, and writes all of many into a file
// beside the copy.
func (r *notebookRun) tellDifferences(file, copied string, differences []headless.Difference) error {
	for _, d := range differences[:min(mostDifferences, len(differences))] {
		fmt.Fprintf(r.out, "%s, %v\n", file, d)
	}
	if len(differences) <= mostDifferences {
		return nil
	}
	var all strings.Builder
	for _, d := range differences {
		fmt.Fprintln(&all, d)
	}
	path := strings.TrimSuffix(strings.TrimSuffix(copied, ".ipynb"), ".executed") + ".differences.txt"
	fmt.Fprintf(r.out, "%s: %d more; all are in %s\n", file, len(differences)-mostDifferences, path)
	return headless.WriteWhole(path, []byte(all.String()))
}

// A notebookRun is what the runs of one command have in common.
type notebookRun struct {
	python, kernel, folder string
	keep                   bool
	timeout                time.Duration
	out, progress          io.Writer
}

// run runs one notebook, writes the copy, and compares.
func (r *notebookRun) run(cmd *cobra.Command, file string) error {
	kept, err := table.Content(file, largestText)
	if err != nil {
		return err
	}
	before, err := headless.Parse(kept)
	if err != nil {
		return err
	}
	executed, err := headless.Run(cmd.Context(), kept, headless.Options{
		Python: r.python, Kernel: r.kernel, Folder: filepath.Dir(file), Timeout: r.timeout, Begun: r.tell(file)})
	if err != nil {
		return err
	}
	copied := r.copyName(file)
	if err := headless.WriteWhole(copied, executed); err != nil {
		return err
	}
	if !before.Shown() {
		fmt.Fprintf(r.out, "%s: ran; it showed nothing before, so there is nothing to compare. Written: %s\n", file, copied)
		return nil
	}
	differences, err := headless.Compare(kept, executed)
	if err != nil {
		return err
	}
	if err := r.tellDifferences(file, copied, differences); err != nil {
		return err
	}
	if len(differences) > 0 && r.keep {
		fmt.Fprintf(r.out, "%s: kept; it differs from before in %s.\n", file, wording.Count(len(differences), "place", "places"))
		return nil
	}
	if len(differences) > 0 {
		return fmt.Errorf("it %w from the kept notebook in %s; the executed copy is %s", errDiffers, wording.Count(len(differences), "place", "places"), copied)
	}
	fmt.Fprintf(r.out, "%s: ran, and every number is as it was. Written: %s\n", file, copied)
	return nil
}

// tell shows on a terminal which cell runs.
func (r *notebookRun) tell(file string) func(int, int) {
	if !isTerminal(r.progress) {
		return nil
	}
	return func(cell, cells int) {
		fmt.Fprintf(r.progress, "\r%s: code cell %d of %d\x1b[K", file, cell, cells)
		if cell == cells {
			fmt.Fprint(r.progress, "\r\x1b[K")
		}
	}
}

// copyName is where the executed copy of a notebook goes.
func (r *notebookRun) copyName(file string) string {
	if r.keep {
		return file
	}
	base := filepath.Base(file)
	if r.folder != "" {
		return filepath.Join(r.folder, base)
	}
	return filepath.Join(filepath.Dir(file), strings.TrimSuffix(base, filepath.Ext(base))+executedSuffix)
}
