package main

import (
	"io"

	"github.com/spf13/cobra"

	"thumbed/models/study/formats"
)

func init() { register(newFormatsCommand) }

func newFormatsCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "formats [NAME]",
		Short: "Say what stands in each file that the program reads or writes",
		Long: `Prints the page of a file, as Markdown: what the file is for, each of its columns or
keys with its kind, its unit, the words allowed and whether it is required, how it is
checked, and an example. The pages are made from the program's own schemas.

Without NAME it prints the list of pages. NAME is one of these, or the usual name of
a file.`,
		Example: `  All files:
    thumbed formats

  The log of readings, and the study file:
    thumbed formats readings
    thumbed formats study.toml`,
		Args: func(c *cobra.Command, args []string) error {
			if len(args) == 0 {
				return nil
			}
			return exactly("NAME")(c, args)
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			name := ""
			if len(args) == 1 {
				name = args[0]
			}
			text, err := formats.Page(name)
			if err != nil {
				return err
			}
			_, err = io.WriteString(cmd.OutOrStdout(), text)
			return err
		},
	}
}
