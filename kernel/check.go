package kernel

import (
	"fmt"
	"os"

	"github.com/janpfeifer/gonb/gonbui"
)

// Check ends the cell with the error's own words where err is not nil; no stack
// is shown, for the error says what to do. Earlier cells' declarations stay.
func Check(err error) {
	if err == nil {
		return
	}
	if !gonbui.IsNotebook {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
	tellFault(err.Error())
	os.Exit(1)
}

// Must is a function's value where its error is nil, and otherwise ends the
// cell as [Check] does:
//
//	s := kernel.Must(study.Load("study.toml"))
func Must[T any](value T, err error) T {
	Check(err)
	return value
}
