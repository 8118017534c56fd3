// Command thumbed reads a study of wear in manuscript books and answers its
// questions. Each verb has a file of its own here; none of them computes
// anything: the numbers are made in the rooms under models.
package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"runtime"
	"runtime/debug"

	"github.com/spf13/cobra"

	"thumbed/models/table"
)

// The exit codes are a promise to scripts; exitHelp says them to people.
const (
	exitDone  = 0 // done, or all agrees
	exitNo    = 1 // the data, the model or the comparison says no
	exitUsage = 2 // the command itself was wrong
)

func main() {
	idle := make([]byte, idleRoom)
	code := execute(os.Args[1:], os.Stdout, os.Stderr)
	runtime.KeepAlive(idle)
	os.Exit(code)
}

// idleRoom is the size of a piece of memory that nothing touches, so that the machine
// never provides it. The collector begins when as much is made as stands: of a study's
// few megabytes it would begin a hundred times, and take an eighth of the work.
const idleRoom = 32 << 20

// execute runs one command line and gives its exit code. Results go to stdout,
// everything else to stderr.
func execute(args []string, stdout, stderr io.Writer) (code int) {
	defer func() {
		if fault := recover(); fault != nil {
			fmt.Fprintf(stderr, "thumbed: a fault of the program itself, not of your data; please report it with all of this:\n%v\n%s", fault, debug.Stack())
			code = exitNo
		}
	}()
	root := newRoot()
	began := markBeginning(root)
	root.SetArgs(args)
	root.SetOut(stdout)
	root.SetErr(stderr)
	called, err := root.ExecuteC()
	if err == nil {
		return exitDone
	}
	style := styleOf(stderr)
	fmt.Fprintf(stderr, "%s %s\n", style.alarm("thumbed:"), plainSpaces.Replace(words(err)))
	var wrong *usageError
	if *began && !errors.As(err, &wrong) {
		return exitNo
	}
	if called.Name() == "help" {
		called = root // help has no verbs of its own
	}
	fmt.Fprintf(stderr, "For how it is used: %s --help\n", called.CommandPath())
	return exitUsage
}

// words are what people are told of an error: problems of the scholar's files
// stand below each other, each on a line of its own.
func words(err error) string {
	var fault *table.Fault
	if errors.As(err, &fault) && len(fault.Problems) > 1 {
		return fmt.Sprintf("%d things are wrong.\n%v", len(fault.Problems), fault)
	}
	return err.Error()
}

// A usageError is a command that was wrong in itself, told by the verb.
type usageError struct{ words string }

func (e *usageError) Error() string { return e.words }

// usagef makes the error of a verb that finds its own command line wrong:
// exit code 2, with a pointer to the verb's help. All other errors of a verb
// are the data's or the model's: exit code 1.
func usagef(format string, args ...any) error {
	return &usageError{fmt.Sprintf(format, args...)}
}

// markBeginning notes when a verb begins its work: an error before that is
// the command line's.
func markBeginning(cmd *cobra.Command) *bool {
	began := new(bool)
	var mark func(*cobra.Command)
	mark = func(c *cobra.Command) {
		if work := c.RunE; work != nil {
			c.RunE = func(c *cobra.Command, args []string) error {
				*began = true
				return work(c, args)
			}
		}
		for _, child := range c.Commands() {
			mark(child)
		}
	}
	mark(cmd)
	return began
}
