package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"thumbed/models/study"
)

func init() { register(newVersionCommand) }

func newVersionCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "version",
		Short: "Say which version this is, and of what it is built",
		Long: `Says the version of thumbed, of Go and of every module it is built of: what a
methods paragraph and an appendix need.`,
		Example: `    thumbed version`,
		Args:    exactly(),
		RunE: func(cmd *cobra.Command, _ []string) error {
			build := study.ThisBuild()
			out := cmd.OutOrStdout()
			fmt.Fprintln(out, build.Program)
			if build.Revision != "" {
				fmt.Fprintln(out, "commit "+build.Revision)
			}
			fmt.Fprintln(out, build.Go)
			for _, m := range build.Modules {
				fmt.Fprintln(out, m)
			}
			return nil
		},
	}
}
