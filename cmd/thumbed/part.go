package main

import (
	"fmt"
	"path/filepath"

	"github.com/spf13/cobra"

	"thumbed/models/study"
	"thumbed/models/study/portion"
)

// partHelp describes the option --part of every verb whose work can be divided.
const partHelp = "do share `K/N` of the work only, such as 3/64; thumbed gather puts the shares together"

// computePart does one share of divided work and writes it to out, a file whose
// name ends in .json, or a folder. One that is there already is not done again.
func computePart(cmd *cobra.Command, work portion.Work, share portion.Portion, out string, compute func(study.Progress) (*portion.File, error)) error {
	if filepath.Ext(out) != ".json" {
		out = filepath.Join(out, share.Name())
	}
	done, err := portion.Done(out, work, share)
	if err != nil {
		return err
	}
	if !done {
		stop, release := stopped()
		defer release()
		file, err := runUnless(stop, cmd.ErrOrStderr(), compute)
		if err != nil {
			return err
		}
		if err := file.Write(out); err != nil {
			return err
		}
	}
	_, err = fmt.Fprintf(cmd.OutOrStdout(), "Part %s: %s\n", share, out)
	return err
}
