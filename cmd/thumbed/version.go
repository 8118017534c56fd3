package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"thumbed/models/study"
)

func init() { register(newVersionCommand) }

func newVersionCommand() *cobra.Command {
	var changes bool
	cmd := &cobra.Command{
		Use:   "version [--changes]",
		Short: "Say which version this is, and of what it is built",
		Long: `Says the version of thumbed, of Go and of every module it is built of: what a
methods paragraph and an appendix need. With --changes, which release moved which
numbers.`,
		Example: `    thumbed version
    thumbed version --changes`,
		Args: exactly(),
		RunE: func(cmd *cobra.Command, _ []string) error {
			build := study.ThisBuild()
			out := cmd.OutOrStdout()
			if changes {
				for _, release := range study.Releases() {
					fmt.Fprintln(out, release.Version)
					for _, change := range release.Changes {
						fmt.Fprintln(out, wrap(change, "  ", widthOf(out)))
					}
				}
				return nil
			}
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
	cmd.Flags().BoolVar(&changes, "changes", false, "say which release moved which numbers")
	return cmd
}
