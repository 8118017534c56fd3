package main

import (
	"embed"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"text/template"

	"github.com/spf13/cobra"

	"thumbed/models/study/folder"
	"thumbed/models/study/portion"
)

func init() { register(newDivideCommand) }

// A divider reads what a verb is to work on and lays out that work: how many
// pieces it has, and the folder that what comes of it goes into as a rule.
type divider func(cmd *cobra.Command, source string) (work portion.Work, results string, err error)

// dividers are those of the verbs whose work can be divided, by the name of the verb.
var dividers = map[string]divider{}

// registerDivider says how the work of a verb with the option --part is laid out;
// the verb's file calls it from its init function.
func registerDivider(verb string, lay divider) { dividers[verb] = lay }

//go:embed jobs
var jobFiles embed.FS

type divideOptions struct {
	into         int
	out, results string
}

func newDivideCommand() *cobra.Command {
	var o divideOptions
	cmd := &cobra.Command{
		Use:   "divide VERB FILE --into N --out DIR [--results DIR]",
		Short: "Write scripts that compute in parts: here, on a cluster, or by any batch engine",
		Long: `Divides long work into parts and writes a new folder with scripts that compute
them and put them together, to the same digits as the verb itself: for this machine,
one part after the other, to be stopped and gone on with at any time; for a cluster
with Slurm, as an array of jobs; and for any other batch engine, which needs to run
one command a part. Nothing is computed yet.

VERB is one that takes --part, and FILE what it works on. The work is read and
checked first. Memory and time that Slurm is to allow stand at the top of
array.slurm, to be edited; README.txt in the folder says how to begin. The program,
FILE and the folder must be seen by all machines that compute, and these should have
processors of one family, or the last bit of a number may differ.`,
		Example: `  A study with bootstrap = 9999, in 64 parts:
    thumbed divide run mine --into 64 --out jobs
    sh jobs/submit.sh

  The same on this machine alone, as a run that can be stopped:
    sh jobs/all.sh`,
		Args: exactly("VERB, such as run", "FILE, what the verb works on"),
		RunE: func(cmd *cobra.Command, args []string) error {
			lay, known := dividers[args[0]]
			switch {
			case !known:
				return usagef("the work of %q cannot be divided; that of these can: %s", args[0], strings.Join(slices.Sorted(maps.Keys(dividers)), ", "))
			case o.into < 1:
				return usagef("--into needs the number of parts, 1 or more")
			case o.out == "":
				return usagef("--out needs the name of a new folder for the scripts")
			}
			return divide(cmd, args[0], args[1], lay, o)
		},
	}
	cmd.Flags().IntVar(&o.into, "into", 0, "`N`, the number of parts")
	cmd.Flags().StringVar(&o.out, "out", "", "new folder `DIR` for the scripts and the parts")
	cmd.Flags().StringVar(&o.results, "results", "", "`DIR` for what comes of the work (default: where the verb would put it)")
	return cmd
}

// manyJobs is how many jobs of an array many clusters allow at most (Slurm's
// MaxArraySize is 1001 where nobody has changed it).
const manyJobs = 1000

// A jobSet is what the scripts of divided work need to know.
type jobSet struct {
	Verb    string
	Parts   int
	Program string // paths, from the root
	Source  string
	Results string
}

func divide(cmd *cobra.Command, verb, source string, lay divider, o divideOptions) error {
	work, results, err := lay(cmd, source)
	if err != nil {
		return err
	}
	if o.into > work.Total {
		return fmt.Errorf("the work has no more than %d pieces, which cannot be divided into %d parts: give a smaller number with --into", work.Total, o.into)
	}
	jobs := jobSet{Verb: verb, Parts: o.into, Source: work.Source, Results: results}
	if o.results != "" {
		jobs.Results = o.results
	}
	if jobs.Program, err = os.Executable(); err != nil {
		return fmt.Errorf("the program does not know where it stands: %w", err)
	}
	for _, path := range []*string{&jobs.Source, &jobs.Results} {
		if *path, err = filepath.Abs(*path); err != nil {
			return err
		}
	}
	if err := folder.Create(o.out, jobs.write); err != nil {
		return err
	}
	if o.into > manyJobs {
		fmt.Fprintf(cmd.ErrOrStderr(), "Many clusters allow no array of more than %d jobs: ask about yours, or divide into fewer parts.\n", manyJobs)
	}
	_, err = fmt.Fprintf(cmd.OutOrStdout(), "%d parts of %d pieces. On this machine: sh %s. On a Slurm cluster: sh %s. More: %s\n", o.into, work.Total,
		shellWord(filepath.Join(o.out, "all.sh")), shellWord(filepath.Join(o.out, "submit.sh")), filepath.Join(o.out, "README.txt"))
	return err
}

// write fills the folder of scripts.
func (j jobSet) write(dir string) error {
	all, err := template.New("").Funcs(template.FuncMap{"word": shellWord}).ParseFS(jobFiles, "jobs/*")
	if err != nil {
		return err
	}
	for _, t := range all.Templates() {
		if err := j.writeOne(t, filepath.Join(dir, t.Name())); err != nil {
			return err
		}
	}
	return nil
}

func (j jobSet) writeOne(t *template.Template, path string) error {
	file, err := os.Create(path)
	if err != nil {
		return err
	}
	defer file.Close()
	if err := t.Execute(file, j); err != nil {
		return err
	}
	return file.Close()
}
