package main

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"

	"github.com/spf13/cobra"

	"thumbed/models/study/portion"
)

func init() { register(newGatherCommand) }

// A gatherer finishes the divided work of one verb from all its pieces; out is
// the place that --out names, empty where it names none. It sees to it that the
// work is still what its source says.
type gatherer func(cmd *cobra.Command, whole *portion.Whole, out string) error

// gatherers are those of the verbs whose work can be divided, by the name of the verb.
var gatherers = map[string]gatherer{}

// registerGatherer says how the parts that a verb wrote are put together; the
// verb's file calls it from its init function.
func registerGatherer(verb string, finish gatherer) { gatherers[verb] = finish }

func newGatherCommand() *cobra.Command {
	var out, source string
	cmd := &cobra.Command{
		Use:   "gather PART… [--out DIR] [--source FILE]",
		Short: "Put together what was computed in parts, on one machine or many",
		Long: `Puts together the parts that a verb wrote with --part, and finishes the work: the
same as if it had been done at once, to the last digit. It names every part that is
missing, and refuses parts of other work, or of files that have changed since.

PART is a file that --part wrote, or a folder of such files. What they were computed
from, such as a study, is looked for where it stood; --source gives it where it
stands elsewhere on this machine.`,
		Example: `  A study's draws in four parts, which may run on four machines:
    thumbed run mine --part 1/4 --out parts
    thumbed run mine --part 2/4 --out parts
    thumbed run mine --part 3/4 --out parts
    thumbed run mine --part 4/4 --out parts
    thumbed gather parts`,
		Args: func(c *cobra.Command, args []string) error {
			if len(args) == 0 {
				return fmt.Errorf("%s needs PART, a file that --part wrote or a folder of them: %s", c.CommandPath(), c.UseLine())
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			if cmd.Flags().Changed("out") && out == "" {
				return usagef("--out needs a name")
			}
			return gatherParts(cmd, args, out, source)
		},
	}
	cmd.Flags().StringVar(&out, "out", "", "`DIR` for what comes of it (default: where the verb would put it)")
	cmd.Flags().StringVar(&source, "source", "", "`FILE` that the parts were computed from, where it does not stand where it did")
	return cmd
}

func gatherParts(cmd *cobra.Command, args []string, out, source string) error {
	paths, err := partFiles(args)
	if err != nil {
		return err
	}
	whole, err := portion.Gather(paths)
	if err != nil {
		return err
	}
	finish, known := gatherers[whole.Work.Verb]
	if !known {
		return fmt.Errorf("the parts are of %q, which this program cannot put together: use the version that computed them, %s", whole.Work.Verb, whole.Work.Program)
	}
	for _, note := range whole.Notes {
		fmt.Fprintln(cmd.ErrOrStderr(), note)
	}
	if source != "" {
		whole.Work.Source = source
	}
	return finish(cmd, whole, out)
}

// partFiles lists the files of parts that the arguments name, each once.
func partFiles(args []string) ([]string, error) {
	var paths []string
	for _, arg := range args {
		found := []string{arg}
		if info, err := os.Stat(arg); err == nil && info.IsDir() {
			if found, err = portion.Files(arg); err != nil {
				return nil, err
			}
		}
		for _, path := range found {
			if path = filepath.Clean(path); !slices.Contains(paths, path) {
				paths = append(paths, path)
			}
		}
	}
	return paths, nil
}
