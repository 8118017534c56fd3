package main

import (
	"fmt"
	"path/filepath"

	"github.com/spf13/cobra"

	"thumbed/models/study"
	"thumbed/models/study/portion"
)

// withParts has a verb that works on one file do the whole of its work, or with the
// option --part one share of it, and gives it that option and --out, of which
// outHelp tells.
func withParts(cmd *cobra.Command, outHelp string, whole func(cmd *cobra.Command, path, out string) error,
	part func(cmd *cobra.Command, path string, share portion.Portion, out string) error) *cobra.Command {
	var out, which string
	cmd.Flags().StringVar(&out, "out", "", outHelp+"; with --part for the share (default: parts)")
	cmd.Flags().StringVar(&which, "part", "", "do share `K/N` of the work only, such as 3/64; thumbed gather puts the shares together")
	cmd.RunE = func(cmd *cobra.Command, args []string) error {
		if cmd.Flags().Changed("out") && out == "" {
			return usagef("--out needs the name of a folder")
		}
		if !cmd.Flags().Changed("part") {
			return whole(cmd, args[0], out)
		}
		share, err := portion.Parse(which)
		if err != nil {
			return usagef("--part: %v", err)
		}
		return part(cmd, args[0], share, out)
	}
	return cmd
}

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
