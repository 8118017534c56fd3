package main

import (
	"fmt"
	"io"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"thumbed/kernel/headless"
	"thumbed/kernel/install"
	"thumbed/models/table"
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
the new. With --keep the executed copy becomes the notebook.`,
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
			failed := 0
			for _, file := range files {
				if err := r.run(cmd, file); err != nil {
					fmt.Fprintf(cmd.ErrOrStderr(), "%s: %v\n", file, err)
					failed++
				}
			}
			if failed > 0 {
				return fmt.Errorf("%d of %d notebooks did not agree; see above", failed, len(files))
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
	for _, d := range differences {
		fmt.Fprintf(r.out, "%s, %v\n", file, d)
	}
	if len(differences) > 0 && r.keep {
		fmt.Fprintf(r.out, "%s: kept with %d numbers that differ from before.\n", file, len(differences))
		return nil
	}
	if len(differences) > 0 {
		return fmt.Errorf("%d numbers differ from the kept notebook; the executed copy is %s", len(differences), copied)
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
	return filepath.Join(filepath.Dir(file), strings.TrimSuffix(base, filepath.Ext(base))+".executed.ipynb")
}
